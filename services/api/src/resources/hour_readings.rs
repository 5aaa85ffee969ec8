//! The log of running hours of a vehicle's engine, and what people decide about its entries.

use super::{there, vehicle_of};
use crate::http::answer::Answer;
use crate::http::call::{Call, Outcome};
use crate::http::deed::FACT;
use crate::http::operation::Operation;
use clerk::meters::{self, NewHours};
use clerk::readings;
use contract::{HourCorrection, HourReading, NewHourReading, ReadingDecision, ReadingWithdrawal, Release};
use model::{Decision, ReadingId, Scope, VehicleId};

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
        Operation::act::<Release, ReadingDecision>(Scope::Manage, "release_hour_reading", &entry(":release"))
            .says("Release a reading of running hours", "It is right as it stands: it counts.")
            .does(release),
        Operation::act::<HourCorrection, ReadingDecision>(
            Scope::Manage,
            "correct_hour_reading",
            &entry(":correct"),
        )
        .says("Correct a reading of running hours", "It should have said something else: the right value counts.")
        .does(correct),
        Operation::act::<ReadingWithdrawal, ReadingDecision>(
            Scope::Manage,
            "withdraw_hour_reading",
            &entry(":withdraw"),
        )
        .says("Withdraw a reading of running hours", "It is wrong and is left out. It stays in the log.")
        .does(withdraw),
    ]
}

async fn list(call: Call) -> Outcome {
    let paging = call.paging().await?;
    let mut reading = call.reading().await?;
    let vehicle = vehicle_of(&call, &mut reading.conn()).await?.id;
    let (after, limit) = (paging.after(), paging.fetch());
    let rows = store::readings::hours::page(&mut reading.conn(), call.fleet(), vehicle, after, limit).await?;
    paging.answer(rows, |row| (row.read_at, row.id.0), HourReading::from)
}

async fn record(call: Call) -> Outcome {
    let vehicle: VehicleId = call.id("vehicle")?;
    let NewHourReading { value, read_at, source } = call.written()?;
    let mut deed = call.begin().await?;
    let reading =
        meters::record_hours(&mut deed.act, vehicle, NewHours { value: value.0, read_at, source }).await?;
    let place = call.place(format!("vehicles/{vehicle}/hour-readings/{}", reading.id));
    deed.recorded(place, &HourReading::from(reading)).await
}

async fn read(call: Call) -> Outcome {
    let (vehicle, id) = (call.id("vehicle")?, call.id("hour_reading")?);
    let mut reading = call.reading().await?;
    let found = there(store::readings::hours::find(&mut reading.conn(), call.fleet(), vehicle, id).await?)?;
    Ok(Answer::versioned(FACT, &HourReading::from(found))?)
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
    deed.done(&ReadingDecision::of(decided, None)).await
}
