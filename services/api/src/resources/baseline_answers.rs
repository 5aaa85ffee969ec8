//! Answers to the baseline check of a used vehicle.

use super::{there, vehicle_of};
use crate::http::answer::Answer;
use crate::http::call::{Call, Outcome};
use crate::http::deed::FACT;
use crate::http::operation::Operation;
use clerk::rulebooks;
use contract::{BaselineAnswer, BaselineAnswersGiven, NewBaselineAnswer, NewBaselineAnswers};
use model::{Scope, VehicleId};

const ANSWERS: &str = "/vehicles/{vehicle}/baseline-answers";

pub fn operations() -> Vec<Operation> {
    vec![
        Operation::list::<BaselineAnswer>(Scope::Read, "list_baseline_answers", ANSWERS)
            .says(
                "List baseline answers",
                "How unproven rules of the vehicle were settled; the newest of a rule holds.",
            )
            .does(list),
        Operation::create::<NewBaselineAnswers, BaselineAnswersGiven>(
            Scope::Manage,
            "answer_baseline_check",
            ANSWERS,
        )
        .says(
            "Answer the baseline check",
            "Settles rules of a vehicle without history: proven, to be done now, or counted from a day on.",
        )
        .does(answer),
        Operation::get::<BaselineAnswer>(
            Scope::Read,
            "read_baseline_answer",
            &format!("{ANSWERS}/{{baseline_answer}}"),
        )
        .says("Read a baseline answer", "How one rule was settled.")
        .does(read),
    ]
}

async fn list(call: Call) -> Outcome {
    let paging = call.paging().await?;
    let mut reading = call.reading().await?;
    let vehicle = vehicle_of(&call, &mut reading.conn()).await?.id;
    let rows =
        store::baselines::page(&mut reading.conn(), call.fleet(), vehicle, paging.after(), paging.fetch())
            .await?;
    paging.answer(rows, |row| row.id, BaselineAnswer::from)
}

async fn answer(call: Call) -> Outcome {
    let vehicle: VehicleId = call.id("vehicle")?;
    let NewBaselineAnswers { answers } = call.written()?;
    // One without a choice was refused when the body was read.
    let settled = answers.0.into_iter().filter_map(NewBaselineAnswer::settled).collect();
    let mut deed = call.begin().await?;
    let answers = rulebooks::answer_baseline(&mut deed.act, vehicle, settled).await?;
    let answers = answers.into_iter().map(BaselineAnswer::from).collect();
    let place = call.place(format!("vehicles/{vehicle}/baseline-answers"));
    deed.recorded(place, &BaselineAnswersGiven { answers }).await
}

async fn read(call: Call) -> Outcome {
    let (vehicle, id) = (call.id("vehicle")?, call.id("baseline_answer")?);
    let mut reading = call.reading().await?;
    let answer = there(store::baselines::find(&mut reading.conn(), call.fleet(), vehicle, id).await?)?;
    Ok(Answer::versioned(FACT, &BaselineAnswer::from(answer))?)
}
