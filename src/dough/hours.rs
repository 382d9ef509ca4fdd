//! A length of time as a baker says it.

/// Hours as "23 h 30 min", to the minute.
pub fn span(hours: f64) -> String {
    let minutes = (hours * 60.0).round() as i64;
    match (minutes / 60, minutes % 60) {
        (0, m) => format!("{m} min"),
        (h, 0) => format!("{h} h"),
        (h, m) => format!("{h} h {m:02} min"),
    }
}
