//! Work done on a vehicle.

use crate::coded::Code;
use crate::ids::{ReadingId, ServiceId, StayId, WorkshopId};
use chrono::{DateTime, NaiveDate, Utc};
use quantity::{Distance, Entered};
use serde::{Deserialize, Serialize};

/// A part used in a service.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Part {
    /// What it is.
    pub name: String,
    /// Maker's number.
    pub number: Option<String>,
    /// How many.
    pub quantity: f64,
}

/// A service record: date, odometer, rules satisfied, parts, cost.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct ServiceRecord {
    /// Its id.
    pub id: ServiceId,
    /// The day the work was done, in the depot's zone.
    pub done_on: NaiveDate,
    /// Odometer, as entered.
    pub odometer_entered: Entered,
    /// The same, exact.
    pub odometer: Distance,
    /// The meter log entry it made.
    pub reading: ReadingId,
    /// Codes of the rules it satisfies.
    pub rules: Vec<Code>,
    /// Where it was done.
    pub workshop: Option<WorkshopId>,
    /// Parts used.
    pub parts: Vec<Part>,
    /// Cost in minor units of the currency.
    pub cost_minor: Option<i64>,
    /// Currency (ISO 4217).
    pub currency: Option<String>,
    /// Invoice number or other evidence.
    pub evidence: Option<String>,
    /// Free text.
    pub note: Option<String>,
    /// When it was recorded.
    pub recorded_at: DateTime<Utc>,
}

/// Time off the road: in, out, where, why, waiting for what.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Stay {
    /// Its id.
    pub id: StayId,
    /// Where.
    pub workshop: Option<WorkshopId>,
    /// When it went in.
    pub in_at: DateTime<Utc>,
    /// When it came out; none while it is there.
    pub out_at: Option<DateTime<Utc>>,
    /// Why.
    pub reason: String,
    /// What it waits for: a part, an answer.
    pub waiting_for: Option<String>,
    /// When it was recorded.
    pub recorded_at: DateTime<Utc>,
}

impl Stay {
    /// Whether the vehicle is off the road at `at` for it.
    pub fn is_on(&self, at: DateTime<Utc>) -> bool {
        self.in_at <= at && self.out_at.is_none_or(|out| at < out)
    }
}
