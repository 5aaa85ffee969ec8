//! Depots: where vehicles stand, in one time zone and under one law.

use super::there;
use crate::http::answer::Answer;
use crate::http::call::{Call, Outcome};
use crate::http::conditional::Tag;
use crate::http::operation::Operation;
use clerk::organisation::{self, DepotChange as Change, NewDepot as New};
use contract::{Depot, DepotChange, NewDepot};
use model::Scope;

pub fn operations() -> Vec<Operation> {
    vec![
        Operation::list::<Depot>(Scope::Read, "list_depots", "/depots")
            .says("List depots", "Depots in the order in which they were made.")
            .does(list),
        Operation::create::<NewDepot, Depot>(Scope::Manage, "create_depot", "/depots")
            .says("Make a depot", "A depot has one time zone, in which civil dates are read, and one law.")
            .does(create),
        Operation::get::<Depot>(Scope::Read, "read_depot", "/depots/{depot}")
            .says("Read a depot", "One depot in its present version.")
            .does(read),
        Operation::change::<DepotChange, Depot>(Scope::Manage, "change_depot", "/depots/{depot}")
            .says(
                "Change a depot",
                "With another zone or law, all vehicles that stand there are computed anew.",
            )
            .does(change),
    ]
}

async fn list(call: Call) -> Outcome {
    let paging = call.paging().await?;
    let mut reading = call.reading().await?;
    let rows = store::depots::page(&mut reading.conn(), call.fleet(), paging.after(), paging.fetch()).await?;
    paging.answer(rows, |depot| depot.id, Depot::from)
}

async fn create(call: Call) -> Outcome {
    let NewDepot { name, zone, jurisdiction, design_low } = call.written()?;
    let mut deed = call.begin().await?;
    let design_low = design_low.map(|low| low.0);
    let new = New { name: name.0, zone, jurisdiction, design_low };
    let depot = organisation::create_depot(&mut deed.act, new).await?;
    let (place, tag) = (call.place(format!("depots/{}", depot.id)), Tag::version(depot.version));
    deed.made(place, tag, &Depot::from(depot)).await
}

async fn read(call: Call) -> Outcome {
    let mut reading = call.reading().await?;
    let depot = there(store::depots::find(&mut reading.conn(), call.fleet(), call.id("depot")?).await?)?;
    Ok(Answer::versioned(depot.version, &Depot::from(depot))?)
}

async fn change(call: Call) -> Outcome {
    let DepotChange { name, zone, jurisdiction, design_low } = call.written()?;
    let (id, version) = (call.id("depot")?, call.version()?);
    let change = Change {
        name: name.map(|line| line.0),
        zone: zone.wanted(),
        jurisdiction: jurisdiction.wanted(),
        design_low: design_low.map(|low| low.map(|low| low.0)),
    };
    let mut deed = call.begin().await?;
    let depot = organisation::change_depot(&mut deed.act, id, version, change).await?;
    deed.changed(depot.version, &Depot::from(depot)).await
}
