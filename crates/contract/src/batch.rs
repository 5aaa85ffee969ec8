//! A technician's day for many vehicles in one request, and what became of each entry.

use crate::define::{answer, request};
use crate::graded::GradedMeasurement;
use crate::horizon::DueItem;
use crate::list::Many;
use crate::notice::Raw;
use crate::number::Whole;
use crate::problem::Fault;
use crate::quantity::{Distance, Quantity};
use crate::reader::{Reader, Written};
use crate::shape::{Schemas, Shape};
use crate::text::{Line, Text};
use chrono::{DateTime, Utc};
use model::{BatchId, Code, FindingWeight, InspectionId, Place, SetAsideId, VehicleId};
use serde_json::Value;
use utoipa::openapi::{RefOr, Schema};
use uuid::Uuid;

/// Entries of a batch at most.
pub const MOST_ENTRIES: usize = 200;
/// Vehicles of a batch at most.
pub const MOST_VEHICLES: usize = 64;

request! {
    /// Which check sheet was followed.
    SheetRef {
        /// Its code.
        code: Code = "yard-walk",
        /// Its version; the newest if none is said.
        version: Option<Whole<1, 1_000_000>> = 1,
    }
}

request! {
    /// What a check point came to: `value` and `unit`, or, where it is answered by a word, `seen`.
    MeasurementEntered {
        /// The check point.
        point: Line<64> = "tread-depth",
        /// Where on the vehicle.
        place: Line<40> = "front_left",
        /// Where at the place.
        zone: Option<Line<40>> = "inner",
        /// The number measured.
        value: Option<Reading> = 4.2,
        /// Its unit.
        unit: Option<Line<20>> = "mm",
        /// The word answered.
        seen: Option<Line<64>> = null,
    } checked by is_measured_or_seen
}

/// What a check point came to.
#[derive(Debug, Clone, PartialEq)]
pub enum Observed {
    /// A number and its unit.
    Measured(f64, String),
    /// A word.
    Seen(String),
}

fn is_measured_or_seen(entered: &MeasurementEntered, reader: &mut Reader) {
    entered.is_measured_or_seen(reader);
}

impl MeasurementEntered {
    /// Tells the reader where it says neither what was measured nor what was seen, or both.
    pub(crate) fn is_measured_or_seen(&self, reader: &mut Reader) {
        if self.clone().observed().is_none() {
            reader.fault("one-of-two", "either `value` and `unit` are needed, or `seen` alone");
        }
    }

    /// What it came to; `None` without either or with both, which reading it has ruled out.
    pub fn observed(self) -> Option<Observed> {
        match (self.value, self.unit, self.seen) {
            (Some(value), Some(unit), None) => Some(Observed::Measured(value.0, unit.0)),
            (None, None, Some(seen)) => Some(Observed::Seen(seen.0)),
            _ => None,
        }
    }
}

/// A measured number, as it came; whether it can be right is judged at its check point.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Reading(pub f64);

impl Shape for Reading {
    fn schema(schemas: &mut Schemas) -> RefOr<Schema> {
        f64::schema(schemas)
    }

    fn example() -> Value {
        4.2.into()
    }
}

impl Written for Reading {
    fn read(value: &Value, reader: &mut Reader) -> Option<Self> {
        reader.number(value).map(Self)
    }
}

request! {
    /// Something found wrong.
    FindingEntered {
        /// What is wrong.
        code: Code = "suspension-noise",
        /// The component concerned.
        component: Option<Code> = "suspension",
        /// Where; the vehicle as a whole if not said.
        place: Option<Place>,
        /// How heavily it weighs.
        weight: FindingWeight,
        /// In one's own words.
        note: Text<2000> = "Knocks over speed bumps.",
    }
}

request! {
    /// One vehicle checked once.
    InspectionEntry {
        /// Made by the phone when the technician keeps the entry, and used once for ever.
        entry_id: Uuid,
        /// The vehicle: its id, plate, label or VIN, as it was when it was checked.
        vehicle: Line<64> = "N-07",
        /// The check sheet followed.
        check_sheet: SheetRef,
        /// When, by the clock of the phone.
        performed_at: DateTime<Utc>,
        /// What the odometer showed.
        odometer: Option<UnreadOdometer>,
        /// What was measured.
        measurements: Many<UnreadMeasurement, 0, 200>,
        /// What was found wrong.
        findings: Many<FindingEntered, 0, 50>,
        /// Free text.
        note: Option<Text<4000>> = "Scuffed wheel arch.",
        /// The entry of one's own that this one replaces.
        corrects: Option<Uuid> = null,
    }
}

/// A measurement not yet read: a fault in it concerns that measurement alone, which is held.
#[derive(Debug, Clone, PartialEq)]
pub struct UnreadMeasurement(pub Value);

impl Shape for UnreadMeasurement {
    fn schema(schemas: &mut Schemas) -> RefOr<Schema> {
        MeasurementEntered::schema(schemas)
    }

    fn example() -> Value {
        MeasurementEntered::example()
    }
}

impl Written for UnreadMeasurement {
    fn read(value: &Value, _: &mut Reader) -> Option<Self> {
        Some(Self(value.clone()))
    }
}

