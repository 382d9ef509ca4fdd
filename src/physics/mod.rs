//! Temperature, gas and rise of one batch under given parameters: pure functions with hand-written
//! derivatives. Nothing here knows of records, priors or advice.
//!
//! From ingredients to dough: [`composition`], [`heat`]. Through the stages: [`cooling`], [`sphere`]. Yeast: [`rate`],
//! [`thermal_time`], [`lag`], [`gas`]; other forms of the rate, for comparison: [`rate_form`], [`other_rate`],
//! [`other_time`]. Rise: [`solubility`], [`rise`]. What is left at the oven: [`sugar`]. All of them put together for
//! one batch, with its derivatives: [`course`], [`preferment`], [`parameters`], [`slopes`]. [`scalar`] lets the same
//! code run on numbers and on numbers with a slope.

pub mod abreast;
pub mod composition;
pub mod cooling;
pub mod course;
pub mod courses;
pub mod elementary;
pub mod gas;
pub mod heat;
pub mod lag;
pub mod moment;
pub mod other_rate;
pub mod other_time;
pub mod parameters;
pub mod preferment;
pub mod rate;
pub mod rate_form;
pub mod rise;
pub mod scalar;
pub mod slopes;
pub mod solubility;
pub mod sphere;
pub mod sugar;
pub mod thermal_time;
