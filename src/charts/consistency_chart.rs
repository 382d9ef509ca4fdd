//! The consistency chart as a picture.

use super::axis::{Axis, Scale};
use super::consistency::{ConsistencyChart, WatchedBatch};
use super::error::ChartError;
use super::figure::{Figure, count};
use super::marks::{Dash, Key, Shape, Stroke};
use super::panel::Panel;
use super::sheet::{Sheet, Side, Words, draw};
use super::theme::Ink;
use super::thin::{MOST_POINTS, thin};
use super::ticks::date_of_days;

/// The consistency chart; signals are circled by a diamond and named by a letter.
///
/// # Errors
/// [`ChartError::NothingToDraw`] without batches.
pub fn consistency(chart: &ConsistencyChart, width_px: u32) -> Result<Figure, ChartError> {
    let measure = chart.measure;
    if chart.batches.is_empty() {
        let needs = "batches with their rise and target, or their score";
        return Err(ChartError::NothingToDraw { chart: measure.title().to_owned(), needs });
    }
    let rules = rules(&chart.batches);
    let words = Words {
        name: measure.name(),
        title: measure.title(),
        description: chart.describe(),
        table: chart.table(),
    };
    draw(words, width_px, |sheet| {
        let named: Vec<String> =
            rules.iter().enumerate().map(|(i, rule)| format!("{}: {rule}", letter(i))).collect();
        let mut legend = vec![
            (Key::Linked(Stroke::new(Ink::Quiet, 1.0, Dash::Solid), Shape::Dot), "batch"),
            (Key::Line(centre()), "centre"),
            (Key::Line(limit()), "limits"),
        ];
        if chart.target_band.is_some() {
            legend.push((Key::Fill(Ink::Target, 0.22), "content with"));
        }
        legend.extend(named.iter().map(|text| (Key::Point(Shape::Diamond, Ink::Alert), text.as_str())));
        sheet.legend(&legend)?;
        let panel = axes(chart, sheet)?;
        limits(chart, &panel, sheet)?;
        let signals = latest_signals(chart);
        let drawn = points(chart, &signals, &panel)?;
        letters(chart, &rules, &signals, &panel, sheet)?;
        note(chart, drawn, signals.len(), sheet)
    })
}

/// More signals than this cannot be told apart; the latest matter most.
const MOST_SIGNALS: usize = 40;

fn centre() -> Stroke {
    Stroke::new(Ink::Model, 2.0, Dash::Solid)
}

fn limit() -> Stroke {
    Stroke::new(Ink::Model, 1.8, Dash::Dashed)
}

/// The different rules in the order in which they are first set off.
fn rules(batches: &[WatchedBatch]) -> Vec<&str> {
    let mut rules: Vec<&str> = Vec::new();
    for rule in batches.iter().flat_map(|b| &b.signals) {
        if !rules.contains(&rule.as_str()) {
            rules.push(rule);
        }
    }
    rules
}

fn letter(i: usize) -> char {
    ('A'..='Z').nth(i).unwrap_or('Z')
}

fn axes<'a>(chart: &ConsistencyChart, sheet: &mut Sheet<'a>) -> Result<Panel<'a>, ChartError> {
    let days: Vec<f64> = chart.batches.iter().map(|b| b.when_days).collect();
    let long = days.iter().copied().fold(f64::NEG_INFINITY, f64::max) - days[0] > 300.0;
    let form = if long { "%b %Y" } else { "%-d %b" };
    let label = |d: &f64| date_of_days(*d).map(|date| date.strftime(form).to_string()).unwrap_or_default();
    let labels = Scale::Listed(days.iter().map(label).collect());
    let x = Axis::between("batches in the order of baking", labels, -0.6, days.len() as f64 - 0.4);
    let (name, scale) = chart.measure.axis();
    let lines = chart.phases.iter().flat_map(|p| [p.lower, p.upper, p.center]);
    let band = chart.target_band.into_iter().flat_map(|(low, high)| [low, high]);
    let values = chart.batches.iter().map(|b| b.value).chain(lines).chain(band);
    let mut y = Axis::over(name, scale, values);
    // Room for the names of phases above everything.
    y.high += (y.high - y.low) * 0.08;
    Panel::below(sheet, x, y, sheet.sizes.plot_height())
}

