//! The log of running hours of a vehicle's engine, and what people decide about its entries.

use super::{judging, there, vehicle_of};
use crate::http::answer::Answer;
use crate::http::call::{Call, Outcome};
use crate::http::conditional::Tag;
use crate::http::deed::Deed;
use crate::http::operation::Operation;
use crate::http::refusal::Stop;
use clerk::meters::{self, NewHours};
use clerk::readings;
use contract::{
    HourCorrection, HourReading, HourReadingDecision, NewHourReading, ReadingWithdrawal, Release,
};
use model::{Decision, HourJudgement, HourVerdict, ReadingId, Scope, VehicleId};
use std::collections::BTreeMap;

const LOG: &str = "/vehicles/{vehicle}/hour-readings";

pub fn operations() -> Vec<Operation> {
    let entry = |verb: &str| format!("{LOG}/{{hour_reading}}{verb}");
    vec![
        Operation::list::<HourReading>(Scope::Read, "list_hour_readings", LOG)
            .says("List readings of running hours", "What the hour meter showed, in order of when it was read.")
            .does(list),
        Operation::create::<NewHourReading, HourReading>(Scope::Measure, "record_hour_reading", LOG)
            .says(
                "Record a reading of running hours",
                "It is kept whatever it says; one that cannot be right does not count until a person decides about it.",
            )
            .does(record),
        Operation::get::<HourReading>(Scope::Read, "read_hour_reading", &entry(""))
            .says("Read a reading of running hours", "One entry of the log.")
            .does(read),
        Operation::act::<Release, HourReadingDecision>(Scope::Manage, "release_hour_reading", &entry(":release"))
            .says("Release a reading of running hours", "It is right as it stands: it counts.")
            .does(release),
        Operation::act::<HourCorrection, HourReadingDecision>(
            Scope::Manage,
            "correct_hour_reading",
            &entry(":correct"),
        )
        .says("Correct a reading of running hours", "It should have said something else: the right value counts.")
        .does(correct),
        Operation::act::<ReadingWithdrawal, HourReadingDecision>(
            Scope::Manage,
            "withdraw_hour_reading",
            &entry(":withdraw"),
        )
        .says("Withdraw a reading of running hours", "It is wrong and is left out. It stays in the log.")
        .does(withdraw),
    ]
}

fn by_reading(judgements: Vec<HourJudgement>) -> BTreeMap<ReadingId, HourVerdict> {
    judgements.into_iter().map(|judgement| (judgement.reading, judgement.verdict)).collect()
}

async fn list(call: Call) -> Outcome {
    let paging = call.paging().await?;
    let mut reading = call.reading().await?;
    let vehicle = vehicle_of(&call, &mut reading.conn()).await?;
    let judged = store::derived::hour_judgements(&mut reading.conn(), call.fleet(), vehicle.id).await?;
    let judged = by_reading(judged);
    let (after, limit) = (paging.after(), paging.fetch());
    let rows =
        store::readings::hours::page(&mut reading.conn(), call.fleet(), vehicle.id, after, limit).await?;
    let told = |row: model::HourReading| judging::hour_reading(&row, judged.get(&row.id), &vehicle);
    paging.answer(rows, |row| (row.read_at, row.id.0), told)
}

async fn record(call: Call) -> Outcome {
    let vehicle: VehicleId = call.id("vehicle")?;
    let NewHourReading { value, read_at, source } = call.written()?;
    let mut deed = call.begin().await?;
    let reading =
        meters::record_hours(&mut deed.act, vehicle, NewHours { value: value.0, read_at, source }).await?;
    let judged = judged_now(&mut deed, vehicle).await?;
    let of = vehicle_of(&call, &mut deed.act.conn()).await?;
    let told = judging::hour_reading(&reading, judged.get(&reading.id), &of);
    let place = call.place(format!("vehicles/{vehicle}/hour-readings/{}", reading.id));
    deed.made(place, Tag::of(&told), &told).await
}

/// How the log is judged with what this act adds to it.
async fn judged_now(deed: &mut Deed, vehicle: VehicleId) -> Result<BTreeMap<ReadingId, HourVerdict>, Stop> {
    let horizons = deed.act.renew().await?;
    let own = horizons.into_iter().find(|horizon| horizon.vehicle == vehicle);
    Ok(own.map(|horizon| by_reading(horizon.hour_judgements)).unwrap_or_default())
}

async fn read(call: Call) -> Outcome {
    let id: ReadingId = call.id("hour_reading")?;
    let mut reading = call.reading().await?;
    let vehicle = vehicle_of(&call, &mut reading.conn()).await?;
    let found = store::readings::hours::find(&mut reading.conn(), call.fleet(), vehicle.id, id).await?;
    let found = there(found)?;
    let judged = store::derived::hour_judgements(&mut reading.conn(), call.fleet(), vehicle.id).await?;
    Ok(Answer::hashed(&judging::hour_reading(&found, by_reading(judged).get(&id), &vehicle))?)
}

async fn release(call: Call) -> Outcome {
    let Release { reason } = call.written()?;
    decide(call, Decision::Release, reason.0).await
}

async fn correct(call: Call) -> Outcome {
    let HourCorrection { value, reason } = call.written()?;
    decide(call, Decision::Correct { value: value.0 }, reason.0).await
}

async fn withdraw(call: Call) -> Outcome {
    let ReadingWithdrawal { reason } = call.written()?;
    decide(call, Decision::Withdraw, reason.0).await
}

async fn decide(call: Call, decision: Decision, reason: String) -> Outcome {
    let (vehicle, reading): (VehicleId, ReadingId) = (call.id("vehicle")?, call.id("hour_reading")?);
    let mut deed = call.begin().await?;
    let decided = readings::decide_hours(&mut deed.act, vehicle, reading, decision, reason).await?;
    let judged = judged_now(&mut deed, vehicle).await?;
    let of = vehicle_of(&call, &mut deed.act.conn()).await?;
    let judgement = judged.get(&reading).map(|verdict| judging::hour_judgement(verdict, &of));
    deed.done(&HourReadingDecision::of(decided, judgement)).await
}
