//! Measurements that raised a question, and its answer.

use super::vehicle_of;
use crate::http::call::{Call, Outcome};
use crate::http::operation::Operation;
use clerk::{ActError, answers};
use contract::{MeasurementAnswer, NewMeasurementAnswer};
use model::{MeasurementId, Scope, VehicleId};

const MEASUREMENT: &str = "/vehicles/{vehicle}/measurements/{measurement}";

pub fn operations() -> Vec<Operation> {
    vec![
        Operation::act::<NewMeasurementAnswer, MeasurementAnswer>(
            Scope::Measure,
            "answer_measurement",
            &format!("{MEASUREMENT}:answer"),
        )
        .says(
            "Answer \"new or moved?\"",
            "Why a measurement is better than the one before it. For a new component the old fitting ends and one of the \
             same kind and product begins; a moved one comes from its place; what was measured by mistake is left out.",
        )
        .does(answer),
    ]
}

async fn answer(call: Call) -> Outcome {
    let (vehicle, measurement): (VehicleId, MeasurementId) = (call.id("vehicle")?, call.id("measurement")?);
    let new: NewMeasurementAnswer = call.written()?;
    let choice = new.choice().ok_or_else(|| ActError::fault("/from", "missing", "say where it came from"))?;
    let odometer = new.odometer.map(|distance| distance.0);
    let mut deed = call.begin().await?;
    let (said, fitted) = answers::answer(&mut deed.act, vehicle, measurement, choice, odometer).await?;
    let unit = vehicle_of(&call, &mut deed.act.conn()).await?.odometer_unit;
    deed.done(&MeasurementAnswer::of(&said, fitted.as_ref(), unit)).await
}