/// An odometer not yet read: a fault in it concerns the odometer alone, which is held.
#[derive(Debug, Clone, PartialEq)]
pub struct UnreadOdometer(pub Value);

impl Shape for UnreadOdometer {
    fn schema(schemas: &mut Schemas) -> RefOr<Schema> {
        Distance::schema(schemas)
    }

    fn example() -> Value {
        Distance::example()
    }
}

impl Written for UnreadOdometer {
    fn read(value: &Value, _: &mut Reader) -> Option<Self> {
        Some(Self(value.clone()))
    }
}

/// An entry not yet read: a fault in it concerns that entry alone.
#[derive(Debug, Clone, PartialEq)]
pub struct UnreadEntry(pub Value);

impl Shape for UnreadEntry {
    fn schema(schemas: &mut Schemas) -> RefOr<Schema> {
        InspectionEntry::schema(schemas)
    }

    fn example() -> Value {
        InspectionEntry::example()
    }
}

impl Written for UnreadEntry {
    fn read(value: &Value, _: &mut Reader) -> Option<Self> {
        Some(Self(value.clone()))
    }
}

request! {
    /// A technician's batch. Unknown members are kept and reported, not refused.
    InspectionBatch {
        /// Made by the phone.
        batch_id: Uuid,
        /// Which device sends it.
        device_id: Line<120> = "phone-early-shift",
        /// Counts the batches of the device.
        device_seq: Option<Whole<0, 9_007_199_254_740_991>> = 118,
        /// When it is sent, by the clock of the device.
        device_sent_at: DateTime<Utc> = "2026-11-02T12:40:00Z",
        /// One entry for each vehicle checked, at most 64 vehicles.
        entries: Many<UnreadEntry, 1, MOST_ENTRIES>,
    }
}

answer! {
    /// A part of an entry that waits for a person; the rest of the entry counts.
    HeldPart {
        /// Where in the entry.
        pointer: String = "/odometer",
        /// A stable word for why: that of a doubt about a reading or of a held measurement, `clock_in_doubt`,
        /// `correction_needs_manager` or `sheet_version_unknown`.
        reason: String = "runs_backwards",
        /// Why, in a sentence.
        detail: String = "It is less than the 48210 km counted on 2026-10-30.",
        /// What was probably meant.
        suggested: Option<Quantity> = {"value": 48312, "unit": "km"},
        /// The measurement that waits, where it is one: where it is taken or dismissed.
        held_measurement: Option<SetAsideId> = null,
    }
}

answer! {
    /// Why an entry was refused.
    EntryProblem {
        /// A stable word for it.
        code: String = "vehicle-unknown",
        /// Every fault found; pointers are within the entry.
        errors: Vec<Fault>,
    }
}

answer! {
    /// What became of one entry.
    EntryResult {
        /// The id of the entry, as it came.
        entry_id: Option<String> = "01936f0a-7c3e-7d52-9b1f-3c5d8e2a4b60",
        /// `accepted`, `duplicate`, `held` or `rejected`.
        outcome: String = "accepted",
        /// The status it would have got alone: 201, 200, 202, or 404, 409, 422.
        status: u16 = 201,
        /// The vehicle it was for.
        vehicle: Option<VehicleId>,
        /// The inspection it became.
        inspection: Option<InspectionId>,
        /// Whether the vehicle must not be driven now: then take the key, tag the wheel, and ring the person named below.
        do_not_drive: bool,
        /// Whom to ring about a vehicle that must not be driven: a manager of its depot; null where there is none.
        ring: Option<String> = null,
        /// What the measurements mean.
        grades: Vec<GradedMeasurement>,
        /// Due items of the vehicle that changed or press.
        due_items: Vec<DueItem>,
        /// What waits for a person.
        held: Vec<HeldPart> = [],
        /// Whether the time was shifted because the clock of the device is off.
        clock_corrected: bool,
        /// Pointers of members that mean nothing here; they are kept with the raw entry.
        unknown_members: Vec<String> = [],
        /// Why it was refused.
        problem: Option<EntryProblem> = null,
    }
}

answer! {
    /// What became of a batch: one result an entry, in order.
    BatchResult {
        /// The batch.
        batch_id: BatchId,
        /// When it arrived.
        received_at: DateTime<Utc> = "2026-11-02T12:40:02Z",
        /// The results, in the order of the entries.
        results: Vec<EntryResult>,
        /// Pointers of members of the batch that mean nothing here.
        unknown_members: Vec<String> = [],
    }
}

answer! {
    /// A batch as it came in.
    ReceivedBatch {
        /// Its id.
        id: BatchId,
        /// Which device sent it.
        device_id: String = "phone-early-shift",
        /// The device's count of its batches.
        device_seq: Option<i64> = 118,
        /// When it was sent, by the clock of the device.
        device_sent_at: DateTime<Utc> = "2026-11-02T12:40:00Z",
        /// When it arrived.
        received_at: DateTime<Utc> = "2026-11-02T12:40:02Z",
        /// How many entries it had.
        entries: i64 = 31,
        /// The batch as it came.
        raw: Raw = {"batch_id": "01936f0a-7c3e-7d52-9b1f-3c5d8e2a4b60", "entries": []},
    }
}
