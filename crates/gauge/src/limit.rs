//! Limits as data: what is held to what, for whom, on whose word, and how well that word is known.

use crate::{
    brake_fluid, coolant, engine_oil, filters, pads, pressure, rotation, rotors, shoes, starter_battery,
    traction_battery, tread, urea, walk,
};
use model::{Grade, Jurisdiction, Place};
use quantity::{Entered, Unit};
use serde::Serialize;
use std::fmt;

/// One number that measurements are held to.
///
/// The number is compared with what [`Limit::name`] says: a depth, a difference, or a share of the placard's pressure.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Limit {
    /// Its short name, by which a fleet sets its own number in its place; no two limits share one.
    pub key: &'static str,
    /// What it belongs to.
    pub discipline: Discipline,
    /// What is held to it, in a few words.
    pub name: &'static str,
    /// Whose law it is; `None` for a setting of the house, which holds everywhere.
    pub jurisdiction: Option<Jurisdiction>,
    /// For vehicles of which gross mass.
    pub class: Class,
    /// For which wheels.
    pub wheels: Wheels,
    /// The grade it leads to when met; `None` where it only leads to advice.
    pub grade: Option<Grade>,
    /// When it is met.
    pub bound: Bound,
    /// Who says so.
    pub source: &'static str,
    /// In which edition, and how it was read.
    pub edition: &'static str,
    /// How well the source is known.
    pub standing: Standing,
}

impl Limit {
    /// The exact integer of its number, in the base unit of the number's dimension; zero where it has no number.
    pub fn exact(&self) -> i64 {
        self.bound.exact()
    }

    /// Whether it is law for a vehicle of this gross mass (kg) at this place. The spare may have to go anywhere, so the
    /// law of every wheel is its law.
    pub fn applies_to(&self, jurisdiction: Jurisdiction, gross_mass_kg: Option<u32>, place: Place) -> bool {
        self.jurisdiction.is_none_or(|whose| whose == jurisdiction)
            && self.class.has(gross_mass_kg)
            && self.wheels.include(place)
    }
}

/// What to say where laws hang on a gross mass that is not on record.
pub(crate) const MASS_UNKNOWN: &str =
    "No gross mass is on record, so the limits of a light vehicle were used; record the gross mass.";

/// Every limit of every discipline, in the order of the documentation.
pub fn limits() -> impl Iterator<Item = &'static Limit> {
    tread::limits()
        .chain(rotation::limits())
        .chain(pressure::limits())
        .chain(pads::limits())
        .chain(shoes::limits())
        .chain(rotors::limits())
        .chain(walk::limits())
        .chain(brake_fluid::limits())
        .chain(coolant::limits())
        .chain(starter_battery::limits())
        .chain(traction_battery::limits())
        .chain(engine_oil::limits())
        .chain(urea::limits())
        .chain(filters::limits())
}

/// How well the source of a limit is known.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Standing {
    /// The text itself, or a page that restates it, was read.
    Verified,
    /// Follows by computation from a stated formula.
    Computed,
    /// Told from memory, not yet checked.
    Memory,
    /// A habit of workshops; no authority stands behind it.
    CommonPractice,
    /// Set by the fleet itself, for a reason it gave.
    Fleet,
}

impl Standing {
    /// As a person reads it.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Verified => "verified",
            Self::Computed => "computed",
            Self::Memory => "memory",
            Self::CommonPractice => "common practice",
            Self::Fleet => "the fleet's own",
        }
    }
}

/// A trade of measuring, with limits of its own.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Discipline {
    /// Depth of tyre tread.
    Tread,
    /// Changing tyres between the axles; judged from tread.
    Rotation,
    /// Cold tyre pressure.
    Pressure,
    /// Friction material of brake pads.
    Pads,
    /// Lining of drum brakes' shoes.
    Shoes,
    /// Rotors and drums.
    Rotors,
    /// Lamps, leaks, joints and what else a walk round the vehicle shows.
    LampsAndPoints,
    /// Glycol in the water that cools the engine.
    Coolant,
    /// What the brakes are worked with.
    BrakeFluid,
    /// The 12 V battery.
    StarterBattery,
    /// The battery an electric vehicle drives by.
    TractionBattery,
    /// Engine oil.
    EngineOil,
    /// The urea solution that cleans a diesel's exhaust.
    Urea,
    /// Cabin and engine air filters.
    Filters,
}

impl Discipline {
    /// As a person reads it.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Tread => "tread",
            Self::Rotation => "rotation",
            Self::Pressure => "pressure",
            Self::Pads => "pads",
            Self::Shoes => "shoes",
            Self::Rotors => "rotors",
            Self::LampsAndPoints => "lamps and points",
            Self::Coolant => "coolant",
            Self::BrakeFluid => "brake fluid",
            Self::StarterBattery => "12 V battery",
            Self::TractionBattery => "traction battery",
            Self::EngineOil => "engine oil",
            Self::Urea => "urea solution",
            Self::Filters => "filters",
        }
    }
}

