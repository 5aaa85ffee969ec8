//! What the dash's own service indicator of a vehicle says.

use super::{there, vehicle_of};
use crate::http::answer::Answer;
use crate::http::call::{Call, Outcome};
use crate::http::deed::FACT;
use crate::http::operation::Operation;
use clerk::ActError;
use clerk::indicators::{self, NewIndicator};
use contract::{IndicatorReading, NewIndicatorReading};
use model::{Scope, VehicleId};

const READINGS: &str = "/vehicles/{vehicle}/indicator-readings";
const READING: &str = "/vehicles/{vehicle}/indicator-readings/{indicator_reading}";

pub fn operations() -> Vec<Operation> {
    vec![
        Operation::list::<IndicatorReading>(Scope::Read, "list_indicator_readings", READINGS)
            .says("List indicator readings", "What the dash said was left, in order of when it was read.")
            .does(list),
        Operation::create::<NewIndicatorReading, IndicatorReading>(
            Scope::Measure,
            "record_indicator_reading",
            READINGS,
        )
        .says(
            "Record an indicator reading",
            "The rule is then due at the earlier of its own limit and what the dash says. An odometer read along with it \
             goes into the meter log.",
        )
        .does(record),
        Operation::get::<IndicatorReading>(Scope::Read, "read_indicator_reading", READING)
            .says("Read an indicator reading", "What the dash said on one occasion.")
            .does(read),
        Operation::withdraw(Scope::Manage, "withdraw_indicator_reading", &format!("{READING}:withdraw"))
            .says("Withdraw an indicator reading", "It no longer counts; it stays on record.")
            .does(withdraw),
    ]
}

async fn list(call: Call) -> Outcome {
    let paging = call.paging().await?;
    let mut reading = call.reading().await?;
    let vehicle = vehicle_of(&call, &mut reading.conn()).await?.id;
    let rows =
        store::indicators::page(&mut reading.conn(), call.fleet(), vehicle, paging.after(), paging.fetch())
            .await?;
    paging.answer(rows, |row| (row.read_at, row.id.0), IndicatorReading::from)
}

async fn record(call: Call) -> Outcome {
    let vehicle: VehicleId = call.id("vehicle")?;
    let NewIndicatorReading { rule, left, odometer, read_at, source } = call.written()?;
    let left = left.left().ok_or_else(|| ActError::fault("/left", "missing", "what is left is needed"))?;
    let odometer = odometer.map(|distance| distance.0);
    let mut deed = call.begin().await?;
    let new = NewIndicator { rule, left, odometer, read_at, source };
    let said = indicators::record(&mut deed.act, vehicle, new).await?;
    let place = call.place(format!("vehicles/{vehicle}/indicator-readings/{}", said.id));
    deed.recorded(place, &IndicatorReading::from(said)).await
}

async fn read(call: Call) -> Outcome {
    let (vehicle, id) = (call.id("vehicle")?, call.id("indicator_reading")?);
    let mut reading = call.reading().await?;
    let found = there(store::indicators::find(&mut reading.conn(), call.fleet(), vehicle, id).await?)?;
    Ok(Answer::versioned(FACT, &IndicatorReading::from(found))?)
}

async fn withdraw(call: Call) -> Outcome {
    let (vehicle, id) = (call.id("vehicle")?, call.id("indicator_reading")?);
    let mut deed = call.begin().await?;
    indicators::withdraw(&mut deed.act, vehicle, id).await?;
    call.version_of_fact()?;
    deed.ended().await
}
