//! Inspections: measurements and findings of one vehicle on one occasion, and the sheets they follow.

use crate::coded::{Code, worded};
use crate::ids::{FindingId, InspectionId, MeasurementId, ReadingId};
use chrono::{DateTime, Utc};
use quantity::{Entered, Unit};
use serde::{Deserialize, Serialize};

worded! {
    /// What a measurement means, from best to worst.
    Grade {
        /// As it should be.
        Good = "good",
        /// Keep an eye on it.
        Watch = "watch",
        /// See to it.
        Attend = "attend",
        /// The vehicle must not be driven.
        DoNotDrive = "do_not_drive",
    }
}

worded! {
    /// Where on a vehicle; left and right as seen from the driver's seat.
    Place {
        /// Front left wheel.
        FrontLeft = "front_left",
        /// Front right wheel.
        FrontRight = "front_right",
        /// Rear left wheel.
        RearLeft = "rear_left",
        /// Rear right wheel.
        RearRight = "rear_right",
        /// Spare wheel.
        Spare = "spare",
        /// The vehicle as a whole.
        Vehicle = "vehicle",
    }
}

impl Place {
    /// As a person reads it.
    pub const fn title(self) -> &'static str {
        match self {
            Self::FrontLeft => "front left",
            Self::FrontRight => "front right",
            Self::RearLeft => "rear left",
            Self::RearRight => "rear right",
            Self::Spare => "spare",
            Self::Vehicle => "vehicle",
        }
    }
}

worded! {
    /// Where at a place: across a tyre's tread, or which pad of a caliper.
    Zone {
        /// Nearest the middle of the vehicle.
        Inner = "inner",
        /// In the middle of the tread.
        Centre = "centre",
        /// Furthest from the middle of the vehicle.
        Outer = "outer",
        /// The lowest found anywhere at the place.
        Lowest = "lowest",
        /// The place has no zones.
        Whole = "whole",
    }
}

worded! {
    /// How heavily a finding weighs, as the person who found it says.
    FindingWeight {
        /// Worth knowing.
        Note = "note",
        /// To be seen to.
        Attend = "attend",
        /// Not to be driven.
        DoNotDrive = "do_not_drive",
    }
}

/// One measured value.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Measurement {
    /// Its id.
    pub id: MeasurementId,
    /// The check point.
    pub point: Code,
    /// Where on the vehicle.
    pub place: Place,
    /// Where at the place.
    pub zone: Zone,
    /// As entered.
    pub entered: Entered,
    /// The same in the base unit of its dimension.
    pub exact: i64,
}

/// Something wrong, until fixed or dismissed.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Finding {
    /// Its id.
    pub id: FindingId,
    /// The inspection that reported it, if one did.
    pub inspection: Option<InspectionId>,
    /// What is wrong, as a code: `suspension-noise`.
    pub code: Code,
    /// The component concerned, as a code: `suspension`.
    pub component: Option<Code>,
    /// Where.
    pub place: Place,
    /// How heavily it weighs.
    pub weight: FindingWeight,
    /// In the words of the person who found it.
    pub note: String,
    /// When it was found.
    pub found_at: DateTime<Utc>,
    /// When it was fixed or dismissed.
    pub closed_at: Option<DateTime<Utc>>,
}

/// One check of one vehicle on one occasion.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Inspection {
    /// Its id: the entry id the phone made.
    pub id: InspectionId,
    /// Code of the check sheet followed.
    pub sheet: Code,
    /// Version of the check sheet.
    pub sheet_version: i64,
    /// When, clock-corrected.
    pub performed_at: DateTime<Utc>,
    /// When it was recorded.
    pub recorded_at: DateTime<Utc>,
    /// Whether the time cannot be trusted.
    pub clock_in_doubt: bool,
    /// The meter log entry it made, if any.
    pub reading: Option<ReadingId>,
    /// What was measured.
    pub measurements: Vec<Measurement>,
    /// Free text.
    pub note: Option<String>,
}

/// One line of a check sheet.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct SheetPoint {
    /// The check point.
    pub point: Code,
    /// Where to look; every place of the point where none is named.
    #[serde(default)]
    pub places: Vec<Place>,
    /// The units its form offers; every unit of the point where none is named.
    #[serde(default)]
    pub units: Vec<Unit>,
    /// How to measure, in one sentence.
    pub how: String,
    /// What can hurt.
    #[serde(default)]
    pub caution: Option<String>,
}

/// A list of what a technician looks at; versions stay readable.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct CheckSheet {
    /// Its code.
    pub code: Code,
    /// Its version, counted from 1.
    pub version: i64,
    /// Its title.
    pub title: String,
    /// What to look at.
    pub points: Vec<SheetPoint>,
}
