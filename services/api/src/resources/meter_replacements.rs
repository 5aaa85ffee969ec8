//! Replaced meters of a vehicle.

use super::{there, vehicle_of};
use crate::http::answer::Answer;
use crate::http::call::{Call, Outcome};
use crate::http::deed::FACT;
use crate::http::operation::Operation;
use clerk::meters::{self, NewReplacement};
use contract::{MeterReplacement, NewMeterReplacement};
use model::{Scope, VehicleId};

const REPLACEMENTS: &str = "/vehicles/{vehicle}/meter-replacements";
const REPLACEMENT: &str = "/vehicles/{vehicle}/meter-replacements/{meter_replacement}";

pub fn operations() -> Vec<Operation> {
    vec![
        Operation::list::<MeterReplacement>(Scope::Read, "list_meter_replacements", REPLACEMENTS)
            .says("List replaced meters", "In order of when they were replaced.")
            .does(list),
        Operation::create::<NewMeterReplacement, MeterReplacement>(
            Scope::Manage,
            "record_meter_replacement",
            REPLACEMENTS,
        )
        .says(
            "Record that a meter was replaced",
            "Readings from then on are of the new instrument: what the old one showed last and the new one showed first \
             joins them into one log, whichever reading was recorded first.",
        )
        .does(record),
        Operation::get::<MeterReplacement>(Scope::Read, "read_meter_replacement", REPLACEMENT)
            .says("Read a replaced meter", "One replacement of a meter.")
            .does(read),
        Operation::withdraw(Scope::Manage, "withdraw_meter_replacement", &format!("{REPLACEMENT}:withdraw"))
            .says("Withdraw a replaced meter", "The meter was not replaced; the entry stays on record.")
            .does(withdraw),
    ]
}

async fn list(call: Call) -> Outcome {
    let paging = call.paging().await?;
    let mut reading = call.reading().await?;
    let vehicle = vehicle_of(&call, &mut reading.conn()).await?.id;
    let rows =
        store::meters::page(&mut reading.conn(), call.fleet(), vehicle, paging.after(), paging.fetch())
            .await?;
    paging.answer(rows, |row| (row.replaced_at, row.id.0), MeterReplacement::from)
}

async fn record(call: Call) -> Outcome {
    let vehicle: VehicleId = call.id("vehicle")?;
    let NewMeterReplacement { quantity, replaced_at, old_shows, new_shows, reason } = call.written()?;
    let (old_shows, new_shows) = (old_shows.0, new_shows.0);
    let mut deed = call.begin().await?;
    let new = NewReplacement { quantity, replaced_at, old_shows, new_shows, reason: reason.0 };
    let replacement = meters::replace(&mut deed.act, vehicle, new).await?;
    let place = call.place(format!("vehicles/{vehicle}/meter-replacements/{}", replacement.id));
    deed.recorded(place, &MeterReplacement::from(replacement)).await
}

async fn read(call: Call) -> Outcome {
    let (vehicle, id) = (call.id("vehicle")?, call.id("meter_replacement")?);
    let mut reading = call.reading().await?;
    let found = there(store::meters::find(&mut reading.conn(), call.fleet(), vehicle, id).await?)?;
    Ok(Answer::versioned(FACT, &MeterReplacement::from(found))?)
}

async fn withdraw(call: Call) -> Outcome {
    let (vehicle, id) = (call.id("vehicle")?, call.id("meter_replacement")?);
    let mut deed = call.begin().await?;
    meters::withdraw(&mut deed.act, vehicle, id).await?;
    call.version_of_fact()?;
    deed.ended().await
}
