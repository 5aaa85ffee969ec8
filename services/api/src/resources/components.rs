//! Components: parts whose life is followed, from the day they are entered to the day they are taken off for good.

mod life;

use super::there;
use crate::http::answer::Answer;
use crate::http::call::{Call, Outcome};
use crate::http::conditional::Tag;
use crate::http::operation::Operation;
use crate::http::refusal::Stop;
use clerk::components::{self, NewComponent as New, NewEnd};
use contract::{Component, ComponentLife, NewComponent, NewComponentEnd, NewCost, StatedCost};
use model::{ComponentId, Cost, Scope};
use std::collections::BTreeMap;
use store::{Conn, StoreError};

pub(super) use life::over_distance;

const ONE: &str = "/components/{component}";

pub fn operations() -> Vec<Operation> {
    vec![
        Operation::list::<Component>(Scope::Read, "list_components", "/components")
            .says(
                "List components",
                "Parts of the fleet, fitted, in store or taken off for good, in the order in which they were recorded.",
            )
            .does(list),
        Operation::create::<NewComponent, Component>(Scope::Manage, "record_component", "/components")
            .says("Record a component", "It lies in store until it is fitted to a vehicle.")
            .does(create),
        Operation::get::<Component>(Scope::Read, "read_component", ONE)
            .says("Read a component", "One part whose life is followed.")
            .does(read),
        Operation::get::<ComponentLife>(Scope::Read, "read_component_life", &format!("{ONE}/life"))
            .says(
                "Read a component's life",
                "Distance run and days fitted, fitting by fitting and in all, across vehicles and places, and what it has cost \
                 over that distance. Distances go by the odometers told when it came and went unless counted readings speak \
                 against them; while it is fitted, until the last counted reading.",
            )
            .does(life::read),
        Operation::act::<NewComponentEnd, Component>(Scope::Manage, "retire_component", &format!("{ONE}:retire"))
            .says(
                "Take a component off for good",
                "With the reason, which decides how its life counts. Where it is fitted, that ends the same day. It cannot be \
                 fitted again unless this is withdrawn.",
            )
            .does(retire),
        Operation::withdraw(Scope::Manage, "withdraw_component_end", &format!("{ONE}:withdraw-end"))
            .says(
                "Withdraw that a component was taken off for good",
                "It lies in store and can be fitted again; what was said stays on record.",
            )
            .does(withdraw_end),
        Operation::act::<StatedCost, Component>(
            Scope::Manage,
            "state_component_cost",
            &format!("{ONE}:state-cost"),
        )
        .says("State what a component cost", "Bought and fitted. What was stated before stays on record and holds no longer.")
        .does(state_cost),
    ]
}

async fn list(call: Call) -> Outcome {
    let paging = call.paging().await?;
    let mut reading = call.reading().await?;
    let rows =
        store::components::page(&mut reading.conn(), call.fleet(), paging.after(), paging.fetch()).await?;
    let told = with_lives(&call, &mut reading.conn(), rows).await?;
    paging.answer(told, |component| component.id, |component| component)
}

/// The components with their costs and ends.
async fn with_lives(
    call: &Call,
    conn: &mut Conn<'_>,
    components: Vec<model::Component>,
) -> Result<Vec<Component>, StoreError> {
    let ids: Vec<ComponentId> = components.iter().map(|component| component.id).collect();
    let mut costs = store::component_costs::of_components(conn, call.fleet(), &ids).await?;
    let ends = store::component_ends::of_components(conn, call.fleet(), &ids).await?;
    let mut ends: BTreeMap<_, _> = ends.into_iter().map(|end| (end.component, end)).collect();
    let told = |component: model::Component| {
        let id = component.id;
        Component::of(component, costs.remove(&id), ends.remove(&id))
    };
    Ok(components.into_iter().map(told).collect())
}

/// The component in the path as it stands now.
async fn standing(call: &Call, conn: &mut Conn<'_>) -> Result<Component, Stop> {
    let found = store::components::find(conn, call.fleet(), call.id("component")?).await?;
    there(with_lives(call, conn, found.into_iter().collect()).await?.pop())
}

fn cost_of(cost: NewCost) -> Cost {
    Cost { minor: cost.minor.0, currency: cost.currency.0 }
}

async fn create(call: Call) -> Outcome {
    let NewComponent { kind, product, depth_new, came_used, cost } = call.written()?;
    let mut deed = call.begin().await?;
    let cost = cost.map(cost_of);
    let new = New {
        kind,
        product: product.0,
        depth_new: depth_new.map(|depth| depth.0),
        came_used: came_used.unwrap_or(false),
        cost: cost.clone(),
    };
    let component = components::create(&mut deed.act, new).await?;
    let place = call.place(format!("components/{}", component.id));
    let told = Component::of(component, cost, None);
    deed.made(place, Tag::of(&told), &told).await
}

async fn read(call: Call) -> Outcome {
    let mut reading = call.reading().await?;
    let component = standing(&call, &mut reading.conn()).await?;
    Ok(Answer::hashed(&component)?)
}

async fn retire(call: Call) -> Outcome {
    let component: ComponentId = call.id("component")?;
    let NewComponentEnd { reason, on, odometer, note } = call.written()?;
    let mut deed = call.begin().await?;
    let (odometer, note) = (odometer.map(|distance| distance.0), note.map(|text| text.0));
    components::retire(&mut deed.act, NewEnd { component, reason, on, odometer, note }).await?;
    let told = standing(&call, &mut deed.act.conn()).await?;
    deed.done(&told).await
}

async fn withdraw_end(call: Call) -> Outcome {
    let component: ComponentId = call.id("component")?;
    let mut deed = call.begin().await?;
    components::withdraw_end(&mut deed.act, component).await?;
    call.version_of_fact()?;
    deed.ended().await
}

async fn state_cost(call: Call) -> Outcome {
    let component: ComponentId = call.id("component")?;
    let StatedCost { cost } = call.written()?;
    let mut deed = call.begin().await?;
    components::state_cost(&mut deed.act, component, cost_of(cost)).await?;
    let told = standing(&call, &mut deed.act.conn()).await?;
    deed.done(&told).await
}
