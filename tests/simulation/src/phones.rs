//! Technicians' phones: what they hold is sent once or many times, split, out of order, by two at once, days later.

use crate::dice::Dice;
use crate::fleet::{Fleet, Van};
use crate::people::Deed;
use chrono::{DateTime, TimeDelta, Utc};
use clerk::inspections::{Batch, Entry, FindingEntered, RawEntry, SheetRef};
use model::FindingWeight;
use testkit::world::{code, measured};
use uuid::Uuid;

/// How far a phone's clock is off.
fn clock_error(dice: &Dice) -> TimeDelta {
    match dice.below(12) {
        0 => TimeDelta::hours(3),
        1 => TimeDelta::hours(-5),
        2 => TimeDelta::days(3 * 365),
        3 => TimeDelta::days(-40),
        _ => TimeDelta::seconds(20),
    }
}

/// The batches that go out at about `now`: several of the same entries where the phone is impatient.
pub fn batches(dice: &Dice, fleet: &mut Fleet, now: DateTime<Utc>) -> Vec<Deed> {
    let error = clock_error(dice);
    let mut entries = if dice.percent(25) && !fleet.sent.is_empty() {
        fleet.sent[dice.place(fleet.sent.len())].1.clone()
    } else {
        let count = dice.between(1, 4);
        (0..count).filter_map(|_| entry(dice, fleet, now + error)).collect()
    };
    if entries.is_empty() {
        return Vec::new();
    }
    fleet.sent.push((id(dice), entries.clone()));
    if fleet.sent.len() > 6 {
        fleet.sent.remove(0);
    }
    let mut batches = Vec::new();
    for _ in 0..if dice.percent(40) { dice.between(2, 3) } else { 1 } {
        if dice.percent(40) {
            entries.reverse();
        }
        if dice.percent(25) && entries.len() > 1 {
            let (first, second) = entries.split_at(dice.place(entries.len() - 1) + 1);
            batches.extend([batch(dice, second, now, error), batch(dice, first, now, error)]);
        } else {
            batches.push(batch(dice, &entries, now, error));
        }
    }
    batches.into_iter().map(|batch| Deed::Batch(Box::new(batch))).collect()
}

/// An id as a phone makes it.
pub fn id(dice: &Dice) -> Uuid {
    let half = || u128::from(dice.below(u64::MAX));
    uuid::Builder::from_random_bytes(((half() << 64) | half()).to_be_bytes()).into_uuid()
}

fn entry(dice: &Dice, fleet: &Fleet, phone_now: DateTime<Utc>) -> Option<Entry> {
    let van = &fleet.vans[fleet.any_van(dice)?];
    let at = phone_now - dice.span(60, 86_400 * 20);
    let measurements = vec![tread(dice), pressure(dice)];
    Some(Entry {
        entry_id: id(dice),
        vehicle: if dice.percent(4) { "nobody's van".to_owned() } else { van.label.clone() },
        check_sheet: SheetRef { code: code("yard-walk"), version: None },
        performed_at: at,
        odometer: dice.percent(70).then(|| odometer(dice, van, at)),
        unread_odometer: None,
        measurements,
        findings: if dice.percent(30) { vec![finding(dice)] } else { Vec::new() },
        note: None,
        corrects: None,
        unknown_members: Vec::new(),
    })
}

/// A batch of one entry: a tyre that is worn through.
pub fn worn_tyre(dice: &Dice, van: &Van, now: DateTime<Utc>) -> Deed {
    let entry = Entry {
        entry_id: id(dice),
        vehicle: van.label.clone(),
        check_sheet: SheetRef { code: code("yard-walk"), version: None },
        performed_at: now - TimeDelta::minutes(10),
        odometer: Some(van.odometer(now)),
        unread_odometer: None,
        measurements: vec![measured("tread-depth", "front_left", "lowest", 1.0, "mm")],
        findings: Vec::new(),
        note: None,
        corrects: None,
        unknown_members: Vec::new(),
    };
    Deed::Batch(Box::new(batch(dice, &[entry], now, TimeDelta::zero())))
}

fn odometer(dice: &Dice, van: &Van, at: DateTime<Utc>) -> quantity::Entered {
    let right = van.odometer(at);
    if dice.percent(8) { quantity::Entered::new((right.value / 3.0).round(), right.unit) } else { right }
}

fn tenths(dice: &Dice, least: u64, most: u64) -> f64 {
    f64::from(u32::try_from(dice.between(least, most)).unwrap_or(0)) / 10.0
}

/// Tread from bare to new: about one in eight must not be driven.
fn tread(dice: &Dice) -> clerk::inspections::MeasurementEntered {
    let place = dice.pick(&["front_left", "front_right", "rear_left"]);
    let depth = if dice.percent(12) { tenths(dice, 5, 14) } else { tenths(dice, 20, 80) };
    measured("tread-depth", place, "lowest", depth, "mm")
}

fn pressure(dice: &Dice) -> clerk::inspections::MeasurementEntered {
    let low = dice.percent(10);
    let value = if low { tenths(dice, 1500, 2300) } else { tenths(dice, 2900, 3600) };
    measured("cold-pressure", "front_left", "whole", value, "kPa")
}

fn finding(dice: &Dice) -> FindingEntered {
    let weights = [FindingWeight::Note, FindingWeight::Attend, FindingWeight::DoNotDrive];
    FindingEntered {
        code: code("oil-leak"),
        component: None,
        place: None,
        weight: *dice.pick(&weights),
        note: "oil under the engine".to_owned(),
    }
}

fn batch(dice: &Dice, entries: &[Entry], now: DateTime<Utc>, error: TimeDelta) -> Batch {
    Batch {
        id: id(dice),
        device_id: "phone".to_owned(),
        device_seq: None,
        device_sent_at: now + error,
        received_at: now,
        raw: "{}".to_owned(),
        entries: entries.iter().map(raw).collect(),
    }
}

/// The entry as it would come over the wire, as far as its content matters.
fn raw(entry: &Entry) -> RawEntry {
    let raw = serde_json::json!({
        "entry_id": entry.entry_id,
        "vehicle": entry.vehicle,
        "performed_at": entry.performed_at,
        "odometer": entry.odometer,
    });
    RawEntry { raw, entry_id_text: Some(entry.entry_id.to_string()), parsed: Ok(entry.clone()) }
}
