//! Recurring work: when it comes next, and what became of it.

use crate::http::call::{Call, Outcome};
use crate::http::operation::Operation;
use clerk::jobs::{JobOutlook, outlook};
use contract::{Job, JobRun, JobTurn};
use model::Scope;

pub fn operations() -> Vec<Operation> {
    vec![
        Operation::list::<Job>(Scope::Read, "list_jobs", "/jobs")
            .says(
                "List recurring work",
                "With the last five runs and the next five, on the clocks they are read on, and why just then.",
            )
            .does(list),
    ]
}

async fn list(call: Call) -> Outcome {
    let paging = call.paging::<String>().await?;
    let mut reading = call.reading().await?;
    let after = paging.after().unwrap_or_default();
    let mut jobs = outlook(&mut reading.conn(), call.fleet()).await?;
    jobs.retain(|one| one.job.code > after);
    jobs.truncate(usize::try_from(paging.fetch()).unwrap_or(0));
    paging.answer(jobs, |one| one.job.code.clone(), told)
}

fn told(one: JobOutlook) -> Job {
    let turn =
        |at: chrono::DateTime<chrono::Utc>| JobTurn { at, local: at.with_timezone(&one.zone).to_rfc3339() };
    let run = |run: store::jobs::Run| JobRun {
        due_at: run.due_at,
        outcome: run.outcome,
        started_at: run.started_at,
        ended_at: run.ended_at,
        detail: run.detail,
    };
    Job {
        next: one.next.iter().copied().map(turn).collect(),
        runs: one.runs.into_iter().map(run).collect(),
        code: one.job.code,
        expression: one.job.expression,
        zone: one.job.zone,
        missed: one.job.missed,
        says: one.says,
    }
}
