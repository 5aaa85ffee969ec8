//! The meter log of a vehicle, how each entry is judged, and what people decide about it.

use crate::define::{answer, request};
use crate::quantity::{Distance, Quantity};
use crate::text::Text;
use chrono::{DateTime, Utc};
use model::{Decision, DecisionId, ReadingId, ReadingSource};

answer! {
    /// Why a reading is held.
    Doubt {
        /// A stable word for it: `runs_backwards`, `runs_ahead`, `jumps`, `falls_short`, `before_service` or `clock_in_doubt`.
        kind: String = "runs_backwards",
        /// In a sentence, with the values it rests on.
        detail: String = "It is less than the 48210 km counted on 2026-10-30.",
    }
}

answer! {
    /// How a reading is judged. Derived from the whole log, whatever the order of arrival.
    Judgement {
        /// `counted`, `held` or `withdrawn`.
        verdict: String = "held",
        /// The value that counts, for a counted one.
        odometer: Option<Quantity> = null,
        /// Why it is held, for a held one.
        doubt: Option<Doubt>,
        /// What was probably meant, where that is evident.
        suggested: Option<Quantity> = {"value": 48312, "unit": "km"},
        /// What a person is asked about it, where something else than a slip is likely.
        asks: Option<String> = null,
    }
}

answer! {
    /// One entry of a vehicle's meter log.
    OdometerReading {
        /// Its id.
        id: ReadingId,
        /// As it was entered.
        entered: Quantity,
        /// The same in the unit the vehicle's odometer shows.
        odometer: Quantity,
        /// When it was read, corrected for the clock of the device.
        read_at: DateTime<Utc>,
        /// When it was recorded.
        recorded_at: DateTime<Utc> = "2026-11-02T08:16:04Z",
        /// Where it came from.
        source: ReadingSource,
        /// Whether the time cannot be trusted.
        clock_in_doubt: bool,
        /// How it is judged.
        judgement: Option<Judgement>,
    }
}

request! {
    /// A reading of the odometer.
    NewOdometerReading {
        /// What it shows.
        value: Distance,
        /// When it was read.
        read_at: DateTime<Utc>,
        /// Where it comes from.
        source: ReadingSource,
    }
}

request! {
    /// That a held reading is right as it stands.
    Release {
        /// Why.
        reason: Text<1000> = "Checked on the dash: the cluster was replaced.",
    }
}

request! {
    /// What a reading should have said.
    Correction {
        /// The right value.
        value: Distance,
        /// Why.
        reason: Text<1000> = "Two digits were swapped.",
    }
}

request! {
    /// That a reading is wrong and is to be left out.
    ReadingWithdrawal {
        /// Why.
        reason: Text<1000> = "Read from the wrong vehicle.",
    }
}

answer! {
    /// What a person decided about a reading. The latest decision holds.
    ReadingDecision {
        /// Its id.
        id: DecisionId,
        /// The reading.
        reading: ReadingId,
        /// `release`, `correct` or `withdraw`.
        kind: String = "correct",
        /// The right value, for a correction.
        value: Option<Quantity>,
        /// Why.
        reason: String = "Two digits were swapped.",
        /// When.
        recorded_at: DateTime<Utc>,
        /// How the reading is judged now.
        judgement: Option<Judgement>,
    }
}

/// The word of a decision, and the right value it names.
pub(crate) fn kind_and_value(decision: &Decision) -> (&'static str, Option<Quantity>) {
    match decision {
        Decision::Release => ("release", None),
        Decision::Correct { value } => ("correct", Some((*value).into())),
        Decision::Withdraw => ("withdraw", None),
    }
}

impl ReadingDecision {
    /// The decision, with how the reading is judged now.
    pub fn of(decided: model::ReadingDecision, judgement: Option<Judgement>) -> Self {
        let (kind, value) = kind_and_value(&decided.decision);
        let model::ReadingDecision { id, reading, reason, recorded_at, .. } = decided;
        Self { id, reading, kind: kind.to_owned(), value, reason, recorded_at, judgement }
    }
}
