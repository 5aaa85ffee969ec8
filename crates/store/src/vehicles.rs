//! Vehicles, and every version of what changes about them.

mod attributes;
mod names;

pub use attributes::{insert as insert_attributes, insert_all as insert_all_attributes};
pub use names::{resolve, resolve_many};

use crate::acts::Stamp;
use crate::pages::behind_id;
use crate::parse::{InRow, json_text};
use crate::{AsKnown, Conn, Sql, StoreError, depots, id_list, past};
use attributes::Standing;
use chrono::NaiveDate;
use model::{DepotId, FleetId, Powertrain, Vehicle, VehicleId, Vin};
use quantity::Distance;
use std::collections::BTreeMap;
use uuid::Uuid;

statements! {
    INSERT = {
        "INSERT INTO vehicle (fleet_id, id, vin, make, model, model_year, powertrain, gross_mass_kg, tags, in_service_on,"
        "in_service_odometer_mm, history_unknown, acquired_on, odometer_unit, placard, retired_on, version, recorded_at,"
        "act_id) VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13, $14, $15, $16, $17, $18, $19)"
    }
    OF_IDS = {
        "SELECT id, vin, make, model, model_year, powertrain, gross_mass_kg, tags, in_service_on,"
        "in_service_odometer_mm, history_unknown, acquired_on, odometer_unit, placard, retired_on, version FROM vehicle"
        "WHERE fleet_id = $1 AND recorded_at <= $3 AND id IN" ids: "$2"
        "ORDER BY id"
    }
    IDS = { "SELECT id FROM vehicle WHERE fleet_id = $1 AND retired_on IS NULL ORDER BY id" }
    /// The newest attributes are the last to come into force, and of one day the last recorded.
    PAGE = {
        "SELECT v.id FROM vehicle AS v JOIN vehicle_attributes AS a ON a.fleet_id = v.fleet_id AND a.vehicle_id = v.id"
        "WHERE v.fleet_id = $1 AND v.id > $2 AND (a.depot_id = $3 OR $3 IS NULL) AND (v.retired_on IS NULL OR $4)"
        "AND NOT EXISTS (SELECT 1 FROM vehicle_attributes AS later WHERE later.fleet_id = a.fleet_id"
        "AND later.vehicle_id = a.vehicle_id AND (later.from_day, later.ordinal) > (a.from_day, a.ordinal))"
        "ORDER BY v.id LIMIT $5"
    }
    UPDATE = {
        "UPDATE vehicle SET vin = $4, make = $5, model = $6, model_year = $7, powertrain = $8, gross_mass_kg = $9,"
        "tags = $10, in_service_on = $11, in_service_odometer_mm = $12, history_unknown = $13, acquired_on = $14,"
        "odometer_unit = $15, placard = $16, retired_on = $17, version = version + 1"
        "WHERE fleet_id = $1 AND id = $2 AND version = $3"
    }
}

/// The statements of this module and those below it.
pub(crate) const CATALOGUES: &[&[Sql]] = &[CATALOGUE, attributes::CATALOGUE, names::CATALOGUE];

#[derive(sqlx::FromRow)]
struct Row {
    id: Uuid,
    vin: Option<String>,
    make: String,
    model: String,
    model_year: Option<i64>,
    powertrain: String,
    gross_mass_kg: Option<i64>,
    tags: String,
    in_service_on: Option<NaiveDate>,
    in_service_odometer_mm: i64,
    history_unknown: bool,
    acquired_on: NaiveDate,
    odometer_unit: String,
    placard: String,
    retired_on: Option<NaiveDate>,
    version: i64,
}

impl Row {
    /// The vehicle with all versions of its attributes, oldest first, at the depot of the newest.
    fn with(self, fleet: FleetId, versions: Vec<Standing>) -> Result<Vehicle, StoreError> {
        let at = InRow::new("vehicle", self.id);
        let Some(newest) = versions.last() else { return Err(at.fault("vehicle_attributes", "has none")) };
        let vin = self.vin.map(|vin| Vin::parse(&vin).map_err(|problem| at.fault("vin", problem)));
        Ok(Vehicle {
            id: VehicleId(self.id),
            fleet,
            vin: vin.transpose()?,
            make: self.make,
            model: self.model,
            model_year: self.model_year.map(|year| at.whole("model_year", year)).transpose()?,
            powertrain: at.word("powertrain", &self.powertrain, Powertrain::from_word)?,
            gross_mass_kg: self.gross_mass_kg.map(|mass| at.whole("gross_mass_kg", mass)).transpose()?,
            tags: at.json("tags", &self.tags)?,
            in_service_on: self.in_service_on,
            in_service_odometer: Distance::from_mm(self.in_service_odometer_mm),
            history_unknown: self.history_unknown,
            acquired_on: self.acquired_on,
            odometer_unit: at.unit("odometer_unit", &self.odometer_unit)?,
            placard: at.json("placard", &self.placard)?,
            retired_on: self.retired_on,
            zone: newest.zone,
            jurisdiction: newest.jurisdiction,
            design_low: newest.design_low,
            attributes: versions.into_iter().map(|standing| standing.attributes).collect(),
            version: self.version,
        })
    }
}

