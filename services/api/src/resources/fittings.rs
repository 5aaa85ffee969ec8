//! Fittings: which component was where on a vehicle, from when to when.

use super::{there, vehicle_of};
use crate::http::answer::Answer;
use crate::http::call::{Call, Outcome};
use crate::http::conditional::Tag;
use crate::http::operation::Operation;
use clerk::components::{self, NewFitting as New, NewSet};
use contract::{Fitting, FittingEnd, NewFitting, SetSwap, SwappedSet};
use model::{FittingId, Scope, VehicleId};
use store::fittings::Filter;

const FITTINGS: &str = "/vehicles/{vehicle}/fittings";
const FITTING: &str = "/vehicles/{vehicle}/fittings/{fitting}";

pub fn operations() -> Vec<Operation> {
    vec![
        Operation::list::<Fitting>(Scope::Read, "list_fittings", FITTINGS)
            .says("List fittings", "What is and was fitted to the vehicle, in order of the day it began.")
            .does(list),
        Operation::create::<NewFitting, Fitting>(Scope::Manage, "fit_component", FITTINGS)
            .says(
                "Fit a component",
                "The component must be free. What is of its kind in that place is taken out the same day: into store, or off for \
                 good where `displaced` says why.",
            )
            .does(fit),
        Operation::get::<Fitting>(Scope::Read, "read_fitting", FITTING)
            .says("Read a fitting", "A component's time in one place.")
            .does(read),
        Operation::act::<FittingEnd, Fitting>(
            Scope::Manage,
            "remove_component",
            &format!("{FITTING}:remove"),
        )
        .says("Take a component off", "Its time in this place ends; it goes into store.")
        .does(remove),
        Operation::act::<SetSwap, SwappedSet>(Scope::Manage, "swap_set", &format!("{FITTINGS}:swap-set"))
            .says(
                "Swap a set",
                "A rotation, or one set for another, in one act: each component named is in its place from that day on, and \
                 what else of its kind was there goes into store. A wheel that came off is tightened again: record the \
                 service too, and it answers with what follows.",
            )
            .does(swap),
    ]
}

async fn list(call: Call) -> Outcome {
    let paging = call.paging().await?;
    let mut reading = call.reading().await?;
    let vehicle = vehicle_of(&call, &mut reading.conn()).await?;
    let filter = Filter { vehicle: Some(vehicle.id), component: None };
    let rows =
        store::fittings::page(&mut reading.conn(), call.fleet(), filter, paging.after(), paging.fetch())
            .await?;
    paging.answer(rows, |row| (row.from, row.id.0), |row| Fitting::of(&row, vehicle.odometer_unit))
}

async fn fit(call: Call) -> Outcome {
    let vehicle: VehicleId = call.id("vehicle")?;
    let NewFitting { component, place, from, odometer, displaced } = call.written()?;
    let mut deed = call.begin().await?;
    let new = New { component, place, from, odometer: odometer.0 };
    let fitting = components::fit_in_place_of(&mut deed.act, vehicle, new, displaced).await?;
    let unit = vehicle_of(&call, &mut deed.act.conn()).await?.odometer_unit;
    let told = Fitting::of(&fitting, unit);
    let place = call.place(format!("vehicles/{vehicle}/fittings/{}", fitting.id));
    deed.made(place, Tag::of(&told), &told).await
}

async fn read(call: Call) -> Outcome {
    let id: FittingId = call.id("fitting")?;
    let mut reading = call.reading().await?;
    let vehicle = vehicle_of(&call, &mut reading.conn()).await?;
    let found = store::fittings::find(&mut reading.conn(), call.fleet(), id).await?;
    let fitting = there(found.filter(|fitting| fitting.vehicle == vehicle.id))?;
    Ok(Answer::hashed(&Fitting::of(&fitting, vehicle.odometer_unit))?)
}

async fn remove(call: Call) -> Outcome {
    let (vehicle, id) = (call.id("vehicle")?, call.id("fitting")?);
    let FittingEnd { to, odometer, reason } = call.written()?;
    let mut deed = call.begin().await?;
    let fitting = components::remove(&mut deed.act, vehicle, id, to, odometer.0, reason.0).await?;
    let unit = vehicle_of(&call, &mut deed.act.conn()).await?.odometer_unit;
    deed.done(&Fitting::of(&fitting, unit)).await
}

async fn swap(call: Call) -> Outcome {
    let vehicle: VehicleId = call.id("vehicle")?;
    let SetSwap { on, odometer, places, reason } = call.written()?;
    let places = places.0.into_iter().map(|one| (one.component, one.place)).collect();
    let mut deed = call.begin().await?;
    let new = NewSet { on, odometer: odometer.0, places, reason: reason.0 };
    let fitted = components::swap_set(&mut deed.act, vehicle, new).await?;
    let unit = vehicle_of(&call, &mut deed.act.conn()).await?.odometer_unit;
    let fittings = fitted.iter().map(|fitting| Fitting::of(fitting, unit)).collect();
    deed.done(&SwappedSet { fittings }).await
}
