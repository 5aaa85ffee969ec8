//! Coverage windows: warranties with limits in time and distance.

use crate::coded::{Code, worded};
use crate::ids::{ServiceId, WindowId};
use chrono::{DateTime, NaiveDate, Utc};
use quantity::Entered;
use serde::{Deserialize, Serialize};

worded! {
    /// What a coverage window is.
    WindowKind {
        /// A warranty.
        Warranty = "warranty",
        /// A lease.
        Lease = "lease",
    }
}

worded! {
    /// From where the distance limit counts.
    DistanceFrom {
        /// From zero: the odometer itself must stay below the limit.
        Zero = "zero",
        /// From the odometer at the start.
        StartOdometer = "start_odometer",
    }
}

worded! {
    /// Which day is the last one covered.
    LastDay {
        /// The day before the anniversary.
        DayBefore = "day_before",
        /// The anniversary itself.
        Anniversary = "anniversary",
    }
}

/// The terms of a coverage window, as written in its contract.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct CoverageTerms {
    /// Warranty or lease.
    pub kind: WindowKind,
    /// As a person reads it: "Powertrain warranty".
    pub title: String,
    /// What is covered, as component codes; empty means the whole vehicle.
    pub scope: Vec<Code>,
    /// First day covered; the in-service date where none is said.
    pub starts_on: Option<NaiveDate>,
    /// Odometer at the start, as entered.
    pub start_odometer: Option<Entered>,
    /// The service record that opened it, for a replaced part.
    pub opened_by: Option<ServiceId>,
    /// Months it lasts.
    pub months: Option<u32>,
    /// Distance it lasts, as entered.
    pub distance: Option<Entered>,
    /// From where the distance counts.
    pub distance_from: DistanceFrom,
    /// Which day is the last.
    pub last_day: LastDay,
    /// Capacity below which a traction battery is covered, percent.
    pub capacity_floor_percent: Option<f64>,
    /// What voids it, in the contract's words.
    pub voided_by: Option<String>,
}

/// A coverage window of a vehicle.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct CoverageWindow {
    /// Its id.
    pub id: WindowId,
    /// Its terms.
    pub terms: CoverageTerms,
    /// When it was recorded.
    pub recorded_at: DateTime<Utc>,
}
