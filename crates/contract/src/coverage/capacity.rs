//! A traction battery's capacity against the floor of its cover.

use crate::define::answer;
use crate::horizon::Band;
use crate::quantity::Quantity;
use chrono::{DateTime, Utc};
use model::{Grade, MeasurementId};

answer! {
    /// A capacity measured, held to the floor of a window. Only the maker's own test counts for a claim.
    CapacityMeasured {
        /// The measurement.
        measurement: MeasurementId,
        /// When it was measured.
        measured_at: DateTime<Utc>,
        /// As entered.
        capacity: Quantity = {"value": 74, "unit": "percent"},
        /// What it comes to.
        grade: Grade = "watch",
        /// Why, in a sentence.
        reason: String = "A capacity of 74 % is below 75 %, near the floor of its cover, 70 %.",
        /// What to do.
        advice: Vec<String> = ["Read it again every three months, charged and rested alike."],
        /// Where the limit comes from.
        source: String = "house setting for traction batteries, no source",
        /// How well that source is known: verified, computed, memory or common practice.
        standing: String = "common practice",
        /// What can hurt.
        caution: Option<String> = null,
    }
}

impl From<&model::horizon::CapacityMeasured> for CapacityMeasured {
    fn from(last: &model::horizon::CapacityMeasured) -> Self {
        Self {
            measurement: last.measurement,
            measured_at: last.measured_at,
            capacity: last.capacity.into(),
            grade: last.grade,
            reason: last.reason.clone(),
            advice: last.advice.clone(),
            source: last.source.clone(),
            standing: last.standing.clone(),
            caution: last.caution.clone(),
        }
    }
}

answer! {
    /// When a battery falls below the floor of a window, by least squares over its readings.
    CapacityForecast {
        /// How many readings it rests on.
        readings: u32 = 6,
        /// Loss with the root of a year, percent.
        percent_per_root_year: f64 = 3.2,
        /// Loss over 1,000 km, percent.
        percent_per_1000_km: f64 = 0.1,
        /// The days on which a reading shows less than the floor.
        below_floor: Band,
        /// Probability that one does so before the cover ends; null where it has ended, or ends beyond ten years.
        probability: Option<f64> = 0.75,
    }
}

impl From<model::horizon::CapacityForecast> for CapacityForecast {
    fn from(forecast: model::horizon::CapacityForecast) -> Self {
        Self {
            readings: forecast.readings,
            percent_per_root_year: forecast.percent_per_root_year,
            percent_per_1000_km: forecast.percent_per_1000_km,
            below_floor: forecast.below_floor.into(),
            probability: forecast.probability,
        }
    }
}

answer! {
    /// A traction battery's capacity against the floor of a window.
    Capacity {
        /// Capacity below which the battery is covered, percent of that when new.
        floor_percent: f64 = 70,
        /// The last value measured of this battery; null before the first.
        last: Option<CapacityMeasured>,
        /// Where it leads; null below five readings, and where nobody knows how old the battery is.
        forecast: Option<CapacityForecast>,
    }
}

impl From<&model::horizon::CapacityOutlook> for Capacity {
    fn from(outlook: &model::horizon::CapacityOutlook) -> Self {
        Self {
            floor_percent: outlook.floor_percent,
            last: outlook.last.as_ref().map(CapacityMeasured::from),
            forecast: outlook.forecast.map(CapacityForecast::from),
        }
    }
}
