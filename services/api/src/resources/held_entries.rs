//! What waits for a person: readings that cannot be right.

use super::{judging, vehicles_of};
use crate::http::call::{Call, Outcome};
use crate::http::operation::Operation;
use crate::http::refusal::{Refusal, Stop};
use contract::HeldEntry;
use model::{OdometerReading, ReadingSource, Scope, Vehicle, VehicleId, Verdict};
use quantity::Distance;
use std::collections::BTreeMap;
use store::derived::HeldRow;

pub fn operations() -> Vec<Operation> {
    vec![
        Operation::list::<HeldEntry>(Scope::Read, "list_held_entries", "/held-entries")
            .says(
                "List what is held",
                "Readings that cannot be right, with why and with what was probably meant. They count once a person \
                 releases or corrects them.",
            )
            .does(list),
    ]
}

async fn list(call: Call) -> Outcome {
    let paging = call.paging().await?;
    let mut reading = call.reading().await?;
    let rows =
        store::derived::held(&mut reading.conn(), call.fleet(), paging.after(), paging.fetch()).await?;
    let vehicles = vehicles_of(&call, &mut reading.conn(), rows.iter().map(|row| row.vehicle)).await?;
    let vehicles: BTreeMap<VehicleId, Vehicle> = vehicles.into_iter().map(|v| (v.id, v)).collect();
    let entries: Vec<HeldEntry> = rows.iter().map(|row| told(row, &vehicles)).collect::<Result<_, Stop>>()?;
    paging.answer(entries, |entry| (entry.reading.recorded_at, entry.reading.id.0), |entry| entry)
}

fn told(row: &HeldRow, vehicles: &BTreeMap<VehicleId, Vehicle>) -> Result<HeldEntry, Stop> {
    // A held reading belongs to a vehicle by a foreign key, and its value was exact when it was kept.
    let vehicle = vehicles.get(&row.vehicle).ok_or_else(Refusal::internal)?;
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
    Ok(HeldEntry {
        vehicle: vehicle.id,
        vehicle_label: vehicle.attributes_now().map(|now| now.label.clone()).unwrap_or_default(),
        reading: judging::reading(&reading, Some(&verdict), vehicle),
    })
}
