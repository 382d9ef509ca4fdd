//! The overview: the report of the kitchen, as `report` writes it.

use maud::html;

use crate::report::{head, sections, title};
use crate::serve::desk::{Desk, Reply};
use crate::serve::frame::Tab;
use crate::serve::refused::Refused;

/// The page.
pub fn show(desk: &Desk) -> Result<Reply, Refused> {
    let known = desk.known()?;
    let page = |title: String, contents| Ok(Reply::Page(Tab::Overview, title, contents));
    match known.overview() {
        Ok(report) => page(
            title(report),
            html! {
                div.top { (head(report)) }
                @if report.next.is_err() {
                    p { a.button href=(desk.frame().to("next")) { "Ask for the next batch" } }
                }
                (sections(report))
            },
        ),
        Err(why) => page(
            format!("Kitchen {}", known.name),
            html! { h1 { "Kitchen " (known.name) } p.alert { (why) } },
        ),
    }
}
