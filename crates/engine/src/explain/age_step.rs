//! Steps that only what grows old takes.

use super::written::maybe_kilometres;
use chrono::NaiveDate;
use model::{FittingId, Grade, MeasurementId, ServiceId};
use quantity::Distance;
use serde::Serialize;

/// The fact from which a life counts.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(tag = "kind", content = "id", rename_all = "snake_case")]
pub enum Started {
    /// A service record.
    Service(ServiceId),
    /// A fitting.
    Fitting(FittingId),
}

/// What sets the day in place of the whole life.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(tag = "kind", rename_all = "snake_case")]
pub enum Instead {
    /// The pollen comes before.
    BeforePollen {
        /// The last day before it.
        last_day: NaiveDate,
    },
    /// The boiling point was measured.
    Measured {
        /// On this day.
        on: NaiveDate,
        /// Which serves for so many months.
        months: u32,
        /// That is until this day.
        until: NaiveDate,
    },
}

impl Instead {
    /// The day itself.
    pub(crate) const fn day(self) -> NaiveDate {
        match self {
            Self::BeforePollen { last_day } => last_day,
            Self::Measured { until, .. } => until,
        }
    }
}

/// One step from a date code or a change to the day on which something is old.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(tag = "step", rename_all = "snake_case")]
pub enum AgeStep {
    /// The date code of a tyre.
    DateCode {
        /// The measurement that read it.
        measurement: MeasurementId,
        /// Its civil day at the depot.
        read_on: NaiveDate,
        /// Its four figures.
        code: String,
        /// The Monday of the week they name.
        made_in: NaiveDate,
    },
    /// A tyre reaches an age that somebody sets a limit to.
    Reaches {
        /// The first day on which the limit is met.
        on: NaiveDate,
        /// What it comes to.
        grade: Option<Grade>,
        /// The limit, in years.
        limit: String,
        /// Who says so.
        source: String,
        /// How well that source is known.
        standing: String,
    },
    /// The last day on which a tyre is not too old.
    LastDay {
        /// The day.
        last_day: NaiveDate,
    },
    /// A fluid or a filter was changed.
    Changed {
        /// By which fact.
        by: Started,
        /// The day.
        on: NaiveDate,
        /// The odometer then, where known.
        #[serde(serialize_with = "maybe_kilometres")]
        odometer: Option<Distance>,
    },
    /// How long one of its kind usually lasts.
    UsualLife {
        /// In months.
        months: u32,
        /// In distance, where that counts.
        #[serde(serialize_with = "maybe_kilometres")]
        distance: Option<Distance>,
        /// Who says so.
        source: String,
        /// How well that source is known.
        standing: String,
    },
    /// Something else than the whole life sets the day.
    Instead {
        /// What.
        instead: Instead,
    },
}
