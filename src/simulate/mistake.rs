//! What goes wrong with a batch, or with its record.

use crate::dough::Batch;

/// One thing gone wrong.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Mistake {
    /// The probe was read ten degrees too high.
    MisreadProbe,
    /// A double batch with the yeast of a single one; the record shows what was planned.
    YeastNotDoubled,
    /// The hours in the fridge written with their figures the wrong way round.
    TransposedHours,
    /// The pieces stood in the room far longer than planned, and fell.
    Forgotten,
}

/// How far the probe was misread, °C.
const MISREAD_C: f64 = 10.0;
/// How much longer forgotten pieces stand, h.
const FORGOTTEN_H: f64 = 7.0;
/// Hours in the fridge that were right, and what was written for them.
const TRANSPOSED_H: (f64, f64) = (42.0, 24.0);

impl Mistake {
    /// What happened, for a reader.
    pub const fn story(self) -> &'static str {
        match self {
            Self::MisreadProbe => "`dough_temp_c` misread by ten degrees",
            Self::YeastNotDoubled => {
                "a double batch made with the yeast of a single one; `yeast_g` is what was planned"
            }
            Self::TransposedHours => "`cold_hours` written with its two figures the wrong way round",
            Self::Forgotten => "pieces forgotten in the room until the dough fell; the hours are right",
        }
    }

    /// The plan, before yeast is chosen, to which this can happen.
    pub(super) fn intended(self, plan: Batch) -> Batch {
        match self {
            Self::TransposedHours => Batch { cold_hours: Some(TRANSPOSED_H.0), ..plan },
            _ => plan,
        }
    }

    /// The batch as it was truly made.
    pub(super) fn made(self, plan: Batch) -> Batch {
        match self {
            Self::YeastNotDoubled => Batch { yeast_g: plan.yeast_g.map(|g| 0.5 * g), ..plan },
            Self::Forgotten => Batch { temper_hours: plan.temper_hours.map(|h| h + FORGOTTEN_H), ..plan },
            Self::MisreadProbe | Self::TransposedHours => plan,
        }
    }

    /// The record as it was written down.
    pub(super) fn written(self, record: Batch, plan: &Batch) -> Batch {
        match self {
            Self::YeastNotDoubled => Batch { yeast_g: plan.yeast_g, ..record },
            Self::MisreadProbe => {
                Batch { dough_temp_c: record.dough_temp_c.map(|t| t + MISREAD_C), ..record }
            }
            Self::TransposedHours => Batch { cold_hours: Some(TRANSPOSED_H.1), ..record },
            Self::Forgotten => Batch { notes: Some("forgotten in the room, fell".to_string()), ..record },
        }
    }
}
