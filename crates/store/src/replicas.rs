//! One row a running program: its beat, and when its workers turned last. Of no fleet.

use crate::{Conn, StoreError};
use chrono::{DateTime, Utc};
use uuid::Uuid;

statements! {
    BEAT = {
        "INSERT INTO replica (id, version, started_at, beat_at, read_at, scheduler_at, courier_at, clock, ahead_seconds)"
        "VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9) ON CONFLICT (id) DO UPDATE SET beat_at = excluded.beat_at,"
        "read_at = excluded.read_at, scheduler_at = excluded.scheduler_at, courier_at = excluded.courier_at,"
        "clock = excluded.clock, ahead_seconds = excluded.ahead_seconds"
    }
    ALL = {
        "SELECT id, version, started_at, beat_at, read_at, scheduler_at, courier_at, clock, ahead_seconds FROM replica"
        "ORDER BY id"
    }
    PRUNE = { "DELETE FROM replica WHERE beat_at < $1 AND id <> $2" }
    /// One file, one process: whoever is not this one has gone, with or without a word.
    LEAVE_ALONE = {
        sqlite: "DELETE FROM replica WHERE id <> $1"
        postgres: "DELETE FROM replica WHERE id <> $1 AND FALSE"
    }
    FORGET = { "DELETE FROM replica WHERE id = $1" }
}

/// A running program as it last told of itself, on the clock that replicas share.
#[derive(Debug, Clone, PartialEq, Eq, sqlx::FromRow)]
pub struct Replica {
    /// Its id, by chance at its start.
    pub id: Uuid,
    /// Its version.
    pub version: String,
    /// When it started.
    pub started_at: DateTime<Utc>,
    /// When it last told of itself.
    pub beat_at: DateTime<Utc>,
    /// When it last read from the database.
    pub read_at: Option<DateTime<Utc>>,
    /// When its scheduler last had a turn.
    pub scheduler_at: Option<DateTime<Utc>>,
    /// When its courier last had a turn.
    pub courier_at: Option<DateTime<Utc>>,
    /// How its machine's clock stands: `agreed`, `ahead` or `behind`.
    pub clock: String,
    /// By how many seconds that is ahead; fewer than none where it is behind.
    pub ahead_seconds: i64,
}

/// Keeps the beat of a replica.
pub async fn beat(conn: &mut Conn<'_>, replica: &Replica) -> Result<(), StoreError> {
    let Replica { id, version, started_at, beat_at, read_at, scheduler_at, courier_at, clock, ahead_seconds } =
        replica;
    execute!(
        conn,
        BEAT,
        *id,
        version,
        *started_at,
        *beat_at,
        *read_at,
        *scheduler_at,
        *courier_at,
        clock,
        *ahead_seconds
    )?;
    Ok(())
}

/// Every replica that is kept, in order of ids.
pub async fn all(conn: &mut Conn<'_>) -> Result<Vec<Replica>, StoreError> {
    fetch!(fetch_all, conn, Replica, ALL)
}

/// Forgets others than `own` that last told of themselves before `before`, and on SQLite all others.
pub async fn prune(conn: &mut Conn<'_>, own: Uuid, before: DateTime<Utc>) -> Result<u64, StoreError> {
    Ok(execute!(conn, PRUNE, before, own)? + execute!(conn, LEAVE_ALONE, own)?)
}

/// Forgets a replica that stops.
pub async fn forget(conn: &mut Conn<'_>, id: Uuid) -> Result<u64, StoreError> {
    execute!(conn, FORGET, id)
}
