//! The life of one component.

use super::super::{there, vehicles_of};
use crate::http::answer::Answer;
use crate::http::call::{Call, Outcome};
use clerk::lives;
use contract::{ComponentLife, Cost, CostOverDistance, FittedTime, UnknownDistance};
use engine::{CostOfRun, PartLife, Run};
use model::{NoDistance, VehicleId};
use quantity::Unit;
use std::collections::BTreeMap;

pub(super) async fn read(call: Call) -> Outcome {
    let part = there(lives::of(call.clerk(), call.fleet(), call.id("component")?).await?)?;
    let mut reading = call.reading().await?;
    let vehicles =
        vehicles_of(&call, &mut reading.conn(), part.times.iter().map(|time| time.vehicle)).await?;
    let units = vehicles.into_iter().map(|vehicle| (vehicle.id, vehicle.odometer_unit)).collect();
    Ok(Answer::hashed(&told(&part, &units))?)
}

/// Each fitting in the unit of its vehicle, all of it in that of the last.
fn told(part: &PartLife, units: &BTreeMap<VehicleId, Unit>) -> ComponentLife {
    let unit_of = |vehicle: &VehicleId| units.get(vehicle).copied().unwrap_or(Unit::Kilometre);
    let fitted = |time: &engine::FittedTime| {
        let run = time.run;
        FittedTime {
            fitting: time.fitting,
            vehicle: time.vehicle,
            place: time.place,
            from: time.from,
            to: time.to,
            days: time.days,
            distance: run.ok().map(|run| run.distance.to(unit_of(&time.vehicle)).into()),
            estimated: is_estimated(run),
            distance_unknown: run.err().map(unknown),
        }
    };
    let (run, unit) = (part.run(), part.times.last().map_or(Unit::Kilometre, |time| unit_of(&time.vehicle)));
    ComponentLife {
        component: part.component.id,
        position: part.position(),
        fittings: part.times.iter().map(fitted).collect(),
        days: part.days(),
        distance: run.ok().map(|run| run.distance.to(unit).into()),
        estimated: is_estimated(run),
        distance_unknown: run.err().map(unknown),
        cost: part.cost_of_run().and_then(|cost| over_distance(&cost, unit)),
    }
}

fn is_estimated(run: Result<Run, NoDistance>) -> bool {
    run.is_ok_and(|run| run.estimated)
}

fn unknown(reason: NoDistance) -> UnknownDistance {
    UnknownDistance { reason, says: engine::words::no_distance(reason).to_owned() }
}

/// Money over distance in this unit; hundredths of a minor unit are told, no less.
pub(in crate::resources) fn over_distance(cost: &CostOfRun, unit: Unit) -> Option<CostOverDistance> {
    let minor_per_1000 = cost.minor_per_1000(unit)?;
    Some(CostOverDistance {
        components: cost.components,
        cost: Cost { minor: cost.minor, currency: cost.currency.clone() },
        distance: cost.distance.to(unit).into(),
        minor_per_1000: (minor_per_1000 * 100.0).round() / 100.0,
    })
}
