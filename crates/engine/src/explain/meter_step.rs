//! Steps that replaced meters and running hours take.

use super::written::kilometres;
use chrono::NaiveDate;
use model::{FitLevel, ReadingId};
use quantity::{Distance, Entered};
use serde::Serialize;

/// One step about what a meter counts.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(tag = "step", rename_all = "snake_case")]
pub enum MeterStep {
    /// A meter was replaced; limits are reckoned in the total.
    Replaced {
        /// Its civil day at the depot.
        on: NaiveDate,
        /// What the old one showed last, as entered.
        old_shows: Entered,
        /// What the new one showed first, as entered.
        new_shows: Entered,
    },
    /// The limit as the odometer fitted now shows it, where earlier ones have been replaced.
    OnPresent {
        /// The limit in total distance.
        #[serde(serialize_with = "kilometres")]
        total: Distance,
        /// What the earlier odometers add to what the present one shows.
        #[serde(serialize_with = "kilometres")]
        earlier: Distance,
        /// The limit as it shows it.
        #[serde(serialize_with = "kilometres")]
        shown: Distance,
    },
    /// The same for a limit of running time, all in seconds.
    HoursOnPresent {
        /// The limit in total.
        total: i64,
        /// What the earlier hour meters add to what the present one shows.
        earlier: i64,
        /// The limit as it shows it.
        shown: i64,
    },
    /// What is left from the last counted reading of the hour meter.
    HoursRead {
        /// The reading.
        reading: ReadingId,
        /// Its civil day at the depot.
        on: NaiveDate,
        /// What it said, seconds.
        shown: i64,
        /// Running time left to the limit, seconds.
        left: i64,
    },
    /// The running time of a day that forecasts rest on.
    HoursUsage {
        /// Whose data the prior came from.
        level: FitLevel,
        /// How many vehicles it was fitted to.
        vehicles: u32,
        /// Regularity a, per operating day.
        a: f64,
        /// Prior shape p.
        prior_shape: f64,
        /// Prior scale q, hours.
        prior_scale_hours: f64,
        /// Gaps between this vehicle's readings.
        gaps: u32,
        /// Posterior shape P.
        shape: f64,
        /// Posterior scale Q, hours.
        scale_hours: f64,
        /// Mean running time of an operating day, hours: a Q / (P - 1).
        hours_per_day: f64,
    },
    /// How wide this limit is forecast.
    HoursWidth {
        /// Kappa: 1 is as computed, more is wider.
        kappa: f64,
        /// Whether back-tests say so; else it is the shipped width.
        is_measured: bool,
        /// Regularity a' = a / kappa, per operating day.
        a: f64,
        /// Posterior shape P' = p + (P - p) / kappa.
        shape: f64,
        /// Posterior scale Q' = kappa q + (Q - q), hours.
        scale_hours: f64,
    },
    /// One quantile of the day on which the limit is met.
    HoursQuantile {
        /// Probability that it is met by then.
        quantile: f64,
        /// Running time left, hours.
        hours_left: f64,
        /// Operating days from the last counted reading, rounded up to a hundredth.
        operating_days: f64,
        /// The civil day that is.
        on: NaiveDate,
        /// A line for Python with `scipy` whose value are the operating days.
        check: String,
    },
}
