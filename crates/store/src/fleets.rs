//! Fleets: the owners of everything else.

use crate::rows::{each, one};
use crate::{Conn, StoreError};
use chrono::{DateTime, Utc};
use model::{Fleet, FleetId};
use uuid::Uuid;

statements! {
    INSERT = {
        "INSERT INTO fleet (id, name, sequence, policy, policy_version, recorded_at)"
        "VALUES ($1, $2, $3, $4, $5, $6)"
    }
    FIND = { "SELECT id, name, sequence FROM fleet WHERE id = $1" }
    ALL = { "SELECT id, name, sequence FROM fleet ORDER BY name, id" }
}

#[derive(sqlx::FromRow)]
struct FleetRow {
    id: Uuid,
    name: String,
    sequence: i64,
}

impl TryFrom<FleetRow> for Fleet {
    type Error = StoreError;

    fn try_from(row: FleetRow) -> Result<Self, StoreError> {
        if row.sequence < 0 {
            return Err(StoreError::corrupt(format_args!("fleet {}, sequence", row.id), row.sequence));
        }
        Ok(Self { id: FleetId(row.id), name: row.name, sequence: row.sequence })
    }
}

/// Keeps a new fleet with its policy (JSON, version 1). `Unique` if the id is taken.
pub async fn insert(
    conn: &mut Conn<'_>,
    fleet: &Fleet,
    policy: &str,
    at: DateTime<Utc>,
) -> Result<(), StoreError> {
    execute!(conn, INSERT, fleet.id.0, &fleet.name, fleet.sequence, policy, 1_i64, at)?;
    Ok(())
}

/// The fleet of that id.
pub async fn find(conn: &mut Conn<'_>, id: FleetId) -> Result<Option<Fleet>, StoreError> {
    one(fetch!(fetch_optional, conn, FleetRow, FIND, id.0)?)
}

/// Every fleet, by name.
pub async fn all(conn: &mut Conn<'_>) -> Result<Vec<Fleet>, StoreError> {
    each(fetch!(fetch_all, conn, FleetRow, ALL)?)
}
