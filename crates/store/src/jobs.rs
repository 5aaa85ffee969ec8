//! Recurring work: when it is next due, and each of its runs, once for ever.

use crate::{Conn, StoreError};
use chrono::{DateTime, Utc};
use model::{CLOCKS_APART, FleetId};
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
        "SELECT fleet_id, code, expression, zone, missed, next_due_at FROM job WHERE next_due_at <= $1"
        "ORDER BY next_due_at, fleet_id, code LIMIT $2"
    }
    DUE_AFTER = {
        "SELECT fleet_id, code, expression, zone, missed, next_due_at FROM job WHERE next_due_at > $1"
        "ORDER BY fleet_id, code"
    }
    OF_FLEET = {
        "SELECT fleet_id, code, expression, zone, missed, next_due_at FROM job WHERE fleet_id = $1"
        "AND next_due_at IS NOT NULL ORDER BY code"
    }
    DONE = {
        "SELECT COUNT(*) AS n FROM job_run WHERE fleet_id = $1 AND job_code = $2 AND due_at = $3 AND outcome = 'done'"
    }
    LAST_RUNS = {
        "SELECT due_at, outcome, started_at, ended_at, detail FROM job_run"
        "WHERE fleet_id = $1 AND job_code = $2 ORDER BY due_at DESC LIMIT $3"
    }
    /// Whoever inserts the row has the run. One that was begun so long ago that nobody can still be at it is taken over, and
    /// so is one that was begun under a clock that ran ahead.
    BEGIN = {
        "INSERT INTO job_run (fleet_id, job_code, due_at, outcome, started_at) VALUES ($1, $2, $3, 'running', $4)"
        "ON CONFLICT (fleet_id, job_code, due_at) DO UPDATE SET started_at = excluded.started_at"
        "WHERE job_run.outcome = 'running' AND (job_run.started_at < $5 OR job_run.started_at > $6)"
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

/// Recurring work as it is kept.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct JobRow {
    /// Whose.
    pub fleet: FleetId,
    /// What it is called.
    pub code: String,
    /// When it recurs: a cron expression.
    pub expression: String,
    /// The IANA zone in which that is read.
    pub zone: String,
    /// What becomes of missed runs: `once`, `all` or `skip`.
    pub missed: String,
    /// When it is due next, or has been since.
    pub next_due_at: DateTime<Utc>,
}

#[derive(sqlx::FromRow)]
struct KeptRow {
    fleet_id: Uuid,
    code: String,
    expression: String,
    zone: String,
    missed: String,
    next_due_at: DateTime<Utc>,
}

impl From<KeptRow> for JobRow {
    fn from(row: KeptRow) -> Self {
        let KeptRow { fleet_id, code, expression, zone, missed, next_due_at } = row;
        Self { fleet: FleetId(fleet_id), code, expression, zone, missed, next_due_at }
    }
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

/// Up to `most` jobs that are due by `now`, the longest due first. Needs `Reach::All`.
pub async fn due(conn: &mut Conn<'_>, now: DateTime<Utc>, most: u32) -> Result<Vec<JobRow>, StoreError> {
    let rows = fetch!(fetch_all, conn, KeptRow, DUE, now, i64::from(most))?;
    Ok(rows.into_iter().map(JobRow::from).collect())
}

/// All jobs that are due after `now`. Needs `Reach::All`.
pub async fn due_after(conn: &mut Conn<'_>, now: DateTime<Utc>) -> Result<Vec<JobRow>, StoreError> {
    let rows = fetch!(fetch_all, conn, KeptRow, DUE_AFTER, now)?;
    Ok(rows.into_iter().map(JobRow::from).collect())
}

/// The jobs of a fleet, in order of their codes.
pub async fn of_fleet(conn: &mut Conn<'_>, fleet: FleetId) -> Result<Vec<JobRow>, StoreError> {
    let rows = fetch!(fetch_all, conn, KeptRow, OF_FLEET, fleet.0)?;
    Ok(rows.into_iter().map(JobRow::from).collect())
}

/// Whether the run that was due at that instant has been made.
pub async fn is_done(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    code: &str,
    due_at: DateTime<Utc>,
) -> Result<bool, StoreError> {
    Ok(fetch!(fetch_one, conn, (i64,), DONE, fleet.0, code, due_at)?.0 > 0)
}

/// The newest runs of a job, the newest first.
pub async fn last_runs(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    code: &str,
    most: i64,
) -> Result<Vec<Run>, StoreError> {
    fetch!(fetch_all, conn, Run, LAST_RUNS, fleet.0, code, most)
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
    Ok(execute!(conn, BEGIN, fleet.0, code, due_at, now, abandoned_before, now + CLOCKS_APART)? == 1)
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
