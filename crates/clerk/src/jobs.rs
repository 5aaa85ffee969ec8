//! Recurring work of the scheduler: what there is, when it is due, and what becomes of runs that were missed.

mod outlook;
mod performing;
mod turns;

pub use outlook::{JobOutlook, outlook};
pub use turns::{Missed, Turns, turns};

use crate::Clerk;
use crate::error::ActError;
use chrono::{DateTime, TimeDelta, Utc};
use chrono_tz::Tz;
use model::{CronExpression, FleetId, parse_zone};
use store::jobs::{Job, JobRow};
use store::{Lease, Reach};

/// Fits the fleet's usage and its rates of wear anew, on the first of each month (house setting, no source).
pub const REFIT: Job = Job { code: "refit", expression: "0 3 1 * *", zone: "UTC", missed: "once" };

/// Plans everybody's digest of the week, when Monday begins where it begins first: at UTC+14.
pub const WEEK_DIGEST: Job =
    Job { code: "week-digest", expression: "0 10 * * sun", zone: "UTC", missed: "once" };

/// Plans the letters that look ahead to a technician's working day, every afternoon. A fleet has no zone of its own: each
/// letter is planned in its person's, for a slot before the work of its day begins, whatever the hour of the run. A run that
/// was missed is made up for, but for days that have begun meanwhile.
pub const DAY_DIGEST: Job = Job { code: "day-digest", expression: "0 16 * * *", zone: "UTC", missed: "once" };

/// Clears out what has been kept long enough, every night.
pub const CLEAR_OUT: Job = Job { code: "clear-out", expression: "20 2 * * *", zone: "UTC", missed: "once" };

/// All recurring work of a fleet.
pub const JOBS: [Job; 4] = [REFIT, WEEK_DIGEST, DAY_DIGEST, CLEAR_OUT];

/// A run that has not ended by then was left by a program that died.
const LONGEST_RUN: TimeDelta = TimeDelta::hours(1);

/// So many jobs are looked at in one turn.
const JOBS_AT_ONCE: u32 = 32;

/// Plans the work of fleets that have none of it, as those of an older program. The refit is due since it last came: what
/// it adopts depends on what is known, not on when it is made.
///
/// # Errors
/// Storage errors.
pub async fn plan(clerk: &Clerk) -> Result<(), ActError> {
    let now = clerk.now();
    let mut tx = clerk.store().writer(Reach::All).await?;
    for job in JOBS {
        for fleet in store::jobs::fleets_without(&mut tx.conn(), job.code).await? {
            let due_at = if job == REFIT { last_by(&job, now) } else { first_after(&job, now) };
            let Some(due_at) = due_at else { continue };
            store::jobs::plan(&mut tx.conn(), fleet, &job, due_at).await?;
        }
    }
    tx.commit().await?;
    Ok(())
}

/// Plans all work of a fleet just made.
pub(crate) async fn plan_for(
    conn: &mut store::Conn<'_>,
    fleet: FleetId,
    now: DateTime<Utc>,
) -> Result<(), ActError> {
    for job in JOBS {
        if let Some(due_at) = first_after(&job, now) {
            store::jobs::plan(conn, fleet, &job, due_at).await?;
        }
    }
    Ok(())
}

/// The first time after `at` that shipped work is due.
fn first_after(job: &Job, at: DateTime<Utc>) -> Option<DateTime<Utc>> {
    let (expression, zone) = (job.expression.parse::<CronExpression>().ok()?, parse_zone(job.zone)?);
    expression.next_after(at, zone)
}

/// The last time by `at` that shipped work was due, which recurs at least every 32 days.
fn last_by(job: &Job, at: DateTime<Utc>) -> Option<DateTime<Utc>> {
    let from = at.checked_sub_signed(TimeDelta::days(32))?;
    std::iter::successors(first_after(job, from), |due| first_after(job, *due))
        .take_while(|due| *due <= at)
        .last()
}

