//! Fleets: the owners of everything else, and what each has decided about telling.

use crate::parse::{InRow, json_text};
use crate::rows::{each, one};
use crate::{AsKnown, Conn, StoreError, past};
use chrono::{DateTime, Utc};
use model::{Fleet, FleetId, Policy};
use uuid::Uuid;

statements! {
    INSERT = {
        "INSERT INTO fleet (id, name, sequence, policy, policy_version, recorded_at)"
        "VALUES ($1, $2, $3, $4, $5, $6)"
    }
    FIND = { "SELECT id, name, sequence FROM fleet WHERE id = $1" }
    ALL = { "SELECT id, name, sequence FROM fleet ORDER BY name, id" }
    POLICY = { "SELECT policy_version, policy FROM fleet WHERE id = $1" }
    SET_POLICY = {
        "UPDATE fleet SET policy = $3, policy_version = policy_version + 1 WHERE id = $1 AND policy_version = $2"
    }
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
            return Err(InRow::new("fleet", row.id).fault("sequence", row.sequence));
        }
        Ok(Self { id: FleetId(row.id), name: row.name, sequence: row.sequence })
    }
}

/// Keeps a new fleet with version 1 of its policy. `Unique` if the id is taken.
pub async fn insert(
    conn: &mut Conn<'_>,
    fleet: &Fleet,
    policy: &Policy,
    at: DateTime<Utc>,
) -> Result<(), StoreError> {
    execute!(conn, INSERT, fleet.id.0, &fleet.name, fleet.sequence, json_text(policy), 1_i64, at)?;
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

/// What the fleet has decided about telling; the defaults for a fleet that is not there.
pub async fn policy(conn: &mut Conn<'_>, fleet: FleetId) -> Result<Policy, StoreError> {
    Ok(versioned_policy(conn, fleet).await?.map(|(_, policy)| policy).unwrap_or_default())
}

/// The same as it stood then.
pub async fn policy_as_known(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    known: AsKnown,
) -> Result<Policy, StoreError> {
    let today = policy(conn, fleet).await?;
    past::restored_policy(conn, fleet, today, known).await
}

/// The same with its version.
pub async fn versioned_policy(
    conn: &mut Conn<'_>,
    fleet: FleetId,
) -> Result<Option<(i64, Policy)>, StoreError> {
    let row = fetch!(fetch_optional, conn, (i64, String), POLICY, fleet.0)?;
    let Some((version, policy)) = row else { return Ok(None) };
    Ok(Some((version, InRow::new("fleet", fleet).json("policy", &policy)?)))
}

/// Replaces a policy that still has version `expected` and raises the version; `false` if it has not.
pub async fn set_policy(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    expected: i64,
    policy: &Policy,
) -> Result<bool, StoreError> {
    Ok(execute!(conn, SET_POLICY, fleet.0, expected, json_text(policy))? == 1)
}
