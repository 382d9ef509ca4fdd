//! What to mind: limits of the model, and the usual cautions of a kitchen. The model says when dough is ripe,
//! never when food is safe.

use crate::dough::Batch;
use crate::dough::units::both_scales;
use crate::inference::prepare::Records;

/// The warmest refrigerator that food codes commonly allow, in °C (US FDA/CDC general advice: 40 °F; many codes: 5 °C).
const FRIDGE_LIMIT_C: f64 = 5.0;

/// Where the model's limits are left, and what a food code would ask.
pub fn of_plan(plan: &Batch) -> Vec<String> {
    let mut said = Vec::new();
    let over = |value: Option<f64>, limit: f64| value.filter(|v| *v > limit);
    if let Some(sugar) = over(plan.percent_of_flour(plan.sugar_g), 5.0) {
        said.push(format!(
            "{sugar:.1} % sugar slows yeast in ways this model leaves out (it holds below 5 %)"
        ));
    }
    if let Some(salt) = over(plan.percent_of_flour(plan.salt_g), 3.0) {
        said.push(format!("{salt:.1} % salt is beyond the 0-3 % that this model holds for"));
    }
    if let Some(oil) = over(plan.percent_of_flour(plan.oil_g), 8.0) {
        said.push(format!("{oil:.1} % fat: this model is for lean dough"));
    }
    if plan.total_hours() > 72.0 {
        said.push(format!("{:.0} h is beyond the 72 h that this model holds for", plan.total_hours()));
    }
    if let Some(t) = over(plan.cold_temp_c, FRIDGE_LIMIT_C) {
        said.push(format!(
            "{} in the cold: a refrigerator belongs at or below 4-5 °C (40-41 °F); follow your local food code",
            both_scales(t, 1)
        ));
    }
    said
}

/// Columns in which a plan lies outside what the records have seen: there the forecast extrapolates.
pub fn unseen(plan: &Batch, records: &Records) -> Vec<String> {
    type Get = fn(&Batch) -> Option<f64>;
    const WATCHED: [(&str, &str, Get); 8] = [
        ("cold hours", "h", |b| b.cold_hours),
        ("total hours", "h", |b| Some(b.total_hours())),
        ("fridge", "°C", |b| b.cold_temp_c),
        ("room", "°C", |b| b.room_temp_c),
        // Water with ice in it is told at the tap's temperature.
        ("water", "°C", |b| b.water_temp_c.filter(|_| b.ice_g.is_none())),
        ("yeast", "%", Batch::yeast_pct),
        ("hydration", "%", Batch::hydration_pct),
        ("salt", "%", |b| b.percent_of_flour(b.salt_g)),
    ];
    let mut said = Vec::new();
    for (name, unit, get) in WATCHED {
        let Some(now) = get(plan) else { continue };
        let seen = records.batches.iter().filter_map(get);
        let (low, high) = seen.fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), v| (l.min(v), h.max(v)));
        let slack = 0.05 * (high - low).max(0.02 * high.abs());
        if low <= high && (now < low - slack || now > high + slack) {
            let digits = if now.abs() < 3.0 { 2 } else { 1 };
            let told = |x: f64| match unit {
                "°C" => both_scales(x, digits),
                _ => format!("{x:.digits$} {unit}"),
            };
            said.push(format!(
                "{name} {} lies outside your records ({} to {}): here the model extrapolates",
                told(now),
                told(low),
                told(high)
            ));
        }
    }
    said
}

/// The usual cautions, shown with the demo, the report and the bench sheet.
pub const KITCHEN: [&str; 5] = [
    "Raw flour and raw dough are not ready to eat; wash hands, boards and tools after them.",
    "Keep the refrigerator at or below 4-5 °C (40-41 °F) and follow your local food code.",
    "Sauces, dairy and meat toppings have time limits of their own; cold dough does not extend them.",
    "Ovens, stones and steels burn: dry gloves, no water on hot stone or glass, and air for solid fuel.",
    "This workbench says when dough is ripe, never when food is safe.",
];
