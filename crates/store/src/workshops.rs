//! Workshops: who repairs.

use crate::pages::behind_id;
use crate::parse::InRow;
use crate::rows::{each, one};
use crate::{AsKnown, Conn, StoreError, past};
use chrono::{DateTime, Utc};
use model::{FleetId, Weekdays, Workshop, WorkshopId, WorkshopKind};
use uuid::Uuid;

statements! {
    INSERT = {
        "INSERT INTO workshop (fleet_id, id, name, kind, lead_days, warranty_work, working_weekdays, version, recorded_at)"
        "VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9)"
    }
    FIND = {
        "SELECT id, name, kind, lead_days, warranty_work, working_weekdays, version FROM workshop"
        "WHERE fleet_id = $1 AND id = $2"
    }
    PAGE = {
        "SELECT id, name, kind, lead_days, warranty_work, working_weekdays, version FROM workshop"
        "WHERE fleet_id = $1 AND id > $2 ORDER BY id LIMIT $3"
    }
    ALL = {
        "SELECT id, name, kind, lead_days, warranty_work, working_weekdays, version FROM workshop"
        "WHERE fleet_id = $1 AND recorded_at <= $2 ORDER BY id"
    }
    UPDATE = {
        "UPDATE workshop SET name = $4, kind = $5, lead_days = $6, warranty_work = $7, working_weekdays = $8,"
        "version = version + 1"
        "WHERE fleet_id = $1 AND id = $2 AND version = $3"
    }
}

#[derive(sqlx::FromRow)]
struct Row {
    id: Uuid,
    name: String,
    kind: String,
    lead_days: i64,
    warranty_work: bool,
    working_weekdays: i64,
    version: i64,
}

impl TryFrom<Row> for Workshop {
    type Error = StoreError;

    fn try_from(row: Row) -> Result<Self, StoreError> {
        let at = InRow::new("workshop", row.id);
        Ok(Self {
            id: WorkshopId(row.id),
            kind: at.word("kind", &row.kind, WorkshopKind::from_word)?,
            warranty_work: row.warranty_work,
            working_weekdays: at
                .whole("working_weekdays", row.working_weekdays)
                .ok()
                .and_then(Weekdays::from_bits)
                .ok_or_else(|| {
                    at.fault("working_weekdays", format_args!("{} names no days", row.working_weekdays))
                })?,
            lead_days: at.whole("lead_days", row.lead_days)?,
            name: row.name,
            version: row.version,
        })
    }
}

/// Keeps a new workshop.
pub async fn insert(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    workshop: &Workshop,
    at: DateTime<Utc>,
) -> Result<(), StoreError> {
    let Workshop { id, name, kind, lead_days, warranty_work, working_weekdays, version } = workshop;
    let (lead, days) = (i64::from(*lead_days), i64::from(working_weekdays.bits()));
    execute!(conn, INSERT, fleet.0, id.0, name, kind.word(), lead, *warranty_work, days, *version, at)?;
    Ok(())
}

/// The workshop of that id.
pub async fn find(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    id: WorkshopId,
) -> Result<Option<Workshop>, StoreError> {
    one(fetch!(fetch_optional, conn, Row, FIND, fleet.0, id.0)?)
}

/// Workshops behind `after`, in order of ids.
pub async fn page(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    after: Option<WorkshopId>,
    limit: i64,
) -> Result<Vec<Workshop>, StoreError> {
    each(fetch!(fetch_all, conn, Row, PAGE, fleet.0, behind_id(after.map(|id| id.0)), limit)?)
}

/// Every workshop of the fleet, in order of ids.
pub async fn all(conn: &mut Conn<'_>, fleet: FleetId) -> Result<Vec<Workshop>, StoreError> {
    all_as_known(conn, fleet, AsKnown::NOW).await
}

/// The same as they stood then.
pub(crate) async fn all_as_known(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    known: AsKnown,
) -> Result<Vec<Workshop>, StoreError> {
    let workshops = each(fetch!(fetch_all, conn, Row, ALL, fleet.0, known.bound())?)?;
    past::restored(conn, fleet, workshops, known).await
}

/// Changes a workshop that still has version `expected` and raises the version; `false` if it has not.
pub async fn update(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    workshop: &Workshop,
    expected: i64,
) -> Result<bool, StoreError> {
    let Workshop { id, name, kind, lead_days, warranty_work, working_weekdays, .. } = workshop;
    let (lead, days) = (i64::from(*lead_days), i64::from(working_weekdays.bits()));
    let touched =
        execute!(conn, UPDATE, fleet.0, id.0, expected, name, kind.word(), lead, *warranty_work, days)?;
    Ok(touched == 1)
}
