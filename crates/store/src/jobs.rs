//! Recurring work: when it is next due, and each of its runs, once for ever.

use crate::{Conn, StoreError};
use chrono::{DateTime, Utc};
use model::FleetId;
use uuid::Uuid;

statements! {
    PLAN = {
        "INSERT INTO job (fleet_id, code, expression, zone, missed, next_due_at, version)"
        "VALUES ($1, $2, $3, $4, $5, $6, $7) ON CONFLICT (fleet_id, code) DO NOTHING"
    }
    FLEETS_WITHOUT = {
        "SELECT id FROM fleet WHERE NOT EXISTS"
        "(SELECT 1 FROM job WHERE job.fleet_id = fleet.id AND job.code = $1) ORDER BY id"
    }
    DUE = {
        "SELECT fleet_id, next_due_at FROM job WHERE code = $1 AND next_due_at <= $2"
        "ORDER BY next_due_at, fleet_id LIMIT $3"
    }
    /// Whoever inserts the row has the run. One that was begun so long ago that nobody can still be at it is taken over.
    BEGIN = {
        "INSERT INTO job_run (fleet_id, job_code, due_at, outcome, started_at) VALUES ($1, $2, $3, 'running', $4)"
        "ON CONFLICT (fleet_id, job_code, due_at) DO UPDATE SET started_at = excluded.started_at"
        "WHERE job_run.outcome = 'running' AND job_run.started_at < $5"
    }
    /// What the run was begun with proves that it is still the caller's.
    END = {
        "UPDATE job_run SET outcome = 'done', ended_at = $5, detail = $6 WHERE fleet_id = $1 AND job_code = $2"
        "AND due_at = $3 AND started_at = $4 AND outcome = 'running'"
    }
    MISS = {
        "INSERT INTO job_run (fleet_id, job_code, due_at, outcome, detail) VALUES ($1, $2, $3, $4, $5)"
        "ON CONFLICT (fleet_id, job_code, due_at) DO NOTHING"
    }
    SET_NEXT = { "UPDATE job SET next_due_at = $3 WHERE fleet_id = $1 AND code = $2" }
    RUNS = {
        "SELECT due_at, outcome, started_at, ended_at, detail FROM job_run"
        "WHERE fleet_id = $1 AND job_code = $2 ORDER BY due_at"
    }
}

/// Recurring work of a fleet.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Job {
    /// What it is called.
    pub code: &'static str,
    /// When it recurs: a cron expression.
    pub expression: &'static str,
    /// The IANA zone in which that is read.
    pub zone: &'static str,
    /// What becomes of missed runs: `once`, `all` or `skip`.
    pub missed: &'static str,
}

/// One run of a job.
#[derive(Debug, Clone, PartialEq, Eq, sqlx::FromRow)]
pub struct Run {
    /// When it was due.
    pub due_at: DateTime<Utc>,
    /// `running`, `done`, or `missed` where a later one stood for it.
    pub outcome: String,
    /// When it was begun.
    pub started_at: Option<DateTime<Utc>>,
    /// When it ended.
    pub ended_at: Option<DateTime<Utc>>,
    /// What it did, in words.
    pub detail: Option<String>,
}

/// Plans a job of a fleet, first due at that instant; one that is planned already is left as it is.
pub async fn plan(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    job: &Job,
    next_due_at: DateTime<Utc>,
) -> Result<(), StoreError> {
    let Job { code, expression, zone, missed } = *job;
    execute!(conn, PLAN, fleet.0, code, expression, zone, missed, next_due_at, 1_i64)?;
    Ok(())
}

/// Fleets that have no job of this code. Needs `Reach::All`.
pub async fn fleets_without(conn: &mut Conn<'_>, code: &str) -> Result<Vec<FleetId>, StoreError> {
    let rows = fetch!(fetch_all, conn, (Uuid,), FLEETS_WITHOUT, code)?;
    Ok(rows.into_iter().map(|(id,)| FleetId(id)).collect())
}

/// Up to `most` fleets whose job of this code is due by `now`, with the instant it was first due at. Needs `Reach::All`.
pub async fn due(
    conn: &mut Conn<'_>,
    code: &str,
    now: DateTime<Utc>,
    most: u32,
) -> Result<Vec<(FleetId, DateTime<Utc>)>, StoreError> {
    let rows = fetch!(fetch_all, conn, (Uuid, DateTime<Utc>), DUE, code, now, i64::from(most))?;
    Ok(rows.into_iter().map(|(fleet, at)| (FleetId(fleet), at)).collect())
}

/// Begins the run that was due at that instant. `false`: it is done, or somebody else is at it since `abandoned_before`
/// or later.
pub async fn begin(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    code: &str,
    due_at: DateTime<Utc>,
    now: DateTime<Utc>,
    abandoned_before: DateTime<Utc>,
) -> Result<bool, StoreError> {
    Ok(execute!(conn, BEGIN, fleet.0, code, due_at, now, abandoned_before)? == 1)
}

/// Ends a run begun at `started_at`. `false`: it was taken over meanwhile, and nothing was changed.
pub async fn end(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    code: &str,
    due_at: DateTime<Utc>,
    started_at: DateTime<Utc>,
    now: DateTime<Utc>,
    detail: &str,
) -> Result<bool, StoreError> {
    Ok(execute!(conn, END, fleet.0, code, due_at, started_at, now, detail)? == 1)
}

/// Records runs that nobody made, and why.
pub async fn miss(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    code: &str,
    due_at: &[DateTime<Utc>],
    why: &str,
) -> Result<(), StoreError> {
    batch!(conn, MISS, due_at, |at| [fleet.0, code, *at, "missed", why])?;
    Ok(())
}

/// Says when the job is due next.
pub async fn set_next(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    code: &str,
    next_due_at: DateTime<Utc>,
) -> Result<(), StoreError> {
    execute!(conn, SET_NEXT, fleet.0, code, next_due_at)?;
    Ok(())
}

/// Every run of a job, in the order they were due.
pub async fn runs(conn: &mut Conn<'_>, fleet: FleetId, code: &str) -> Result<Vec<Run>, StoreError> {
    fetch!(fetch_all, conn, Run, RUNS, fleet.0, code)
}