/// A range of gross vehicle mass, kg.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Class {
    over_kg: Option<u32>,
    to_kg: Option<u32>,
}

impl Class {
    /// Every vehicle.
    pub const ANY: Self = Self { over_kg: None, to_kg: None };
    /// To 10 000 lb, the light vehicles of US law.
    pub const LIGHT: Self = Self { over_kg: None, to_kg: Some(4536) };
    /// Over 10 000 lb.
    pub const HEAVY: Self = Self { over_kg: Some(4536), to_kg: None };
    /// To 3500 kg, the cars and vans of UK law.
    pub const CARS_AND_VANS: Self = Self { over_kg: None, to_kg: Some(3500) };
    /// Over 3500 kg.
    pub const OVER_3500: Self = Self { over_kg: Some(3500), to_kg: None };

    /// Whether a vehicle of this gross mass belongs to it; one of unknown mass counts as light.
    pub fn has(self, gross_mass_kg: Option<u32>) -> bool {
        let mass = gross_mass_kg.unwrap_or(0);
        self.over_kg.is_none_or(|over| mass > over) && self.to_kg.is_none_or(|to| mass <= to)
    }
}

impl fmt::Display for Class {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match (self.over_kg, self.to_kg) {
            (None, None) => f.write_str("any"),
            (None, Some(to)) => write!(f, "to {to} kg"),
            (Some(over), None) => write!(f, "over {over} kg"),
            (Some(over), Some(to)) => write!(f, "over {over} to {to} kg"),
        }
    }
}

/// Which wheels a limit is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Wheels {
    /// All of them.
    Any,
    /// Those of the front axle.
    Front,
    /// All but those of the front axle.
    NotFront,
}

impl Wheels {
    /// As a person reads it.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Any => "any",
            Self::Front => "front",
            Self::NotFront => "not front",
        }
    }

    pub(crate) const fn include(self, place: Place) -> bool {
        let front = matches!(place, Place::FrontLeft | Place::FrontRight);
        match self {
            Self::Any => true,
            Self::Front => front || matches!(place, Place::Spare),
            Self::NotFront => !front,
        }
    }
}

/// When a limit is met; the number itself belongs to one side or the other.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Bound {
    /// By less than this.
    Below(Entered),
    /// By this or less.
    AtOrBelow(Entered),
    /// By more than this.
    Above(Entered),
    /// By this or more.
    AtOrAbove(Entered),
    /// By nothing having been measured or recorded.
    Missing,
}

impl Bound {
    /// The number, if it has one.
    pub const fn value(self) -> Option<Entered> {
        match self {
            Self::Below(value) | Self::AtOrBelow(value) | Self::Above(value) | Self::AtOrAbove(value) => {
                Some(value)
            }
            Self::Missing => None,
        }
    }

    /// Whether a value of this exact integer, in the base unit of the number's dimension, meets it.
    pub fn is_met(self, exact: i64) -> bool {
        match self {
            Self::Below(_) => exact < self.exact(),
            Self::AtOrBelow(_) => exact <= self.exact(),
            Self::Above(_) => exact > self.exact(),
            Self::AtOrAbove(_) => exact >= self.exact(),
            Self::Missing => false,
        }
    }

    /// The same with another number of the same kind; `None` for a number of another kind, and where there is none to set.
    pub fn with(self, number: Entered) -> Option<Self> {
        let shipped = self.value()?;
        let is_usable = number.exact_as(shipped.unit.dimension()).is_ok_and(|exact| exact >= 0);
        is_usable.then_some(match self {
            Self::Below(_) => Self::Below(number),
            Self::AtOrBelow(_) => Self::AtOrBelow(number),
            Self::Above(_) => Self::Above(number),
            Self::AtOrAbove(_) => Self::AtOrAbove(number),
            Self::Missing => Self::Missing,
        })
    }

    /// Whether all that meets the other, which bounds from the same side, meets this.
    pub fn is_as_strict_as(self, other: Self) -> bool {
        match self {
            Self::Below(_) | Self::AtOrBelow(_) => self.exact() >= other.exact(),
            Self::Above(_) | Self::AtOrAbove(_) => self.exact() <= other.exact(),
            Self::Missing => true,
        }
    }

    pub(crate) fn exact(self) -> i64 {
        self.value()
            .map_or(0, |value| value.exact().expect("limits are small numbers; a test reads them all"))
    }
}

impl fmt::Display for Bound {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Below(value) => write!(f, "below {}", told(*value)),
            Self::AtOrBelow(value) => write!(f, "at or below {}", told(*value)),
            Self::Above(value) => write!(f, "above {}", told(*value)),
            Self::AtOrAbove(value) => write!(f, "at or above {}", told(*value)),
            Self::Missing => f.write_str("not known"),
        }
    }
}

/// As a person reads it: a share with one decimal at most where it is so large that nothing hangs on the next one.
fn told(value: Entered) -> Entered {
    const LARGE: f64 = 10.0;
    if value.unit == Unit::Percent && value.value >= LARGE {
        return Entered::new((value.value * 10.0).round() / 10.0, value.unit);
    }
    value
}
