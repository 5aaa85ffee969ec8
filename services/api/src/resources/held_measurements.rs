//! Measurements that cannot be taken as they were written, and what people decide about them.

use super::inspection_batches::measured;
use super::there;
use crate::http::answer::Answer;
use crate::http::call::{Call, Outcome};
use crate::http::operation::Operation;
use crate::http::refusal::Refusal;
use clerk::set_asides::{Choice, settle_set_aside};
use contract::{Dismissal, GradedMeasurement, HeldMeasurement, Measurement, TakenMeasurement, Taking};
use model::horizon::{DueItem, Horizon};
use model::{Scope, SetAsideId};

const ONE: &str = "/held-measurements/{held_measurement}";

pub fn operations() -> Vec<Operation> {
    vec![
        Operation::get::<HeldMeasurement>(Scope::Read, "read_held_measurement", ONE)
            .says(
                "Read a held measurement",
                "As it was written, why it is held, and how it was settled. One whose entry was corrected is gone with it.",
            )
            .does(read),
        Operation::act::<Taking, TakenMeasurement>(
            Scope::Manage,
            "take_held_measurement",
            &format!("{ONE}:take"),
        )
        .says(
            "Take a held measurement",
            "With what was measured in truth. It counts as measured in its inspection, and is known from now on.",
        )
        .does(take),
        Operation::act::<Dismissal, HeldMeasurement>(
            Scope::Manage,
            "dismiss_held_measurement",
            &format!("{ONE}:dismiss"),
        )
        .says("Dismiss a held measurement", "It is left out, with a reason that is kept. It stays on record.")
        .does(dismiss),
    ]
}

async fn read(call: Call) -> Outcome {
    let id: SetAsideId = call.id("held_measurement")?;
    let mut reading = call.reading().await?;
    let (vehicle, found) = there(store::set_asides::find(&mut reading.conn(), call.fleet(), id).await?)?;
    Ok(Answer::hashed(&HeldMeasurement::of(vehicle, found))?)
}

async fn take(call: Call) -> Outcome {
    let id: SetAsideId = call.id("held_measurement")?;
    let now = call.now();
    let taking: Taking = call.written()?;
    // Reading it has ruled out that it says neither what was measured nor what was seen.
    let entered = measured(taking.measured()).ok_or_else(Refusal::internal)?;
    let mut deed = call.begin().await?;
    let settled = settle_set_aside(&mut deed.act, id, Choice::Take(entered), taking.reason.0).await?;
    let measurement = settled.measurement.ok_or_else(Refusal::internal)?;
    let horizons = deed.act.renew().await?;
    let own: Option<&Horizon> = horizons.iter().find(|horizon| horizon.vehicle == settled.vehicle);
    let graded = own.into_iter().flat_map(|horizon| &horizon.grades).filter(|graded| {
        graded.inspection == settled.set_aside.inspection
            && graded.point == measurement.point.as_str()
            && graded.place == measurement.place
    });
    let forbids = |item: &DueItem| item.do_not_drive_from.is_some_and(|from| from <= now);
    let told = TakenMeasurement {
        grades: graded.map(GradedMeasurement::from).collect(),
        do_not_drive: own.is_some_and(|horizon| horizon.items.iter().any(forbids)),
        held: HeldMeasurement::of(settled.vehicle, settled.set_aside),
        measurement: Measurement::from(measurement),
    };
    deed.done(&told).await
}

async fn dismiss(call: Call) -> Outcome {
    let id: SetAsideId = call.id("held_measurement")?;
    let Dismissal { reason } = call.written()?;
    let mut deed = call.begin().await?;
    let settled = settle_set_aside(&mut deed.act, id, Choice::Dismiss, reason.0).await?;
    deed.done(&HeldMeasurement::of(settled.vehicle, settled.set_aside)).await
}
