//! The unit of each column whose cells do not name their own.

use super::super::headings::Target;
use super::super::question::Question;
use super::super::units::{Quantity, Share, Unit};
use super::super::usual::{Range, by_unit, of_flour, of_preferment};
use super::columns::AS_GOOD;
use super::{Draft, Drafts};
use crate::dough::Column;

/// Less than this share of usual cells under every unit is no ground to decide on.
const ENOUGH: f64 = 0.5;

/// Mean masses in grams, against which other masses are judged.
#[derive(Debug, Clone, Copy, Default)]
struct Flours {
    all: Option<f64>,
    preferment: Option<f64>,
}

impl Drafts<'_> {
    /// Decides the units: first where the column decides by itself, then masses by their share of the flour,
    /// then what all other columns of the kind agree on.
    pub(super) fn decide_units(&mut self) {
        let beside_flour = |t: Target| matches!(t, Target::Column(c) if of_flour(c).is_some());
        for i in 0..self.columns.len() {
            if self.columns[i].target.is_some_and(|t| !beside_flour(t)) {
                self.decide_unit(i, Flours::default());
            }
        }
        let mut flours = Flours { all: self.mean_of(Column::flour_g), preferment: None };
        let in_order = |c: &Draft<'_>| c.target != Some(Target::Column(Column::preferment_flour_g));
        for first in [true, false] {
            for i in 0..self.columns.len() {
                let draft = &self.columns[i];
                if draft.target.is_some_and(beside_flour) && in_order(draft) != first {
                    self.decide_unit(i, flours);
                }
            }
            flours.preferment = self.mean_of(Column::preferment_flour_g);
        }
        self.adopt_units();
    }

    /// Whether anything in the sheet is in ounces, pounds or degrees Fahrenheit.
    fn has_imperial(&self) -> bool {
        let imperial = |u: &Unit| matches!(u, Unit::Ounce | Unit::Pound | Unit::Fahrenheit);
        self.columns.iter().any(|d| {
            d.written.iter().any(imperial)
                || d.unit.iter().any(imperial)
                || d.survey.units.iter().any(|(u, _)| imperial(u))
        })
    }

    fn mean_of(&self, column: Column) -> Option<f64> {
        self.columns.iter().filter(|d| d.target == Some(Target::Column(column))).find_map(Draft::mean_grams)
    }

    fn decide_unit(&mut self, i: usize, flours: Flours) {
        let (imperial, heading_row) = (self.has_imperial(), self.table.heading_row);
        let draft = &mut self.columns[i];
        let Some((target, quantity)) = draft.target.and_then(|t| Some((t, t.quantity()?))) else { return };
        if draft.as_exported && draft.entry.is_none() {
            draft.unit = Some(quantity.kept_in());
            return;
        }
        draft.decide_percent(target, heading_row, &mut self.questions);
        if draft.survey.bare == 0 {
            let written = draft.written.map(|w| w.meanings(target)).unwrap_or_default();
            draft.unit = if let [unit] = written.as_slice() { Some(*unit) } else { None };
            return;
        }
        // The one unit that some cells name holds for the bare ones, where they are usual in it.
        let named = draft.named(quantity).filter(|u| draft.share_usual(target, *u, flours) >= ENOUGH);
        let candidates = named.map_or_else(|| draft.candidates(target, imperial), |unit| vec![unit]);
        let fits: Vec<(Unit, f64)> =
            candidates.iter().map(|u| (*u, draft.share_usual(target, *u, flours))).collect();
        let best = fits.iter().map(|(_, fit)| *fit).fold(0.0, f64::max);
        let possible: Vec<Unit> =
            fits.iter().filter(|(_, fit)| *fit >= AS_GOOD * best).map(|(u, _)| *u).collect();
        match (candidates.as_slice(), possible.as_slice()) {
            ([], _) => {}
            ([unit], _) => draft.unit = Some(*unit),
            (_, [unit]) if best >= ENOUGH => {
                draft.unit = Some(*unit);
                draft.why.push(format!("{unit}: its cells are not usual in {}", others(&candidates, *unit)));
            }
            _ if best < ENOUGH => {
                draft.ask(&mut self.questions, heading_row, |at| Question::no_unit(at, &candidates))
            }
            _ => draft.open = possible,
        }
    }

    /// What all other columns of the same quantity are in holds for one that leaves it open.
    fn adopt_units(&mut self) {
        let heading_row = self.table.heading_row;
        for i in 0..self.columns.len() {
            if self.columns[i].open.is_empty() {
                continue;
            }
            let open = &self.columns[i].open;
            let is_flour = |d: &Draft<'_>| d.target == Some(Target::Column(Column::flour_g));
            let same = |d: &&Draft<'_>| {
                d.target.and_then(Target::quantity) == self.columns[i].target.and_then(Target::quantity)
            };
            let peers: Vec<Unit> = (self.columns.iter())
                .filter(same)
                .filter(|d| d.survey.bare > 0 && !is_flour(d))
                .filter_map(|d| d.unit)
                .collect();
            let agreed = peers
                .first()
                .filter(|first| peers.iter().all(|u| u == *first) && open.contains(first))
                .copied();
            let draft = &mut self.columns[i];
            match agreed {
                Some(unit) => {
                    draft.unit = Some(unit);
                    draft.why.push(format!("{unit}: as in the other columns"));
                }
                None => {
                    let open = draft.open.clone();
                    draft.ask(&mut self.questions, heading_row, |at| Question::which_unit(at, &open));
                }
            }
        }
    }
}

