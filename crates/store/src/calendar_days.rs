//! What people's calendars were told, revision by revision.

use crate::parse::InRow;
use crate::rows::each;
use crate::{Conn, StoreError, id_list};
use chrono::{DateTime, NaiveDate, Utc};
use model::horizon::DueItem;
use model::{Arrival, CalendarMethod, DepotId, FleetId, LetterId, PersonId, VehicleId};
use uuid::Uuid;

statements! {
    INSERT = {
        "INSERT INTO calendar_day (fleet_id, person_id, vehicle_id, item_key, cycle, sequence, uid, method, day, label,"
        "what, letter_id, written_at) VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13)"
    }
    /// All revisions of a day, if one of them is ahead: the highest sequence may be that of a day that moved nearer. This is
    /// the one place that says whether what was attached to a letter arrived.
    TOLD = {
        "SELECT d.vehicle_id, d.item_key, d.cycle, d.sequence, d.uid, d.method, d.day, d.label, d.what, d.letter_id,"
        "CASE WHEN l.without_attachment THEN 'never' WHEN l.state = 'sent' THEN 'arrived'"
        "WHEN l.state IN ('withdrawn', 'undeliverable', 'parked') AND NOT EXISTS (SELECT 1 FROM letter_attempt AS a"
        "WHERE a.fleet_id = l.fleet_id AND a.letter_id = l.id AND a.outcome = 'uncertain') THEN 'never'"
        "ELSE 'perhaps' END AS arrival FROM calendar_day AS d"
        "JOIN letter AS l ON l.fleet_id = d.fleet_id AND l.id = d.letter_id"
        "WHERE d.fleet_id = $1 AND d.person_id = $2 AND ((d.vehicle_id, d.item_key, d.cycle) IN"
        "(SELECT vehicle_id, item_key, cycle FROM calendar_day WHERE fleet_id = $1 AND person_id = $2 AND day >= $3)"
        "OR d.vehicle_id IN" ids: "$4"
        ") ORDER BY d.vehicle_id, d.item_key, d.cycle, d.sequence"
    }
    ITEMS = {
        "SELECT vehicle_id, item_key, depot_id, body FROM due_item WHERE fleet_id = $1"
        "AND (vehicle_id, item_key, cycle) IN"
        "(SELECT vehicle_id, item_key, cycle FROM calendar_day WHERE fleet_id = $1 AND person_id = $2 AND day >= $3)"
        "ORDER BY vehicle_id, item_key"
    }
    FORGET = {
        "DELETE FROM calendar_day WHERE fleet_id = $1 AND person_id = $2 AND vehicle_id = $3 AND item_key = $4"
        "AND cycle = $5 AND sequence < $6"
    }
}

/// One item of one vehicle in one cycle.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct DayKey {
    /// The vehicle.
    pub vehicle: VehicleId,
    /// The item or window.
    pub item_key: String,
    /// Its cycle.
    pub cycle: String,
}

/// A revision of a day, as a letter tells it to a calendar.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Revision {
    /// What it is about.
    pub key: DayKey,
    /// Its number, from 0.
    pub sequence: u32,
    /// What the calendar knows the day by.
    pub uid: String,
    /// Whether the day is put in or taken out.
    pub method: CalendarMethod,
    /// The day; of what is taken out, the one it stood on.
    pub day: NaiveDate,
    /// The vehicle, as the calendar names it.
    pub label: String,
    /// What is to be done, as the calendar says it.
    pub what: String,
}

/// A revision with the letter that told it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ToldRevision {
    /// What was told.
    pub revision: Revision,
    /// By which letter.
    pub letter: LetterId,
    /// Whether that reached the person.
    pub arrival: Arrival,
}

#[derive(sqlx::FromRow)]
struct Row {
    vehicle_id: Uuid,
    item_key: String,
    cycle: String,
    sequence: i64,
    uid: String,
    method: String,
    day: NaiveDate,
    label: String,
    what: String,
    letter_id: Uuid,
    arrival: String,
}

impl TryFrom<Row> for ToldRevision {
    type Error = StoreError;

    fn try_from(row: Row) -> Result<Self, StoreError> {
        let at = InRow::new("calendar_day of letter", row.letter_id);
        let revision = Revision {
            sequence: at.whole("sequence", row.sequence)?,
            method: at.word("method", &row.method, CalendarMethod::from_word)?,
            key: DayKey { vehicle: VehicleId(row.vehicle_id), item_key: row.item_key, cycle: row.cycle },
            uid: row.uid,
            day: row.day,
            label: row.label,
            what: row.what,
        };
        let arrival = at.word("arrival", &row.arrival, Arrival::from_word)?;
        Ok(Self { revision, letter: LetterId(row.letter_id), arrival })
    }
}

#[derive(sqlx::FromRow)]
struct ItemRow {
    vehicle_id: Uuid,
    item_key: String,
    depot_id: Uuid,
    body: String,
}

impl TryFrom<ItemRow> for (VehicleId, DepotId, DueItem) {
    type Error = StoreError;

    fn try_from(row: ItemRow) -> Result<Self, StoreError> {
        let at = InRow::new("due_item", format!("{} of vehicle {}", row.item_key, row.vehicle_id));
        Ok((VehicleId(row.vehicle_id), DepotId(row.depot_id), at.json("body", &row.body)?))
    }
}

/// Keeps what a letter tells a person's calendar. `Unique` if the sequence was used before.
pub async fn insert(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    person: PersonId,
    revision: &Revision,
    letter: LetterId,
    at: DateTime<Utc>,
) -> Result<(), StoreError> {
    let Revision { key, sequence, uid, method, day, label, what } = revision;
    execute!(
        conn,
        INSERT,
        fleet.0,
        person.0,
        key.vehicle.0,
        &key.item_key,
        &key.cycle,
        i64::from(*sequence),
        uid,
        method.word(),
        *day,
        label,
        what,
        letter.0,
        at
    )?;
    Ok(())
}

/// What a person's calendar was told of days from `from` on, and of whatever day about these vehicles; in order of keys,
/// then of sequences.
pub async fn told(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    person: PersonId,
    from: NaiveDate,
    vehicles: &[VehicleId],
) -> Result<Vec<ToldRevision>, StoreError> {
    let vehicles = id_list(vehicles.iter().map(|vehicle| vehicle.0));
    each(fetch!(fetch_all, conn, Row, TOLD, fleet.0, person.0, from, vehicles)?)
}

/// The due items, as they are derived now, of which a person's calendar was told a day from `from` on, each with its vehicle
/// and depot. Windows are none of them.
pub async fn items(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    person: PersonId,
    from: NaiveDate,
) -> Result<Vec<(VehicleId, DepotId, DueItem)>, StoreError> {
    each(fetch!(fetch_all, conn, ItemRow, ITEMS, fleet.0, person.0, from)?)
}

/// Forgets revisions below `sequence`, which a higher one that arrived stands for. Says how many.
pub async fn forget_below(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    person: PersonId,
    key: &DayKey,
    sequence: u32,
) -> Result<u64, StoreError> {
    let below = i64::from(sequence);
    execute!(conn, FORGET, fleet.0, person.0, key.vehicle.0, &key.item_key, &key.cycle, below)
}
