//! What of an inspection cannot be taken as it was written, until a person settles it.

use crate::coded::worded;
use crate::ids::{InspectionId, MeasurementId, SetAsideId};
use chrono::{DateTime, Utc};
use serde::{Deserialize, Serialize};

worded! {
    /// Why a measurement is set aside.
    SetAsideReason {
        /// There is no such check point.
        PointUnknown = "point_unknown",
        /// It is not taken at that place, or there is no such place.
        Place = "place",
        /// The place has no such zone at that check point.
        Zone = "zone",
        /// It is not measured in that unit, or there is no such unit.
        Unit = "unit",
        /// The value lies outside what is plausible.
        Implausible = "implausible",
        /// The word answered is none of the check point's.
        Answer = "answer",
        /// The same spot was measured before in the same inspection.
        Twice = "twice",
        /// It is deeper than the part fitted there was when new.
        DeeperThanNew = "deeper_than_new",
        /// It has not the form of a measurement: a member is missing, or of another kind.
        Form = "form",
    }
}

/// A measurement of an inspection that cannot be right as it was written. It does not count until a person takes it with
/// the right value.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct SetAside {
    /// Its id.
    pub id: SetAsideId,
    /// The inspection it was made in.
    pub inspection: InspectionId,
    /// Its place among the measurements written, from 0.
    pub ordinal: i64,
    /// JSON pointer (RFC 6901) to what is wrong, within the entry.
    pub pointer: String,
    /// The measurement as it was written, JSON.
    pub written: String,
    /// Why it was set aside.
    pub reason: SetAsideReason,
    /// Everything wrong with it and what is allowed, for a person.
    pub detail: String,
    /// When it was recorded.
    pub recorded_at: DateTime<Utc>,
    /// What a person decided about it; none while it waits.
    pub settlement: Option<Settlement>,
}

/// What a person decided about a measurement that was set aside.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Settlement {
    /// How it ended.
    pub outcome: Settled,
    /// Why.
    pub reason: String,
    /// When.
    pub recorded_at: DateTime<Utc>,
}

/// How a measurement that was set aside ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(tag = "kind", rename_all = "snake_case")]
pub enum Settled {
    /// The right value counts.
    Taken {
        /// The measurement it became.
        measurement: MeasurementId,
    },
    /// It is left out.
    Dismissed,
}
