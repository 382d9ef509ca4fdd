//! Yeast against hours for one kitchen: the picture to pin on the wall.

use super::axis::{Axis, Scale};
use super::error::ChartError;
use super::figure::{Figure, Table, number};
use super::marks::{Dash, Key, Shape, Stroke};
use super::panel::Panel;
use super::sheet::{Sheet, Side, Words, draw};
use super::theme::Ink;
use super::ticks::plain;
use crate::dough::units::UnitSystem;

/// How much yeast reaches the target after how long, at some fridge temperatures.
#[derive(Debug, Clone, PartialEq)]
pub struct YeastChart {
    /// The kind of yeast in words, such as "instant yeast".
    pub yeast: String,
    /// The flour that the grams are for, g; percent of the flour when `None`.
    pub flour_g: Option<f64>,
    /// What holds for all curves, a sentence such as "To rise 2.2 times, dough at 24 °C after mixing."
    pub conditions: String,
    /// One curve for each fridge temperature, at most five are drawn.
    pub curves: Vec<YeastCurve>,
    /// Units of the temperatures and masses drawn.
    pub units: UnitSystem,
}

/// The yeast at one fridge temperature.
#[derive(Debug, Clone, PartialEq)]
pub struct YeastCurve {
    /// Temperature of the fridge, °C.
    pub fridge_temp_c: f64,
    /// Points by rising hours.
    pub points: Vec<YeastPoint>,
}

/// The yeast for one number of hours.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct YeastPoint {
    /// From mixing to the oven, h.
    pub hours: f64,
    /// Yeast, % of the flour: 1 in 20 chance of needing less.
    pub yeast_pct_p05: f64,
    /// Middle value.
    pub yeast_pct_p50: f64,
    /// 1 in 20 chance of needing more.
    pub yeast_pct_p95: f64,
    /// Whether this kitchen's records reach here.
    pub seen: bool,
}

const TITLE: &str = "How much yeast for how many hours";
/// A colour and a shape for each curve.
const LOOKS: [(Ink, Shape); 5] = [
    (Ink::Model, Shape::Dot),
    (Ink::Alert, Shape::Square),
    (Ink::Target, Shape::Triangle),
    (Ink::Fourth, Shape::Ring),
    (Ink::Text, Shape::Dot),
];

/// Yeast against hours, on a scale of ratios; dashed where no record reaches.
///
/// # Errors
/// [`ChartError::NothingToDraw`] when no curve has two points.
pub fn yeast_against_hours(chart: &YeastChart, width_px: u32) -> Result<Figure, ChartError> {
    let drawable = |c: &&YeastCurve| c.points.iter().filter(|p| p.yeast_pct_p50 > 0.0).count() >= 2;
    let curves: Vec<&YeastCurve> = chart.curves.iter().filter(drawable).take(LOOKS.len()).collect();
    if curves.is_empty() {
        return Err(ChartError::NothingToDraw { chart: TITLE.to_owned(), needs: "a fit to this kitchen" });
    }
    let units = chart.units;
    let unit = chart.flour_g.map_or("% of flour".to_owned(), |flour| {
        let small = units.small_mass();
        format!("{small} to {} {small} of flour", plain(units.mass(flour), 0))
    });
    let amount = |pct: f64| chart.flour_g.map_or(pct, |flour| units.mass(pct / 100.0 * flour));
    let words = Words {
        name: "yeast-against-hours",
        title: TITLE,
        description: describe(chart, &curves, &unit, amount),
        table: table(&curves, &unit, amount, units),
    };
    draw(words, width_px, |sheet| {
        if !chart.conditions.is_empty() {
            sheet.paragraph(&chart.conditions, sheet.sizes.text, Ink::Quiet)?;
        }
        let names: Vec<String> = curves.iter().map(|c| format!("fridge at {}", fridge(c, units))).collect();
        let line = sheet.sizes.line;
        let mut legend: Vec<(Key, &str)> = LOOKS
            .iter()
            .zip(&names)
            .map(|(&(ink, shape), name)| {
                (Key::Linked(Stroke::new(ink, line, Dash::Solid), shape), name.as_str())
            })
            .collect();
        legend.push((Key::Outer(Ink::Model), "90 % band"));
        if curves.iter().any(|c| c.points.iter().any(|p| !p.seen)) {
            legend.push((
                Key::Line(Stroke::new(Ink::Quiet, line, Dash::Dashed)),
                "beyond this kitchen's records",
            ));
        }
        sheet.legend(&legend)?;
        let points = || curves.iter().flat_map(|c| &c.points);
        let hours = points().map(|p| p.hours);
        let (low, high) = hours.fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), v| (l.min(v), h.max(v)));
        let x = Axis::between("hours from mixing to the oven", Scale::Hours, low, high);
        let y = Axis::over(
            &format!("{}, {unit}", chart.yeast),
            Scale::Log,
            points().map(|p| amount(p.yeast_pct_p50)),
        );
        let panel = Panel::below(sheet, x, y, sheet.sizes.plot_height() * 1.15)?;
        for (curve, &(ink, _)) in curves.iter().zip(&LOOKS) {
            let edges =
                curve.points.iter().map(|p| (p.hours, amount(p.yeast_pct_p05), amount(p.yeast_pct_p95)));
            panel.fill(&edges.collect(), ink, BAND)?;
        }
        for (curve, &(ink, shape)) in curves.iter().zip(&LOOKS) {
            draw_curve(&panel, curve, amount, Stroke::new(ink, line, Dash::Solid), shape)?;
        }
        for curve in &curves {
            name_curve(&panel, curve, amount, &fridge(curve, units), sheet)?;
        }
        Ok(())
    })
}

