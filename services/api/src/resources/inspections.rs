//! Inspections of a vehicle. They come in by batches alone.

use super::{there, vehicle_of};
use crate::http::answer::Answer;
use crate::http::call::{Call, Outcome};
use crate::http::deed::FACT;
use crate::http::operation::Operation;
use contract::Inspection;
use model::Scope;

const INSPECTIONS: &str = "/vehicles/{vehicle}/inspections";

pub fn operations() -> Vec<Operation> {
    vec![
        Operation::list::<Inspection>(Scope::Read, "list_inspections", INSPECTIONS)
            .says("List inspections", "Checks of the vehicle, in order of when they were made.")
            .does(list),
        Operation::get::<Inspection>(
            Scope::Read,
            "read_inspection",
            &format!("{INSPECTIONS}/{{inspection}}"),
        )
        .says("Read an inspection", "One check of the vehicle with all that was measured.")
        .does(read),
    ]
}

async fn list(call: Call) -> Outcome {
    let paging = call.paging().await?;
    let mut reading = call.reading().await?;
    let vehicle = vehicle_of(&call, &mut reading.conn()).await?.id;
    let rows =
        store::inspections::page(&mut reading.conn(), call.fleet(), vehicle, paging.after(), paging.fetch())
            .await?;
    paging.answer(rows, |row| (row.performed_at, row.id.0), Inspection::from)
}

async fn read(call: Call) -> Outcome {
    let (vehicle, id) = (call.id("vehicle")?, call.id("inspection")?);
    let mut reading = call.reading().await?;
    let found = there(store::inspections::find(&mut reading.conn(), call.fleet(), vehicle, id).await?)?;
    Ok(Answer::versioned(FACT, &Inspection::from(found))?)
}
