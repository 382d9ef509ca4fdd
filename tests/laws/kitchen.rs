//! An invented kitchen with one batch for every way in which a record can differ.

use doughwright::dough::{Batch, Reading, Ripeness, StageKind, SurroundingsPoint, Vessel, YeastType};
use doughwright::inference::prepare::Records;

/// A measured lean dough: half an hour in the room, a night in the fridge.
pub fn plain(id: &str) -> Batch {
    Batch {
        batch_id: Some(id.into()),
        flour_g: Some(1000.0),
        water_g: Some(620.0),
        salt_g: Some(20.0),
        yeast_g: Some(3.0),
        yeast_type: Some(YeastType::Instant),
        room_temp_c: Some(21.0),
        water_temp_c: Some(15.0),
        mix_method: Some("spiral".into()),
        dough_temp_c: Some(23.5),
        bulk_hours: Some(0.5),
        bulk_temp_c: Some(22.0),
        cold_hours: Some(24.0),
        cold_temp_c: Some(4.2),
        piece_g: Some(260.0),
        rise: Some(1.9),
        ..Batch::default()
    }
}

/// The same with a poolish of 30 % of its flour.
fn with_poolish(id: &str) -> Batch {
    Batch {
        preferment_flour_g: Some(300.0),
        preferment_water_g: Some(300.0),
        preferment_yeast_g: Some(0.4),
        preferment_hours: Some(12.0),
        preferment_temp_c: Some(20.5),
        yeast_g: Some(0.8),
        ..plain(id)
    }
}

pub fn reading(id: &str, hours: f64, rise: Option<f64>, dough_temp_c: Option<f64>) -> Reading {
    Reading { batch_id: id.into(), hours, rise, dough_temp_c, vessel: Vessel::Dough }
}

fn preferment_reading(id: &str, hours: f64, rise: f64) -> Reading {
    Reading { vessel: Vessel::Preferment, ..reading(id, hours, Some(rise), None) }
}

fn log(id: &str, points: &[(f64, f64)]) -> Vec<SurroundingsPoint> {
    let line = |(hours, t): &(f64, f64)| SurroundingsPoint {
        batch_id: id.into(),
        hours: *hours,
        surroundings_temp_c: *t,
    };
    points.iter().map(line).collect()
}

