//! What the fleet has decided, and the limits that measurements are held to.

use super::there;
use crate::http::answer::Answer;
use crate::http::call::{Call, Outcome};
use crate::http::operation::Operation;
use contract::{HouseLimit, Limit, Policy, PolicyChange};
use model::Scope;

pub fn operations() -> Vec<Operation> {
    vec![
        Operation::get::<Policy>(Scope::Read, "read_policy", "/policy")
            .says("Read the policy", "What the fleet has decided: when to tell, and its own limits.")
            .does(read),
        Operation::change::<PolicyChange, Policy>(Scope::Admin, "change_policy", "/policy")
            .says(
                "Change the policy",
                "Limits may be made stricter, and laxer where no law is concerned, with a reason that every grade resting \
                 on them tells. All vehicles are computed anew.",
            )
            .does(change),
        Operation::list::<Limit>(Scope::Read, "list_limits", "/limits")
            .says(
                "List limits",
                "Every number that measurements are held to, with its source and how well that is known, and what the \
                 fleet has set in its place.",
            )
            .does(list_limits),
    ]
}

async fn read(call: Call) -> Outcome {
    let mut reading = call.reading().await?;
    let found = store::fleets::versioned_policy(&mut reading.conn(), call.fleet()).await?;
    let (version, policy) = there(found)?;
    Ok(Answer::versioned(version, &Policy::of(policy, version))?)
}

async fn change(call: Call) -> Outcome {
    let change: PolicyChange = call.written()?;
    let expected = call.version()?;
    let mut deed = call.begin().await?;
    let before = store::fleets::policy(&mut deed.act.conn(), call.fleet()).await?;
    let after = change.applied_to(before);
    clerk::fleets::change_policy(&mut deed.act, expected, &after).await?;
    deed.changed(expected + 1, &Policy::of(after, expected + 1)).await
}

async fn list_limits(call: Call) -> Outcome {
    let paging = call.paging::<String>().await?;
    let mut reading = call.reading().await?;
    let policy = store::fleets::policy(&mut reading.conn(), call.fleet()).await?;
    let after = paging.after().unwrap_or_default();
    let mut limits: Vec<&engine::Limit> =
        engine::limits().filter(|limit| limit.key > after.as_str()).collect();
    limits.sort_by_key(|limit| limit.key);
    limits.truncate(usize::try_from(paging.fetch()).unwrap_or(0));
    paging.answer(limits, |limit| limit.key.to_owned(), |limit| told(limit, &policy))
}

fn told(limit: &engine::Limit, policy: &model::Policy) -> Limit {
    let own = policy.house_limits.iter().find(|house| house.limit.as_str() == limit.key);
    Limit {
        key: limit.key.to_owned(),
        discipline: limit.discipline.word().to_owned(),
        name: limit.name.to_owned(),
        law_of: limit.jurisdiction,
        gross_mass: limit.class.to_string(),
        wheels: limit.wheels.word().to_owned(),
        met: limit.bound.to_string(),
        value: limit.bound.value().map(Into::into),
        grade: limit.grade,
        source: limit.source.to_owned(),
        edition: limit.edition.to_owned(),
        standing: limit.standing.word().to_owned(),
        own: own.cloned().map(HouseLimit::from),
    }
}
