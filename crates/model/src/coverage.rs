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

worded! {
    /// What reduces a window's limits.
    ReductionCause {
        /// The vehicle earns money on the road: delivery, carrying passengers, long runs.
        CommercialUse = "commercial_use",
        /// The fleet is not the vehicle's first owner.
        SecondOwner = "second_owner",
    }
}

/// Limits that hold instead where something is so.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Reduction {
    /// What has to be so.
    pub when: ReductionCause,
    /// Months it lasts then; as before where none are said.
    pub months: Option<u32>,
    /// Distance it lasts then, as entered; as before where none is said.
    pub distance: Option<Entered>,
}

/// One step of a pro-rata schedule: what is credited up to a point.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct ProRataStep {
    /// Up to so many months from the start.
    pub months: Option<u32>,
    /// Up to so much distance from where the window's distance counts, as entered.
    pub distance: Option<Entered>,
    /// Share of the price credited, percent.
    pub credit_percent: f64,
}

worded! {
    /// What becomes of a window when the vehicle changes hands.
    Transfer {
        /// It goes along.
        Automatic = "automatic",
        /// It goes along if its giver is told in time.
        OnNotice = "on_notice",
        /// It ends.
        Ends = "ends",
    }
}

/// The price of distance beyond a lease's cap.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct ExcessPrice {
    /// For each of this distance, as entered: 1 km, 1 mi.
    pub per: Entered,
    /// In minor units of the currency.
    pub minor: f64,
    /// Currency (ISO 4217).
    pub currency: String,
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
    /// Limits that hold instead where the vehicle is used or owned otherwise; of several that apply the lower holds.
    #[serde(default)]
    pub reduced_if: Vec<Reduction>,
    /// What is credited as the window is used up, in order; all of it where there is no schedule.
    #[serde(default)]
    pub pro_rata: Vec<ProRataStep>,
    /// What becomes of it when the vehicle changes hands.
    #[serde(default = "automatic")]
    pub transfer: Transfer,
    /// Days from acquisition within which its giver must be told of the change of hands.
    #[serde(default)]
    pub transfer_within_days: Option<u32>,
    /// The day on which its giver was told.
    #[serde(default)]
    pub transferred_on: Option<NaiveDate>,
    /// What distance beyond a lease's cap costs.
    #[serde(default)]
    pub excess: Option<ExcessPrice>,
    /// What voids it, in the contract's words.
    pub voided_by: Option<String>,
}

const fn automatic() -> Transfer {
    Transfer::Automatic
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
