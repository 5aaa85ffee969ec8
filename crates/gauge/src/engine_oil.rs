//! Engine oil: how much is topped up over 1,000 km, and whether that is growing.

use crate::limit::{Bound, Class, Discipline, Limit, Standing, Wheels};
use crate::top_up::{Consumption, Trend};
use model::Grade;
use quantity::{Entered, Unit};

/// By how much the level on a dipstick is misread, in litres. A house setting, no source.
pub const MARK_ERROR_LITRES: f64 = 0.1;

const SETTING: Limit = Limit {
    key: "",
    discipline: Discipline::EngineOil,
    name: "oil topped up over 1,000 km, litres",
    jurisdiction: None,
    class: Class::ANY,
    wheels: Wheels::Any,
    grade: Some(Grade::Watch),
    bound: Bound::AtOrAbove(Entered::new(0.5, Unit::Count)),
    source: "house setting for engine oil, no source",
    edition: "first edition",
    standing: Standing::CommonPractice,
};

static THIRSTY: Limit = Limit { key: "oil-use-watch", ..SETTING };
static TOO_THIRSTY: Limit = Limit {
    key: "oil-use-attend",
    grade: Some(Grade::Attend),
    bound: Bound::AtOrAbove(Entered::new(1.0, Unit::Count)),
    source: "makers' usual allowance for oil use",
    edition: "told from memory; check the vehicle's own handbook",
    standing: Standing::Memory,
    ..SETTING
};
static RISING: Limit = Limit {
    key: "oil-use-rising",
    name: "rise of the rate from earlier to later top-ups, in standard errors",
    bound: Bound::Above(Entered::new(2.0, Unit::Count)),
    ..SETTING
};

/// Every limit of this discipline.
pub fn limits() -> impl Iterator<Item = &'static Limit> {
    [&TOO_THIRSTY, &THIRSTY, &RISING].into_iter()
}

/// The limit that a rate meets, if any.
pub fn use_met(consumption: &Consumption) -> Option<&'static Limit> {
    let exact = Entered::new(consumption.litres_per_1000_km, Unit::Count).exact().ok()?;
    [&TOO_THIRSTY, &THIRSTY].into_iter().find(|limit| limit.bound.is_met(exact))
}

/// The limit that a growing rate meets, if it grows by more than its uncertainty.
pub fn rise_met(trend: &Trend) -> Option<&'static Limit> {
    let exact = Entered::new(trend.rise(), Unit::Count).exact().ok()?;
    RISING.bound.is_met(exact).then_some(&RISING)
}
