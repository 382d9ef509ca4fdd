//! Charts: pictures of what the other rooms have found, for files and for the report. Each chart is a function from
//! plain data and a width in pixels to a [`Figure`]: an SVG, a title, a description and the same numbers as a table.
//! The same data give the same picture, letter for letter.
//!
//! - what the predictions missed: [`residual_panel`] with [`observed_against_predicted`], [`residuals_over`],
//!   [`residuals_by_lot`], [`normal_quantiles`], [`calibration`], [`loo_pit`]; of simulated kitchens, [`rank_histograms`]
//! - one dough: [`rise_curve`], [`readiness`], [`cooling`], [`varied`]
//! - one kitchen: [`yeast_against_hours`], [`temperature_response`], [`flour_lots`], [`variance_shares`],
//!   [`consistency`], [`crust_score`]
//!
//! Beneath them: `theme` is how everything looks, `lettering` measures text, `axis` and `ticks` place values and
//! choose labels, `sheet` is the paper with what is already written on it, `document` the SVG around it, `panel` a plot with its axes, `plotting`
//! and `marks` what is drawn there, `rows` plots of named rows, `thin` leaves out what would not be seen, `compact`
//! makes the SVG small, `png` turns it into dots.
//!
//! A picture is drawn for the width at which it will be looked at: 360 px for a phone, up to 1200 px for a page. It
//! may be scaled up, not far down.

mod axis;
mod bands;
mod calibration;
mod compact;
mod consistency;
mod consistency_chart;
mod cooling;
mod crust;
mod document;
mod error;
mod figure;
mod lettering;
mod lots;
mod marks;
mod panel;
mod pit;
mod plotting;
mod png;
mod predicted;
mod quantiles;
mod ranks;
mod readiness;
mod residuals;
mod residuals_by_lot;
mod residuals_over;
mod rise;
mod rows;
mod shares;
mod sheet;
mod temperature;
mod theme;
mod thin;
mod ticks;
mod vary;
mod yeast;

pub use bands::{Curve, Quantiles};
pub use calibration::{calibration, expected_inside};
pub use consistency::{ConsistencyChart, Measure, Phase, WatchedBatch};
pub use consistency_chart::consistency;
pub use cooling::{CoolingChart, cooling};
pub use crust::{CrustChart, Scored, crust_score};
pub use error::ChartError;
pub use figure::{Figure, Table};
pub use lots::{FlourLot, flour_lots};
pub use pit::loo_pit;
pub use predicted::observed_against_predicted;
pub use quantiles::{normal_quantiles, order_statistic};
pub use ranks::{RankHistogram, expected_in_bin, rank_histograms};
pub use readiness::{ReadinessChart, ReadyChance, readiness};
pub use residuals::{Coverage, Observation, ObservationKind, residual_panel};
pub use residuals_by_lot::residuals_by_lot;
pub use residuals_over::{Over, residuals_over};
pub use rise::{AtOven, RiseChart, RiseReading, StageSpan, rise_curve};
pub use shares::{VarianceShare, variance_shares};
pub use temperature::{TemperatureChart, temperature_response};
pub use theme::{NARROWEST_PX, Scheme, WIDEST_PX};
pub use vary::{VaryChart, varied};
pub use yeast::{YeastChart, YeastCurve, YeastPoint, yeast_against_hours};
