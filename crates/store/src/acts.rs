//! Acts: who did what, when and from where, numbered in the order of their commits.

use crate::parse::InRow;
use crate::rows::each;
use crate::{Conn, StoreError};
use chrono::{DateTime, Utc};
use model::{ActId, Actor, ActorKind, FleetId, KeyId, PersonId};
use serde::{Deserialize, Serialize};
use uuid::Uuid;

statements! {
    INSERT = {
        "INSERT INTO act (fleet_id, id, seq, kind, actor_kind, key_id, person_id, source, request_id, recorded_at)"
        "VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10)"
    }
    TAKE_NUMBER = { "UPDATE fleet SET sequence = sequence + 1 WHERE id = $1 RETURNING sequence" }
    SET_NUMBER = { "UPDATE act SET seq = $3 WHERE fleet_id = $1 AND id = $2" }
    PAGE = {
        "SELECT id, seq, kind, actor_kind, key_id, person_id, source, request_id, recorded_at FROM act"
        "WHERE fleet_id = $1 AND seq > $2 ORDER BY seq LIMIT $3"
    }
    AUDIT_INSERT = {
        "INSERT INTO audit (fleet_id, act_id, ordinal, subject, subject_id, verb, before, after)"
        "VALUES ($1, $2, $3, $4, $5, $6, $7, $8)"
    }
    AUDIT_OF = {
        "SELECT ordinal, subject, subject_id, verb, before, after FROM audit"
        "WHERE fleet_id = $1 AND act_id = $2 ORDER BY ordinal"
    }
}

/// What every fact bears: the act that stored it, when, who and from where.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Stamp {
    /// The act.
    pub act: ActId,
    /// When it was recorded.
    pub recorded_at: DateTime<Utc>,
    /// The person or key; none for the operator and the program.
    pub recorded_by: Option<Uuid>,
    /// From where, as [`Actor::source`].
    pub source: String,
}

/// One act.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ActRow {
    /// Its id.
    pub id: ActId,
    /// Its number in the fleet; 0 until it is about to commit.
    pub seq: i64,
    /// What sort of act.
    pub kind: String,
    /// Who acts.
    pub actor: Actor,
    /// The request it answers.
    pub request_id: Option<String>,
    /// When.
    pub recorded_at: DateTime<Utc>,
}

/// Before and after of one changed record, as JSON.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, sqlx::FromRow)]
pub struct AuditRow {
    /// Its place within the act.
    pub ordinal: i64,
    /// What kind of thing was changed.
    pub subject: String,
    /// Which.
    pub subject_id: String,
    /// How.
    pub verb: String,
    /// What it was.
    pub before: Option<String>,
    /// What it is.
    pub after: Option<String>,
}

#[derive(sqlx::FromRow)]
struct Row {
    id: Uuid,
    seq: i64,
    kind: String,
    actor_kind: String,
    key_id: Option<Uuid>,
    person_id: Option<Uuid>,
    source: String,
    request_id: Option<String>,
    recorded_at: DateTime<Utc>,
}

impl TryFrom<Row> for ActRow {
    type Error = StoreError;

    fn try_from(row: Row) -> Result<Self, StoreError> {
        let kind = InRow::new("act", row.id).word("actor_kind", &row.actor_kind, ActorKind::from_word)?;
        let actor = Actor {
            kind,
            key: row.key_id.map(KeyId),
            person: row.person_id.map(PersonId),
            source: row.source,
        };
        Ok(Self {
            id: ActId(row.id),
            seq: row.seq,
            kind: row.kind,
            actor,
            request_id: row.request_id,
            recorded_at: row.recorded_at,
        })
    }
}

/// Keeps an act, first of all in its transaction.
pub async fn insert(conn: &mut Conn<'_>, fleet: FleetId, act: &ActRow) -> Result<(), StoreError> {
    let actor = &act.actor;
    execute!(
        conn,
        INSERT,
        fleet.0,
        act.id.0,
        act.seq,
        &act.kind,
        actor.kind.word(),
        actor.key.map(|key| key.0),
        actor.person.map(|person| person.0),
        &actor.source,
        act.request_id.as_deref(),
        act.recorded_at,
    )?;
    Ok(())
}

/// Takes the fleet's next number for the act: the last statement before it commits, since the fleet's row stays locked
/// from here on, so that numbers come in the order of commits.
pub async fn number(conn: &mut Conn<'_>, fleet: FleetId, act: ActId) -> Result<i64, StoreError> {
    let (number,) = fetch!(fetch_one, conn, (i64,), TAKE_NUMBER, fleet.0)?;
    execute!(conn, SET_NUMBER, fleet.0, act.0, number)?;
    Ok(number)
}

/// Committed acts with numbers above `after`, in order.
pub async fn page(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    after: i64,
    limit: i64,
) -> Result<Vec<ActRow>, StoreError> {
    each(fetch!(fetch_all, conn, Row, PAGE, fleet.0, after, limit)?)
}

/// Keeps what an act changed.
pub async fn audit_insert(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    act: ActId,
    rows: &[AuditRow],
) -> Result<(), StoreError> {
    batch!(conn, AUDIT_INSERT, rows, |row| [
        fleet.0,
        act.0,
        row.ordinal,
        &row.subject,
        &row.subject_id,
        &row.verb,
        row.before.as_deref(),
        row.after.as_deref(),
    ])?;
    Ok(())
}

/// What an act changed, in order.
pub async fn audit_of(conn: &mut Conn<'_>, fleet: FleetId, act: ActId) -> Result<Vec<AuditRow>, StoreError> {
    fetch!(fetch_all, conn, AuditRow, AUDIT_OF, fleet.0, act.0)
}
