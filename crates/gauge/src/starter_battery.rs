//! The 12 V battery: how far it is charged, in bands, and whether it still turns an engine over in the cold.
//!
//! Bands and never percentages: a meter that is 1 % wrong is 0.12 V wrong, which is about 15 % of the charge (read
//! second-hand). A voltage says how far a battery is charged, not what it can still do; that takes a cranking test.

mod charge;
mod cranking;
mod resting;

pub use charge::{Band, Chemistry, corrected_gravity};
pub use cranking::{ChargeBefore, cranking_share};

use crate::answer::Answer;
use crate::caution::Hazard;
use crate::limit::{Bound, Class, Discipline, Limit, Standing, Wheels};
use crate::points::{ANSWERED, CheckPoint, WHOLE, WHOLE_VEHICLE};
use model::Grade;
use quantity::{Dimension, Entered, Unit};

const SETTING: Limit = Limit {
    key: "",
    discipline: Discipline::StarterBattery,
    name: "",
    jurisdiction: None,
    class: Class::ANY,
    wheels: Wheels::Any,
    grade: Some(Grade::Watch),
    bound: Bound::Missing,
    source: "house setting for 12 V batteries, no source",
    edition: "first edition",
    standing: Standing::CommonPractice,
};

const ACID: &[Hazard] = &[Hazard::BatteryAcid];

const VOLTAGE: CheckPoint = CheckPoint {
    code: "battery-voltage",
    title: "Voltage of the 12 V battery, at rest",
    discipline: Discipline::StarterBattery,
    dimension: Dimension::Voltage,
    units: &[Unit::Volt],
    places: WHOLE_VEHICLE,
    zones: WHOLE,
    least: Entered::new(0.0, Unit::Volt),
    most: Entered::new(16.0, Unit::Volt),
    answers: &[],
    assess: Some(resting::voltage),
};

const CRANKING: CheckPoint = CheckPoint {
    code: "battery-cranking",
    title: "Cold-cranking current of the 12 V battery, tested",
    dimension: Dimension::Current,
    units: &[Unit::Ampere],
    least: Entered::new(0.0, Unit::Ampere),
    most: Entered::new(3000.0, Unit::Ampere),
    assess: Some(cranking::tested),
    ..VOLTAGE
};

// Plausible ranges are settings (common practice, no source).
pub(crate) static POINTS: [CheckPoint; 8] = [
    VOLTAGE,
    CRANKING,
    CheckPoint {
        code: "battery-rating",
        title: "Cold-cranking current that the 12 V battery is rated for",
        least: Entered::new(50.0, Unit::Ampere),
        assess: Some(cranking::rating),
        ..CRANKING
    },
    CheckPoint {
        code: "battery-gravity",
        title: "Specific gravity of the acid, lowest cell",
        dimension: Dimension::Count,
        units: &[Unit::Count],
        least: Entered::new(1.0, Unit::Count),
        most: Entered::new(1.4, Unit::Count),
        assess: Some(resting::gravity),
        ..VOLTAGE
    },
    CheckPoint {
        code: "battery-rest",
        title: "Hours the 12 V battery stood, neither charged nor loaded",
        dimension: Dimension::RunningTime,
        units: &[Unit::Hour],
        least: Entered::new(0.0, Unit::Hour),
        most: Entered::new(10_000.0, Unit::Hour),
        assess: Some(resting::rest),
        ..VOLTAGE
    },
    CheckPoint {
        code: "battery-temperature",
        title: "Temperature of the 12 V battery",
        dimension: Dimension::Temperature,
        units: &[Unit::Celsius, Unit::Fahrenheit],
        least: Entered::new(-60.0, Unit::Celsius),
        most: Entered::new(120.0, Unit::Celsius),
        assess: Some(resting::temperature),
        ..VOLTAGE
    },
    asked("battery-kind", "Kind of the 12 V battery", Chemistry::ANSWERS),
    asked("battery-charged", "Whether the 12 V battery was charged before the test", ChargeBefore::ANSWERS),
];

const fn asked(code: &'static str, title: &'static str, answers: &'static [Answer]) -> CheckPoint {
    CheckPoint {
        code,
        title,
        discipline: Discipline::StarterBattery,
        places: WHOLE_VEHICLE,
        answers,
        ..ANSWERED
    }
}

pub(crate) fn answers() -> impl Iterator<Item = &'static Answer> {
    Chemistry::answers().chain(ChargeBefore::answers())
}

pub(crate) fn limits() -> impl Iterator<Item = &'static Limit> {
    charge::limits().chain(resting::limits()).chain(cranking::limits())
}