fn limits<'a>(chart: &ConsistencyChart, panel: &Panel<'a>, sheet: &mut Sheet<'a>) -> Result<(), ChartError> {
    let end = chart.batches.len() as f64 - 0.4;
    if let Some((low, high)) = chart.target_band {
        panel.fill(&vec![(-0.6, low, high), (end, low, high)], Ink::Target, 0.22)?;
    }
    for (i, phase) in chart.phases.iter().enumerate() {
        let (from, to) = (phase.first as f64 - 0.5, phase.last as f64 + 0.5);
        for (value, stroke) in [(phase.center, centre()), (phase.lower, limit()), (phase.upper, limit())] {
            panel.line(&[(from, value), (to, value)], stroke)?;
        }
        if i > 0 {
            panel.upright(from, Stroke::new(Ink::Quiet, 1.2, Dash::Dotted))?;
        }
        panel.name_stretch(sheet, &phase.name, from, to)?;
    }
    Ok(())
}

/// The latest signals, as indices of batches in their order.
fn latest_signals(chart: &ConsistencyChart) -> Vec<usize> {
    let all: Vec<usize> =
        (0..chart.batches.len()).filter(|&i| !chart.batches[i].signals.is_empty()).collect();
    all[all.len().saturating_sub(MOST_SIGNALS)..].to_vec()
}

/// Draws the batches and singles the signals out; gives how many batches were drawn.
fn points(chart: &ConsistencyChart, signals: &[usize], panel: &Panel<'_>) -> Result<usize, ChartError> {
    let batches = &chart.batches;
    let middle = chart.phases.first().map_or(0.0, |p| p.center);
    let mut drawn = thin(batches.len(), MOST_POINTS, |i| (batches[i].value - middle).abs());
    drawn.extend(signals);
    drawn.sort_unstable();
    drawn.dedup();
    let at = |&i: &usize| (i as f64, batches[i].value);
    // A line between batches that do not follow one another would tell of steps that nobody took.
    if drawn.len() == batches.len() {
        panel.line(&drawn.iter().map(at).collect::<Vec<_>>(), Stroke::new(Ink::Quiet, 1.0, Dash::Solid))?;
    }
    for i in &drawn {
        panel.mark(at(i), Shape::Dot, Ink::Text)?;
    }
    for i in signals {
        panel.mark(at(i), Shape::Diamond, Ink::Alert)?;
    }
    Ok(drawn.len())
}

/// The letters of the rules beside their signals, the latest first: where there is no room, the table has them.
fn letters(
    chart: &ConsistencyChart,
    rules: &[&str],
    signals: &[usize],
    panel: &Panel<'_>,
    sheet: &mut Sheet<'_>,
) -> Result<(), ChartError> {
    for &i in signals.iter().rev() {
        let batch = &chart.batches[i];
        let set_off = rules.iter().enumerate().filter(|(_, rule)| batch.signals.iter().any(|s| s == *rule));
        let text: String = set_off.map(|(k, _)| letter(k)).collect();
        let (x, y) = panel.pixels(i as f64, batch.value);
        let away = sheet.sizes.mark * 2.1 + sheet.sizes.text * 0.75;
        let above = y - away - sheet.sizes.text >= panel.area.top;
        if !(above && sheet.label(&text, (x, y - away), Side::Middle, false)?) {
            sheet.label(&text, (x, y + away), Side::Middle, false)?;
        }
    }
    Ok(())
}

/// Says what was left out.
fn note(
    chart: &ConsistencyChart,
    drawn: usize,
    marked: usize,
    sheet: &mut Sheet<'_>,
) -> Result<(), ChartError> {
    let (all, signals) =
        (chart.batches.len(), chart.batches.iter().filter(|b| !b.signals.is_empty()).count());
    if !chart.said.is_empty() {
        sheet.note(&chart.said)?;
    }
    if drawn < all {
        sheet.note(&format!(
            "{} of {} batches drawn, the farthest from the centre among them.",
            count(drawn),
            count(all)
        ))?;
    }
    if marked < signals {
        sheet.note(&format!(
            "The latest {} of {} signals marked; the table has all.",
            count(marked),
            count(signals)
        ))?;
    }
    Ok(())
}
