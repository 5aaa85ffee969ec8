//! A technician's day for many vehicles in one request: one result an entry, never all or nothing.

use super::{judging, there, vehicles_of};
use crate::http::answer::Answer;
use crate::http::call::{Call, Outcome};
use crate::http::deed::FACT;
use crate::http::operation::Operation;
use crate::http::refusal::{Refusal, Stop};
use chrono::{DateTime, Utc};
use clerk::inspections::{
    self, Batch, Entry, EntryOutcome, EntryResult as Result_, FindingEntered, HeldReason, MeasurementEntered,
    Observed, RawEntry, SheetRef, SheetUnknown, Taken,
};
use contract::{
    BatchResult, DueItem, EntryProblem, EntryResult, Fault, GradedMeasurement, HeldPart, InspectionBatch,
    InspectionEntry, MOST_VEHICLES, Raw, Reader, ReceivedBatch,
};
use model::{BatchId, Person, Scope, Vehicle, VehicleId};
use serde_json::Value;
use std::collections::{BTreeMap, BTreeSet};

type Vehicles = BTreeMap<VehicleId, Vehicle>;

pub fn operations() -> Vec<Operation> {
    vec![
        Operation::create::<InspectionBatch, BatchResult>(
            Scope::Measure,
            "send_inspection_batch",
            "/inspection-batches",
        )
        .says(
            "Send a technician's batch",
            "Inspections of up to 64 vehicles in up to 200 entries. One result an entry, in order: accepted, duplicate, \
             held or rejected. Held means that all but the named parts counts: a measurement or odometer that cannot be \
             right, or has not the form of one, waits among the held entries until it is taken with the right value or dismissed. Rejected are entries of which \
             nothing can be kept. An entry id is used once for ever, so that any entry can be sent again in any batch. \
             Members that are not known are kept and reported.",
        )
        .giving(207)
        .does(send),
        Operation::get::<ReceivedBatch>(
            Scope::Read,
            "read_inspection_batch",
            "/inspection-batches/{inspection_batch}",
        )
        .says("Read a batch", "As it came in.")
        .does(read),
    ]
}

async fn read(call: Call) -> Outcome {
    let mut reading = call.reading().await?;
    let id: BatchId = call.id("inspection_batch")?;
    let batch = there(store::inspections::find_batch(&mut reading.conn(), call.fleet(), id.0).await?)?;
    let told = ReceivedBatch {
        id,
        device_id: batch.device_id,
        device_seq: batch.device_seq,
        device_sent_at: batch.device_sent_at,
        received_at: batch.received_at,
        entries: batch.entries,
        raw: Raw::kept(batch.raw),
    };
    Ok(Answer::versioned(FACT, &told)?)
}

async fn send(call: Call) -> Outcome {
    let received_at = call.now();
    let (written, unknown_members) = Reader::leniently::<InspectionBatch>(&call.json()?);
    let written = written.map_err(Refusal::invalid)?;
    let batch_id = BatchId(written.batch_id);
    let batch = received(written, received_at, &call)?;
    let mut deed = call.begin().await?;
    let results = inspections::take_in(&mut deed.act, batch).await?;
    let named = results.iter().filter_map(vehicle_named);
    let vehicles = vehicles_of(&call, &mut deed.act.conn(), named).await?;
    let vehicles: Vehicles = vehicles.into_iter().map(|vehicle| (vehicle.id, vehicle)).collect();
    let managers = store::people::managers(&mut deed.act.conn(), call.fleet()).await?;
    let result = |result| with_whom_to_ring(told(result, &vehicles, received_at), &vehicles, &managers);
    let results = results.into_iter().map(result).collect();
    let told = BatchResult { batch_id, received_at, results, unknown_members };
    let place = call.place(format!("inspection-batches/{batch_id}"));
    deed.end(Answer::of(207, &told)?.at(place)).await
}

/// The batch as the clerk takes it; entries that cannot be read go along with their faults.
fn received(written: InspectionBatch, received_at: DateTime<Utc>, call: &Call) -> Result<Batch, Stop> {
    let entries: Vec<RawEntry> = written.entries.0.into_iter().map(|entry| entry_of(entry.0)).collect();
    let read = entries.iter().filter_map(|entry| entry.parsed.as_ref().ok());
    let vehicles: BTreeSet<&str> = read.map(|entry| entry.vehicle.as_str()).collect();
    if vehicles.len() > MOST_VEHICLES {
        let detail = format!("{} vehicles; at most {MOST_VEHICLES} are allowed", vehicles.len());
        return Err(Refusal::invalid(vec![Fault::at("/entries", "too-many-vehicles", detail)]).into());
    }
    Ok(Batch {
        id: written.batch_id,
        device_id: written.device_id.0,
        device_seq: written.device_seq.map(|seq| seq.0),
        device_sent_at: written.device_sent_at,
        received_at,
        raw: String::from_utf8_lossy(&call.body).into_owned(),
        entries,
    })
}

