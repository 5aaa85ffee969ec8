//! What recurring work there is, when it comes next, and what became of it.

use super::{CLEAR_OUT, DAY_DIGEST, Missed, REFIT, WEEK_DIGEST, schedule};
use crate::error::ActError;
use chrono::{DateTime, Utc};
use chrono_tz::Tz;
use model::{CronExpression, FleetId};
use store::Conn;
use store::jobs::{JobRow, Run};

/// Runs shown of each job, past and to come.
const SHOWN: usize = 5;

/// A job, seen from now.
#[derive(Debug, Clone, PartialEq)]
pub struct JobOutlook {
    /// As it is kept.
    pub job: JobRow,
    /// The zone its expression is read in.
    pub zone: Tz,
    /// What it does, when, and what becomes of missed runs, in words.
    pub says: String,
    /// The next five runs; the first may be due already.
    pub next: Vec<DateTime<Utc>>,
    /// The last five runs, the newest first.
    pub runs: Vec<Run>,
}

/// All recurring work of a fleet.
///
/// # Errors
/// See [`schedule`]; storage errors.
pub async fn outlook(conn: &mut Conn<'_>, fleet: FleetId) -> Result<Vec<JobOutlook>, ActError> {
    let mut all = Vec::new();
    for job in store::jobs::of_fleet(conn, fleet).await? {
        let (expression, zone, missed) = schedule(&job)?;
        let runs = store::jobs::last_runs(conn, fleet, &job.code, 5).await?;
        let next = next_runs(&expression, zone, job.next_due_at);
        let says = says(&job, missed);
        all.push(JobOutlook { job, zone, says, next, runs });
    }
    Ok(all)
}

fn next_runs(expression: &CronExpression, zone: Tz, first: DateTime<Utc>) -> Vec<DateTime<Utc>> {
    std::iter::successors(Some(first), |at| expression.next_after(*at, zone)).take(SHOWN).collect()
}

fn says(job: &JobRow, missed: Missed) -> String {
    let does = match job.code.as_str() {
        code if code == REFIT.code => "Fits usage and rates of wear anew",
        code if code == WEEK_DIGEST.code => "Plans everybody's list of the week",
        code if code == DAY_DIGEST.code => {
            "Plans each technician's list of what is to be seen to on the next working day"
        }
        code if code == CLEAR_OUT.code => {
            "Forgets the bytes of letters that went half a year ago, and answers that are replayed no more"
        }
        _ => "Does what a newer or older program knows",
    };
    let of_missed = match missed {
        Missed::Once => "of missed runs the last is made and stands for the others",
        Missed::All => "every missed run is made, a hundred at most",
        Missed::Skip => "missed runs are left out",
    };
    format!(
        "{does}: at {} (minute, hour, day of the month, month, day of the week) on the clocks of {}; a time that the \
         clocks skip is met just after, one that comes twice at its first pass; {of_missed}.",
        job.expression, job.zone
    )
}
