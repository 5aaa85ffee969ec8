//! The resources of a fleet, one file each: what the document says about an operation, and the handler that does it.

pub mod access_keys;
pub mod achieved_lives;
pub mod baseline_answers;
pub mod check_sheets;
pub mod components;
pub mod coverage_windows;
pub mod depots;
pub mod due_items;
pub mod findings;
pub mod fittings;
pub mod fleets;
pub mod held_entries;
pub mod held_measurements;
pub mod horizons;
pub mod hour_readings;
pub mod indicator_readings;
pub mod inspection_batches;
pub mod inspections;
pub mod jobs;
pub mod letters;
pub mod measurements;
pub mod meter_replacements;
pub mod notices;
pub mod odometer_readings;
pub mod papers;
pub mod people;
pub mod policies;
pub mod rejected_entries;
pub mod replicas;
pub mod rule_overrides;
pub mod rulebooks;
pub mod service_records;
pub mod stays;
pub mod vehicles;
pub mod workshops;

mod judging;

use crate::http::call::Call;
use crate::http::refusal::{Refusal, Stop};
use model::{Vehicle, VehicleId};
use store::Conn;

/// `found`, or 404.
fn there<T>(found: Option<T>) -> Result<T, Stop> {
    found.ok_or_else(|| Refusal::not_found().into())
}

/// The vehicle in the path.
async fn vehicle_of(call: &Call, conn: &mut Conn<'_>) -> Result<Vehicle, Stop> {
    there(store::vehicles::find(conn, call.fleet(), call.id("vehicle")?).await?)
}

/// The vehicles with these ids, once each.
async fn vehicles_of(
    call: &Call,
    conn: &mut Conn<'_>,
    ids: impl Iterator<Item = VehicleId>,
) -> Result<Vec<Vehicle>, Stop> {
    let ids: std::collections::BTreeSet<VehicleId> = ids.collect();
    let ids: Vec<VehicleId> = ids.into_iter().collect();
    Ok(store::vehicles::find_many(conn, call.fleet(), &ids).await?)
}
