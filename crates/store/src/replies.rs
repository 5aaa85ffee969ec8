//! What people said to reminders: that they have seen them, or that they want them later.

use crate::acts::Stamp;
use crate::rows::each;
use crate::{AsKnown, Conn, StoreError};
use chrono::{DateTime, NaiveDate, Utc};
use model::horizon::{Cycle, ItemKey};
use model::{Acknowledgement, FleetId, PersonId, Postponement, VehicleId};
use uuid::Uuid;

statements! {
    ACKNOWLEDGE = {
        "INSERT INTO acknowledgement (fleet_id, id, vehicle_id, item_key, cycle, person_id, note, recorded_at, act_id)"
        "VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9)"
    }
    POSTPONE = {
        "INSERT INTO postponement (fleet_id, id, vehicle_id, item_key, cycle, until_day, reason, person_id, recorded_at,"
        "act_id) VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10)"
    }
    ACKNOWLEDGEMENTS = {
        "SELECT vehicle_id, item_key, cycle, person_id, note, recorded_at FROM acknowledgement"
        "WHERE fleet_id = $1 AND vehicle_id IN" ids: "$2"
        "AND recorded_at <= $3 ORDER BY vehicle_id, recorded_at, id"
    }
    POSTPONEMENTS = {
        "SELECT vehicle_id, item_key, cycle, until_day, reason, person_id, recorded_at FROM postponement"
        "WHERE fleet_id = $1 AND vehicle_id IN" ids: "$2"
        "AND recorded_at <= $3 ORDER BY vehicle_id, recorded_at, id"
    }
    ACKNOWLEDGED_SINCE = {
        "SELECT COUNT(*) AS n FROM acknowledgement WHERE fleet_id = $1 AND vehicle_id = $2 AND item_key = $3"
        "AND cycle = $4 AND recorded_at >= $5"
    }
    SEEN_BY = {
        "SELECT MAX(recorded_at) AS seen_at FROM acknowledgement WHERE fleet_id = $1 AND vehicle_id = $2"
        "AND item_key = $3 AND cycle = $4 AND person_id = $5 AND recorded_at >= $6"
    }
    PUT_OFF_BY = {
        "SELECT until_day, recorded_at FROM postponement WHERE fleet_id = $1 AND vehicle_id = $2 AND item_key = $3"
        "AND cycle = $4 AND person_id = $5 AND recorded_at >= $6 ORDER BY recorded_at DESC, id DESC LIMIT 1"
    }
}

#[derive(sqlx::FromRow)]
struct AcknowledgementRow {
    vehicle_id: Uuid,
    item_key: String,
    cycle: String,
    person_id: Option<Uuid>,
    note: Option<String>,
    recorded_at: DateTime<Utc>,
}

#[derive(sqlx::FromRow)]
struct PostponementRow {
    vehicle_id: Uuid,
    item_key: String,
    cycle: String,
    until_day: NaiveDate,
    reason: String,
    person_id: Option<Uuid>,
    recorded_at: DateTime<Utc>,
}

impl TryFrom<AcknowledgementRow> for (VehicleId, Acknowledgement) {
    type Error = StoreError;

    fn try_from(row: AcknowledgementRow) -> Result<Self, StoreError> {
        let said = Acknowledgement {
            item: ItemKey(row.item_key),
            cycle: Cycle(row.cycle),
            by: row.person_id.map(PersonId),
            note: row.note,
            recorded_at: row.recorded_at,
        };
        Ok((VehicleId(row.vehicle_id), said))
    }
}

impl TryFrom<PostponementRow> for (VehicleId, Postponement) {
    type Error = StoreError;

    fn try_from(row: PostponementRow) -> Result<Self, StoreError> {
        let said = Postponement {
            item: ItemKey(row.item_key),
            cycle: Cycle(row.cycle),
            until: row.until_day,
            reason: row.reason,
            by: row.person_id.map(PersonId),
            recorded_at: row.recorded_at,
        };
        Ok((VehicleId(row.vehicle_id), said))
    }
}

/// Keeps that somebody has seen a reminder, under an id of its own.
pub async fn acknowledge(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    vehicle: VehicleId,
    id: Uuid,
    said: &Acknowledgement,
    stamp: &Stamp,
) -> Result<(), StoreError> {
    execute!(
        conn,
        ACKNOWLEDGE,
        fleet.0,
        id,
        vehicle.0,
        &said.item.0,
        &said.cycle.0,
        said.by.map(|person| person.0),
        said.note.as_deref(),
        stamp.recorded_at,
        stamp.act.0
    )?;
    Ok(())
}

/// Keeps that somebody wants a reminder later, under an id of its own.
pub async fn postpone(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    vehicle: VehicleId,
    id: Uuid,
    said: &Postponement,
    stamp: &Stamp,
) -> Result<(), StoreError> {
    execute!(
        conn,
        POSTPONE,
        fleet.0,
        id,
        vehicle.0,
        &said.item.0,
        &said.cycle.0,
        said.until,
        &said.reason,
        said.by.map(|person| person.0),
        stamp.recorded_at,
        stamp.act.0
    )?;
    Ok(())
}

/// Whether somebody has acknowledged a cycle of an item at or after `since`.
pub async fn is_acknowledged(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    vehicle: VehicleId,
    (item_key, cycle): (&str, &str),
    since: DateTime<Utc>,
) -> Result<bool, StoreError> {
    let said =
        fetch!(fetch_one, conn, (i64,), ACKNOWLEDGED_SINCE, fleet.0, vehicle.0, item_key, cycle, since)?;
    Ok(said.0 > 0)
}

/// When a person last acknowledged a cycle of an item at or after `since`.
pub async fn seen_by(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    vehicle: VehicleId,
    (item_key, cycle): (&str, &str),
    person: PersonId,
    since: DateTime<Utc>,
) -> Result<Option<DateTime<Utc>>, StoreError> {
    let said = fetch!(
        fetch_one,
        conn,
        (Option<DateTime<Utc>>,),
        SEEN_BY,
        fleet.0,
        vehicle.0,
        item_key,
        cycle,
        person.0,
        since
    )?;
    Ok(said.0)
}

/// Until when a person last put off a cycle of an item at or after `since`, and when that was said.
pub async fn put_off_by(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    vehicle: VehicleId,
    (item_key, cycle): (&str, &str),
    person: PersonId,
    since: DateTime<Utc>,
) -> Result<Option<(NaiveDate, DateTime<Utc>)>, StoreError> {
    fetch!(
        fetch_optional,
        conn,
        (NaiveDate, DateTime<Utc>),
        PUT_OFF_BY,
        fleet.0,
        vehicle.0,
        item_key,
        cycle,
        person.0,
        since
    )
}

/// What was acknowledged about the vehicles on a list.
pub(crate) async fn acknowledgements_of(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    list: &str,
    known: AsKnown,
) -> Result<Vec<(VehicleId, Acknowledgement)>, StoreError> {
    each(fetch!(fetch_all, conn, AcknowledgementRow, ACKNOWLEDGEMENTS, fleet.0, list, known.bound())?)
}

/// What was put off about the vehicles on a list.
pub(crate) async fn postponements_of(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    list: &str,
    known: AsKnown,
) -> Result<Vec<(VehicleId, Postponement)>, StoreError> {
    each(fetch!(fetch_all, conn, PostponementRow, POSTPONEMENTS, fleet.0, list, known.bound())?)
}
