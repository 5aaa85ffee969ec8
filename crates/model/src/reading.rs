//! The meter log of a vehicle, what people decided about it, and how each entry was judged.

use crate::coded::{Code, worded};
use crate::ids::{DecisionId, IndicatorId, ReadingId, ReplacementId};
use chrono::{DateTime, Utc};
use quantity::{Distance, Entered};
use serde::{Deserialize, Serialize};

worded! {
    /// Where an odometer reading came from; listed from the most trusted to the least.
    ReadingSource {
        /// A photograph of the dash.
        DashPhoto = "dash_photo",
        /// A technician's inspection.
        Technician = "technician",
        /// A service record.
        Service = "service",
        /// The vehicle's own data bus.
        VehicleBus = "vehicle_bus",
        /// A driver.
        Driver = "driver",
        /// A fuel card slip.
        FuelCard = "fuel_card",
        /// Satellite positioning.
        Gps = "gps",
    }
}

/// One entry of the meter log.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct OdometerReading {
    /// Its id.
    pub id: ReadingId,
    /// As entered.
    pub entered: Entered,
    /// The same, exact.
    pub odometer: Distance,
    /// When it was read, clock-corrected.
    pub read_at: DateTime<Utc>,
    /// When the program recorded it.
    pub recorded_at: DateTime<Utc>,
    /// Where it came from.
    pub source: ReadingSource,
    /// Set when the time it was read at cannot be trusted: such a reading is held whatever it says.
    pub clock_in_doubt: bool,
}

/// One entry of the log of running hours.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct HourReading {
    /// Its id.
    pub id: ReadingId,
    /// As entered.
    pub entered: Entered,
    /// The same, exact.
    pub seconds: i64,
    /// When it was read, clock-corrected.
    pub read_at: DateTime<Utc>,
    /// When the program recorded it.
    pub recorded_at: DateTime<Utc>,
    /// Where it came from.
    pub source: ReadingSource,
    /// Set when the time it was read at cannot be trusted.
    pub clock_in_doubt: bool,
}

worded! {
    /// What a meter counts.
    MeterQuantity {
        /// Distance: the odometer.
        Distance = "distance",
        /// Running time of the engine.
        Hours = "hours",
    }
}

/// A meter was replaced: from then on another instrument shows another number for the same vehicle.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct MeterReplacement {
    /// Its id.
    pub id: ReplacementId,
    /// Which meter.
    pub quantity: MeterQuantity,
    /// When. Entries read from then on are of the new instrument.
    pub replaced_at: DateTime<Utc>,
    /// What the old one showed last, as entered.
    pub old_shows: Entered,
    /// What the new one showed first, as entered.
    pub new_shows: Entered,
    /// Why, in the person's words.
    pub reason: String,
    /// When it was recorded.
    pub recorded_at: DateTime<Utc>,
}

/// What the dash's own service indicator said was left.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case", tag = "kind")]
pub enum IndicatorLeft {
    /// A share of the interval, 0 to 100.
    Percent {
        /// Percent left.
        percent: f64,
    },
    /// Distance left.
    Distance {
        /// As entered; zero where the dash says it is due.
        distance: Entered,
    },
    /// Days left.
    Days {
        /// Zero where the dash says it is due.
        days: u32,
    },
}

/// A reading of the dash's own service indicator.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct IndicatorReading {
    /// Its id.
    pub id: IndicatorId,
    /// The rule it speaks of.
    pub rule: Code,
    /// What it said was left.
    pub left: IndicatorLeft,
    /// The odometer read along with it, if it was.
    pub reading: Option<ReadingId>,
    /// When it was read, clock-corrected.
    pub read_at: DateTime<Utc>,
    /// When it was recorded.
    pub recorded_at: DateTime<Utc>,
}

