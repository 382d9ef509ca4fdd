//! A small invented kitchen, quickly fitted.

use std::collections::BTreeSet;
use std::fmt::Write;

use crate::bench::Bench;

/// Rows of batches named `name-0` to `name-N`.
pub fn table(name: &str, rows: usize) -> String {
    let mut text = String::from(
        "batch_id,kitchen,date,flour_g,water_g,salt_g,yeast_g,yeast_type,room_temp_c,water_temp_c,dough_temp_c,\
         bulk_hours,cold_hours,cold_temp_c,temper_hours,piece_g,target_rise,rise,notes\n",
    );
    for i in 0..rows {
        let turn = (i as f64 * 0.7).sin();
        let (yeast, room, rise) = (4.0 + turn, 22.0 + 2.0 * turn, 2.2 + 0.3 * turn);
        writeln!(
            text,
            "{name}-{i},home,2026-03-{:02},1000,650,20,{yeast:.1},instant,{room:.1},15,24,1,{},4.5,2,250,2.2,{rise:.2},{}",
            1 + i % 28,
            20 + i % 8,
            "invented ".repeat(i % 20)
        )
        .unwrap();
    }
    text
}

/// A folder with `rows` batches in `logbook.db`, their fit, the last plan, and `plan.csv`.
pub fn kitchen(rows: usize) -> Bench {
    let bench = Bench::new();
    bench.file("sheet.csv", table("b", rows));
    bench.file("readings.csv", "batch_id,hours,rise\nb-1,3,1.2\nb-1,20,1.6\nb-2,10,1.5\n");
    bench.file("plan.csv", "flour_g,water_g,salt_g,yeast_type,room_temp_c,water_temp_c,bulk_hours,cold_hours,cold_temp_c,temper_hours,piece_g,target_rise\n1000,650,20,instant,22,15,1,24,4.5,2,250,2.2\n");
    bench.run(&["import", "sheet.csv", "readings.csv"]).done();
    bench.run(&["fit", "--method", "quick", "--draws", "200"]).done();
    bench.run(&["recommend", "--cold-hours", "24"]).done();
    bench
}

/// The batches of a logbook.
pub fn ids(bench: &Bench, logbook: &str) -> BTreeSet<String> {
    let listed = bench.json(&["list", "--logbook", logbook]);
    let batches = listed["batches"].as_array().unwrap();
    batches.iter().map(|b| b["batch_id"].as_str().unwrap().to_string()).collect()
}

/// Words of a call that writes a batch down by hand.
pub fn record(notes: &str) -> [String; 8] {
    let set = ["date=2026-11-30", "flour_g=1000", "water_g=650", "yeast_g=2", "yeast_type=instant"];
    let mut words = vec!["record".to_string(), "--set".into()];
    words.extend(set.map(String::from));
    words.push(format!("notes={notes}"));
    words.try_into().unwrap()
}
