//! In which range an entry usually lies, to tell one unit from another where neither the heading nor the
//! cells name it. All ranges are common practice, no source; they are wide, and a unit is only decided by
//! them when the others would put the column's cells outside.

use super::headings::Target;
use super::units::Unit;
use crate::dough::Column;

/// The least and the greatest usual entry.
pub type Range = (f64, f64);

/// Units that a column without any may be in, each with the usual range of an entry in that unit.
/// For masses beside the flour see [`of_flour`].
pub fn by_unit(target: Target) -> Vec<(Unit, Range)> {
    use Unit as U;
    let fahrenheit = |c: Range| (U::Fahrenheit, (c.0 * 1.8 + 32.0, c.1 * 1.8 + 32.0));
    let temperatures = |c: Range| vec![(U::Celsius, c), fahrenheit(c)];
    let masses = |g: Range, oz: Range| {
        vec![
            (U::Gram, g),
            (U::Kilogram, (g.0 / 1000.0, g.1 / 1000.0)),
            (U::Ounce, oz),
            (U::Pound, (oz.0 / 16.0, oz.1 / 2.0)),
        ]
    };
    let rises = || {
        vec![(U::Times, (0.9, 8.0)), (U::PercentOfVolume, (90.0, 800.0)), (U::PercentGained, (5.0, 700.0))]
    };
    let column = match target {
        Target::Hours => return vec![(U::Hour, (0.0, 120.0)), (U::Minute, (0.0, 1440.0))],
        Target::SurroundingsTemp => return temperatures((-5.0, 42.0)),
        Target::Clock | Target::Vessel => return Vec::new(),
        Target::Column(column) => column,
    };
    match column {
        Column::flour_g => masses((100.0, 100_000.0), (4.0, 400.0)),
        Column::piece_g | Column::rise_sample_g => masses((15.0, 3000.0), (0.5, 100.0)),
        Column::room_temp_c | Column::bulk_temp_c | Column::temper_temp_c => temperatures((8.0, 42.0)),
        Column::preferment_temp_c => temperatures((2.0, 40.0)),
        Column::dough_temp_c => temperatures((12.0, 38.0)),
        Column::flour_temp_c => temperatures((-5.0, 42.0)),
        Column::water_temp_c => temperatures((0.0, 55.0)),
        Column::tap_temp_c => temperatures((2.0, 30.0)),
        Column::cold_temp_c => temperatures((-2.0, 14.0)),
        Column::bake_temp_c => temperatures((150.0, 550.0)),
        Column::bulk_hours => vec![(U::Hour, (0.1, 36.0)), (U::Minute, (20.0, 600.0))],
        Column::cold_hours => vec![(U::Hour, (3.0, 168.0)), (U::Day, (0.5, 7.0))],
        Column::temper_hours => vec![(U::Hour, (0.1, 14.0)), (U::Minute, (15.0, 480.0))],
        Column::preferment_hours => vec![(U::Hour, (1.0, 72.0)), (U::Minute, (60.0, 1440.0))],
        Column::mix_minutes => vec![(U::Minute, (0.75, 90.0)), (U::Second, (45.0, 1800.0))],
        Column::bake_minutes => vec![(U::Minute, (0.7, 120.0)), (U::Second, (40.0, 900.0))],
        Column::rise | Column::preferment_rise | Column::target_rise => rises(),
        Column::flour_protein_pct => vec![(U::Percent, (5.0, 20.0)), (U::Part, (0.05, 0.2))],
        Column::crust_score => vec![(U::Points, (1.0, 10.0))],
        _ => Vec::new(),
    }
}

/// The usual amount of an ingredient in percent of all flour.
pub fn of_flour(column: Column) -> Option<Range> {
    Some(match column {
        Column::water_g => (35.0, 130.0),
        Column::salt_g => (0.5, 5.0),
        Column::yeast_g => (0.002, 6.0),
        Column::oil_g | Column::sugar_g => (0.3, 30.0),
        Column::malt_g => (0.05, 6.0),
        Column::ice_g => (1.0, 60.0),
        Column::preferment_flour_g => (3.0, 100.0),
        Column::preferment_water_g => (2.0, 100.0),
        Column::preferment_yeast_g => (0.0005, 2.0),
        _ => return None,
    })
}

/// The usual amount of an ingredient in percent of the preferment's flour.
pub fn of_preferment(column: Column) -> Option<Range> {
    Some(match column {
        Column::preferment_water_g => (40.0, 150.0),
        Column::preferment_yeast_g => (0.002, 3.0),
        _ => return None,
    })
}
