//! Enums that are written as one of a few words.

/// Gives an enum its accepted words, and reading and writing by them.
macro_rules! word_enum {
    ($type:ident { $($variant:ident = $word:literal),+ $(,)? }) => {
        impl $type {
            /// The accepted words.
            pub const WORDS: &'static [&'static str] = &[$($word),+];
        }

        impl std::str::FromStr for $type {
            type Err = ();
            fn from_str(s: &str) -> Result<Self, ()> {
                match s {
                    $($word => Ok(Self::$variant),)+
                    _ => Err(()),
                }
            }
        }

        impl std::fmt::Display for $type {
            fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
                f.write_str(match self { $(Self::$variant => $word),+ })
            }
        }
    };
}

/// Says of a type that is written as text that its schema is that of text.
macro_rules! text_schema {
    ($($type:ty),+) => {
        $(impl schemars::JsonSchema for $type {
            fn schema_name() -> std::borrow::Cow<'static, str> {
                stringify!($type).into()
            }

            fn inline_schema() -> bool {
                true
            }

            fn json_schema(generator: &mut schemars::SchemaGenerator) -> schemars::Schema {
                String::json_schema(generator)
            }
        })+
    };
}

pub(crate) use text_schema;
pub(crate) use word_enum;
