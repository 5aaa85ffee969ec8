//! Stays of a vehicle: time off the road.

use super::{there, vehicle_of};
use crate::http::answer::Answer;
use crate::http::call::{Call, Outcome};
use crate::http::operation::Operation;
use crate::http::refusal::Refusal;
use clerk::stays::{self, NewStay as New};
use contract::{NewStay, ProblemKind, Stay, StayEnd};
use model::{Scope, StayId, VehicleId};

const STAYS: &str = "/vehicles/{vehicle}/stays";
const STAY: &str = "/vehicles/{vehicle}/stays/{stay}";

pub fn operations() -> Vec<Operation> {
    vec![
        Operation::list::<Stay>(Scope::Read, "list_stays", STAYS)
            .says("List stays", "Times the vehicle was off the road, in order of when it went in.")
            .does(list),
        Operation::create::<NewStay, Stay>(Scope::Measure, "open_stay", STAYS)
            .says(
                "Open a stay",
                "The vehicle went off the road. While it is, nobody is reminded of it, but of what must not be driven and \
                 of what is to be seen to before it goes out again. Two stays of one vehicle never overlap.",
            )
            .does(open),
        Operation::get::<Stay>(Scope::Read, "read_stay", STAY)
            .says("Read a stay", "One time off the road.")
            .does(read),
        Operation::act::<StayEnd, Stay>(Scope::Measure, "close_stay", &format!("{STAY}:close"))
            .says("Close a stay", "The vehicle came out again.")
            .does(close),
        Operation::withdraw(Scope::Manage, "withdraw_stay", &format!("{STAY}:withdraw"))
            .says("Withdraw a stay", "The vehicle was not off the road; the stay remains on record.")
            .does(withdraw),
    ]
}

async fn list(call: Call) -> Outcome {
    let paging = call.paging().await?;
    let mut reading = call.reading().await?;
    let vehicle = vehicle_of(&call, &mut reading.conn()).await?.id;
    let rows = store::stays::page(&mut reading.conn(), call.fleet(), vehicle, paging.after(), paging.fetch())
        .await?;
    paging.answer(rows, |row| (row.in_at, row.id.0), Stay::from)
}

async fn open(call: Call) -> Outcome {
    let vehicle: VehicleId = call.id("vehicle")?;
    let NewStay { workshop, in_at, out_at, reason, waiting_for } = call.written()?;
    let waiting_for = waiting_for.map(|line| line.0);
    let mut deed = call.begin().await?;
    let new = New { workshop, in_at, out_at, reason: reason.0, waiting_for };
    let stay = Stay::from(stays::open(&mut deed.act, vehicle, new).await?);
    let place = call.place(format!("vehicles/{vehicle}/stays/{}", stay.id));
    let tag = crate::http::conditional::Tag::version(stay.version);
    deed.made(place, tag, &stay).await
}

async fn read(call: Call) -> Outcome {
    let (vehicle, id) = (call.id("vehicle")?, call.id("stay")?);
    let mut reading = call.reading().await?;
    let stay = there(store::stays::find(&mut reading.conn(), call.fleet(), vehicle, id).await?)?;
    let stay = Stay::from(stay);
    Ok(Answer::versioned(stay.version, &stay)?)
}

async fn close(call: Call) -> Outcome {
    let (vehicle, id): (VehicleId, StayId) = (call.id("vehicle")?, call.id("stay")?);
    let StayEnd { out_at } = call.written()?;
    let mut deed = call.begin().await?;
    let stay = stays::close(&mut deed.act, vehicle, id, out_at).await?;
    deed.done(&Stay::from(stay)).await
}

async fn withdraw(call: Call) -> Outcome {
    let (vehicle, id): (VehicleId, StayId) = (call.id("vehicle")?, call.id("stay")?);
    let mut deed = call.begin().await?;
    let stay = Stay::from(stays::withdraw(&mut deed.act, vehicle, id).await?);
    if call.version()? != stay.version {
        let detail = "The stay was closed since it was read.";
        return Err(Refusal::new(ProblemKind::StaleVersion, detail).into());
    }
    deed.ended().await
}
