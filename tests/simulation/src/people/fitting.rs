//! Tyres with a life of their own: bought, fitted, carried to another vehicle, taken off for good.

use super::Answer;
use crate::dice::Dice;
use crate::fleet::{Fleet, Van, day_of};
use chrono::{DateTime, NaiveDate, Utc};
use clerk::components::{self, NewComponent, NewEnd, NewFitting};
use clerk::{Act, ActError};
use model::{ComponentId, EndReason, Place, VehicleId};
use quantity::{Entered, Unit};
use testkit::world::code;
use uuid::Uuid;

/// Tyres a fleet follows at most.
const MOST: usize = 8;

/// Something done to a component.
#[derive(Debug, Clone)]
pub enum Fitting {
    /// One is bought.
    Buy,
    /// One is fitted.
    Fit { component: ComponentId, vehicle: VehicleId, place: Place, on: NaiveDate, odometer: Entered },
    /// One is taken off for good.
    TakeOff { component: ComponentId, on: NaiveDate, odometer: Option<Entered> },
    /// It was not.
    UndoEnd { component: ComponentId },
}

/// A component as the people know it.
#[derive(Debug, Clone)]
pub struct Part {
    /// Its id.
    pub id: ComponentId,
    /// The vehicle it was fitted to last.
    pub on: Option<VehicleId>,
    /// Whether it was taken off for good.
    pub has_ended: bool,
}

impl Fitting {
    /// What it is called.
    pub const fn name(&self) -> &'static str {
        match self {
            Self::Buy => "buy",
            Self::Fit { .. } => "fit",
            Self::TakeOff { .. } => "take off",
            Self::UndoEnd { .. } => "undo end",
        }
    }

    pub(super) async fn perform(self, act: &mut Act) -> Result<Answer, ActError> {
        match self {
            Self::Buy => {
                let made = components::create(act, tyre()).await?;
                Ok(Answer { id: Some(made.id.0), ..Answer::default() })
            }
            Self::Fit { component, vehicle, place, on, odometer } => {
                let new = NewFitting { component, place, from: on, odometer };
                components::fit(act, vehicle, new).await.map(|_| Answer::default())
            }
            Self::TakeOff { component, on, odometer } => {
                let end = NewEnd { component, reason: EndReason::Worn, on, odometer, note: None };
                components::retire(act, end).await.map(|_| Answer::default())
            }
            Self::UndoEnd { component } => {
                components::withdraw_end(act, component).await.map(|()| Answer::default())
            }
        }
    }

    pub(super) fn learn(&self, fleet: &mut Fleet, made: Uuid) {
        let mut change = |id: &ComponentId, how: &dyn Fn(&mut Part)| {
            fleet.parts.iter_mut().filter(|part| part.id == *id).for_each(how);
        };
        match self {
            Self::Buy => fleet.parts.push(Part { id: ComponentId(made), on: None, has_ended: false }),
            Self::Fit { component, vehicle, .. } => change(component, &|part| part.on = Some(*vehicle)),
            Self::TakeOff { component, .. } => change(component, &|part| part.has_ended = true),
            Self::UndoEnd { component } => change(component, &|part| part.has_ended = false),
        }
    }
}

fn tyre() -> NewComponent {
    NewComponent {
        kind: code("tyre"),
        product: "Harrow Roller".to_owned(),
        depth_new: Some(Entered::new(8.0, Unit::Millimetre)),
        came_used: false,
        cost: None,
    }
}

/// Something to do with a tyre.
pub(super) fn any(dice: &Dice, fleet: &Fleet, now: DateTime<Utc>, wanted: &str) -> Option<Fitting> {
    if wanted == "buy" {
        return (fleet.parts.len() < MOST).then_some(Fitting::Buy);
    }
    let parts: Vec<&Part> =
        fleet.parts.iter().filter(|part| part.has_ended == (wanted == "undo end")).collect();
    if parts.is_empty() {
        return None;
    }
    let part = *dice.pick(&parts);
    let on = day_of(now);
    let van = |id: VehicleId| fleet.vans.iter().find(|van| van.id == id);
    let odometer = |van: &Van| van.odometer(now);
    match wanted {
        "fit" => {
            let van = &fleet.vans[fleet.any_van(dice)?];
            let place = *dice.pick(&[Place::FrontLeft, Place::FrontRight, Place::RearLeft]);
            let component = part.id;
            Some(Fitting::Fit { component, vehicle: van.id, place, on, odometer: odometer(van) })
        }
        "take off" => {
            let odometer = part.on.and_then(van).map(odometer);
            Some(Fitting::TakeOff { component: part.id, on, odometer })
        }
        "undo end" => Some(Fitting::UndoEnd { component: part.id }),
        _ => None,
    }
}
