//! Brake fluid: what it still boils at against what its class asks for, and what hints at its age.
//!
//! A measured boiling point is what counts. Water, copper and age stand for it where none was measured; on copper and age
//! the evidence is disputed, so they lead to advice only.

mod class;

pub use class::{FluidClass, new_minimum, wet_minimum};

use crate::limit::{Bound, Class, Discipline, Limit, Standing, Wheels};
use model::Grade;
use quantity::{Entered, Temperature, Unit};

const fn percent(value: f64) -> Entered {
    Entered::new(value, Unit::Percent)
}

const fn count(value: f64) -> Entered {
    Entered::new(value, Unit::Count)
}

const SETTING: Limit = Limit {
    key: "",
    discipline: Discipline::BrakeFluid,
    name: "water in the fluid, by mass",
    jurisdiction: None,
    class: Class::ANY,
    wheels: Wheels::Any,
    grade: Some(Grade::Watch),
    bound: Bound::Missing,
    source: "house setting for brake fluid, no source",
    edition: "first edition",
    standing: Standing::CommonPractice,
};

static NEAR_WET: Limit = Limit {
    key: "brake-fluid-near-wet",
    name: "kelvins of the boiling point above the wet minimum of its class",
    bound: Bound::Below(count(10.0)),
    ..SETTING
};
static NO_CLASS: Limit = Limit { key: "brake-fluid-class", name: "the class of the fluid", ..SETTING };
static WET: Limit = Limit {
    key: "brake-fluid-water-attend",
    grade: Some(Grade::Attend),
    bound: Bound::AtOrAbove(percent(3.0)),
    ..SETTING
};
static WETTISH: Limit =
    Limit { key: "brake-fluid-water-watch", bound: Bound::AtOrAbove(percent(2.0)), ..SETTING };
/// 200 parts in a million are 0.02 %.
static COPPER: Limit = Limit {
    key: "brake-fluid-copper",
    name: "copper in the fluid",
    grade: None,
    bound: Bound::Above(percent(0.02)),
    source: "AMRA/MAP guideline on brake fluid; a laboratory report found bulk copper no sign of bad fluid",
    edition: "read second-hand on a page of a seller of strips; disputed",
    standing: Standing::Verified,
    ..SETTING
};
static OLD: Limit = Limit {
    key: "brake-fluid-old",
    name: "age in months",
    grade: None,
    bound: Bound::AtOrAbove(count(36.0)),
    ..SETTING
};
static OLDISH: Limit = Limit { key: "brake-fluid-oldish", bound: Bound::AtOrAbove(count(24.0)), ..OLD };

/// Every limit of this discipline.
pub fn limits() -> impl Iterator<Item = &'static Limit> {
    class::limits().chain([&NEAR_WET, &NO_CLASS, &WET, &WETTISH, &COPPER, &OLD, &OLDISH])
}

/// The limit that a measured boiling point meets, if any.
///
/// A fluid of unknown class is held to the lowest wet minimum there is, and watched above it because that may be too low.
pub fn boiling_met(class: Option<FluidClass>, boiling: Temperature) -> Option<&'static Limit> {
    let wet = wet_minimum(class.unwrap_or(FluidClass::LOWEST));
    if wet.bound.is_met(boiling.mk()) {
        return Some(wet);
    }
    if class.is_none() {
        return Some(&NO_CLASS);
    }
    // Thousandths of a kelvin, held to a limit in millionths.
    let above = (boiling.mk() - wet.exact()).saturating_mul(1000);
    NEAR_WET.bound.is_met(above).then_some(&NEAR_WET)
}

/// The limit that a share of water meets, if any; `water` in millionths of a percent, as [`Entered::exact`] has it.
///
/// Silicone fluid takes up no water to speak of, and what testers show in it means nothing (from memory): it is never
/// judged by its water.
pub fn water_met(class: Option<FluidClass>, water: i64) -> Option<&'static Limit> {
    if class.is_some_and(FluidClass::is_silicone) {
        return None;
    }
    [&WET, &WETTISH].into_iter().find(|limit| limit.bound.is_met(water))
}

/// The limit that a share of copper meets, if any; `copper` in millionths of a percent. It leads to advice only.
pub fn copper_met(copper: i64) -> Option<&'static Limit> {
    COPPER.bound.is_met(copper).then_some(&COPPER)
}

/// The limit that the months since the fluid was replaced meet, if any. It leads to advice only.
pub fn age_met(months: u16) -> Option<&'static Limit> {
    [&OLD, &OLDISH].into_iter().find(|limit| limit.bound.is_met(i64::from(months) * 1_000_000))
}
