//! Technicians' batches as they came in.

use crate::acts::Stamp;
use crate::{Conn, StoreError};
use chrono::{DateTime, Utc};
use model::FleetId;
use uuid::Uuid;

statements! {
    INSERT = {
        "INSERT INTO inspection_batch (fleet_id, id, device_id, device_seq, device_sent_at, received_at,"
        "clock_offset_seconds, entries, raw, act_id) VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10)"
    }
    FIND = {
        "SELECT id, device_id, device_seq, device_sent_at, received_at, clock_offset_seconds, entries, raw"
        "FROM inspection_batch WHERE fleet_id = $1 AND id = $2"
    }
}

/// A batch as it came in.
#[derive(Debug, Clone, PartialEq, Eq, sqlx::FromRow)]
pub struct BatchRow {
    /// The id the phone gave it.
    pub id: Uuid,
    /// Which phone.
    pub device_id: String,
    /// The phone's own counter.
    pub device_seq: Option<i64>,
    /// When the phone says it sent it.
    pub device_sent_at: DateTime<Utc>,
    /// When it arrived.
    pub received_at: DateTime<Utc>,
    /// How far the phone's clock was behind, seconds.
    pub clock_offset_seconds: i64,
    /// How many entries it had.
    pub entries: i64,
    /// The whole body as received.
    pub raw: String,
}

/// Keeps a batch. `Unique` if one of this id came in before.
pub async fn insert(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    batch: &BatchRow,
    stamp: &Stamp,
) -> Result<(), StoreError> {
    execute!(
        conn,
        INSERT,
        fleet.0,
        batch.id,
        &batch.device_id,
        batch.device_seq,
        batch.device_sent_at,
        batch.received_at,
        batch.clock_offset_seconds,
        batch.entries,
        &batch.raw,
        stamp.act.0,
    )?;
    Ok(())
}

/// The batch of that id.
pub async fn find(conn: &mut Conn<'_>, fleet: FleetId, id: Uuid) -> Result<Option<BatchRow>, StoreError> {
    fetch!(fetch_optional, conn, BatchRow, FIND, fleet.0, id)
}
