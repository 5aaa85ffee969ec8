//! Measured values, one row each.

use super::{Authored, InspectionRow};
use crate::acts::Stamp;
use crate::parse::InRow;
use crate::rows::each;
use crate::{AsKnown, Conn, StoreError};
use model::{FleetId, InspectionId, Measurement, MeasurementId, Place, VehicleId, Zone};
use std::collections::BTreeMap;
use uuid::Uuid;

statements! {
    INSERT = {
        "INSERT INTO measurement (fleet_id, id, inspection_id, vehicle_id, ordinal, point, place, zone, value, unit, exact)"
        "VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11)"
    }
    INSERT_LATER = {
        "INSERT INTO measurement (fleet_id, id, inspection_id, vehicle_id, ordinal, point, place, zone, value, unit, exact,"
        "recorded_at) VALUES ($1, $2, $3, $4,"
        "(SELECT COALESCE(MAX(ordinal), 0) + 1 FROM measurement WHERE fleet_id = $1 AND inspection_id = $3),"
        "$5, $6, $7, $8, $9, $10, $11)"
    }
    OF_INSPECTIONS = {
        "SELECT id, inspection_id, point, place, zone, value, unit, exact FROM measurement"
        "WHERE fleet_id = $1 AND inspection_id IN" ids: "$2"
        "ORDER BY inspection_id, ordinal"
    }
    /// One without a time of its own came on record and is withdrawn with its inspection.
    OF_VEHICLES = {
        "SELECT id, inspection_id, point, place, zone, value, unit, exact FROM measurement"
        "WHERE fleet_id = $1 AND vehicle_id IN" ids: "$2"
        "AND (recorded_at IS NULL OR recorded_at <= $3) ORDER BY inspection_id, ordinal"
    }
}

#[derive(sqlx::FromRow)]
struct Row {
    id: Uuid,
    inspection_id: Uuid,
    point: String,
    place: String,
    zone: String,
    value: f64,
    unit: String,
    exact: i64,
}

/// A measurement and the inspection it was made in.
pub(super) type Measured = (InspectionId, Measurement);

impl TryFrom<Row> for Measured {
    type Error = StoreError;

    fn try_from(row: Row) -> Result<Self, StoreError> {
        let at = InRow::new("measurement", row.id);
        let measurement = Measurement {
            id: MeasurementId(row.id),
            point: at.code("point", &row.point)?,
            place: at.word("place", &row.place, Place::from_word)?,
            zone: at.word("zone", &row.zone, Zone::from_word)?,
            entered: at.entered("unit", row.value, &row.unit)?,
            exact: row.exact,
        };
        Ok((InspectionId(row.inspection_id), measurement))
    }
}

/// Keeps the measurements of many inspections in one statement.
pub(super) async fn insert(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    rows: &[InspectionRow],
) -> Result<(), StoreError> {
    let of_one = |row: &InspectionRow| -> Vec<(VehicleId, InspectionId, i64, Measurement)> {
        let numbered = (1..).zip(&row.inspection.measurements);
        numbered.map(|(ordinal, m)| (row.vehicle, row.inspection.id, ordinal, m.clone())).collect()
    };
    let measured: Vec<_> = rows.iter().flat_map(of_one).collect();
    batch!(conn, INSERT, measured, |(vehicle, inspection, ordinal, measurement)| [
        fleet.0,
        measurement.id.0,
        inspection.0,
        vehicle.0,
        *ordinal,
        measurement.point.as_str(),
        measurement.place.word(),
        measurement.zone.word(),
        measurement.entered.value,
        measurement.entered.unit.code(),
        measurement.exact,
    ])?;
    Ok(())
}

/// Keeps a measurement behind those of its inspection, with the time at which it came on record.
pub(super) async fn insert_later(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    vehicle: VehicleId,
    inspection: InspectionId,
    measurement: &Measurement,
    stamp: &Stamp,
) -> Result<(), StoreError> {
    execute!(
        conn,
        INSERT_LATER,
        fleet.0,
        measurement.id.0,
        inspection.0,
        vehicle.0,
        measurement.point.as_str(),
        measurement.place.word(),
        measurement.zone.word(),
        measurement.entered.value,
        measurement.entered.unit.code(),
        measurement.exact,
        stamp.recorded_at,
    )?;
    Ok(())
}

/// The measurements of the vehicles on a list that had come on record then, in each inspection's order.
pub(super) async fn of_vehicles(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    list: &str,
    known: AsKnown,
) -> Result<Vec<Measured>, StoreError> {
    each(fetch!(fetch_all, conn, Row, OF_VEHICLES, fleet.0, list, known.bound())?)
}

/// Gives the inspections their measurements.
pub(super) async fn add_to(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    inspections: &mut [Authored],
) -> Result<(), StoreError> {
    if inspections.is_empty() {
        return Ok(());
    }
    let list = super::list_of(inspections);
    let measured = each(fetch!(fetch_all, conn, Row, OF_INSPECTIONS, fleet.0, list)?)?;
    sort_into(inspections, measured);
    Ok(())
}

/// Gives each inspection its own among the measurements; those of others are left out.
pub(super) fn sort_into(inspections: &mut [Authored], measured: Vec<Measured>) {
    let mut by_inspection: BTreeMap<InspectionId, Vec<Measurement>> = BTreeMap::new();
    for (inspection, measurement) in measured {
        by_inspection.entry(inspection).or_default().push(measurement);
    }
    for (_, inspection, _) in inspections {
        inspection.measurements = by_inspection.remove(&inspection.id).unwrap_or_default();
    }
}
