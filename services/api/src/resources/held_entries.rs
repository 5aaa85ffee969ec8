//! What waits for a person: readings and measurements that cannot be right.

use super::{judging, vehicles_of};
use crate::http::call::{Call, Outcome};
use crate::http::operation::Operation;
use crate::http::refusal::{Refusal, Stop};
use chrono::{DateTime, Utc};
use contract::{HeldEntry, HeldMeasurement};
use model::{OdometerReading, ReadingSource, Scope, SetAside, Vehicle, VehicleId, Verdict};
use quantity::Distance;
use std::collections::BTreeMap;
use store::derived::HeldRow;
use uuid::Uuid;

pub fn operations() -> Vec<Operation> {
    vec![
        Operation::list::<HeldEntry>(Scope::Read, "list_held_entries", "/held-entries")
            .says(
                "List what is held",
                "Readings that cannot be right, with why and with what was probably meant: they count once a person \
                 releases or corrects them. And measurements that cannot be taken as they were written: they count once a \
                 person takes them with the right value. In the order in which they were recorded.",
            )
            .does(list),
    ]
}

async fn list(call: Call) -> Outcome {
    let paging = call.paging().await?;
    let mut reading = call.reading().await?;
    let (conn, fleet) = (&mut reading.conn(), call.fleet());
    let readings = store::derived::held(conn, fleet, paging.after(), paging.fetch()).await?;
    let measurements = store::set_asides::waiting(conn, fleet, paging.after(), paging.fetch()).await?;
    let mut rows: Vec<Held> = readings.into_iter().map(Held::Reading).collect();
    rows.extend(measurements.into_iter().map(|(vehicle, one)| Held::Measurement(vehicle, one)));
    // Each list is complete up to its own end, so what stands among the first of both is a page of the whole.
    rows.sort_by_key(Held::key);
    rows.truncate(usize::try_from(paging.fetch()).unwrap_or(usize::MAX));
    let vehicles = vehicles_of(&call, conn, rows.iter().map(Held::vehicle)).await?;
    let vehicles: BTreeMap<VehicleId, Vehicle> = vehicles.into_iter().map(|v| (v.id, v)).collect();
    let entries = rows.into_iter().map(|row| Ok((row.key(), told(row, &vehicles)?)));
    let entries: Vec<(_, HeldEntry)> = entries.collect::<Result<_, Stop>>()?;
    paging.answer(entries, |(key, _)| *key, |(_, entry)| entry)
}

/// One thing that waits.
enum Held {
    Reading(HeldRow),
    Measurement(VehicleId, SetAside),
}

impl Held {
    const fn vehicle(&self) -> VehicleId {
        match self {
            Self::Reading(row) => row.vehicle,
            Self::Measurement(vehicle, _) => *vehicle,
        }
    }

    /// What the list is in order of.
    const fn key(&self) -> (DateTime<Utc>, Uuid) {
        match self {
            Self::Reading(row) => (row.recorded_at, row.reading.0),
            Self::Measurement(_, one) => (one.recorded_at, one.id.0),
        }
    }
}

fn told(held: Held, vehicles: &BTreeMap<VehicleId, Vehicle>) -> Result<HeldEntry, Stop> {
    // What is held belongs to a vehicle by a foreign key.
    let vehicle = vehicles.get(&held.vehicle()).ok_or_else(Refusal::internal)?;
    match held {
        Held::Reading(row) => Ok(of_reading(vehicle, told_reading(&row, vehicle)?)),
        Held::Measurement(_, one) => Ok(of_measurement(vehicle, one)),
    }
}

/// A reading of the vehicle that waits.
pub fn of_reading(vehicle: &Vehicle, reading: contract::OdometerReading) -> HeldEntry {
    let vehicle_label = label(vehicle);
    HeldEntry { vehicle: vehicle.id, vehicle_label, reading: Some(reading), measurement: None }
}

/// A measurement of the vehicle that waits.
pub fn of_measurement(vehicle: &Vehicle, set_aside: SetAside) -> HeldEntry {
    let measurement = Some(HeldMeasurement::of(vehicle.id, set_aside));
    HeldEntry { vehicle: vehicle.id, vehicle_label: label(vehicle), reading: None, measurement }
}

fn label(vehicle: &Vehicle) -> String {
    vehicle.attributes_now().map(|now| now.label.clone()).unwrap_or_default()
}

fn told_reading(row: &HeldRow, vehicle: &Vehicle) -> Result<contract::OdometerReading, Stop> {
    // Its value was exact when it was kept.
    let odometer = Distance::parse(row.entered).map_err(|_| Refusal::internal())?;
    let reading = OdometerReading {
        id: row.reading,
        entered: row.entered,
        odometer,
        read_at: row.read_at,
        recorded_at: row.recorded_at,
        source: ReadingSource::from_word(&row.source).ok_or_else(Refusal::internal)?,
        clock_in_doubt: row.doubt == model::Doubt::ClockInDoubt,
    };
    let verdict = Verdict::Held { doubt: row.doubt, suggested: row.suggested };
    Ok(judging::reading(&reading, Some(&verdict), vehicle))
}
