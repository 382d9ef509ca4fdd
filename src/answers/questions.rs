//! Which columns a batch written down by hand is asked for, and in which order.

use crate::dough::Column;

/// What a baker is asked at least, in the order of the work.
pub const USUAL: &[Column] = &[
    Column::date,
    Column::recipe,
    Column::flour_g,
    Column::water_g,
    Column::salt_g,
    Column::yeast_g,
    Column::yeast_type,
    Column::flour_temp_c,
    Column::room_temp_c,
    Column::water_temp_c,
    Column::dough_temp_c,
    Column::bulk_hours,
    Column::bulk_temp_c,
    Column::cold_hours,
    Column::cold_temp_c,
    Column::temper_hours,
    Column::temper_temp_c,
    Column::piece_g,
    Column::target_rise,
    Column::rise,
    Column::rise_at,
    Column::ripeness,
    Column::crust_score,
    Column::notes,
];

/// Asked after the stages that they belong to.
pub const AT_THE_OVEN: &[Column] = &[
    Column::rise,
    Column::rise_at,
    Column::rise_sample_g,
    Column::ripeness,
    Column::bake_temp_c,
    Column::bake_minutes,
    Column::crust_score,
    Column::notes,
];

/// Never asked: they are known, or made.
const NOT_ASKED: &[Column] = &[Column::batch_id, Column::kitchen, Column::plan_id];

/// The columns of the table that are wanted, in the order of asking.
pub fn order(wanted: impl Fn(Column) -> bool) -> Vec<Column> {
    let all = || Column::ALL.iter().copied().filter(|c| wanted(*c) && !NOT_ASKED.contains(c));
    let before = all().filter(|c| !AT_THE_OVEN.contains(c));
    before.chain(AT_THE_OVEN.iter().copied().filter(|c| wanted(*c))).collect()
}
