//! Papers of a vehicle: documents with an expiry.

use super::{there, vehicle_of};
use crate::http::answer::Answer;
use crate::http::call::{Call, Outcome};
use crate::http::deed::FACT;
use crate::http::operation::Operation;
use clerk::papers::{self, NewPaper as New};
use contract::{NewPaper, Paper};
use model::{Scope, VehicleId};

const PAPERS: &str = "/vehicles/{vehicle}/papers";
const PAPER: &str = "/vehicles/{vehicle}/papers/{paper}";

pub fn operations() -> Vec<Operation> {
    vec![
        Operation::list::<Paper>(Scope::Read, "list_papers", PAPERS)
            .says("List papers", "Documents of the vehicle, in order of expiry.")
            .does(list),
        Operation::create::<NewPaper, Paper>(Scope::Manage, "record_paper", PAPERS)
            .says("Record a paper", "The newest expiry of a kind is the one that holds.")
            .does(record),
        Operation::get::<Paper>(Scope::Read, "read_paper", PAPER)
            .says("Read a paper", "One document of the vehicle.")
            .does(read),
        Operation::withdraw(Scope::Manage, "withdraw_paper", &format!("{PAPER}:withdraw"))
            .says("Withdraw a paper", "It no longer counts; it stays on record.")
            .does(withdraw),
    ]
}

async fn list(call: Call) -> Outcome {
    let paging = call.paging().await?;
    let mut reading = call.reading().await?;
    let vehicle = vehicle_of(&call, &mut reading.conn()).await?.id;
    let rows =
        store::papers::page(&mut reading.conn(), call.fleet(), vehicle, paging.after(), paging.fetch())
            .await?;
    paging.answer(rows, |row| (row.expires_on, row.id.0), Paper::from)
}

async fn record(call: Call) -> Outcome {
    let vehicle: VehicleId = call.id("vehicle")?;
    let NewPaper { kind, reference, issued_on, expires_on } = call.written()?;
    let new = New { kind, reference: reference.map(|line| line.0), issued_on, expires_on };
    let mut deed = call.begin().await?;
    let paper = papers::record(&mut deed.act, vehicle, new).await?;
    let place = call.place(format!("vehicles/{vehicle}/papers/{}", paper.id));
    deed.recorded(place, &Paper::from(paper)).await
}

async fn read(call: Call) -> Outcome {
    let (vehicle, id) = (call.id("vehicle")?, call.id("paper")?);
    let mut reading = call.reading().await?;
    let paper = there(store::papers::find(&mut reading.conn(), call.fleet(), vehicle, id).await?)?;
    Ok(Answer::versioned(FACT, &Paper::from(paper))?)
}

async fn withdraw(call: Call) -> Outcome {
    let (vehicle, id) = (call.id("vehicle")?, call.id("paper")?);
    let mut deed = call.begin().await?;
    papers::withdraw(&mut deed.act, vehicle, id).await?;
    call.version_of_fact()?;
    deed.ended().await
}
