//! Notices: decisions to tell one person one thing, unique for ever.

use crate::pages::behind;
use crate::parse::InRow;
use crate::rows::{each, id_list, one};
use crate::{Conn, StoreError};
use chrono::{DateTime, Utc};
use model::{FleetId, LetterId, NoticeId, NoticeState, PersonId, VehicleId};
use uuid::Uuid;

statements! {
    INSERT_OR_REVIVE = {
        "INSERT INTO notice (fleet_id, id, vehicle_id, item_key, cycle, mark, person_id, urgent, state, body,"
        "created_at, not_before) VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12)"
        "ON CONFLICT (fleet_id, vehicle_id, item_key, cycle, mark, person_id) DO UPDATE SET state = excluded.state,"
        "body = excluded.body, not_before = excluded.not_before, settled_at = NULL"
        "WHERE notice.state = 'withdrawn' AND notice.letter_id IS NULL"
    }
    UNCARRIED = {
        "SELECT id, vehicle_id, item_key, cycle, mark, urgent FROM notice WHERE fleet_id = $1 AND vehicle_id = $2"
        "AND state IN ('waiting', 'list_only')"
    }
    WAITING_ABOUT = {
        "SELECT id, vehicle_id, item_key, cycle, mark, urgent FROM notice WHERE fleet_id = $1 AND vehicle_id = $2"
        "AND state = 'waiting'"
    }
    /// Locked, so that of two couriers one finds nothing left to gather.
    WAITING_FOR = {
        "SELECT id, vehicle_id, item_key, cycle, mark, urgent FROM notice WHERE fleet_id = $1 AND person_id = $2"
        "AND state = 'waiting' AND not_before <= $3" postgres: "ORDER BY id FOR UPDATE"
    }
    /// Of the same item and cycle as one that need not wait any longer; from those few, since many may wait (SQLite keeps
    /// to the order of a CROSS JOIN).
    WAITING_BESIDE = {
        "SELECT n.id, n.vehicle_id, n.item_key, n.cycle, n.mark, n.urgent FROM notice AS d CROSS JOIN notice AS n"
        "WHERE d.fleet_id = $1 AND d.person_id = $2 AND d.state = 'waiting' AND d.not_before <= $3"
        "AND n.fleet_id = d.fleet_id AND n.vehicle_id = d.vehicle_id AND n.item_key = d.item_key AND n.cycle = d.cycle"
        "AND n.person_id = d.person_id AND n.state = 'waiting' AND n.not_before > $3"
        postgres: "ORDER BY n.id FOR UPDATE OF n"
    }
    /// What can wait until its hour has come.
    PUT_OFF = {
        "UPDATE notice SET not_before = $4 WHERE fleet_id = $1 AND person_id = $2 AND state = 'waiting' AND NOT urgent"
        "AND not_before <= $3"
    }
    FIND = {
        "SELECT id, vehicle_id, item_key, cycle, mark, urgent, person_id, state, body, letter_id, created_at,"
        "not_before, settled_at FROM notice WHERE fleet_id = $1 AND id = $2"
    }
    CARRIED_BY = {
        "SELECT id, vehicle_id, item_key, cycle, mark, urgent FROM notice WHERE fleet_id = $1 AND letter_id = $2"
    }
    WAITING_ADDRESSEES = {
        "SELECT fleet_id, person_id FROM notice WHERE state = 'waiting' AND not_before <= $1"
        "GROUP BY fleet_id, person_id ORDER BY MIN(not_before), person_id LIMIT $2"
    }
    SET_STATE = {
        "UPDATE notice SET state = $3, settled_at = $4 WHERE fleet_id = $1 AND id IN" ids: "$2"
    }
    WITHDRAW = {
        "UPDATE notice SET state = 'withdrawn', settled_at = $3 WHERE fleet_id = $1 AND letter_id IS NULL"
        "AND state IN ('waiting', 'list_only') AND id IN" ids: "$2"
    }
    PUT_INTO = {
        "UPDATE notice SET state = 'gathered', letter_id = $3 WHERE fleet_id = $1 AND state = 'waiting'"
        "AND id IN" ids: "$2"
    }
    TAKE_OUT = {
        "UPDATE notice SET state = $3, settled_at = $4, letter_id = NULL WHERE fleet_id = $1 AND state = 'gathered'"
        "AND id IN" ids: "$2"
    }
    SETTLE_BY_LETTER = {
        "UPDATE notice SET state = $3, settled_at = $4 WHERE fleet_id = $1 AND letter_id = $2 AND state = 'gathered'"
    }
    /// Locked, as those that wait.
    LISTED_FOR = {
        "SELECT id, vehicle_id, item_key, cycle, mark, urgent FROM notice WHERE fleet_id = $1 AND person_id = $2"
        "AND state = 'list_only'" postgres: "ORDER BY id FOR UPDATE"
    }
    TELL_AFTER_ALL = {
        "UPDATE notice SET state = 'waiting', settled_at = NULL,"
        "not_before = CASE WHEN not_before > $3 THEN not_before ELSE $3 END"
        "WHERE fleet_id = $1 AND state = 'list_only' AND id IN" ids: "$2"
    }
    ABOUT = {
        "SELECT id, vehicle_id, item_key, cycle, mark, urgent, person_id, state, body, letter_id, created_at,"
        "not_before, settled_at FROM notice WHERE fleet_id = $1 AND vehicle_id = $2 AND item_key = $3 AND cycle = $4"
        "ORDER BY created_at, id"
    }
    NEXT_TIME = { "SELECT MIN(not_before) AS next_at FROM notice WHERE state = 'waiting'" }
    PAGE = {
        "SELECT id, vehicle_id, item_key, cycle, mark, urgent, person_id, state, body, letter_id, created_at,"
        "not_before, settled_at FROM notice WHERE fleet_id = $1 AND (created_at, id) > ($2, $3)"
        "ORDER BY created_at, id LIMIT $4"
    }
}

