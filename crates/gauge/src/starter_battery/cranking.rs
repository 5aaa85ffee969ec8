//! The test of what a battery still gives in the cold, against what it was rated for.

use super::SETTING;
use crate::limit::{Bound, Limit};
use model::Grade;
use quantity::{Entered, Unit};
use serde::{Deserialize, Serialize};

/// What the rating on the case means; told with every test against it.
pub const RATING_NOTE: &str = "The cold-cranking rating (SAE J537, from memory) is the current that a new battery gives at -18 °C for 30 seconds \
     without falling below 7.2 V; a conductance tester estimates it and does not measure it.";

/// Whether the battery was charged before the test.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum ChargeBefore {
    /// Fully, and rested.
    Charged,
    /// Not, or not known.
    Unknown,
}

/// Why a test says nothing.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum CrankingError {
    /// What was measured is no current.
    #[error("{amperes} A is no measured current; a finite number of zero or more is needed")]
    NotMeasured {
        /// What was given.
        amperes: f64,
    },
    /// What it is rated for is no current.
    #[error("a battery cannot be rated for {amperes} A; a finite number above zero is needed")]
    NotRated {
        /// What was given.
        amperes: f64,
    },
}

const SHARE: Limit = Limit {
    name: "cold-cranking current of a charged battery, share of its rating",
    grade: Some(Grade::Attend),
    bound: Bound::Below(Entered::new(70.0, Unit::Percent)),
    ..SETTING
};
static WEAK: Limit = Limit { key: "battery-cranking-attend", ..SHARE };
static WEAKENING: Limit = Limit {
    key: "battery-cranking-watch",
    grade: Some(Grade::Watch),
    bound: Bound::Below(Entered::new(75.0, Unit::Percent)),
    ..SHARE
};
static WEAK_OR_FLAT: Limit = Limit {
    key: "battery-cranking-uncharged",
    name: "cold-cranking current of a battery not known to be charged, share of its rating",
    ..WEAKENING
};

pub(super) fn limits() -> impl Iterator<Item = &'static Limit> {
    [&WEAK, &WEAKENING, &WEAK_OR_FLAT].into_iter()
}

/// The share of its rating that a battery gave, in millionths of a percent.
///
/// # Errors
/// [`CrankingError`] for what is no current.
pub fn cranking_share(measured_amperes: f64, rated_amperes: f64) -> Result<i64, CrankingError> {
    if !(measured_amperes.is_finite() && measured_amperes >= 0.0) {
        return Err(CrankingError::NotMeasured { amperes: measured_amperes });
    }
    if !(rated_amperes.is_finite() && rated_amperes > 0.0) {
        return Err(CrankingError::NotRated { amperes: rated_amperes });
    }
    Entered::new(100.0 * measured_amperes / rated_amperes, Unit::Percent)
        .exact()
        .map_err(|_| CrankingError::NotRated { amperes: rated_amperes })
}

/// The limit that a share of the rating meets, if any; `share` in millionths of a percent.
///
/// A battery that was not charged before can only be told to be charged and tested again.
pub fn cranking_met(share: i64, before: ChargeBefore) -> Option<&'static Limit> {
    let limits: &[&'static Limit] = match before {
        ChargeBefore::Charged => &[&WEAK, &WEAKENING],
        ChargeBefore::Unknown => &[&WEAK_OR_FLAT],
    };
    limits.iter().find(|limit| limit.bound.is_met(share)).copied()
}