/// Bands of several curves lie over one another, so each is light.
const BAND: f64 = 0.14;
/// Every so many hours a mark shows which curve it is.
const MARK_EVERY_HOURS: f64 = 12.0;

fn draw_curve(
    panel: &Panel<'_>,
    curve: &YeastCurve,
    amount: impl Fn(f64) -> f64,
    stroke: Stroke,
    shape: Shape,
) -> Result<(), ChartError> {
    let line: Vec<_> = curve.points.iter().map(|p| (p.hours, amount(p.yeast_pct_p50), p.seen)).collect();
    panel.line_reached(&line, stroke)?;
    let mut next = f64::NEG_INFINITY;
    for point in &curve.points {
        if point.hours >= next {
            panel.mark((point.hours, amount(point.yeast_pct_p50)), shape, stroke.ink)?;
            next = point.hours + MARK_EVERY_HOURS;
        }
    }
    Ok(())
}

/// Writes the temperature on the curve, as far right as there is room.
fn name_curve(
    panel: &Panel<'_>,
    curve: &YeastCurve,
    amount: impl Fn(f64) -> f64,
    text: &str,
    sheet: &mut Sheet<'_>,
) -> Result<(), ChartError> {
    let room = sheet.sizes.text * 3.0;
    for point in curve.points.iter().rev() {
        let at = panel.pixels(point.hours, amount(point.yeast_pct_p50));
        let inside = at.0 < panel.area.right - room && at.0 > panel.area.left + room;
        if inside && sheet.label(text, (at.0, at.1), Side::Middle, true)? {
            return Ok(());
        }
    }
    Ok(())
}

/// Digits of an amount of yeast after the point: a scale that weighs it shows hundredths of a gram.
fn digits(units: UnitSystem) -> usize {
    match units {
        UnitSystem::Metric => 2,
        UnitSystem::Us => 3,
    }
}

fn fridge(curve: &YeastCurve, units: UnitSystem) -> String {
    format!("{} {}", plain(units.temperature(curve.fridge_temp_c), 1), units.degrees())
}

fn describe(chart: &YeastChart, curves: &[&YeastCurve], unit: &str, amount: impl Fn(f64) -> f64) -> String {
    let one = |curve: &&YeastCurve| {
        let (first, last) = (curve.points.first()?, curve.points.last()?);
        Some(format!(
            "With the fridge at {}: {} {unit} for {} hours, {} for {} hours.",
            fridge(curve, chart.units),
            number(amount(first.yeast_pct_p50), digits(chart.units)),
            plain(first.hours, 1),
            number(amount(last.yeast_pct_p50), digits(chart.units)),
            plain(last.hours, 1)
        ))
    };
    let curves: Vec<String> = curves.iter().filter_map(one).collect();
    format!("{} {} Dashed lines are beyond this kitchen's records.", chart.conditions, curves.join(" "))
}

fn table(curves: &[&YeastCurve], unit: &str, amount: impl Fn(f64) -> f64, units: UnitSystem) -> Table {
    let headings = [
        &format!("fridge, {}", units.degrees()),
        "hours",
        &format!("yeast, {unit}"),
        "5 %",
        "95 %",
        "records reach here",
    ];
    let rows = curves.iter().flat_map(|c| c.points.iter().map(|p| (c.fridge_temp_c, p)));
    Table::new(
        headings,
        rows.map(|(temp, p)| {
            let [middle, low, high] = [p.yeast_pct_p50, p.yeast_pct_p05, p.yeast_pct_p95]
                .map(|pct| number(amount(pct), digits(units)));
            let seen = if p.seen { "yes" } else { "no" };
            [plain(units.temperature(temp), 1), plain(p.hours, 1), middle, low, high, seen.to_owned()]
        }),
    )
}
