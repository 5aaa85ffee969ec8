//! Answers to requests that may be repeated, kept beside what they did.

use crate::parse::InRow;
use crate::rows::one;
use crate::{Conn, StoreError};
use chrono::{DateTime, Utc};
use model::FleetId;
use uuid::Uuid;

statements! {
    FIND = {
        "SELECT holder, body_hash, status, location, etag, content_type, body, recorded_at FROM idempotency"
        "WHERE fleet_id = $1 AND holder = $2 AND method = $3 AND path_template = $4 AND idempotency_key = $5"
    }
    INSERT = {
        "INSERT INTO idempotency (fleet_id, holder, method, path_template, idempotency_key, body_hash, status, location,"
        "etag, content_type, body, recorded_at) VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12)"
    }
    FORGET_NAMING = {
        "UPDATE idempotency SET body = NULL WHERE fleet_id = $1 AND body IS NOT NULL AND"
        sqlite: "instr(body, $2) > 0"
        postgres: "position($2 in body) > 0"
    }
    FORGET_ANSWERS = {
        "UPDATE idempotency SET body = NULL WHERE fleet_id = $1 AND recorded_at < $2 AND body IS NOT NULL"
    }
}

/// Whose request, and which.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Key {
    /// The key holder.
    pub holder: Uuid,
    /// HTTP method.
    pub method: String,
    /// Path template.
    pub path_template: String,
    /// The idempotency key.
    pub key: String,
}

/// What was asked and answered.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Kept {
    /// SHA-256 of the request's body.
    pub body_hash: Vec<u8>,
    /// HTTP status.
    pub status: u16,
    /// `Location`.
    pub location: Option<String>,
    /// `ETag`.
    pub etag: Option<String>,
    /// `Content-Type`.
    pub content_type: String,
    /// The answer's body; none once forgotten.
    pub body: Option<String>,
    /// When.
    pub recorded_at: DateTime<Utc>,
}

#[derive(sqlx::FromRow)]
struct Row {
    holder: Uuid,
    body_hash: Vec<u8>,
    status: i64,
    location: Option<String>,
    etag: Option<String>,
    content_type: String,
    body: Option<String>,
    recorded_at: DateTime<Utc>,
}

impl TryFrom<Row> for Kept {
    type Error = StoreError;

    fn try_from(row: Row) -> Result<Self, StoreError> {
        Ok(Self {
            status: InRow::new("idempotency of holder", row.holder).whole("status", row.status)?,
            body_hash: row.body_hash,
            location: row.location,
            etag: row.etag,
            content_type: row.content_type,
            body: row.body,
            recorded_at: row.recorded_at,
        })
    }
}

/// What this very request was answered before, if it was.
pub async fn find(conn: &mut Conn<'_>, fleet: FleetId, key: &Key) -> Result<Option<Kept>, StoreError> {
    let Key { holder, method, path_template, key } = key;
    one(fetch!(fetch_optional, conn, Row, FIND, fleet.0, *holder, method, path_template, key)?)
}

/// Keeps an answer. `Unique` if the request was answered meanwhile.
pub async fn insert(conn: &mut Conn<'_>, fleet: FleetId, key: &Key, kept: &Kept) -> Result<(), StoreError> {
    execute!(
        conn,
        INSERT,
        fleet.0,
        key.holder,
        &key.method,
        &key.path_template,
        &key.key,
        kept.body_hash.as_slice(),
        i64::from(kept.status),
        kept.location.as_deref(),
        kept.etag.as_deref(),
        &kept.content_type,
        kept.body.as_deref(),
        kept.recorded_at,
    )?;
    Ok(())
}

/// Forgets the bodies of answers given before `before`; keys and hashes stay. Gives how many.
pub async fn forget_answers(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    before: DateTime<Utc>,
) -> Result<u64, StoreError> {
    execute!(conn, FORGET_ANSWERS, fleet.0, before)
}

/// Forgets the bodies of answers in which `text` stands, as JSON writes it; keys and hashes stay. Gives how many.
pub async fn forget_naming(conn: &mut Conn<'_>, fleet: FleetId, text: &str) -> Result<u64, StoreError> {
    let written = crate::parse::json_text(&text);
    let inside = written.trim_matches('"');
    if inside.is_empty() {
        return Ok(0);
    }
    execute!(conn, FORGET_NAMING, fleet.0, inside)
}