fn entry_of(raw: Value) -> RawEntry {
    let entry_id_text = raw.get("entry_id").and_then(Value::as_str).map(|id| id.chars().take(200).collect());
    let (read, unknown_members) = Reader::leniently::<InspectionEntry>(&raw);
    let parsed = match read {
        Ok(entry) => Ok(parsed(entry, unknown_members)),
        Err(faults) => {
            Err(faults.into_iter().map(|f| clerk::Fault::new(f.pointer, &f.code, f.detail)).collect())
        }
    };
    RawEntry { raw, entry_id_text, parsed }
}

fn parsed(entry: InspectionEntry, unknown_members: Vec<String>) -> Entry {
    let found = |f: contract::FindingEntered| FindingEntered {
        code: f.code,
        component: f.component,
        place: f.place,
        weight: f.weight,
        note: f.note.0,
    };
    let (measurements, of_measurements): (Vec<_>, Vec<_>) = entry
        .measurements
        .0
        .into_iter()
        .enumerate()
        .map(|(index, unread)| measurement(index, &unread.0))
        .unzip();
    let (odometer, unread_odometer, of_odometer) = odometer(entry.odometer);
    let mut unknown_members = unknown_members;
    unknown_members.extend(of_odometer);
    unknown_members.extend(of_measurements.into_iter().flatten());
    Entry {
        entry_id: entry.entry_id,
        vehicle: entry.vehicle.0,
        check_sheet: SheetRef {
            code: entry.check_sheet.code,
            version: entry.check_sheet.version.map(|version| version.0),
        },
        performed_at: entry.performed_at,
        odometer,
        unread_odometer,
        measurements,
        findings: entry.findings.0.into_iter().map(found).collect(),
        note: entry.note.map(|note| note.0),
        corrects: entry.corrects,
        unknown_members,
    }
}

/// What the odometer showed, else what is wrong with it; and members of it that nobody knows.
fn odometer(
    unread: Option<contract::UnreadOdometer>,
) -> (Option<quantity::Entered>, Option<clerk::Fault>, Vec<String>) {
    let Some(unread) = unread else { return (None, None, Vec::new()) };
    let (read, unknown) = Reader::leniently::<contract::Distance>(&unread.0);
    let unknown = unknown.into_iter().map(|pointer| format!("/odometer{pointer}")).collect();
    match read {
        Ok(distance) => (Some(distance.0), None, unknown),
        Err(faults) => {
            let (member, code) =
                faults.first().map_or(("", "type"), |f| (f.pointer.as_str(), f.code.as_str()));
            (None, Some(clerk::Fault::new(format!("/odometer{member}"), code, told_of(&faults))), unknown)
        }
    }
}

const MEMBERS: [&str; 6] = ["/point", "/place", "/zone", "/value", "/unit", "/seen"];

/// A measurement, or what is wrong with its form; and members of it that nobody knows.
fn measurement(index: usize, unread: &Value) -> (MeasurementEntered, Vec<String>) {
    let (read, unknown) = Reader::leniently::<contract::MeasurementEntered>(unread);
    let unknown = unknown.into_iter().map(|pointer| format!("/measurements/{index}{pointer}")).collect();
    let faults = match read.map(measured) {
        Ok(Some(entered)) => return (entered, unknown),
        Ok(None) => Vec::new(),
        Err(faults) => faults,
    };
    let wrong = faults.first().map_or("", |fault| fault.pointer.as_str());
    let member = MEMBERS.into_iter().find(|member| *member == wrong).unwrap_or("");
    let text = |name: &str| unread.get(name).and_then(Value::as_str).unwrap_or_default().to_owned();
    let observed = Observed::Unread { member, detail: told_of(&faults) };
    let (point, place) = (text("point"), text("place"));
    (MeasurementEntered { point, place, zone: None, observed }, unknown)
}

/// Every fault in one sentence, each with its member.
fn told_of(faults: &[Fault]) -> String {
    let told = faults.iter().map(|fault| match fault.pointer.trim_start_matches('/') {
        "" => fault.detail.clone(),
        member => format!("{member}: {}", fault.detail),
    });
    told.collect::<Vec<_>>().join("; ")
}

/// `None` for what says neither or both, which reading it has refused.
pub fn measured(entered: contract::MeasurementEntered) -> Option<MeasurementEntered> {
    let observed = match entered.clone().observed()? {
        contract::Observed::Measured(value, unit) => Observed::Measured { value, unit },
        contract::Observed::Seen(word) => Observed::Seen(word),
    };
    let contract::MeasurementEntered { point, place, zone, .. } = entered;
    Some(MeasurementEntered { point: point.0, place: place.0, zone: zone.map(|zone| zone.0), observed })
}

fn vehicle_named(result: &Result_) -> Option<VehicleId> {
    match &result.outcome {
        EntryOutcome::Accepted(taken) | EntryOutcome::Held { taken, .. } => Some(taken.vehicle),
        EntryOutcome::Duplicate { .. } | EntryOutcome::Rejected { .. } => None,
    }
}

