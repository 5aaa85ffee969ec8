//! A vehicle's exceptions to rules.

use super::{there, vehicle_of};
use crate::http::answer::Answer;
use crate::http::call::{Call, Outcome};
use crate::http::deed::FACT;
use crate::http::operation::Operation;
use clerk::rulebooks;
use contract::{NewRuleOverride, RuleOverride};
use model::{Every, Scope, VehicleId};

const OVERRIDES: &str = "/vehicles/{vehicle}/rule-overrides";
const OVERRIDE: &str = "/vehicles/{vehicle}/rule-overrides/{rule_override}";

pub fn operations() -> Vec<Operation> {
    vec![
        Operation::list::<RuleOverride>(Scope::Read, "list_rule_overrides", OVERRIDES)
            .says(
                "List a vehicle's exceptions",
                "Exceptions in the order in which they were made; the newest of a rule holds.",
            )
            .does(list),
        Operation::create::<NewRuleOverride, RuleOverride>(Scope::Manage, "override_rule", OVERRIDES)
            .says(
                "Make an exception",
                "Another interval for one vehicle, or none at all, with a reason that is kept.",
            )
            .does(create),
        Operation::get::<RuleOverride>(Scope::Read, "read_rule_override", OVERRIDE)
            .says("Read an exception", "One exception of the vehicle.")
            .does(read),
        Operation::withdraw(Scope::Manage, "withdraw_rule_override", &format!("{OVERRIDE}:withdraw"))
            .says("Withdraw an exception", "The rule holds again as it stands in the rulebook.")
            .does(withdraw),
    ]
}

async fn list(call: Call) -> Outcome {
    let paging = call.paging().await?;
    let mut reading = call.reading().await?;
    let vehicle = vehicle_of(&call, &mut reading.conn()).await?.id;
    let rows =
        store::overrides::page(&mut reading.conn(), call.fleet(), vehicle, paging.after(), paging.fetch())
            .await?;
    paging.answer(rows, |row| row.id, RuleOverride::from)
}

async fn create(call: Call) -> Outcome {
    let vehicle: VehicleId = call.id("vehicle")?;
    let NewRuleOverride { rule, every, reason, .. } = call.written()?;
    let mut deed = call.begin().await?;
    let every = every.map(Every::from);
    let exception = rulebooks::override_rule(&mut deed.act, vehicle, rule, every, reason.0).await?;
    let place = call.place(format!("vehicles/{vehicle}/rule-overrides/{}", exception.id));
    deed.recorded(place, &RuleOverride::from(exception)).await
}

async fn read(call: Call) -> Outcome {
    let (vehicle, id) = (call.id("vehicle")?, call.id("rule_override")?);
    let mut reading = call.reading().await?;
    let exception = there(store::overrides::find(&mut reading.conn(), call.fleet(), vehicle, id).await?)?;
    Ok(Answer::versioned(FACT, &RuleOverride::from(exception))?)
}

async fn withdraw(call: Call) -> Outcome {
    let (vehicle, id) = (call.id("vehicle")?, call.id("rule_override")?);
    let mut deed = call.begin().await?;
    rulebooks::withdraw_override(&mut deed.act, vehicle, id).await?;
    call.version_of_fact()?;
    deed.ended().await
}