/// What a notice is about: item, cycle and mark of a vehicle.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct NoticeKey {
    /// The item or window.
    pub item_key: String,
    /// Its cycle.
    pub cycle: String,
    /// Which mark.
    pub mark: String,
}

/// A notice to be made.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NewNotice {
    /// Its id, made of its key.
    pub id: NoticeId,
    /// The vehicle.
    pub vehicle: VehicleId,
    /// What it is about.
    pub key: NoticeKey,
    /// Who is told.
    pub person: PersonId,
    /// Whether it goes at once.
    pub urgent: bool,
    /// Waiting, or in the list only.
    pub state: NoticeState,
    /// The item or window as it was, JSON.
    pub body: String,
    /// When it was made.
    pub created_at: DateTime<Utc>,
    /// Not to be told before.
    pub not_before: DateTime<Utc>,
}

/// A notice as the courier needs it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct WaitingNotice {
    /// Its id.
    pub id: NoticeId,
    /// The vehicle.
    pub vehicle: VehicleId,
    /// What it is about.
    pub key: NoticeKey,
    /// Whether it goes at once.
    pub urgent: bool,
}

/// A notice as it is listed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NoticeRow {
    /// Its id, what it is about, whether it goes at once.
    pub notice: WaitingNotice,
    /// Who is told.
    pub person: PersonId,
    /// Where it stands.
    pub state: NoticeState,
    /// The item or window as it was, JSON.
    pub body: String,
    /// The letter that carries it.
    pub letter: Option<LetterId>,
    /// When it was made.
    pub created_at: DateTime<Utc>,
    /// Not to be told before.
    pub not_before: DateTime<Utc>,
    /// When it was told, withdrawn or put in the list only.
    pub settled_at: Option<DateTime<Utc>>,
}

#[derive(sqlx::FromRow)]
struct Row {
    id: Uuid,
    vehicle_id: Uuid,
    item_key: String,
    cycle: String,
    mark: String,
    urgent: bool,
}

#[derive(sqlx::FromRow)]
struct ListRow {
    #[sqlx(flatten)]
    notice: Row,
    person_id: Uuid,
    state: String,
    body: String,
    letter_id: Option<Uuid>,
    created_at: DateTime<Utc>,
    not_before: DateTime<Utc>,
    settled_at: Option<DateTime<Utc>>,
}

