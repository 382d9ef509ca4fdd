//! Is it getting steadier? One measure of many batches in time order goes in (how far the rise missed its
//! target, say); control charts, capability, the batch where something changed, and one sentence on the
//! spread before and after come out. Nothing here prints or draws.
//!
//! The way through: [`measure`] makes a [`series`] · [`study`](mod@study) puts everything below together, each
//! [`stretch`] of batches with its charts · [`summary`] is what the command line says · [`improvement`] says it in
//! one sentence · [`caution`] says what to beware of, and the next step.
//!
//! - limits: [`constants`] · [`individuals`] · [`subgroups`] · [`ewma`] ·
//!   [`cusum`] · [`limits`], which looks at [`normality`] and [`autocorrelation`] first ·
//!   [`quantile_limits`]
//! - signals: [`rules`] · [`false_alarms`], how often they cry wolf · [`drift`], small lasting shifts
//! - what to expect: [`capability`] · [`usual`], "9 of 10 batches land between"
//! - change: [`phase`] · [`spread`] after to before · [`change`] point · [`reshuffle`], more than chance or not ·
//!   [`followed`] plans and others · [`shares`] of the spread

pub mod autocorrelation;
pub mod capability;
pub mod caution;
pub mod change;
pub mod constants;
pub mod cusum;
pub mod drift;
pub mod error;
pub mod ewma;
pub mod false_alarms;
pub mod followed;
pub mod improvement;
pub mod individuals;
pub mod limits;
pub mod measure;
pub mod normality;
pub mod phase;
pub mod quantile_limits;
pub mod reshuffle;
pub mod rules;
mod sample;
mod segments;
pub mod series;
pub mod shares;
pub mod spread;
pub mod stretch;
pub mod study;
pub mod subgroups;
pub mod summary;
pub mod usual;

pub use caution::Caution;
pub use error::ConsistencyError;
pub use measure::Measure;
pub use phase::Phase;
pub use rules::{Rule, Signal};
pub use sample::{Interval, Quantiles};
pub use series::{Point, Series};
pub use study::{Base, Options, Study, study};
pub use summary::Summary;
