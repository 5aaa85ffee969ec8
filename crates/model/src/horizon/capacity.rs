//! What a traction battery still holds, against the floor of a coverage window.

use super::Band;
use crate::ids::MeasurementId;
use crate::inspection::Grade;
use chrono::{DateTime, Utc};
use quantity::Entered;
use serde::{Deserialize, Serialize};

/// A traction battery's capacity against the floor of a window. Only the maker's own test counts for a claim.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct CapacityOutlook {
    /// Capacity below which the battery is covered, per cent of that when new.
    pub floor_percent: f64,
    /// The last value measured of this battery.
    pub last: Option<CapacityMeasured>,
    /// Where it leads, once five values are known.
    pub forecast: Option<CapacityForecast>,
}

/// A capacity measured, held to the floor of a window.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct CapacityMeasured {
    /// The measurement.
    pub measurement: MeasurementId,
    /// When.
    pub measured_at: DateTime<Utc>,
    /// As entered.
    pub capacity: Entered,
    /// What it comes to.
    pub grade: Grade,
    /// Why, in one sentence.
    pub reason: String,
    /// What to do, in one sentence each.
    pub advice: Vec<String>,
    /// Where the limit comes from.
    pub source: String,
    /// How well that source is known.
    pub standing: String,
    /// What can hurt.
    pub caution: Option<String>,
}

/// When a battery falls below the floor of a window, by the law of its loss.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct CapacityForecast {
    /// How many readings it rests on.
    pub readings: u32,
    /// Loss with the root of a year, per cent.
    pub percent_per_root_year: f64,
    /// Loss over 1,000 km, per cent.
    pub percent_per_1000_km: f64,
    /// The days on which a reading shows less than the floor.
    pub below_floor: Band,
    /// Probability that one does so before the cover ends; `None` where it has ended, or ends beyond ten years.
    pub probability: Option<f64>,
}
