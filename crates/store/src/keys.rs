//! Access keys, of which only the hash is kept.

use crate::pages::behind_id;
use crate::parse::{InRow, json_text};
use crate::rows::{each, one};
use crate::{Conn, StoreError};
use chrono::{DateTime, Utc};
use model::{FleetId, KeyId, KeyKind, PersonId, Scope, VehicleId};
use serde::{Deserialize, Serialize};
use uuid::Uuid;

statements! {
    INSERT = {
        "INSERT INTO access_key (fleet_id, id, kind, person_id, vehicle_id, label, scopes, secret_hash, recorded_at,"
        "expires_at, revoked_at) VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11)"
    }
    FIND = {
        "SELECT id, kind, person_id, vehicle_id, label, scopes, recorded_at, expires_at, revoked_at FROM access_key"
        "WHERE fleet_id = $1 AND id = $2"
    }
    PAGE = {
        "SELECT id, kind, person_id, vehicle_id, label, scopes, recorded_at, expires_at, revoked_at FROM access_key"
        "WHERE fleet_id = $1 AND id > $2 ORDER BY id LIMIT $3"
    }
    REVOKE = {
        "UPDATE access_key SET revoked_at = $3 WHERE fleet_id = $1 AND id = $2 AND revoked_at IS NULL"
    }
    BY_HASH = {
        "SELECT id, kind, person_id, vehicle_id, label, scopes, recorded_at, expires_at, revoked_at, fleet_id,"
        "secret_hash FROM access_key WHERE secret_hash = $1"
    }
}

/// An access key without its secret.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct AccessKey {
    /// Its id.
    pub id: KeyId,
    /// What sort of holder it is for.
    pub kind: KeyKind,
    /// The person it belongs to.
    pub person: Option<PersonId>,
    /// The one vehicle it is for.
    pub vehicle: Option<VehicleId>,
    /// What it is for, in words.
    pub label: String,
    /// What it may do.
    pub scopes: Vec<Scope>,
    /// When it was made.
    pub recorded_at: DateTime<Utc>,
    /// When it ends.
    pub expires_at: Option<DateTime<Utc>>,
    /// When it was revoked.
    pub revoked_at: Option<DateTime<Utc>>,
}

/// A key found by its hash, in force or not.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FoundKey {
    /// The one fleet it opens.
    pub fleet: FleetId,
    /// The stored hash, to be compared again in constant time.
    pub secret_hash: Vec<u8>,
    /// The key.
    pub key: AccessKey,
}

#[derive(sqlx::FromRow)]
struct Row {
    id: Uuid,
    kind: String,
    person_id: Option<Uuid>,
    vehicle_id: Option<Uuid>,
    label: String,
    scopes: String,
    recorded_at: DateTime<Utc>,
    expires_at: Option<DateTime<Utc>>,
    revoked_at: Option<DateTime<Utc>>,
}

#[derive(sqlx::FromRow)]
struct FoundRow {
    #[sqlx(flatten)]
    key: Row,
    fleet_id: Uuid,
    secret_hash: Vec<u8>,
}

impl TryFrom<Row> for AccessKey {
    type Error = StoreError;

    fn try_from(row: Row) -> Result<Self, StoreError> {
        let at = InRow::new("access_key", row.id);
        Ok(Self {
            id: KeyId(row.id),
            kind: at.word("kind", &row.kind, KeyKind::from_word)?,
            person: row.person_id.map(PersonId),
            vehicle: row.vehicle_id.map(VehicleId),
            label: row.label,
            scopes: at.json("scopes", &row.scopes)?,
            recorded_at: row.recorded_at,
            expires_at: row.expires_at,
            revoked_at: row.revoked_at,
        })
    }
}

impl TryFrom<FoundRow> for FoundKey {
    type Error = StoreError;

    fn try_from(row: FoundRow) -> Result<Self, StoreError> {
        Ok(Self { fleet: FleetId(row.fleet_id), secret_hash: row.secret_hash, key: row.key.try_into()? })
    }
}

/// Keeps a new key under its hash. `Unique` if the hash is taken.
pub async fn insert(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    key: &AccessKey,
    secret_hash: &[u8; 32],
) -> Result<(), StoreError> {
    execute!(
        conn,
        INSERT,
        fleet.0,
        key.id.0,
        key.kind.word(),
        key.person.map(|person| person.0),
        key.vehicle.map(|vehicle| vehicle.0),
        &key.label,
        json_text(&key.scopes),
        secret_hash.as_slice(),
        key.recorded_at,
        key.expires_at,
        key.revoked_at,
    )?;
    Ok(())
}

/// The key of that id.
pub async fn find(conn: &mut Conn<'_>, fleet: FleetId, id: KeyId) -> Result<Option<AccessKey>, StoreError> {
    one(fetch!(fetch_optional, conn, Row, FIND, fleet.0, id.0)?)
}

/// Keys behind `after`, in order of ids, revoked and ended ones too.
pub async fn page(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    after: Option<KeyId>,
    limit: i64,
) -> Result<Vec<AccessKey>, StoreError> {
    each(fetch!(fetch_all, conn, Row, PAGE, fleet.0, behind_id(after.map(|key| key.0)), limit)?)
}

/// Revokes a key; `false` if there is none or it is revoked already.
pub async fn revoke(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    id: KeyId,
    at: DateTime<Utc>,
) -> Result<bool, StoreError> {
    Ok(execute!(conn, REVOKE, fleet.0, id.0, at)? == 1)
}

/// The key with this hash in whatever fleet: needs `Reach::All`.
pub async fn by_hash(conn: &mut Conn<'_>, secret_hash: &[u8; 32]) -> Result<Option<FoundKey>, StoreError> {
    one(fetch!(fetch_optional, conn, FoundRow, BY_HASH, secret_hash.as_slice())?)
}
