//! Digests: one list of everything for one person on one day, unique for ever.

use crate::{Conn, StoreError};
use chrono::{DateTime, NaiveDate, Utc};
use model::{FleetId, LetterId, PersonId};
use uuid::Uuid;

statements! {
    PLAN = {
        "INSERT INTO digest (fleet_id, id, person_id, kind, day, not_before, state, created_at)"
        "VALUES ($1, $2, $3, $4, $5, $6, 'waiting', $7)"
        "ON CONFLICT (fleet_id, person_id, kind, day) DO NOTHING"
    }
    /// Locked, so that of two couriers one finds nothing left to gather.
    WAITING_FOR = {
        "SELECT id, person_id, kind, day, told FROM digest WHERE fleet_id = $1 AND person_id = $2 AND state = 'waiting'"
        "AND not_before <= $3 ORDER BY day, id" postgres: "FOR UPDATE"
    }
    WAITING_ADDRESSEES = {
        "SELECT fleet_id, person_id FROM digest WHERE state = 'waiting' AND not_before <= $1"
        "GROUP BY fleet_id, person_id ORDER BY MIN(not_before), person_id LIMIT $2"
    }
    CARRIED_BY = {
        "SELECT id, person_id, kind, day, told FROM digest WHERE fleet_id = $1 AND letter_id = $2 ORDER BY day, id"
    }
    PUT_INTO = {
        "UPDATE digest SET state = 'gathered', letter_id = $3, told = $4 WHERE fleet_id = $1 AND state = 'waiting'"
        "AND id IN" ids: "$2"
    }
    TAKE_OUT = {
        "UPDATE digest SET state = 'waiting', letter_id = NULL, told = NULL, not_before = $3 WHERE fleet_id = $1"
        "AND letter_id = $2 AND state = 'gathered'"
    }
    SETTLE_EMPTY = {
        "UPDATE digest SET state = 'empty', settled_at = $3 WHERE fleet_id = $1 AND state = 'waiting'"
        "AND id IN" ids: "$2"
    }
    SETTLE_BY_LETTER = {
        "UPDATE digest SET state = 'told', settled_at = $3 WHERE fleet_id = $1 AND letter_id = $2 AND state = 'gathered'"
    }
    PUT_OFF = {
        "UPDATE digest SET not_before = $4 WHERE fleet_id = $1 AND person_id = $2 AND state = 'waiting'"
        "AND not_before <= $3"
    }
    NEXT_TIME = { "SELECT MIN(not_before) AS next_at FROM digest WHERE state = 'waiting'" }
}

/// A digest to be written, or in a letter.
#[derive(Debug, Clone, PartialEq, Eq, sqlx::FromRow)]
pub struct DigestRow {
    /// Its id.
    pub id: Uuid,
    /// Whose it is.
    pub person_id: Uuid,
    /// Which, as a word of [`model::DigestKind`].
    pub kind: String,
    /// The day it is for.
    pub day: NaiveDate,
    /// What it was made of, once it is in a letter.
    pub told: Option<String>,
}

fn ids(digests: &[DigestRow]) -> String {
    crate::rows::id_list(digests.iter().map(|digest| digest.id))
}

/// Plans a digest under an id made of its key; `false` if there is one of that kind and day already.
pub async fn plan(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    digest: &DigestRow,
    not_before: DateTime<Utc>,
    at: DateTime<Utc>,
) -> Result<bool, StoreError> {
    let DigestRow { id, person_id, kind, day, .. } = digest;
    Ok(execute!(conn, PLAN, fleet.0, *id, *person_id, kind, *day, not_before, at)? == 1)
}

/// The digests of a person whose time has come, locked until the transaction ends: needs a writer.
pub async fn waiting_for(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    person: PersonId,
    now: DateTime<Utc>,
) -> Result<Vec<DigestRow>, StoreError> {
    fetch!(fetch_all, conn, DigestRow, WAITING_FOR, fleet.0, person.0, now)
}

/// People with digests whose time has come, the longest waiting first: needs `Reach::All`.
pub async fn waiting_addressees(
    conn: &mut Conn<'_>,
    now: DateTime<Utc>,
    most: u32,
) -> Result<Vec<(FleetId, PersonId)>, StoreError> {
    let rows = fetch!(fetch_all, conn, (Uuid, Uuid), WAITING_ADDRESSEES, now, i64::from(most))?;
    Ok(rows.into_iter().map(|(fleet, person)| (FleetId(fleet), PersonId(person))).collect())
}

/// The digests a letter carries.
pub async fn carried_by(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    letter: LetterId,
) -> Result<Vec<DigestRow>, StoreError> {
    fetch!(fetch_all, conn, DigestRow, CARRIED_BY, fleet.0, letter.0)
}

/// Puts waiting digests into a letter, and notes what they were made of.
pub async fn put_into(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    digests: &[DigestRow],
    letter: LetterId,
    told: &str,
) -> Result<u64, StoreError> {
    execute!(conn, PUT_INTO, fleet.0, ids(digests), letter.0, told)
}

/// Takes the digests out of a letter that never went: they wait for another from `not_before` on.
pub async fn take_out(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    letter: LetterId,
    not_before: DateTime<Utc>,
) -> Result<u64, StoreError> {
    execute!(conn, TAKE_OUT, fleet.0, letter.0, not_before)
}

/// Notes that there was nothing to say.
pub async fn settle_empty(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    digests: &[DigestRow],
    at: DateTime<Utc>,
) -> Result<u64, StoreError> {
    execute!(conn, SETTLE_EMPTY, fleet.0, ids(digests), at)
}

/// Notes that the letter that carries them went.
pub async fn settle_by_letter(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    letter: LetterId,
    at: DateTime<Utc>,
) -> Result<u64, StoreError> {
    execute!(conn, SETTLE_BY_LETTER, fleet.0, letter.0, at)
}

/// Lets the digests of a person that could go by `now` wait until `not_before`.
pub async fn put_off(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    person: PersonId,
    now: DateTime<Utc>,
    not_before: DateTime<Utc>,
) -> Result<u64, StoreError> {
    execute!(conn, PUT_OFF, fleet.0, person.0, now, not_before)
}

/// When the next waiting digest may be written: needs `Reach::All`.
pub async fn next_time(conn: &mut Conn<'_>) -> Result<Option<DateTime<Utc>>, StoreError> {
    Ok(fetch!(fetch_one, conn, (Option<DateTime<Utc>>,), NEXT_TIME)?.0)
}
