//! A number of things as a baker says it.

/// "1 row", "2 rows".
pub fn counted(n: usize, one: &str, many: &str) -> String {
    format!("{n} {}", if n == 1 { one } else { many })
}
