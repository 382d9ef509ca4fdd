//! A fixed set of plans that tell a model something: hours, yeast, temperatures, lots and places vary. Invented.

use crate::dough::{Batch, Reading, Vessel, YeastType};
use crate::inference::prepare::Records;

/// So many plans with outcomes to be overwritten: one rise each, dough temperatures of two in three, a poolish in one of
/// four, a reading on the way in one of five; three flour lots and two cold places.
pub fn plans(batches: usize) -> Records {
    // Turns that do not repeat.
    let turn = |i: usize, period: f64| (i as f64 * std::f64::consts::TAU / period).sin();
    let batch = |i: usize| {
        let room = 21.0 + 3.5 * turn(i, 23.0);
        let plain = Batch {
            batch_id: Some(format!("b{i}")),
            flour_g: Some(1000.0),
            water_g: Some(640.0 + 30.0 * turn(i, 7.0)),
            salt_g: Some(22.0 + 4.0 * turn(i, 11.0)),
            yeast_g: Some((0.9 + 0.7 * turn(i, 5.3)).exp()),
            yeast_type: Some(YeastType::Instant),
            flour_lot: Some(format!("lot {}", 3 * i / batches)),
            room_temp_c: Some(room),
            flour_temp_c: Some(room),
            water_temp_c: Some(15.0 + 5.0 * turn(i, 9.0)),
            mix_method: Some("hand".into()),
            dough_temp_c: (!i.is_multiple_of(3)).then_some(23.0 + turn(i, 13.0)),
            bulk_hours: Some(1.5 + turn(i, 3.7)),
            bulk_temp_c: Some(room),
            cold_hours: Some(30.0 + 16.0 * turn(i, 4.1)),
            cold_temp_c: Some(4.5 + 1.5 * turn(i, 6.1)),
            cold_place: Some(if i.is_multiple_of(2) { "upright" } else { "counter" }.into()),
            piece_g: Some(250.0),
            rise: Some(2.0),
            ..Batch::default()
        };
        match i % 4 {
            0 => Batch {
                preferment_flour_g: Some(250.0),
                preferment_water_g: Some(250.0),
                preferment_yeast_g: Some(0.4),
                preferment_hours: Some(12.0),
                preferment_temp_c: Some(room),
                preferment_rise: Some(2.4),
                ..plain
            },
            _ => plain,
        }
    };
    let reading = |i: usize| Reading {
        batch_id: format!("b{i}"),
        vessel: Vessel::Dough,
        hours: 12.0,
        rise: Some(1.6),
        dough_temp_c: None,
    };
    Records {
        batches: (0..batches).map(batch).collect(),
        readings: (0..batches).step_by(5).map(reading).collect(),
        ..Records::default()
    }
}
