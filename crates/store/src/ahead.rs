//! What was decided, or put off, under a clock that ran ahead: it is found by moments that have not come.

use crate::{Conn, StoreError, id_list};
use chrono::{DateTime, NaiveDate, Utc};
use model::{FleetId, LetterId, NoticeId, PersonId, VehicleId};
use uuid::Uuid;

statements! {
    /// A mark is settled when its moment has come, so that neither lies ahead.
    VEHICLES = {
        "SELECT fleet_id, vehicle_id FROM mark WHERE outcome <> 'waiting' AND (fires_at > $1 OR settled_at > $1)"
        "UNION SELECT fleet_id, vehicle_id FROM notice WHERE state IN ('waiting', 'list_only') AND created_at > $1"
        "ORDER BY fleet_id, vehicle_id"
    }
    REOPEN_MARKS = {
        "UPDATE mark SET outcome = 'waiting', reason = NULL, settled_at = NULL WHERE fleet_id = $1 AND vehicle_id IN"
        ids: "$2" "AND outcome <> 'waiting' AND (fires_at > $3 OR settled_at > $3)"
    }
    PUT_OFF_NOTICES = {
        "SELECT fleet_id, id, person_id, mark, urgent, created_at, not_before FROM notice"
        "WHERE state IN ('waiting', 'list_only') AND (not_before > $1 OR created_at > $1) ORDER BY fleet_id, id"
    }
    PLAN_NOTICE = {
        "UPDATE notice SET created_at = $3, not_before = $4 WHERE fleet_id = $1 AND id = $2"
        "AND state IN ('waiting', 'list_only')"
    }
    PUT_OFF_LETTERS = {
        "SELECT l.fleet_id, l.id FROM letter AS l WHERE l.state IN ('waiting', 'retry', 'uncertain')"
        "AND l.next_attempt_at > $3 AND (l.created_at > $1 OR l.next_attempt_at > $2 OR EXISTS (SELECT 1"
        "FROM letter_attempt AS a WHERE a.fleet_id = l.fleet_id AND a.letter_id = l.id AND a.started_at > $1))"
        "ORDER BY l.fleet_id, l.id"
    }
    PLAN_LETTERS = {
        "UPDATE letter SET next_attempt_at = CASE WHEN attempts > 0 THEN $4 ELSE $3 END WHERE fleet_id = $1"
        "AND state IN ('waiting', 'retry', 'uncertain') AND next_attempt_at > $3 AND id IN" ids: "$2"
    }
    PLAN_DIGESTS = {
        "UPDATE digest SET not_before = $1 WHERE state = 'waiting' AND not_before > $2 AND day <= $3"
    }
    DROP_RUNS = { "DELETE FROM job_run WHERE due_at > $1" }
}

/// A notice that waits for a moment to come.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PutOff {
    /// Whose.
    pub fleet: FleetId,
    /// Its id.
    pub notice: NoticeId,
    /// Who is told.
    pub person: PersonId,
    /// Of which mark.
    pub mark: String,
    /// Whether it goes at once.
    pub urgent: bool,
    /// When it was made.
    pub created_at: DateTime<Utc>,
    /// Not to be told before.
    pub not_before: DateTime<Utc>,
}

#[derive(sqlx::FromRow)]
struct Row {
    fleet_id: Uuid,
    id: Uuid,
    person_id: Uuid,
    mark: String,
    urgent: bool,
    created_at: DateTime<Utc>,
    not_before: DateTime<Utc>,
}

impl From<Row> for PutOff {
    fn from(row: Row) -> Self {
        let Row { fleet_id, id, person_id, mark, urgent, created_at, not_before } = row;
        let (fleet, notice, person) = (FleetId(fleet_id), NoticeId(id), PersonId(person_id));
        Self { fleet, notice, person, mark, urgent, created_at, not_before }
    }
}

/// Vehicles with a mark that was settled, or a notice that was made, later than `now`. Needs `Reach::All`.
pub async fn vehicles(
    conn: &mut Conn<'_>,
    now: DateTime<Utc>,
) -> Result<Vec<(FleetId, VehicleId)>, StoreError> {
    let rows = fetch!(fetch_all, conn, (Uuid, Uuid), VEHICLES, now)?;
    Ok(rows.into_iter().map(|(fleet, vehicle)| (FleetId(fleet), VehicleId(vehicle))).collect())
}

/// Lets the marks of these vehicles wait again that were settled later than `now`; says how many.
pub async fn reopen_marks(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    vehicles: &[VehicleId],
    now: DateTime<Utc>,
) -> Result<u64, StoreError> {
    execute!(conn, REOPEN_MARKS, fleet.0, id_list(vehicles.iter().map(|vehicle| vehicle.0)), now)
}

/// Notices in no letter that were made, or may be told, later than `now`. Needs `Reach::All`.
pub async fn put_off_notices(conn: &mut Conn<'_>, now: DateTime<Utc>) -> Result<Vec<PutOff>, StoreError> {
    let rows = fetch!(fetch_all, conn, Row, PUT_OFF_NOTICES, now)?;
    Ok(rows.into_iter().map(PutOff::from).collect())
}

/// Plans a notice anew, unless a letter carries it meanwhile.
pub async fn plan_notice(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    notice: NoticeId,
    created_at: DateTime<Utc>,
    not_before: DateTime<Utc>,
) -> Result<u64, StoreError> {
    execute!(conn, PLAN_NOTICE, fleet.0, notice.0, created_at, not_before)
}

/// Unsent letters for later than `soon` that were made or tried later than `now`, or are for later than `farthest`. Needs
/// `Reach::All`.
pub async fn put_off_letters(
    conn: &mut Conn<'_>,
    now: DateTime<Utc>,
    soon: DateTime<Utc>,
    farthest: DateTime<Utc>,
) -> Result<Vec<(FleetId, LetterId)>, StoreError> {
    let rows = fetch!(fetch_all, conn, (Uuid, Uuid), PUT_OFF_LETTERS, now, farthest, soon)?;
    Ok(rows.into_iter().map(|(fleet, letter)| (FleetId(fleet), LetterId(letter))).collect())
}

/// Lets letters go at `first`, or those that have been tried at `again`, if they were for later than that.
pub async fn plan_letters(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    letters: &[LetterId],
    first: DateTime<Utc>,
    again: DateTime<Utc>,
) -> Result<u64, StoreError> {
    execute!(conn, PLAN_LETTERS, fleet.0, id_list(letters.iter().map(|letter| letter.0)), first, again)
}

/// Lets digests for days up to `day` be written at `now` that were to wait until after `farthest`. Needs `Reach::All`.
pub async fn plan_digests(
    conn: &mut Conn<'_>,
    now: DateTime<Utc>,
    farthest: DateTime<Utc>,
    day: NaiveDate,
) -> Result<u64, StoreError> {
    execute!(conn, PLAN_DIGESTS, now, farthest, day)
}

/// Forgets runs of recurring work that were not due by `now`. Needs `Reach::All`.
pub async fn drop_runs(conn: &mut Conn<'_>, now: DateTime<Utc>) -> Result<u64, StoreError> {
    execute!(conn, DROP_RUNS, now)
}