/// Keeps a new vehicle with its attributes. `Unique` if its VIN is another's.
pub async fn insert(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    vehicle: &Vehicle,
    stamp: &Stamp,
) -> Result<(), StoreError> {
    execute!(
        conn,
        INSERT,
        fleet.0,
        vehicle.id.0,
        vehicle.vin.as_ref().map(Vin::as_str),
        &vehicle.make,
        &vehicle.model,
        vehicle.model_year.map(i64::from),
        vehicle.powertrain.word(),
        vehicle.gross_mass_kg.map(i64::from),
        json_text(&vehicle.tags),
        vehicle.in_service_on,
        vehicle.in_service_odometer.mm(),
        vehicle.history_unknown,
        vehicle.acquired_on,
        vehicle.odometer_unit.code(),
        json_text(&vehicle.placard),
        vehicle.retired_on,
        vehicle.version,
        stamp.recorded_at,
        stamp.act.0,
    )?;
    insert_all_attributes(conn, fleet, vehicle.id, &vehicle.attributes, stamp).await
}

/// The vehicle of that id.
pub async fn find(conn: &mut Conn<'_>, fleet: FleetId, id: VehicleId) -> Result<Option<Vehicle>, StoreError> {
    Ok(of_ids(conn, fleet, &id_list([id.0]), AsKnown::NOW).await?.pop())
}

/// The vehicles on a list of ids as they stood then, in order of ids; one that was not yet on record is missing.
pub(crate) async fn of_ids(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    list: &str,
    known: AsKnown,
) -> Result<Vec<Vehicle>, StoreError> {
    let rows = fetch!(fetch_all, conn, Row, OF_IDS, fleet.0, list, known.bound())?;
    let mut versions: BTreeMap<VehicleId, Vec<Standing>> = BTreeMap::new();
    for (vehicle, standing) in attributes::of_vehicles(conn, fleet, list, known).await? {
        versions.entry(vehicle).or_default().push(standing);
    }
    let whole = |row: Row| {
        let own = versions.remove(&VehicleId(row.id)).unwrap_or_default();
        row.with(fleet, own)
    };
    let vehicles: Vec<Vehicle> = rows.into_iter().map(whole).collect::<Result<_, StoreError>>()?;
    let mut vehicles = past::restored(conn, fleet, vehicles, known).await?;
    for vehicle in vehicles.iter_mut().filter(|_| known != AsKnown::NOW) {
        stand_as_known(conn, vehicle, known).await?;
    }
    Ok(vehicles)
}

/// Gives the vehicle what its depot said then.
async fn stand_as_known(
    conn: &mut Conn<'_>,
    vehicle: &mut Vehicle,
    known: AsKnown,
) -> Result<(), StoreError> {
    let Some(depot) = vehicle.attributes_now().map(|newest| newest.depot) else { return Ok(()) };
    if let Some(depot) = depots::find_as_known(conn, vehicle.fleet, depot, known).await? {
        vehicle.stand_at(&depot);
    }
    Ok(())
}

/// Those of these vehicles that are of this fleet, in no order.
pub async fn find_many(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    ids: &[VehicleId],
) -> Result<Vec<Vehicle>, StoreError> {
    of_ids(conn, fleet, &id_list(ids.iter().map(|id| id.0)), AsKnown::NOW).await
}

/// Ids of the vehicles that have not left the fleet.
pub async fn ids(conn: &mut Conn<'_>, fleet: FleetId) -> Result<Vec<VehicleId>, StoreError> {
    let rows = fetch!(fetch_all, conn, (Uuid,), IDS, fleet.0)?;
    Ok(rows.into_iter().map(|(id,)| VehicleId(id)).collect())
}

/// Which vehicles a page shows.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Filter {
    /// Those that stand at this depot by their newest attributes.
    pub depot: Option<DepotId>,
    /// Those that have left the fleet too.
    pub with_retired: bool,
}

/// Vehicles behind `after`, in order of ids.
pub async fn page(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    filter: Filter,
    after: Option<VehicleId>,
    limit: i64,
) -> Result<Vec<Vehicle>, StoreError> {
    let after = behind_id(after.map(|id| id.0));
    let depot = filter.depot.map(|depot| depot.0);
    let ids = fetch!(fetch_all, conn, (Uuid,), PAGE, fleet.0, after, depot, filter.with_retired, limit)?;
    of_ids(conn, fleet, &id_list(ids.into_iter().map(|(id,)| id)), AsKnown::NOW).await
}

/// Changes what stands in the vehicle's own row, if it still has version `expected`, and raises the version; `false`
/// if it has not. Attributes are versions of their own: see [`insert_attributes`].
pub async fn update(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    vehicle: &Vehicle,
    expected: i64,
) -> Result<bool, StoreError> {
    let touched = execute!(
        conn,
        UPDATE,
        fleet.0,
        vehicle.id.0,
        expected,
        vehicle.vin.as_ref().map(Vin::as_str),
        &vehicle.make,
        &vehicle.model,
        vehicle.model_year.map(i64::from),
        vehicle.powertrain.word(),
        vehicle.gross_mass_kg.map(i64::from),
        json_text(&vehicle.tags),
        vehicle.in_service_on,
        vehicle.in_service_odometer.mm(),
        vehicle.history_unknown,
        vehicle.acquired_on,
        vehicle.odometer_unit.code(),
        json_text(&vehicle.placard),
        vehicle.retired_on,
    )?;
    Ok(touched == 1)
}
