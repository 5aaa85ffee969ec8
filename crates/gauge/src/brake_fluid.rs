//! Brake fluid: what it still boils at against what its class asks for, and what hints at its age.
//!
//! A measured boiling point is what counts. Water, copper and age stand for it where none was measured; on copper and age
//! the evidence is disputed, so they lead to advice only.

mod assess;
mod class;
mod level;

pub use class::{FluidClass, new_minimum, wet_minimum};
pub use level::FluidLevel;

use crate::answer::Answer;
use crate::limit::{Bound, Class, Discipline, Limit, Standing, Wheels};
use crate::points::{ANSWERED, CheckPoint, NOTED, TEMPERATURE_UNITS, WHOLE, WHOLE_VEHICLE};
use crate::yardstick::Yardstick;
use model::Grade;
use quantity::{Dimension, Entered, Unit};

const fn percent(value: f64) -> Entered {
    Entered::new(value, Unit::Percent)
}

const fn count(value: f64) -> Entered {
    Entered::new(value, Unit::Count)
}

const SETTING: Limit = Limit {
    key: "",
    discipline: Discipline::BrakeFluid,
    name: "water in the fluid",
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
static NO_CLASS: Limit = Limit { key: "brake-fluid-class", name: "the class of the brake fluid", ..SETTING };
static WET: Limit = Limit {
    key: "brake-fluid-water-attend",
    grade: Some(Grade::Attend),
    bound: Bound::AtOrAbove(percent(3.0)),
    ..SETTING
};
static WETTISH: Limit =
    Limit { key: "brake-fluid-water-watch", bound: Bound::AtOrAbove(percent(2.0)), ..SETTING };
static COPPER: Limit = Limit {
    key: "brake-fluid-copper",
    name: "copper in the fluid",
    grade: None,
    bound: Bound::Above(Entered::new(200.0, Unit::PartPerMillion)),
    source: "AMRA/MAP guideline on brake fluid; a laboratory report found bulk copper no sign of bad fluid",
    edition: "read second-hand on a page of a seller of strips; disputed",
    standing: Standing::Verified,
    ..SETTING
};
static OLD: Limit = Limit {
    key: "brake-fluid-age-replace",
    name: "age of the brake fluid in months",
    grade: None,
    bound: Bound::AtOrAbove(count(36.0)),
    ..SETTING
};
static OLDISH: Limit = Limit { key: "brake-fluid-age-test", bound: Bound::AtOrAbove(count(24.0)), ..OLD };

const MEASURED: CheckPoint = CheckPoint {
    code: "brake-fluid-boiling",
    title: "Boiling point of the brake fluid, measured",
    discipline: Discipline::BrakeFluid,
    dimension: Dimension::Temperature,
    units: TEMPERATURE_UNITS,
    places: WHOLE_VEHICLE,
    zones: WHOLE,
    least: Entered::new(60.0, Unit::Celsius),
    most: Entered::new(350.0, Unit::Celsius),
    answers: &[],
    assess: Some(assess::boiling),
};

// Plausible ranges are settings (common practice, no source).
pub(crate) static POINTS: [CheckPoint; 5] = [
    MEASURED,
    CheckPoint {
        code: "brake-fluid-water",
        title: "Water in the brake fluid",
        dimension: Dimension::Share,
        units: &[Unit::Percent],
        least: percent(0.0),
        most: percent(20.0),
        assess: Some(assess::water),
        ..MEASURED
    },
    CheckPoint {
        code: "brake-fluid-copper",
        title: "Copper in the brake fluid",
        dimension: Dimension::Share,
        units: &[Unit::PartPerMillion],
        least: Entered::new(0.0, Unit::PartPerMillion),
        most: Entered::new(5000.0, Unit::PartPerMillion),
        assess: Some(assess::copper),
        ..MEASURED
    },
    noted("brake-fluid-class", "Class of the brake fluid", FluidClass::ANSWERS),
    asked("brake-fluid-level", "Level of the brake fluid", FluidLevel::ANSWERS),
];

const fn asked(code: &'static str, title: &'static str, answers: &'static [Answer]) -> CheckPoint {
    CheckPoint { code, title, discipline: Discipline::BrakeFluid, places: WHOLE_VEHICLE, answers, ..ANSWERED }
}

const fn noted(code: &'static str, title: &'static str, answers: &'static [Answer]) -> CheckPoint {
    CheckPoint { code, title, discipline: Discipline::BrakeFluid, places: WHOLE_VEHICLE, answers, ..NOTED }
}

pub(crate) fn answers() -> impl Iterator<Item = &'static Answer> {
    FluidClass::answers().chain(FluidLevel::answers())
}

pub(crate) fn limits() -> impl Iterator<Item = &'static Limit> {
    class::limits().chain([&NEAR_WET, &NO_CLASS, &WET, &WETTISH, &COPPER, &OLD, &OLDISH])
}

/// Months since the fluid was changed from which its boiling point is better measured, and from which it is better
/// replaced or measured, with the limit that says the latter.
pub fn age_marks(yardstick: &Yardstick<'_>) -> ([u32; 2], &'static Limit) {
    let months = |limit| u32::try_from(yardstick.held(limit).exact() / 1_000_000).unwrap_or(u32::MAX);
    ([months(&OLDISH), months(&OLD)], &OLD)
}

/// What to do about the months since the fluid was replaced: advice only, since fluid ages by what it meets and not by the
/// calendar, and sources differ on how fast.
pub fn advice_for_age(yardstick: &Yardstick<'_>, months: u16) -> Option<&'static str> {
    let is_met = |limit| yardstick.held(limit).is_met(i64::from(months) * 1_000_000);
    if is_met(&OLD) {
        Some("Have the brake fluid replaced, or its boiling point measured.")
    } else if is_met(&OLDISH) {
        Some("Have the boiling point of the brake fluid measured, or the fluid replaced.")
    } else {
        None
    }
}
