//! Entry ids, each used once in a fleet for ever, and the entries that were refused.

use crate::acts::Stamp;
use crate::parse::InRow;
use crate::rows::each;
use crate::{Conn, StoreError, id_list};
use chrono::{DateTime, Utc};
use model::{ActId, FleetId, InspectionId};
use uuid::Uuid;

statements! {
    INSERT = {
        "INSERT INTO entry (fleet_id, id, content_hash, inspection_id, batch_id, status, recorded_at, act_id)"
        "VALUES ($1, $2, $3, $4, $5, $6, $7, $8)"
    }
    BY_IDS = {
        "SELECT id, content_hash, inspection_id, batch_id, status FROM entry WHERE fleet_id = $1 AND id IN" ids: "$2"
        "ORDER BY id"
    }
    INSERT_REJECTED = {
        "INSERT INTO rejected_entry (fleet_id, batch_id, ordinal, entry_id, raw, problem, recorded_at, recorded_by,"
        "act_id) VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9)"
    }
    PAGE_REJECTED = {
        "SELECT act_id, batch_id, ordinal, entry_id, raw, problem, recorded_at FROM rejected_entry"
        "WHERE fleet_id = $1 AND (act_id, ordinal) > ($2, $3) ORDER BY act_id, ordinal LIMIT $4"
    }
}

/// A used entry id, and what it stands for.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct EntryRow {
    /// The entry id.
    pub id: Uuid,
    /// SHA-256 of its canonical content.
    pub content_hash: Vec<u8>,
    /// The inspection it made.
    pub inspection: InspectionId,
    /// The batch it came in.
    pub batch_id: Option<Uuid>,
    /// Whether a part of it waited for a person when it came in.
    pub held: bool,
}

/// An entry that was refused, as received.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RejectedRow {
    /// The batch it came in.
    pub batch_id: Uuid,
    /// Its place in the batch.
    pub ordinal: i64,
    /// Its entry id as written.
    pub entry_id: Option<String>,
    /// As received.
    pub raw: String,
    /// What was wrong, JSON.
    pub problem: String,
}

#[derive(sqlx::FromRow)]
struct Row {
    id: Uuid,
    content_hash: Vec<u8>,
    inspection_id: Uuid,
    batch_id: Option<Uuid>,
    status: String,
}

impl TryFrom<Row> for EntryRow {
    type Error = StoreError;

    fn try_from(row: Row) -> Result<Self, StoreError> {
        let held = |word: &str| match word {
            "accepted" => Some(false),
            "held" => Some(true),
            _ => None,
        };
        Ok(Self {
            id: row.id,
            held: InRow::new("entry", row.id).word("status", &row.status, held)?,
            content_hash: row.content_hash,
            inspection: InspectionId(row.inspection_id),
            batch_id: row.batch_id,
        })
    }
}

#[derive(sqlx::FromRow)]
struct RejectedEntryRow {
    act_id: Uuid,
    batch_id: Uuid,
    ordinal: i64,
    entry_id: Option<String>,
    raw: String,
    problem: String,
    recorded_at: DateTime<Utc>,
}

/// Uses up entry ids, in one statement. `Unique` if one of them was used before.
pub async fn insert(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    entries: &[EntryRow],
    stamp: &Stamp,
) -> Result<(), StoreError> {
    batch!(conn, INSERT, entries, |entry| [
        fleet.0,
        entry.id,
        entry.content_hash.as_slice(),
        entry.inspection.0,
        entry.batch_id,
        if entry.held { "held" } else { "accepted" },
        stamp.recorded_at,
        stamp.act.0,
    ])?;
    Ok(())
}

/// Those of these entry ids that were used before.
pub async fn by_ids(conn: &mut Conn<'_>, fleet: FleetId, ids: &[Uuid]) -> Result<Vec<EntryRow>, StoreError> {
    each(fetch!(fetch_all, conn, Row, BY_IDS, fleet.0, id_list(ids.iter().copied()))?)
}

/// Keeps refused entries as received, in one statement; their ids are not used up.
pub async fn insert_rejected(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    rejected: &[RejectedRow],
    stamp: &Stamp,
) -> Result<(), StoreError> {
    batch!(conn, INSERT_REJECTED, rejected, |row| [
        fleet.0,
        row.batch_id,
        row.ordinal,
        row.entry_id.as_deref(),
        &row.raw,
        &row.problem,
        stamp.recorded_at,
        stamp.recorded_by,
        stamp.act.0,
    ])?;
    Ok(())
}

/// Refused entries behind `after` with their act and when they came in, in order of acts and of place in the batch.
pub async fn page_rejected(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    after: Option<(ActId, i64)>,
    limit: i64,
) -> Result<Vec<(ActId, DateTime<Utc>, RejectedRow)>, StoreError> {
    let (act, ordinal) = after.map_or((Uuid::nil(), 0), |(act, ordinal)| (act.0, ordinal));
    let rows = fetch!(fetch_all, conn, RejectedEntryRow, PAGE_REJECTED, fleet.0, act, ordinal, limit)?;
    let rejected = |row: RejectedEntryRow| {
        let RejectedEntryRow { act_id, batch_id, ordinal, entry_id, raw, problem, recorded_at } = row;
        (ActId(act_id), recorded_at, RejectedRow { batch_id, ordinal, entry_id, raw, problem })
    };
    Ok(rows.into_iter().map(rejected).collect())
}
