//! What can hurt, and the caution that goes with it.
//!
//! Source: usual workshop safety wording (jacks: 29 CFR 1910.244(a); brake dust: 29 CFR 1910.1001 appendix F; high
//! voltage: 29 CFR 1910.331-.335 and NFPA 70E, orange cables by UN R100; all from memory; re-checking of wheel fasteners,
//! hot caps, coolant, acid, oil and service modes: common practice, no source).

use crate::axle::Axle;
use model::{Grade, Place};

/// Something that can hurt in the work advised.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Hazard {
    /// The vehicle must be lifted.
    Lifting,
    /// A wheel comes off and goes on again.
    Wheel,
    /// Brakes are opened.
    Brakes,
    /// A tyre is inflated.
    Inflating,
    /// A tyre that was driven far too soft is filled again.
    SoftTyre,
    /// Fuel is about.
    Fuel,
    /// Coolant under pressure, too hot to touch.
    HotCoolant,
    /// The battery an electric vehicle drives by, and its orange cables.
    HighVoltage,
    /// Airbags and belt tensioners.
    Restraints,
    /// Calipers and shoes that a motor of their own may close.
    ParkingActuator,
    /// Coolant is let out or spilt.
    PoisonousCoolant,
    /// Acid and the gas over it.
    BatteryAcid,
    /// Oil of an engine that has just run.
    HotOil,
}

impl Hazard {
    const fn caution(self) -> &'static str {
        match self {
            Self::Lifting => {
                "Lift only on firm level ground, with the wheels chocked and the vehicle on jack stands; never work \
                 under a vehicle held by a jack alone."
            }
            Self::Wheel => {
                "Tighten the wheel fasteners to the maker's torque and re-check them after 50 to 100 mi (80 to 160 km)."
            }
            Self::Brakes => {
                "Treat brake dust as harmful: do not blow or brush it dry; keep brake fluid off skin and paint; prove \
                 the brakes before the vehicle moves off."
            }
            Self::Inflating => {
                "Stand to the side of the tyre while inflating, and never go above the maximum marked on it."
            }
            Self::SoftTyre => {
                "A tyre driven far too soft may be broken inside and burst when filled: take it off and look inside \
                 before inflating it."
            }
            Self::Fuel => {
                "Fuel burns: engine off, no flame and no spark, and keep away from drains and pits."
            }
            Self::HotCoolant => "Let it cool down first: never open the cap of a hot cooling system.",
            Self::HighVoltage => {
                "High voltage kills: touch no orange cable and nothing it leads to; only qualified persons work on it."
            }
            Self::Restraints => {
                "Airbags and belt tensioners can go off: only trained persons work on them or their wiring."
            }
            Self::ParkingActuator => {
                "Put an electric parking brake into the maker's service mode first: it may close by itself and crush \
                 fingers."
            }
            Self::PoisonousCoolant => {
                "Coolant is poisonous and tastes sweet: catch all of it, keep it from children, animals and drains, and \
                 hand it in as local rules say."
            }
            Self::BatteryAcid => {
                "A 12 V battery holds acid and gives off gas that explodes: eye protection, no flame or spark, charger off \
                 before its clamps are moved, and never charge a frozen battery."
            }
            Self::HotOil => "Stop the engine and let it stand: oil and exhaust may be hot enough to burn.",
        }
    }
}

/// What can hurt in work on the brakes of a wheel: those of the rear axle may close by a motor of their own.
pub(crate) const fn brakes_at(place: Place) -> &'static [Hazard] {
    match Axle::of(place) {
        Some(Axle::Front) => &[Hazard::Lifting, Hazard::Wheel, Hazard::Brakes],
        Some(Axle::Rear) | None => &[Hazard::Lifting, Hazard::Wheel, Hazard::Brakes, Hazard::ParkingActuator],
    }
}

const LAST_WORD: &str = "Local codes and licensed practice come first.";

/// The caution for these hazards; every `do_not_drive` carries one, whatever the hazards.
pub(crate) fn caution_for(grade: Grade, hazards: &[Hazard]) -> Option<String> {
    let mut hazards = hazards.to_vec();
    if grade == Grade::DoNotDrive {
        hazards.extend([Hazard::Lifting, Hazard::Wheel]);
    }
    hazards.sort_unstable();
    hazards.dedup();
    if hazards.is_empty() {
        return None;
    }
    let mut sentences: Vec<&str> = hazards.into_iter().map(Hazard::caution).collect();
    sentences.push(LAST_WORD);
    Some(sentences.join(" "))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn do_not_drive_warns_even_where_its_discipline_named_no_hazard() {
        let caution = caution_for(Grade::DoNotDrive, &[]).expect("a caution");
        assert!(caution.contains("jack stands") && caution.ends_with(LAST_WORD), "{caution}");
        assert_eq!(caution_for(Grade::Attend, &[]), None);
    }
}
