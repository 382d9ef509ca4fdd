//! Charts with the same numbers as a table folded beneath, and plain lists.

use maud::{Markup, PreEscaped, html};

use crate::charts::{Figure, Table};

/// Rows of a table on the page at most.
pub const MOST_ROWS: usize = 60;

/// Charts, side by side where there is room.
pub fn pictures<'a>(figures: impl IntoIterator<Item = &'a Figure>) -> Markup {
    html! {
        div.pictures { @for figure in figures { (picture(figure)) } }
    }
}

fn picture(figure: &Figure) -> Markup {
    html! {
        figure id=(figure.name) {
            // The room of charts writes this SVG and escapes every text in it.
            (PreEscaped(&figure.svg))
            figcaption {
                (figure.description)
                details {
                    summary { "The numbers" }
                    (table(&figure.title, &figure.table))
                }
            }
        }
    }
}

/// A table; the first column names the row.
fn table(title: &str, table: &Table) -> Markup {
    let (all, shown) = (table.rows.len(), table.rows.len().min(MOST_ROWS));
    html! {
        div.wide role="region" tabindex="0" aria-label=(title) {
            table {
                caption { (title) }
                thead { tr { @for heading in &table.headings { th scope="col" { (heading) } } } }
                tbody {
                    @for row in &table.rows[..shown] {
                        tr {
                            @for (i, cell) in row.iter().enumerate() {
                                @if i == 0 { th scope="row" { (cell) } } @else { td { (cell) } }
                            }
                        }
                    }
                }
            }
        }
        @if shown < all { p { "The first " (shown) " of " (all) " rows." } }
    }
}

/// A list, or nothing.
pub fn list(lines: &[String]) -> Markup {
    html! {
        @if !lines.is_empty() { ul { @for line in lines { li { (line) } } } }
    }
}