impl From<Row> for WaitingNotice {
    fn from(row: Row) -> Self {
        let key = NoticeKey { item_key: row.item_key, cycle: row.cycle, mark: row.mark };
        Self { id: NoticeId(row.id), vehicle: VehicleId(row.vehicle_id), key, urgent: row.urgent }
    }
}

impl TryFrom<ListRow> for NoticeRow {
    type Error = StoreError;

    fn try_from(row: ListRow) -> Result<Self, StoreError> {
        let at = InRow::new("notice", row.notice.id);
        Ok(Self {
            state: at.word("state", &row.state, NoticeState::from_word)?,
            notice: row.notice.into(),
            person: PersonId(row.person_id),
            body: row.body,
            letter: row.letter_id.map(LetterId),
            created_at: row.created_at,
            not_before: row.not_before,
            settled_at: row.settled_at,
        })
    }
}

/// In order of ids. Were SQLite asked for that order, it would read all of a fleet's notices by its primary key rather than
/// the few of a vehicle, a person or a letter by theirs.
fn waiting(rows: Vec<Row>) -> Vec<WaitingNotice> {
    let mut notices: Vec<WaitingNotice> = rows.into_iter().map(WaitingNotice::from).collect();
    notices.sort_unstable_by_key(|notice| notice.id);
    notices
}

fn ids(notices: &[NoticeId]) -> String {
    id_list(notices.iter().map(|notice| notice.0))
}

/// Makes notices, each once for ever under its key; one that was withdrawn before a letter carried it returns. Says
/// how many there are to tell now that were not before.
pub async fn insert_or_revive(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    notices: &[NewNotice],
) -> Result<usize, StoreError> {
    #[cfg(feature = "without-unique-key")]
    const INSERT_OR_REVIVE: crate::Sql = crate::unguarded::without_conflict(self::INSERT_OR_REVIVE);
    let made = batch!(conn, INSERT_OR_REVIVE, notices, |notice| [
        fleet.0,
        notice.id.0,
        notice.vehicle.0,
        &notice.key.item_key,
        &notice.key.cycle,
        &notice.key.mark,
        notice.person.0,
        notice.urgent,
        notice.state.word(),
        &notice.body,
        notice.created_at,
        notice.not_before
    ])?;
    Ok(usize::try_from(made).unwrap_or(usize::MAX))
}

/// The notices of a vehicle that no letter carries and that are not withdrawn.
pub async fn uncarried(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    vehicle: VehicleId,
) -> Result<Vec<WaitingNotice>, StoreError> {
    Ok(waiting(fetch!(fetch_all, conn, Row, UNCARRIED, fleet.0, vehicle.0)?))
}

/// The notices about a vehicle that wait to be gathered into a letter.
pub async fn waiting_about(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    vehicle: VehicleId,
) -> Result<Vec<WaitingNotice>, StoreError> {
    Ok(waiting(fetch!(fetch_all, conn, Row, WAITING_ABOUT, fleet.0, vehicle.0)?))
}

/// The notices of a person whose time has come, locked until the transaction ends: needs a writer.
pub async fn waiting_for(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    person: PersonId,
    now: DateTime<Utc>,
) -> Result<Vec<WaitingNotice>, StoreError> {
    Ok(waiting(fetch!(fetch_all, conn, Row, WAITING_FOR, fleet.0, person.0, now)?))
}

/// A person's notices that wait for an hour after `now`, while another about the same item and cycle could go by then.
pub async fn waiting_beside(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    person: PersonId,
    now: DateTime<Utc>,
) -> Result<Vec<WaitingNotice>, StoreError> {
    let mut beside = waiting(fetch!(fetch_all, conn, Row, WAITING_BESIDE, fleet.0, person.0, now)?);
    beside.dedup_by_key(|notice| notice.id);
    Ok(beside)
}

/// Lets what can wait of a person's notices, and could go by `now`, wait until `not_before`.
pub async fn put_off(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    person: PersonId,
    now: DateTime<Utc>,
    not_before: DateTime<Utc>,
) -> Result<u64, StoreError> {
    execute!(conn, PUT_OFF, fleet.0, person.0, now, not_before)
}

/// The notice of that id.
pub async fn find(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    id: NoticeId,
) -> Result<Option<NoticeRow>, StoreError> {
    one(fetch!(fetch_optional, conn, ListRow, FIND, fleet.0, id.0)?)
}