fn others(candidates: &[Unit], chosen: Unit) -> String {
    candidates.iter().filter(|u| **u != chosen).map(|u| u.name()).collect::<Vec<_>>().join(" or ")
}

impl Draft<'_> {
    /// The one unit that cells name, where no heading does.
    fn named(&self, quantity: Quantity) -> Option<Unit> {
        let mut named = self.survey.units.iter().map(|(u, _)| *u).filter(|u| *u != Unit::Percent);
        let only = named.next().filter(|u| u.convert(1.0, quantity).is_some() && self.written.is_none())?;
        named.next().is_none().then_some(only)
    }

    /// Units that bare numbers may be in: the one that is written, or all that the column allows.
    fn candidates(&self, target: Target, imperial: bool) -> Vec<Unit> {
        if let Some(written) = self.written {
            let mut units = written.meanings(target);
            // A spreadsheet stores 65 % as 0.65, and shows the sign by the cell's format only.
            if units.iter().any(|u| u.share() != Share::Own || *u == Unit::Percent)
                && self.entry.and_then(|e| e.unit).is_none()
            {
                let shares: Vec<Share> = units.iter().map(|u| u.share()).collect();
                units.extend(Unit::Part.meanings(target).into_iter().filter(|u| shares.contains(&u.share())));
            }
            return units;
        }
        let is_imperial = |u: Unit| matches!(u, Unit::Ounce | Unit::Pound);
        let mut units: Vec<Unit> = self.ranges(target).iter().map(|(u, _)| *u).collect();
        units.retain(|u| imperial || !is_imperial(*u));
        units
    }

    /// The usual ranges of bare numbers under each unit that the column allows.
    pub(super) fn ranges(&self, target: Target) -> Vec<(Unit, Range)> {
        let Some(quantity) = target.quantity() else { return Vec::new() };
        let usual = by_unit(target);
        if let Some(written) = self.written {
            let in_unit = |u: Unit| {
                usual.iter().find(|(v, _)| *v == u).map(|(_, r)| *r).or_else(|| sane(target, u, quantity))
            };
            return written.meanings(target).into_iter().filter_map(|u| Some((u, in_unit(u)?))).collect();
        }
        if !usual.is_empty() {
            return usual;
        }
        let shares = [Unit::PercentOfFlour, Unit::PartOfFlour];
        let in_preferment = [Unit::PercentOfPreferment, Unit::PartOfPreferment];
        let of_preferment = matches!(target, Target::Column(c) if of_preferment(c).is_some());
        let units = [Unit::Gram, Unit::Kilogram, Unit::Ounce, Unit::Pound].into_iter().chain(shares);
        let units = units.chain(in_preferment.into_iter().filter(|_| of_preferment));
        units.filter_map(|u| Some((u, sane(target, u, quantity)?))).collect()
    }

    /// The share of the bare numbers that are usual in a unit.
    fn share_usual(&self, target: Target, unit: Unit, flours: Flours) -> f64 {
        let decimal = self.decimal();
        if let Target::Column(column) = target
            && let Some(usual) = of_flour(column)
        {
            let Some(mean) = self.survey.mean(decimal) else { return 1.0 };
            let Some(amount) = unit.convert(mean, Quantity::Mass) else { return 0.0 };
            let (percent, usual) = match unit.share() {
                Share::OfFlour => (Some(100.0 * amount), usual),
                Share::OfPreferment => (Some(100.0 * amount), of_preferment(column).unwrap_or(usual)),
                Share::Own => (flours.all.map(|flour| 100.0 * amount / flour), usual),
            };
            let by_flour = percent.is_none_or(|p| (usual.0..=usual.1).contains(&p));
            let of_own = of_preferment(column).zip(flours.preferment).filter(|_| unit.share() == Share::Own);
            let by_preferment =
                of_own.is_none_or(|(usual, flour)| (usual.0..=usual.1).contains(&(100.0 * amount / flour)));
            return f64::from(u8::from(by_flour && by_preferment));
        }
        let range = self.ranges(target).iter().find(|(u, _)| *u == unit).map(|(_, r)| *r);
        let range = range.or_else(|| target.quantity().and_then(|q| sane(target, unit, q)));
        range.map_or(0.0, |r| self.survey.within(decimal, r) / self.survey.sized(decimal).max(1.0))
    }

    /// How many bare numbers are usual in the unit that fits most of them.
    pub(super) fn most_within(&self, target: Target) -> f64 {
        let within = |(_, r): &(Unit, Range)| self.survey.within(self.decimal(), *r);
        self.ranges(target).iter().map(within).fold(0.0, f64::max)
    }

    /// What a percent sign in a cell is of.
    fn decide_percent(&mut self, target: Target, heading_row: u64, questions: &mut Vec<Question>) {
        if !self.survey.units.iter().any(|(u, _)| *u == Unit::Percent) {
            return;
        }
        let mut meanings = Unit::Percent.meanings(target);
        if let Some(written) = self.written.filter(|w| meanings.contains(w)) {
            meanings = vec![written];
        }
        let usual = |u: &Unit| match (target, u.share()) {
            (Target::Column(c), Share::OfFlour) => of_flour(c),
            (Target::Column(c), Share::OfPreferment) => of_preferment(c),
            _ => by_unit(target).iter().find(|(v, _)| v == u).map(|(_, r)| *r),
        };
        let fits: Vec<f64> =
            meanings.iter().map(|u| usual(u).map_or(0.0, |r| self.survey.percents.within(r))).collect();
        let best = fits.iter().copied().fold(0.0, f64::max);
        let possible: Vec<Unit> =
            meanings.iter().zip(fits).filter(|(_, f)| *f >= AS_GOOD * best).map(|(u, _)| *u).collect();
        match possible.as_slice() {
            [unit] => self.percent = Some(*unit),
            [] => {}
            several => self.ask(questions, heading_row, |at| Question::which_unit(at, several)),
        }
    }

    /// Mean of a mass in grams over all cells, once its unit is known.
    fn mean_grams(&self) -> Option<f64> {
        let unit = self.unit.unwrap_or(Unit::Gram);
        let bare = self.survey.mean(self.decimal()).and_then(|m| unit.convert(m, Quantity::Mass));
        let (sum, n) = self.survey.grams;
        bare.filter(|_| unit.share() == Share::Own).or((n > 0.0).then(|| sum / n))
    }
}

/// The sane range of a target in a unit.
fn sane(target: Target, unit: Unit, quantity: Quantity) -> Option<Range> {
    if unit.share() != Share::Own {
        let Target::Column(column) = target else { return None };
        let percent = if unit.share() == Share::OfFlour { of_flour(column) } else { of_preferment(column) }?;
        let scale = unit.convert(1.0, quantity)? * 100.0;
        return Some((percent.0 / scale, percent.1 / scale));
    }
    let (min, max) = target.range()?;
    let (zero, one) = (unit.convert(0.0, quantity)?, unit.convert(1.0, quantity)?);
    let back = |x: f64| (x - zero) / (one - zero);
    Some((back(min), back(max)))
}