/// Batches that are measured, guessed, warm, cold, fallen, read once and read often.
pub fn records() -> Records {
    let text = |s: &str| Some(s.to_string());
    let mut batches = vec![
        plain("measured"),
        Batch { dough_temp_c: None, mix_method: text("stand_mixer"), ..plain("start by the balance") },
        Batch {
            dough_temp_c: None,
            ice_g: Some(120.0),
            flour_temp_c: Some(26.0),
            mix_method: None,
            ..plain("with ice")
        },
        Batch {
            water_temp_c: None,
            dough_temp_c: None,
            room_temp_c: None,
            bulk_temp_c: None,
            ..plain("nothing measured")
        },
        Batch {
            yeast_type: Some(YeastType::Fresh),
            yeast_g: Some(9.0),
            yeast_lot: text("w12"),
            ..plain("fresh yeast")
        },
        Batch { yeast_type: Some(YeastType::ActiveDry), yeast_lot: text("w13"), ..plain("active dry") },
        Batch {
            sugar_g: Some(30.0),
            oil_g: Some(25.0),
            malt_g: Some(5.0),
            dough_temp_c: None,
            ..plain("rich")
        },
        Batch { flour_lot: text("autumn"), flour_protein_pct: Some(13.4), ..plain("first lot") },
        Batch {
            flour_name: text("strong"),
            yeast_lot: text("w13"),
            piece_g: Some(900.0),
            ..plain("second lot")
        },
        Batch { cold_temp_c: None, ..plain("unmeasured fridge") },
        Batch { cold_temp_c: None, cold_place: text("cellar"), piece_g: None, ..plain("unmeasured cellar") },
        Batch {
            cold_place: text("cellar"),
            cold_temp_c: Some(9.0),
            rise_sample_g: Some(40.0),
            ..plain("sample jar")
        },
        Batch {
            temper_hours: Some(2.0),
            temper_temp_c: Some(24.0),
            flour_lot: text("autumn"),
            ..plain("tempered")
        },
        Batch {
            temper_hours: Some(2.0),
            rise_at: Some(StageKind::Cold),
            ..plain("read cold, then tempered")
        },
        Batch { ripeness: Some(Ripeness::Collapsed), yeast_g: Some(12.0), rise: None, ..plain("fallen") },
        Batch {
            ripeness: Some(Ripeness::Collapsed),
            yeast_g: Some(9.0),
            rise: Some(1.4),
            ..plain("fallen, with readings")
        },
        Batch {
            cold_hours: None,
            bulk_hours: Some(3.0),
            bulk_temp_c: Some(32.0),
            yeast_g: Some(10.0),
            ..plain("warm and quick")
        },
        with_poolish("poolish"),
        Batch {
            preferment_rise: Some(2.3),
            dough_temp_c: None,
            flour_lot: text("autumn"),
            ..with_poolish("poolish with its rise")
        },
        Batch { yeast_g: Some(0.0), preferment_temp_c: None, ..with_poolish("poolish alone") },
        Batch {
            preferment_rise: Some(2.9),
            yeast_type: Some(YeastType::Fresh),
            ..with_poolish("poolish, read often")
        },
        Batch { dough_temp_c: None, temper_hours: Some(1.5), ..plain("read often") },
        Batch { rise: None, ..plain("only readings") },
        plain("logged"),
        Batch { cold_temp_c: None, temper_hours: Some(1.0), ..plain("logged from the fridge on") },
        Batch {
            cold_temp_c: Some(-5.0),
            cold_hours: Some(30.0),
            piece_g: Some(60.0),
            ..plain("nearly frozen")
        },
        Batch {
            cold_hours: None,
            bulk_hours: Some(2.0),
            bulk_temp_c: Some(49.0),
            rise_sample_g: Some(30.0),
            ..plain("too hot")
        },
        Batch { rise: None, ..plain("not read at all") },
        Batch { ripeness: Some(Ripeness::Ready), ..plain("read and called ready") },
        Batch { rise: None, ripeness: Some(Ripeness::Under), yeast_g: Some(1.0), ..plain("called under") },
        Batch { rise: None, ripeness: Some(Ripeness::Ready), dough_temp_c: None, ..plain("called ready") },
        Batch {
            rise: None,
            ripeness: Some(Ripeness::Over),
            yeast_g: Some(9.0),
            ..with_poolish("called over")
        },
        Batch {
            temper_hours: Some(2.0),
            rise_at: Some(StageKind::Cold),
            ripeness: Some(Ripeness::Over),
            ..plain("read cold, called over later")
        },
    ];
    for (i, batch) in batches.iter_mut().enumerate() {
        // Rises that differ, so that residuals do.
        batch.rise = batch.rise.map(|r| r * (1.0 + 0.07 * ((i * 7) as f64).sin()));
        // And no batch that repeats another.
        batch.baker = Some(format!("baker {i}"));
    }
    let readings = vec![
        reading("fallen, with readings", 6.0, Some(1.3), Some(9.0)),
        reading("fallen, with readings", 14.0, Some(2.4), None),
        preferment_reading("poolish, read often", 4.0, 1.2),
        preferment_reading("poolish, read often", 9.0, 2.1),
        reading("poolish, read often", 5.0, Some(1.2), Some(11.0)),
        reading("read often", 0.25, None, Some(22.5)),
        reading("read often", 0.5, Some(1.05), Some(21.0)),
        reading("read often", 8.0, Some(1.3), None),
        reading("read often", 24.5, Some(1.7), Some(4.4)),
        reading("read often", 40.0, Some(2.0), None),
        reading("only readings", 3.0, Some(1.15), Some(14.0)),
        reading("only readings", 20.0, Some(1.8), None),
        reading("logged", 2.0, None, Some(15.0)),
    ];
    let mut surroundings =
        log("logged", &[(0.0, 24.0), (0.5, 12.0), (1.5, 6.0), (3.0, 3.5), (10.0, 4.5), (99.0, 20.0)]);
    surroundings.extend(log("logged from the fridge on", &[(2.0, 5.5), (9.0, 3.0)]));
    Records { batches, readings, surroundings }
}
