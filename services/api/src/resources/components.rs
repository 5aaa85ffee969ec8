//! Components: parts whose life is followed.

use super::there;
use crate::http::answer::Answer;
use crate::http::call::{Call, Outcome};
use crate::http::deed::FACT;
use crate::http::operation::Operation;
use clerk::components::{self, NewComponent as New};
use contract::{Component, NewComponent};
use model::Scope;

pub fn operations() -> Vec<Operation> {
    vec![
        Operation::list::<Component>(Scope::Read, "list_components", "/components")
            .says(
                "List components",
                "Parts of the fleet, fitted or in store, in the order in which they were recorded.",
            )
            .does(list),
        Operation::create::<NewComponent, Component>(Scope::Manage, "record_component", "/components")
            .says("Record a component", "It lies in store until it is fitted to a vehicle.")
            .does(create),
        Operation::get::<Component>(Scope::Read, "read_component", "/components/{component}")
            .says("Read a component", "One part whose life is followed.")
            .does(read),
    ]
}

async fn list(call: Call) -> Outcome {
    let paging = call.paging().await?;
    let mut reading = call.reading().await?;
    let rows =
        store::components::page(&mut reading.conn(), call.fleet(), paging.after(), paging.fetch()).await?;
    paging.answer(rows, |row| row.id, Component::from)
}

async fn create(call: Call) -> Outcome {
    let NewComponent { kind, product, depth_new } = call.written()?;
    let mut deed = call.begin().await?;
    let new = New {
        kind,
        product: product.0,
        depth_new: depth_new.map(|depth| depth.0),
        came_used: false,
        cost: None,
    };
    let component = components::create(&mut deed.act, new).await?;
    let place = call.place(format!("components/{}", component.id));
    deed.recorded(place, &Component::from(component)).await
}

async fn read(call: Call) -> Outcome {
    let mut reading = call.reading().await?;
    let id = call.id("component")?;
    let component = there(store::components::find(&mut reading.conn(), call.fleet(), id).await?)?;
    Ok(Answer::versioned(FACT, &Component::from(component))?)
}