/// The notices a letter carries.
pub async fn carried_by(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    letter: LetterId,
) -> Result<Vec<WaitingNotice>, StoreError> {
    Ok(waiting(fetch!(fetch_all, conn, Row, CARRIED_BY, fleet.0, letter.0)?))
}

/// All notices of a cycle of an item, in the order they were made.
pub async fn about(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    vehicle: VehicleId,
    (item_key, cycle): (&str, &str),
) -> Result<Vec<NoticeRow>, StoreError> {
    each(fetch!(fetch_all, conn, ListRow, ABOUT, fleet.0, vehicle.0, item_key, cycle)?)
}

/// People with notices whose time has come, the longest waiting first: needs `Reach::All`.
pub async fn waiting_addressees(
    conn: &mut Conn<'_>,
    now: DateTime<Utc>,
    most: u32,
) -> Result<Vec<(FleetId, PersonId)>, StoreError> {
    let rows = fetch!(fetch_all, conn, (Uuid, Uuid), WAITING_ADDRESSEES, now, i64::from(most))?;
    Ok(rows.into_iter().map(|(fleet, person)| (FleetId(fleet), PersonId(person))).collect())
}

/// Puts notices into a state.
pub async fn set_state(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    notices: &[NoticeId],
    state: NoticeState,
    at: DateTime<Utc>,
) -> Result<u64, StoreError> {
    execute!(conn, SET_STATE, fleet.0, ids(notices), state.word(), at)
}

/// Withdraws notices that no letter carries.
pub async fn withdraw(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    notices: &[NoticeId],
    at: DateTime<Utc>,
) -> Result<u64, StoreError> {
    if notices.is_empty() {
        return Ok(0);
    }
    execute!(conn, WITHDRAW, fleet.0, ids(notices), at)
}

/// Puts waiting notices into a letter.
pub async fn put_into(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    notices: &[NoticeId],
    letter: LetterId,
) -> Result<u64, StoreError> {
    execute!(conn, PUT_INTO, fleet.0, ids(notices), letter.0)
}

/// Takes notices out of a letter that never went.
pub async fn take_out(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    notices: &[NoticeId],
    state: NoticeState,
    settled_at: Option<DateTime<Utc>>,
) -> Result<u64, StoreError> {
    if notices.is_empty() {
        return Ok(0);
    }
    execute!(conn, TAKE_OUT, fleet.0, ids(notices), state.word(), settled_at)
}

/// The notices of a person that no letter could carry, locked until the transaction ends: needs a writer.
pub async fn listed_for(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    person: PersonId,
) -> Result<Vec<WaitingNotice>, StoreError> {
    Ok(waiting(fetch!(fetch_all, conn, Row, LISTED_FOR, fleet.0, person.0)?))
}

/// Lets notices that no letter could carry wait for one, not before `not_before`.
pub async fn tell_after_all(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    notices: &[NoticeId],
    not_before: DateTime<Utc>,
) -> Result<u64, StoreError> {
    if notices.is_empty() {
        return Ok(0);
    }
    execute!(conn, TELL_AFTER_ALL, fleet.0, ids(notices), not_before)
}

/// Settles the notices of a letter.
pub async fn settle_by_letter(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    letter: LetterId,
    state: NoticeState,
    at: DateTime<Utc>,
) -> Result<u64, StoreError> {
    execute!(conn, SETTLE_BY_LETTER, fleet.0, letter.0, state.word(), at)
}

/// When the next waiting notice may be told: needs `Reach::All`.
pub async fn next_time(conn: &mut Conn<'_>) -> Result<Option<DateTime<Utc>>, StoreError> {
    Ok(fetch!(fetch_one, conn, (Option<DateTime<Utc>>,), NEXT_TIME)?.0)
}

/// Notices behind `after`, in the order they were made.
pub async fn page(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    after: Option<(DateTime<Utc>, NoticeId)>,
    limit: i64,
) -> Result<Vec<NoticeRow>, StoreError> {
    let (at, id) = behind(after.map(|(at, id)| (at, id.0)));
    each(fetch!(fetch_all, conn, ListRow, PAGE, fleet.0, at, id, limit)?)
}
