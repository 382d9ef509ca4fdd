//! The JSON Schema of each command's answer, made from the answer's type; `schemas/` holds them, one file a command.

use schemars::generate::SchemaSettings;
use schemars::{JsonSchema, Schema};

use crate::advice::compare::Comparison;
use crate::advice::trial::Trial;
use crate::answers::record::Recorded;
use crate::logbook::Undone;

use super::output::{Document, SCHEMA_VERSION};
use super::{
    adjust, bench_sheet, charts, completions, consistency, crust, demo, export, fit, fit_kitchens, forecast,
    import, list, list_plans, man, recommend, report, residuals, safety, serve, template, trial, what_if,
};

/// An answer in one of two forms, as the call has it.
#[derive(JsonSchema)]
#[schemars(untagged)]
#[expect(dead_code, reason = "only its schema is used")]
enum Either<A, B> {
    A(A),
    B(B),
}

/// Each command's name with the schema of what it answers to `--json`, by name.
pub fn schemas() -> Vec<(&'static str, Schema)> {
    vec![
        one::<adjust::Answer>("adjust"),
        one::<safety::Kept>("backup"),
        one::<bench_sheet::Answer>("bench-sheet"),
        one::<charts::Answer>("charts"),
        one::<completions::Answer>("completions"),
        one::<consistency::Answer>("consistency"),
        one::<crust::Answer>("crust"),
        one::<demo::Shown>("demo"),
        one::<export::Exported>("export"),
        one::<Either<fit::Fitted, fit_kitchens::Answer>>("fit"),
        one::<import::Imported>("import"),
        one::<Either<list::Listed, list_plans::Listed>>("list"),
        one::<man::Answer>("man"),
        one::<Either<forecast::Answer, what_if::Answer>>("predict"),
        one::<recommend::Answer>("recommend"),
        one::<Recorded>("record"),
        one::<report::Answer>("report"),
        one::<residuals::Answer>("residuals"),
        one::<serve::Answer>("serve"),
        one::<list::Shown>("show"),
        one::<template::Made>("template"),
        one::<Either<trial::Found<Trial>, trial::Found<Comparison>>>("trial"),
        one::<Undone>("undo"),
    ]
}

fn one<T: JsonSchema>(command: &'static str) -> (&'static str, Schema) {
    // What is written: a key that is always there is required, one that may be null says so.
    let generator = SchemaSettings::draft2020_12().for_serialize().into_generator();
    let mut schema = generator.into_root_schema_for::<Document<T>>();
    schema.insert("title".into(), format!("doughwright {command} --json").into());
    schema.remove("description");
    if let Some(version) = schema.pointer_mut("/properties/schema_version") {
        *version = serde_json::json!({ "description": "The version of this form", "const": SCHEMA_VERSION });
    }
    (command, schema)
}
