//! The meter log of a vehicle, and what people decide about its entries.

use super::{judging, there, vehicle_of};
use crate::http::answer::Answer;
use crate::http::call::{Call, Outcome};
use crate::http::conditional::Tag;
use crate::http::deed::Deed;
use crate::http::operation::Operation;
use crate::http::refusal::Stop;
use clerk::readings::{self, NewReading};
use contract::{
    Correction, NewOdometerReading, OdometerReading, ReadingDecision, ReadingWithdrawal, Release,
};
use model::{Decision, Judgement, ReadingId, Scope, VehicleId, Verdict};
use std::collections::BTreeMap;

const LOG: &str = "/vehicles/{vehicle}/odometer-readings";

pub fn operations() -> Vec<Operation> {
    let entry = |verb: &str| format!("{LOG}/{{reading}}{verb}");
    vec![
        Operation::list::<OdometerReading>(Scope::Read, "list_odometer_readings", LOG)
            .says(
                "List odometer readings",
                "The meter log in order of when it was read, each entry as it is judged now.",
            )
            .does(list),
        Operation::create::<NewOdometerReading, OdometerReading>(
            Scope::Measure,
            "record_odometer_reading",
            LOG,
        )
        .says(
            "Record an odometer reading",
            "It is kept whatever it says; one that cannot be right is held until a person decides about it.",
        )
        .does(record),
        Operation::get::<OdometerReading>(Scope::Read, "read_odometer_reading", &entry(""))
            .says("Read an odometer reading", "One entry of the meter log, as it is judged now.")
            .does(read),
        Operation::act::<Release, ReadingDecision>(
            Scope::Manage,
            "release_odometer_reading",
            &entry(":release"),
        )
        .says("Release an odometer reading", "It is right as it stands: it counts.")
        .does(release),
        Operation::act::<Correction, ReadingDecision>(
            Scope::Manage,
            "correct_odometer_reading",
            &entry(":correct"),
        )
        .says("Correct an odometer reading", "It should have said something else: the right value counts.")
        .does(correct),
        Operation::act::<ReadingWithdrawal, ReadingDecision>(
            Scope::Manage,
            "withdraw_odometer_reading",
            &entry(":withdraw"),
        )
        .says("Withdraw an odometer reading", "It is wrong and is left out. It stays in the log.")
        .does(withdraw),
    ]
}

fn by_reading(judgements: Vec<Judgement>) -> BTreeMap<ReadingId, Verdict> {
    judgements.into_iter().map(|judgement| (judgement.reading, judgement.verdict)).collect()
}

async fn list(call: Call) -> Outcome {
    let paging = call.paging().await?;
    let mut reading = call.reading().await?;
    let vehicle = vehicle_of(&call, &mut reading.conn()).await?;
    let judged = store::derived::judgements(&mut reading.conn(), call.fleet(), vehicle.id).await?;
    let judged = by_reading(judged);
    let rows =
        store::readings::page(&mut reading.conn(), call.fleet(), vehicle.id, paging.after(), paging.fetch())
            .await?;
    let told = |row: model::OdometerReading| judging::reading(&row, judged.get(&row.id), &vehicle);
    paging.answer(rows, |row| (row.read_at, row.id.0), told)
}

async fn read(call: Call) -> Outcome {
    let id: ReadingId = call.id("reading")?;
    let mut reading = call.reading().await?;
    let vehicle = vehicle_of(&call, &mut reading.conn()).await?;
    let found = there(store::readings::find(&mut reading.conn(), call.fleet(), vehicle.id, id).await?)?;
    let judged = store::derived::judgements(&mut reading.conn(), call.fleet(), vehicle.id).await?;
    Ok(Answer::hashed(&judging::reading(&found, by_reading(judged).get(&id), &vehicle))?)
}

async fn record(call: Call) -> Outcome {
    let vehicle: VehicleId = call.id("vehicle")?;
    let NewOdometerReading { value, read_at, source } = call.written()?;
    let mut deed = call.begin().await?;
    let new = NewReading { value: value.0, read_at, source };
    let recorded = readings::record(&mut deed.act, vehicle, new).await?;
    let judged = judged_now(&mut deed, vehicle).await?;
    let of = vehicle_of(&call, &mut deed.act.conn()).await?;
    let told = judging::reading(&recorded, judged.get(&recorded.id), &of);
    let place = call.place(format!("vehicles/{vehicle}/odometer-readings/{}", recorded.id));
    deed.made(place, Tag::of(&told), &told).await
}

/// How the log is judged with what this act adds to it.
async fn judged_now(deed: &mut Deed, vehicle: VehicleId) -> Result<BTreeMap<ReadingId, Verdict>, Stop> {
    let horizons = deed.act.renew().await?;
    let own = horizons.into_iter().find(|horizon| horizon.vehicle == vehicle);
    Ok(own.map(|horizon| by_reading(horizon.judgements)).unwrap_or_default())
}

async fn release(call: Call) -> Outcome {
    let Release { reason } = call.written()?;
    decide(call, Decision::Release, reason.0).await
}

async fn correct(call: Call) -> Outcome {
    let Correction { value, reason } = call.written()?;
    decide(call, Decision::Correct { value: value.0 }, reason.0).await
}

async fn withdraw(call: Call) -> Outcome {
    let ReadingWithdrawal { reason } = call.written()?;
    decide(call, Decision::Withdraw, reason.0).await
}

async fn decide(call: Call, decision: Decision, reason: String) -> Outcome {
    let (vehicle, reading) = (call.id("vehicle")?, call.id("reading")?);
    let mut deed = call.begin().await?;
    let decided = readings::decide(&mut deed.act, vehicle, reading, decision, reason).await?;
    let judged = judged_now(&mut deed, vehicle).await?;
    let of = vehicle_of(&call, &mut deed.act.conn()).await?;
    let judgement = judged.get(&reading).map(|verdict| judging::judgement(verdict, &of));
    deed.done(&ReadingDecision::of(decided, judgement)).await
}
