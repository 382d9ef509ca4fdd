//! What is asked of a kitchen and what is answered, typed: what the command line and the local page share. Nothing here
//! prints, and nothing here knows words of the command line or fields of a form.
//!
//! - [`kitchen`] which kitchen is meant, its records, and the fit to them; [`kept`] fits in the logbook and back
//! - [`plans`] plans in the logbook and back; [`under_way`] which of them a dough is of, and its clock
//! - [`recommend`] the next batch; [`pictures`] its charts, [`crust_side`] the crust beside its rise
//! - [`import`] tables into the logbook, with `import_rows` and [`understood`]
//! - [`record`] one batch written down by hand; [`questions`] what it is asked, [`defaults`] what is known of it beforehand,
//!   [`planned`] what its plan said
//! - [`report`] what goes on the report page, of [`consistency`], [`spread_sources`] and [`residuals`]
//! - [`habits`] pictures of a kitchen whatever is baked next; [`gaps`] what its records cannot tell, and what to measure
//! - [`words`] statistics in a clause
//! - [`failure`] why something could not be done, and the exit codes

pub mod consistency;
pub mod crust_side;
pub mod defaults;
pub mod failure;
pub mod gaps;
pub mod habits;
pub mod import;
mod import_rows;
pub mod kept;
pub mod kitchen;
pub mod pictures;
pub mod planned;
pub mod plans;
pub mod questions;
pub mod recommend;
pub mod record;
pub mod report;
pub mod residuals;
pub mod spread_sources;
pub mod under_way;
pub mod understood;
pub mod words;