/// When a job is due, as it is kept.
///
/// # Errors
/// A conflict, `job-unreadable`, if its expression, zone or policy means nothing to this program.
pub fn schedule(job: &JobRow) -> Result<(CronExpression, Tz, Missed), ActError> {
    let unreadable = |detail: String| ActError::Conflict { code: "job-unreadable", detail };
    let expression = job.expression.parse::<CronExpression>();
    let expression = expression.map_err(|error| unreadable(format!("{}: {error}", job.code)))?;
    let zone = parse_zone(&job.zone);
    let zone = zone.ok_or_else(|| unreadable(format!("{}: {:?} is no zone", job.code, job.zone)))?;
    let missed = Missed::from_word(&job.missed);
    let missed = missed
        .ok_or_else(|| unreadable(format!("{}: {:?} says nothing of missed runs", job.code, job.missed)))?;
    Ok((expression, zone, missed))
}

/// Does the work that has fallen due. Says how many runs it made; those that another replica is at are left to it. A job
/// that fails is tried again; the others do not wait for it.
///
/// # Errors
/// Storage errors. A run is taken over after an hour.
pub async fn run_due(clerk: &Clerk) -> Result<usize, ActError> {
    let mut tx = clerk.store().reader(Reach::All).await?;
    let due = store::jobs::due(&mut tx.conn(), clerk.now(), JOBS_AT_ONCE).await?;
    drop(tx);
    let (mut made, mut first_fault) = (0, None);
    for job in due {
        match run(clerk, &job).await {
            Ok(runs) => made += runs,
            Err(error @ ActError::Unavailable(_)) => return Err(error),
            Err(error) => first_fault = first_fault.or(Some(error)),
        }
    }
    first_fault.map_or(Ok(made), Err)
}

/// Makes the runs of a job that have fallen due, and records those that are not made.
async fn run(clerk: &Clerk, job: &JobRow) -> Result<usize, ActError> {
    let (expression, zone, missed) = schedule(job)?;
    let turns = turns(&expression, zone, missed, job.next_due_at, clerk.now());
    let mut made = 0;
    for due_at in &turns.to_run {
        match run_one(clerk, job, *due_at).await? {
            Run::Made => made += 1,
            Run::WasMade => {}
            Run::InHand => return Ok(made),
        }
    }
    let mut tx = clerk.store().writer(Reach::Fleet(job.fleet)).await?;
    let conn = &mut tx.conn();
    store::jobs::miss(conn, job.fleet, &job.code, &turns.to_leave, missed.why()).await?;
    if let Some(next) = turns.next {
        store::jobs::set_next(conn, job.fleet, &job.code, next).await?;
    }
    tx.commit().await?;
    Ok(made)
}

/// What became of one run.
enum Run {
    Made,
    /// Somebody else made it.
    WasMade,
    /// Somebody else is at it, or took it over.
    InHand,
}

async fn run_one(clerk: &Clerk, job: &JobRow, due_at: DateTime<Utc>) -> Result<Run, ActError> {
    let now = clerk.now();
    let (fleet, code) = (job.fleet, job.code.as_str());
    let mut tx = clerk.store().writer(Reach::Fleet(fleet)).await?;
    if store::jobs::is_done(&mut tx.conn(), fleet, code, due_at).await? {
        return Ok(Run::WasMade);
    }
    let begun_at = Lease::taken(&mut tx, now, LONGEST_RUN).await?.at;
    let abandoned = begun_at - LONGEST_RUN;
    let begun = store::jobs::begin(&mut tx.conn(), fleet, code, due_at, begun_at, abandoned).await?;
    tx.commit().await?;
    if !begun {
        return Ok(Run::InHand);
    }
    let detail = performing::perform(clerk, fleet, code, due_at).await?;
    let mut tx = clerk.store().writer(Reach::Fleet(fleet)).await?;
    let ended = store::jobs::end(&mut tx.conn(), fleet, code, due_at, begun_at, clerk.now(), &detail).await?;
    tx.commit().await?;
    Ok(if ended { Run::Made } else { Run::InHand })
}
