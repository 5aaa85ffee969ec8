//! The meter log of each vehicle.

mod decisions;
pub mod hours;

pub use decisions::{insert as insert_decision, page as decisions_page};

pub(crate) use decisions::of_vehicles as decisions_of_vehicles;

use crate::acts::Stamp;
use crate::pages::behind;
use crate::parse::InRow;
use crate::rows::{each, each_fact, one_fact};
use crate::{AsKnown, Conn, Sql, StoreError};
use chrono::{DateTime, Utc};
use model::{
    FleetId, InspectionId, MeterQuantity, OdometerReading, ReadingId, ReadingSource, ServiceId, VehicleId,
};
use quantity::Distance;
use uuid::Uuid;

/// The number of a vehicle's first meter. Which instrument an entry is of follows from the replacements on record,
/// which may be told late; the column keeps its first value.
const FIRST_METER: i64 = 1;

statements! {
    INSERT = {
        "INSERT INTO odometer_reading (fleet_id, id, vehicle_id, meter, quantity, value, unit, exact, read_at, sent_at,"
        "clock_offset_seconds, clock_in_doubt, reading_source, service_id, inspection_id, recorded_at, recorded_by,"
        "source, act_id)"
        "VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13, $14, $15, $16, $17, $18, $19)"
    }
    FIND = {
        "SELECT id, vehicle_id, value, unit, exact, read_at, recorded_at, reading_source, clock_in_doubt"
        "FROM odometer_reading"
        "WHERE fleet_id = $1 AND id = $3 AND vehicle_id = $2 AND quantity = 'distance' AND withdrawn_at IS NULL"
    }
    PAGE = {
        "SELECT id, vehicle_id, value, unit, exact, read_at, recorded_at, reading_source, clock_in_doubt"
        "FROM odometer_reading"
        "WHERE fleet_id = $1 AND vehicle_id = $2 AND quantity = 'distance' AND withdrawn_at IS NULL"
        "AND (read_at, id) > ($3, $4) ORDER BY read_at, id LIMIT $5"
    }
    OF_VEHICLES = {
        "SELECT id, vehicle_id, value, unit, exact, read_at, recorded_at, reading_source, clock_in_doubt"
        "FROM odometer_reading"
        "WHERE fleet_id = $1 AND quantity = 'distance' AND vehicle_id IN" ids: "$2"
        "AND recorded_at <= $3 AND (withdrawn_at IS NULL OR withdrawn_at > $3)"
        "ORDER BY vehicle_id, read_at, id"
    }
    WITHDRAW = {
        "UPDATE odometer_reading SET withdrawn_at = $4"
        "WHERE fleet_id = $1 AND vehicle_id = $2 AND id = $3 AND withdrawn_at IS NULL"
    }
}

/// The statements of this module and those below it.
pub(crate) const CATALOGUES: &[&[Sql]] = &[CATALOGUE, decisions::CATALOGUE, hours::CATALOGUE];

/// What a reading came with.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct ReadingLinks {
    /// The inspection it was taken in.
    pub inspection: Option<InspectionId>,
    /// The service record it was taken in.
    pub service: Option<ServiceId>,
    /// When it was read by the clock of whoever sent it.
    pub sent_at: Option<DateTime<Utc>>,
    /// How far that clock was behind, seconds.
    pub clock_offset_seconds: i64,
}

#[derive(sqlx::FromRow)]
pub(crate) struct Row {
    id: Uuid,
    vehicle_id: Uuid,
    value: f64,
    unit: String,
    exact: i64,
    read_at: DateTime<Utc>,
    recorded_at: DateTime<Utc>,
    reading_source: String,
    clock_in_doubt: bool,
}

impl TryFrom<Row> for (VehicleId, OdometerReading) {
    type Error = StoreError;

    fn try_from(row: Row) -> Result<Self, StoreError> {
        let at = InRow::new("odometer_reading", row.id);
        let reading = OdometerReading {
            id: ReadingId(row.id),
            entered: at.entered("unit", row.value, &row.unit)?,
            odometer: Distance::from_mm(row.exact),
            read_at: row.read_at,
            recorded_at: row.recorded_at,
            source: at.word("reading_source", &row.reading_source, ReadingSource::from_word)?,
            clock_in_doubt: row.clock_in_doubt,
        };
        Ok((VehicleId(row.vehicle_id), reading))
    }
}

/// Keeps a reading.
pub async fn insert(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    vehicle: VehicleId,
    reading: &OdometerReading,
    links: &ReadingLinks,
    stamp: &Stamp,
) -> Result<(), StoreError> {
    insert_many(conn, fleet, &[(vehicle, reading.clone(), links.clone())], stamp).await
}

/// Keeps many readings in one statement.
pub async fn insert_many(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    readings: &[(VehicleId, OdometerReading, ReadingLinks)],
    stamp: &Stamp,
) -> Result<(), StoreError> {
    batch!(conn, INSERT, readings, |(vehicle, reading, links)| [
        fleet.0,
        reading.id.0,
        vehicle.0,
        FIRST_METER,
        MeterQuantity::Distance.word(),
        reading.entered.value,
        reading.entered.unit.code(),
        reading.odometer.mm(),
        reading.read_at,
        links.sent_at,
        links.clock_offset_seconds,
        reading.clock_in_doubt,
        reading.source.word(),
        links.service.map(|service| service.0),
        links.inspection.map(|inspection| inspection.0),
        stamp.recorded_at,
        stamp.recorded_by,
        &stamp.source,
        stamp.act.0,
    ])?;
    Ok(())
}

/// The reading of that id, unless withdrawn.
pub async fn find(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    vehicle: VehicleId,
    id: ReadingId,
) -> Result<Option<OdometerReading>, StoreError> {
    one_fact(fetch!(fetch_optional, conn, Row, FIND, fleet.0, vehicle.0, id.0)?)
}

/// A vehicle's readings behind `after`, by when they were read.
pub async fn page(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    vehicle: VehicleId,
    after: Option<(DateTime<Utc>, Uuid)>,
    limit: i64,
) -> Result<Vec<OdometerReading>, StoreError> {
    let (read_at, id) = behind(after);
    each_fact(fetch!(fetch_all, conn, Row, PAGE, fleet.0, vehicle.0, read_at, id, limit)?)
}

/// Withdraws a reading along with the record it came with; `false` if there is none or it is withdrawn already.
pub async fn withdraw(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    vehicle: VehicleId,
    id: ReadingId,
    at: DateTime<Utc>,
) -> Result<bool, StoreError> {
    Ok(execute!(conn, WITHDRAW, fleet.0, vehicle.0, id.0, at)? == 1)
}

/// Readings of the vehicles on a list that are not withdrawn.
pub(crate) async fn of_vehicles(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    list: &str,
    known: AsKnown,
) -> Result<Vec<(VehicleId, OdometerReading)>, StoreError> {
    each(fetch!(fetch_all, conn, Row, OF_VEHICLES, fleet.0, list, known.bound())?)
}
