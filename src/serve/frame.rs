//! What stands around every page: the links between the pages, the style, and the hidden parts of a form.

use maud::{Markup, html};

use crate::report::{STYLE, whole};

const OWN_STYLE: &str = include_str!("style.css");

/// The pages that are always a step away.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Tab {
    /// The report.
    Overview,
    /// The advice form.
    Next,
    /// Taking in a sheet.
    Sheet,
    /// Writing down.
    Record,
}

impl Tab {
    const ALL: [Self; 4] = [Self::Overview, Self::Next, Self::Sheet, Self::Record];

    fn place(self) -> &'static str {
        match self {
            Self::Overview => "",
            Self::Next => "next",
            Self::Sheet => "sheet",
            Self::Record => "record",
        }
    }

    fn name(self) -> &'static str {
        match self {
            Self::Overview => "Overview",
            Self::Next => "Next batch",
            Self::Sheet => "Take in a sheet",
            Self::Record => "Write down",
        }
    }
}

/// What stands around every page.
#[derive(Debug)]
pub struct Frame<'a> {
    /// The address up to the key, without a slash behind it.
    pub base: String,
    /// The token for forms.
    pub token: &'a str,
    /// Whether anything may be kept.
    pub writes: bool,
}

impl Frame<'_> {
    /// A whole page.
    pub fn page(&self, tab: Option<Tab>, title: &str, contents: Markup) -> String {
        let top = html! {
            nav aria-label="Pages" {
                ul {
                    @for one in Tab::ALL {
                        li {
                            a href=(self.to(one.place())) aria-current=[(tab == Some(one)).then_some("page")] {
                                (one.name())
                            }
                        }
                    }
                }
            }
            @if !self.writes {
                p.quiet { "This page only shows; " code { "doughwright serve --write" } " keeps things, too." }
            }
        };
        whole(title, &style(), top, contents).into_string()
    }

    /// A page for one who does not have the key.
    pub fn bare(title: &str, contents: Markup) -> String {
        whole(title, &style(), html! {}, contents).into_string()
    }

    /// The address of a place behind the key.
    pub fn to(&self, place: &str) -> String {
        format!("{}/{place}", self.base)
    }

    /// A form that changes something: its place, its fields, and what its button says.
    pub fn post(&self, place: &str, fields: Markup, button: &str) -> Markup {
        html! {
            form method="post" action=(self.to(place)) {
                input type="hidden" name="token" value=(self.token);
                (fields)
                p { button type="submit" { (button) } }
            }
        }
    }
}

fn style() -> String {
    format!("{STYLE}{OWN_STYLE}")
}