fn told(result: Result_, vehicles: &Vehicles, now: DateTime<Utc>) -> EntryResult {
    let blank = EntryResult {
        entry_id: result.entry_id,
        outcome: String::new(),
        status: 200,
        vehicle: None,
        inspection: None,
        do_not_drive: false,
        ring: None,
        grades: Vec::new(),
        due_items: Vec::new(),
        held: Vec::new(),
        clock_corrected: false,
        unknown_members: Vec::new(),
        problem: None,
    };
    match result.outcome {
        EntryOutcome::Accepted(taken) => EntryResult {
            outcome: "accepted".to_owned(),
            status: 201,
            ..taken_in(blank, taken, vehicles, now)
        },
        EntryOutcome::Held { taken, parts } => {
            let vehicle = vehicles.get(&taken.vehicle);
            let held = parts.into_iter().map(|part| held_part(part, vehicle)).collect();
            EntryResult {
                outcome: "held".to_owned(),
                status: 202,
                held,
                ..taken_in(blank, taken, vehicles, now)
            }
        }
        EntryOutcome::Duplicate { inspection } => {
            EntryResult { outcome: "duplicate".to_owned(), inspection: Some(inspection), ..blank }
        }
        EntryOutcome::Rejected { status, code, faults } => {
            let errors = faults.into_iter().map(|f| Fault::at(&f.pointer, &f.code, f.detail)).collect();
            let problem = Some(EntryProblem { code: code.to_owned(), errors });
            EntryResult { outcome: "rejected".to_owned(), status, problem, ..blank }
        }
    }
}

fn taken_in(blank: EntryResult, taken: Taken, vehicles: &Vehicles, now: DateTime<Utc>) -> EntryResult {
    let unit =
        vehicles.get(&taken.vehicle).map_or(quantity::Unit::Kilometre, |vehicle| vehicle.odometer_unit);
    let item = |item: &model::horizon::DueItem| {
        DueItem::of(item, store::derived::item_id(taken.vehicle, item), taken.vehicle, unit, now)
    };
    EntryResult {
        vehicle: Some(taken.vehicle),
        inspection: Some(taken.inspection),
        do_not_drive: taken.do_not_drive,
        grades: taken.grades.iter().map(GradedMeasurement::from).collect(),
        due_items: taken.items.iter().map(item).collect(),
        clock_corrected: taken.clock_corrected,
        unknown_members: taken.unknown_members,
        ..blank
    }
}

/// Names a manager of the vehicle's depot, or one of all depots, where the vehicle must not be driven.
fn with_whom_to_ring(result: EntryResult, vehicles: &Vehicles, managers: &[Person]) -> EntryResult {
    if !result.do_not_drive {
        return result;
    }
    let vehicle = result.vehicle.and_then(|id| vehicles.get(&id));
    let depot = vehicle.and_then(|vehicle| vehicle.attributes_now()).map(|now| now.depot);
    let is_near = |manager: &&Person| {
        manager.depots.is_empty() || depot.is_some_and(|depot| manager.depots.contains(&depot))
    };
    let ring = managers.iter().find(is_near).map(|manager| manager.name.clone());
    EntryResult { ring: ring.filter(|name| !name.is_empty()), ..result }
}

fn held_part(part: inspections::HeldPart, vehicle: Option<&Vehicle>) -> HeldPart {
    let held_measurement = match &part.reason {
        HeldReason::SetAside(one) => Some(one.id),
        HeldReason::Doubt(_)
        | HeldReason::Clock
        | HeldReason::CorrectionNeedsManager
        | HeldReason::SheetVersion(_) => None,
    };
    let (reason, detail) = because(part.reason, vehicle);
    let suggested = part.suggested.map(Into::into);
    HeldPart { pointer: part.pointer, reason, detail, suggested, held_measurement }
}

/// Why a part waits: a stable word for it, and a sentence.
fn because(reason: HeldReason, vehicle: Option<&Vehicle>) -> (String, String) {
    let (word, sentence) = match reason {
        HeldReason::Doubt(doubt) => match vehicle.map(|vehicle| judging::doubt(&doubt, vehicle)) {
            Some(doubt) => return (doubt.kind, doubt.detail),
            None => ("doubt", "It cannot be right.".to_owned()),
        },
        HeldReason::Clock => (
            "clock_in_doubt",
            "The time cannot be right: the clock of the device is off by more than a day, or it lies in the future or \
             before the vehicle came to the fleet."
                .to_owned(),
        ),
        HeldReason::CorrectionNeedsManager => (
            "correction_needs_manager",
            "It corrects somebody else's entry or one older than seven days: a manager decides.".to_owned(),
        ),
        HeldReason::SetAside(one) => (one.reason.word(), one.detail),
        HeldReason::SheetVersion(SheetUnknown { code, said, newest }) => (
            "sheet_version_unknown",
            format!(
                "The check sheet {code} has no version {said}; the inspection is kept under version {newest}, the newest. \
                 Nobody needs to decide about it."
            ),
        ),
    };
    (word.to_owned(), sentence)
}
