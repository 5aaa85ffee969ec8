//! The log of running hours: the same table, another quantity.

use super::{FIRST_METER, ReadingLinks, Row};
use crate::acts::Stamp;
use crate::pages::behind;
use crate::parse::InRow;
use crate::rows::{each, each_fact, one_fact};
use crate::{AsKnown, Conn, StoreError};
use chrono::{DateTime, Utc};
use model::{FleetId, HourReading, MeterQuantity, ReadingId, ReadingSource, VehicleId};
use uuid::Uuid;

statements! {
    FIND = {
        "SELECT id, vehicle_id, value, unit, exact, read_at, recorded_at, reading_source, clock_in_doubt"
        "FROM odometer_reading"
        "WHERE fleet_id = $1 AND vehicle_id = $2 AND id = $3 AND quantity = 'hours' AND withdrawn_at IS NULL"
    }
    PAGE = {
        "SELECT id, vehicle_id, value, unit, exact, read_at, recorded_at, reading_source, clock_in_doubt"
        "FROM odometer_reading"
        "WHERE fleet_id = $1 AND vehicle_id = $2 AND quantity = 'hours' AND withdrawn_at IS NULL"
        "AND (read_at, id) > ($3, $4) ORDER BY read_at, id LIMIT $5"
    }
    OF_VEHICLES = {
        "SELECT id, vehicle_id, value, unit, exact, read_at, recorded_at, reading_source, clock_in_doubt"
        "FROM odometer_reading"
        "WHERE fleet_id = $1 AND quantity = 'hours' AND vehicle_id IN" ids: "$2"
        "AND recorded_at <= $3 AND (withdrawn_at IS NULL OR withdrawn_at > $3)"
        "ORDER BY vehicle_id, read_at, id"
    }
}

impl TryFrom<Row> for (VehicleId, HourReading) {
    type Error = StoreError;

    fn try_from(row: Row) -> Result<Self, StoreError> {
        let at = InRow::new("odometer_reading", row.id);
        let reading = HourReading {
            id: ReadingId(row.id),
            entered: at.entered("unit", row.value, &row.unit)?,
            seconds: row.exact,
            read_at: row.read_at,
            recorded_at: row.recorded_at,
            source: at.word("reading_source", &row.reading_source, ReadingSource::from_word)?,
            clock_in_doubt: row.clock_in_doubt,
        };
        Ok((VehicleId(row.vehicle_id), reading))
    }
}

/// Keeps a reading of running hours.
pub async fn insert(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    vehicle: VehicleId,
    reading: &HourReading,
    links: &ReadingLinks,
    stamp: &Stamp,
) -> Result<(), StoreError> {
    execute!(
        conn,
        super::INSERT,
        fleet.0,
        reading.id.0,
        vehicle.0,
        FIRST_METER,
        MeterQuantity::Hours.word(),
        reading.entered.value,
        reading.entered.unit.code(),
        reading.seconds,
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
    )?;
    Ok(())
}

/// The reading of that id, unless withdrawn.
pub async fn find(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    vehicle: VehicleId,
    id: ReadingId,
) -> Result<Option<HourReading>, StoreError> {
    one_fact(fetch!(fetch_optional, conn, Row, FIND, fleet.0, vehicle.0, id.0)?)
}

/// A vehicle's readings of running hours behind `after`, by when they were read.
pub async fn page(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    vehicle: VehicleId,
    after: Option<(DateTime<Utc>, Uuid)>,
    limit: i64,
) -> Result<Vec<HourReading>, StoreError> {
    let (read_at, id) = behind(after);
    each_fact(fetch!(fetch_all, conn, Row, PAGE, fleet.0, vehicle.0, read_at, id, limit)?)
}

/// Readings of running hours of the vehicles on a list that are not withdrawn.
pub(crate) async fn of_vehicles(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    list: &str,
    known: AsKnown,
) -> Result<Vec<(VehicleId, HourReading)>, StoreError> {
    each(fetch!(fetch_all, conn, Row, OF_VEHICLES, fleet.0, list, known.bound())?)
}
