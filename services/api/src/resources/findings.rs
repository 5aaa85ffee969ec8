//! Findings: what is wrong, until it is fixed or dismissed.

use super::there;
use crate::http::answer::Answer;
use crate::http::call::{Call, Outcome};
use crate::http::operation::Operation;
use clerk::findings;
use contract::{Closing, Finding, FindingClosure, FindingsAsked};
use model::{FindingId, Scope};
use store::findings::{ClosureKind, Filter};

pub fn operations() -> Vec<Operation> {
    vec![
        Operation::list::<Finding>(Scope::Read, "list_findings", "/findings")
            .says("List findings", "What is wrong anywhere in the fleet, in order of when it was found.")
            .filtered::<FindingsAsked>()
            .does(list),
        Operation::get::<Finding>(Scope::Read, "read_finding", "/findings/{finding}")
            .says("Read a finding", "One thing that is or was wrong.")
            .does(read),
        Operation::act::<FindingClosure, Finding>(
            Scope::Manage,
            "close_finding",
            "/findings/{finding}:close",
        )
        .says("Close a finding", "It was fixed, or is dismissed with a reason that is kept.")
        .does(close),
    ]
}

async fn list(call: Call) -> Outcome {
    let asked: FindingsAsked = call.asked()?;
    let paging = call.paging().await?;
    let filter = Filter { vehicle: asked.vehicle, with_closed: asked.closed.unwrap_or(false) };
    let mut reading = call.reading().await?;
    let rows =
        store::findings::page(&mut reading.conn(), call.fleet(), filter, paging.after(), paging.fetch())
            .await?;
    paging.answer(
        rows,
        |(_, finding)| (finding.found_at, finding.id.0),
        |(vehicle, finding)| Finding::of(vehicle, finding),
    )
}

async fn read(call: Call) -> Outcome {
    let id: FindingId = call.id("finding")?;
    let mut reading = call.reading().await?;
    let (vehicle, finding) =
        there(store::findings::find_with_vehicle(&mut reading.conn(), call.fleet(), id).await?)?;
    Ok(Answer::hashed(&Finding::of(vehicle, finding))?)
}

async fn close(call: Call) -> Outcome {
    let id: FindingId = call.id("finding")?;
    let FindingClosure { kind, reason, service } = call.written()?;
    let kind = match kind {
        Closing::Fixed => ClosureKind::Fixed,
        Closing::Dismissed => ClosureKind::Dismissed,
    };
    let mut deed = call.begin().await?;
    let found = store::findings::find_with_vehicle(&mut deed.act.conn(), call.fleet(), id).await?;
    let (vehicle, _) = there(found)?;
    let closed = findings::close(&mut deed.act, vehicle, id, kind, reason.0, service).await?;
    deed.done(&Finding::of(vehicle, closed)).await
}
