//! The fitted usage of a cohort, and which fit a vehicle is judged by.

use crate::coded::worded;
use crate::ids::FitId;
use serde::{Deserialize, Serialize};

worded! {
    /// Whose data a usage prior came from.
    FitLevel {
        /// Vehicles of the same depot, model and duty.
        Cohort = "cohort",
        /// Vehicles of the same duty.
        Parent = "parent",
        /// The whole fleet.
        Fleet = "fleet",
        /// The default shipped with the program.
        Shipped = "shipped",
    }
}

/// How much wider than computed the bands of a cohort must be, measured by rolling back-tests.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct KappaFit {
    /// At 30 operating days.
    pub at_30: f64,
    /// At 90.
    pub at_90: f64,
    /// At 180.
    pub at_180: f64,
    /// Back-test cases behind it at each of the three.
    pub cases: [u32; 3],
}

/// Parameters of a usage cohort (see the `forecast` crate).
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct CohortFit {
    /// Regularity, per operating day.
    pub a: f64,
    /// Shape of the prior.
    pub p: f64,
    /// Scale of the prior, km.
    pub q: f64,
    /// Whose data it came from.
    pub level: FitLevel,
    /// How many vehicles it was fitted to.
    pub vehicles: u32,
    /// How wide its bands must be; `None` until back-tests tell.
    #[serde(default)]
    pub kappa: Option<KappaFit>,
}

/// The fit a vehicle is judged by; `None` as id for the shipped default.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct PinnedFit {
    /// The recorded fit.
    pub id: Option<FitId>,
    /// Its parameters.
    pub fit: CohortFit,
}
