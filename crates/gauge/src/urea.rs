//! Urea solution: how much is topped up over 1,000 km, and how far what is left will go.

use crate::limit::{Bound, Class, Discipline, Limit, Standing, Wheels};
use crate::top_up::Consumption;
use model::Grade;
use quantity::{Distance, Entered, Unit};

/// By how much the filling of a tank to the brim differs from time to time, in litres. A house setting, no source.
pub const MARK_ERROR_LITRES: f64 = 0.5;

const SETTING: Limit = Limit {
    key: "",
    discipline: Discipline::Urea,
    name: "urea solution topped up over 1,000 km, litres",
    jurisdiction: None,
    class: Class::ANY,
    wheels: Wheels::Any,
    grade: Some(Grade::Watch),
    bound: Bound::AtOrAbove(Entered::new(3.0, Unit::Count)),
    source: "house setting for urea solution, no source",
    edition: "first edition",
    standing: Standing::CommonPractice,
};

static THIRSTY: Limit = Limit { key: "urea-use-watch", ..SETTING };
/// Once the tank is empty the engine may be kept from starting again (from memory), so a vehicle must not get near it.
static NEARLY_EMPTY: Limit = Limit {
    key: "urea-range-attend",
    name: "distance that the urea solution left will last",
    grade: Some(Grade::Attend),
    bound: Bound::Below(Entered::new(1000.0, Unit::Kilometre)),
    ..SETTING
};
static LOW: Limit = Limit {
    key: "urea-range-watch",
    grade: Some(Grade::Watch),
    bound: Bound::Below(Entered::new(2500.0, Unit::Kilometre)),
    ..NEARLY_EMPTY
};

/// Every limit of this discipline.
pub fn limits() -> impl Iterator<Item = &'static Limit> {
    [&NEARLY_EMPTY, &LOW, &THIRSTY].into_iter()
}

/// The limit that a rate meets, if any.
pub fn use_met(consumption: &Consumption) -> Option<&'static Limit> {
    let exact = Entered::new(consumption.litres_per_1000_km, Unit::Count).exact().ok()?;
    THIRSTY.bound.is_met(exact).then_some(&THIRSTY)
}

/// The limit that the distance left meets, if any.
pub fn range_met(left: Distance) -> Option<&'static Limit> {
    [&NEARLY_EMPTY, &LOW].into_iter().find(|limit| limit.bound.is_met(left.mm()))
}
