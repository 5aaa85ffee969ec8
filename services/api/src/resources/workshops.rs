//! Workshops: who repairs.

use super::there;
use crate::http::answer::Answer;
use crate::http::call::{Call, Outcome};
use crate::http::conditional::Tag;
use crate::http::operation::Operation;
use clerk::organisation::{self, NewWorkshop as New, WorkshopChange as Change};
use contract::{DayOfWeek, NewWorkshop, Whole, Workshop, WorkshopChange};
use model::Scope;

pub fn operations() -> Vec<Operation> {
    vec![
        Operation::list::<Workshop>(Scope::Read, "list_workshops", "/workshops")
            .says("List workshops", "Workshops in the order in which they were entered.")
            .does(list),
        Operation::create::<NewWorkshop, Workshop>(Scope::Manage, "create_workshop", "/workshops")
            .says("Enter a workshop", "With how much notice it needs, when it works, and whether it does work that a warranty pays for.")
            .does(create),
        Operation::get::<Workshop>(Scope::Read, "read_workshop", "/workshops/{workshop}")
            .says("Read a workshop", "One workshop in its present version.")
            .does(read),
        Operation::change::<WorkshopChange, Workshop>(
            Scope::Manage,
            "change_workshop",
            "/workshops/{workshop}",
        )
        .says("Change a workshop", "What is left out stays as it is.")
        .does(change),
    ]
}

async fn list(call: Call) -> Outcome {
    let paging = call.paging().await?;
    let mut reading = call.reading().await?;
    let rows =
        store::workshops::page(&mut reading.conn(), call.fleet(), paging.after(), paging.fetch()).await?;
    paging.answer(rows, |workshop| workshop.id, Workshop::from)
}

async fn create(call: Call) -> Outcome {
    let NewWorkshop { name, kind, lead_days, warranty_work, working_weekdays } = call.written()?;
    let mut deed = call.begin().await?;
    let new = New {
        name: name.0,
        kind,
        lead_days: lead_days.unsigned(),
        warranty_work,
        working_weekdays: working_weekdays.and_then(|days| DayOfWeek::set(&days.0)),
    };
    let workshop = organisation::create_workshop(&mut deed.act, new).await?;
    let (place, tag) = (call.place(format!("workshops/{}", workshop.id)), Tag::version(workshop.version));
    deed.made(place, tag, &Workshop::from(workshop)).await
}

async fn read(call: Call) -> Outcome {
    let mut reading = call.reading().await?;
    let id = call.id("workshop")?;
    let workshop = there(store::workshops::find(&mut reading.conn(), call.fleet(), id).await?)?;
    Ok(Answer::versioned(workshop.version, &Workshop::from(workshop))?)
}

async fn change(call: Call) -> Outcome {
    let WorkshopChange { name, kind, lead_days, warranty_work, working_weekdays } = call.written()?;
    let (id, version) = (call.id("workshop")?, call.version()?);
    let change = Change {
        name: name.map(|line| line.0),
        kind: kind.wanted(),
        lead_days: lead_days.map(Whole::unsigned),
        warranty_work: warranty_work.wanted(),
        working_weekdays: working_weekdays.wanted().and_then(|days| DayOfWeek::set(&days.0)),
    };
    let mut deed = call.begin().await?;
    let workshop = organisation::change_workshop(&mut deed.act, id, version, change).await?;
    deed.changed(workshop.version, &Workshop::from(workshop)).await
}
