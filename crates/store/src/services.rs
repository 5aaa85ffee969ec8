//! Work done on vehicles.

use crate::acts::Stamp;
use crate::pages::behind;
use crate::parse::{InRow, json_text};
use crate::rows::{each, each_fact, one_fact};
use crate::{AsKnown, Conn, StoreError};
use chrono::{DateTime, NaiveDate, Utc};
use model::{FleetId, ReadingId, ServiceId, ServiceRecord, VehicleId, WorkshopId};
use quantity::Distance;
use uuid::Uuid;

statements! {
    INSERT = {
        "INSERT INTO service_record (fleet_id, id, vehicle_id, done_on, odometer_value, odometer_unit, odometer_mm,"
        "reading_id, rules, workshop_id, parts, cost_minor, currency, evidence, note, recorded_at, recorded_by, source,"
        "act_id) VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13, $14, $15, $16, $17, $18, $19)"
    }
    FIND = {
        "SELECT id, vehicle_id, done_on, odometer_value, odometer_unit, odometer_mm, reading_id, rules, workshop_id,"
        "parts, cost_minor, currency, evidence, note, recorded_at FROM service_record"
        "WHERE fleet_id = $1 AND vehicle_id = $2 AND id = $3 AND withdrawn_at IS NULL"
    }
    PAGE = {
        "SELECT id, vehicle_id, done_on, odometer_value, odometer_unit, odometer_mm, reading_id, rules, workshop_id,"
        "parts, cost_minor, currency, evidence, note, recorded_at FROM service_record"
        "WHERE fleet_id = $1 AND vehicle_id = $2 AND withdrawn_at IS NULL AND (done_on, id) > ($3, $4)"
        "ORDER BY done_on, id LIMIT $5"
    }
    OF_VEHICLES = {
        "SELECT id, vehicle_id, done_on, odometer_value, odometer_unit, odometer_mm, reading_id, rules, workshop_id,"
        "parts, cost_minor, currency, evidence, note, recorded_at FROM service_record"
        "WHERE fleet_id = $1 AND vehicle_id IN" ids: "$2"
        "AND recorded_at <= $3 AND (withdrawn_at IS NULL OR withdrawn_at > $3)"
        "ORDER BY vehicle_id, done_on, id"
    }
    WITHDRAW = {
        "UPDATE service_record SET withdrawn_at = $4"
        "WHERE fleet_id = $1 AND vehicle_id = $2 AND id = $3 AND withdrawn_at IS NULL"
    }
}

#[derive(sqlx::FromRow)]
struct Row {
    id: Uuid,
    vehicle_id: Uuid,
    done_on: NaiveDate,
    odometer_value: f64,
    odometer_unit: String,
    odometer_mm: i64,
    reading_id: Uuid,
    rules: String,
    workshop_id: Option<Uuid>,
    parts: String,
    cost_minor: Option<i64>,
    currency: Option<String>,
    evidence: Option<String>,
    note: Option<String>,
    recorded_at: DateTime<Utc>,
}

impl TryFrom<Row> for (VehicleId, ServiceRecord) {
    type Error = StoreError;

    fn try_from(row: Row) -> Result<Self, StoreError> {
        let at = InRow::new("service_record", row.id);
        let service = ServiceRecord {
            id: ServiceId(row.id),
            done_on: row.done_on,
            odometer_entered: at.entered("odometer_unit", row.odometer_value, &row.odometer_unit)?,
            odometer: Distance::from_mm(row.odometer_mm),
            reading: ReadingId(row.reading_id),
            rules: at.json("rules", &row.rules)?,
            workshop: row.workshop_id.map(WorkshopId),
            parts: at.json("parts", &row.parts)?,
            cost_minor: row.cost_minor,
            currency: row.currency,
            evidence: row.evidence,
            note: row.note,
            recorded_at: row.recorded_at,
        };
        Ok((VehicleId(row.vehicle_id), service))
    }
}

/// Keeps a service record; its reading must be kept already.
pub async fn insert(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    vehicle: VehicleId,
    service: &ServiceRecord,
    stamp: &Stamp,
) -> Result<(), StoreError> {
    execute!(
        conn,
        INSERT,
        fleet.0,
        service.id.0,
        vehicle.0,
        service.done_on,
        service.odometer_entered.value,
        service.odometer_entered.unit.code(),
        service.odometer.mm(),
        service.reading.0,
        json_text(&service.rules),
        service.workshop.map(|workshop| workshop.0),
        json_text(&service.parts),
        service.cost_minor,
        service.currency.as_deref(),
        service.evidence.as_deref(),
        service.note.as_deref(),
        stamp.recorded_at,
        stamp.recorded_by,
        &stamp.source,
        stamp.act.0,
    )?;
    Ok(())
}

/// The service record of that id, unless withdrawn.
pub async fn find(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    vehicle: VehicleId,
    id: ServiceId,
) -> Result<Option<ServiceRecord>, StoreError> {
    one_fact(fetch!(fetch_optional, conn, Row, FIND, fleet.0, vehicle.0, id.0)?)
}

/// A vehicle's service records behind `after`, by day.
pub async fn page(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    vehicle: VehicleId,
    after: Option<(NaiveDate, Uuid)>,
    limit: i64,
) -> Result<Vec<ServiceRecord>, StoreError> {
    let (done_on, id) = behind(after);
    each_fact(fetch!(fetch_all, conn, Row, PAGE, fleet.0, vehicle.0, done_on, id, limit)?)
}

/// Withdraws a service record; `false` if there is none or it is withdrawn already.
pub async fn withdraw(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    vehicle: VehicleId,
    id: ServiceId,
    at: DateTime<Utc>,
) -> Result<bool, StoreError> {
    Ok(execute!(conn, WITHDRAW, fleet.0, vehicle.0, id.0, at)? == 1)
}

/// Service records of the vehicles on a list that are not withdrawn.
pub(crate) async fn of_vehicles(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    list: &str,
    known: AsKnown,
) -> Result<Vec<(VehicleId, ServiceRecord)>, StoreError> {
    each(fetch!(fetch_all, conn, Row, OF_VEHICLES, fleet.0, list, known.bound())?)
}