/// What a person decided about a reading. A decision wins over judging.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct ReadingDecision {
    /// Its id.
    pub id: DecisionId,
    /// The reading it is about.
    pub reading: ReadingId,
    /// What was decided.
    pub decision: Decision,
    /// Why, in the person's words.
    pub reason: String,
    /// When; the latest decision about a reading holds.
    pub recorded_at: DateTime<Utc>,
}

/// What can be decided about a reading.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case", tag = "kind")]
pub enum Decision {
    /// It is right as it stands: it counts.
    Release,
    /// It should have said this: the corrected value counts.
    Correct {
        /// The right value, as entered.
        value: Entered,
    },
    /// It is wrong and should be left out.
    Withdraw,
}

/// Why a reading is held.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case", tag = "kind")]
pub enum Doubt {
    /// Less than an earlier counted reading.
    RunsBackwards {
        /// The earlier counted value.
        before: Distance,
        /// When that was read.
        before_at: DateTime<Utc>,
    },
    /// More than a later counted reading.
    RunsAhead {
        /// The later counted value.
        after: Distance,
        /// When that was read.
        after_at: DateTime<Utc>,
    },
    /// Further than a vehicle can have gone in the time since the counted reading before it.
    Jumps {
        /// The counted value before it.
        before: Distance,
        /// The largest plausible value.
        plausible_most: Distance,
    },
    /// So far below a later counted reading that the vehicle cannot have covered the rest in the time between.
    FallsShort {
        /// The later counted value.
        after: Distance,
        /// When that was read.
        after_at: DateTime<Utc>,
        /// The least plausible value.
        plausible_least: Distance,
    },
    /// Less than the odometer showed when the vehicle came into service.
    BeforeService {
        /// What it showed then.
        at_start: Distance,
    },
    /// The time it was read at cannot be trusted.
    ClockInDoubt,
}

/// How a reading was judged: derived, never a fact.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Judgement {
    /// The reading.
    pub reading: ReadingId,
    /// What it was judged.
    pub verdict: Verdict,
}

/// The outcome of judging.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case", tag = "kind")]
pub enum Verdict {
    /// It counts, with this value (the entered or the corrected one).
    Counted {
        /// The value that counts.
        odometer: Distance,
    },
    /// It waits for a person.
    Held {
        /// Why.
        doubt: Doubt,
        /// What was probably meant, where that is evident.
        suggested: Option<Entered>,
    },
    /// A person withdrew it.
    Withdrawn,
}

/// How a reading of the hour meter was judged: derived, never a fact.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct HourJudgement {
    /// The reading.
    pub reading: ReadingId,
    /// What it was judged.
    pub verdict: HourVerdict,
}

/// The outcome of judging a reading of the hour meter.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case", tag = "kind")]
pub enum HourVerdict {
    /// It counts, with this value (the entered or the corrected one).
    Counted {
        /// The running time that counts, seconds.
        seconds: i64,
    },
    /// It waits for a person.
    Held {
        /// Why.
        doubt: HourDoubt,
        /// What was probably meant, where that is evident.
        suggested: Option<Entered>,
    },
    /// A person withdrew it.
    Withdrawn,
}

/// Why a reading of the hour meter is held; running times in seconds.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case", tag = "kind")]
pub enum HourDoubt {
    /// Less than an earlier counted reading.
    RunsBackwards {
        /// The earlier counted value.
        before: i64,
        /// When that was read.
        before_at: DateTime<Utc>,
    },
    /// More than a later counted reading.
    RunsAhead {
        /// The later counted value.
        after: i64,
        /// When that was read.
        after_at: DateTime<Utc>,
    },
    /// More hours than have passed since the counted reading before it.
    Jumps {
        /// The counted value before it.
        before: i64,
        /// The largest plausible value.
        plausible_most: i64,
    },
    /// So far below a later counted reading that the rest cannot have been run in the time between.
    FallsShort {
        /// The later counted value.
        after: i64,
        /// When that was read.
        after_at: DateTime<Utc>,
        /// The least plausible value.
        plausible_least: i64,
    },
    /// The time it was read at cannot be trusted.
    ClockInDoubt,
}
