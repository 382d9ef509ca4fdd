//! A statistical workbench for fermentation: a baker's batch records in, the next batch's yeast and
//! water temperature out. The rooms, in the order in which the data flows through them:
//!
//! [`dough`] what a batch is · `intake` spreadsheets to checked batches · `logbook` kept, with every change · `physics`
//! temperature, gas and rise of one batch · `inference` what the records say about the parameters · `advice` what to do
//! next · `consistency` is it getting steadier · `crust` what goes with a better one · `charts` · `report`, the page ·
//! [`answers`] what is asked of a kitchen and answered · `serve`, the local page to work in · `cli`.

pub mod advice;
pub mod answers;
pub mod charts;
pub mod cli;
pub mod consistency;
pub mod crust;
pub mod dough;
pub mod frame;
pub mod inference;
pub mod intake;
pub mod logbook;
pub mod physics;
pub mod report;
pub mod serve;
pub mod simulate;
