//! What a concentration of coolant is held to: the cold where the vehicle stands, and the band it is made for.

use super::{Basis, Concentration, freeze_point};
use crate::limit::{Bound, Class, Discipline, Limit, Standing, Wheels};
use model::Grade;
use quantity::{Entered, Temperature, Unit};

const fn percent(value: f64) -> Entered {
    Entered::new(value, Unit::Percent)
}

const fn kelvins(value: f64) -> Entered {
    Entered::new(value, Unit::Count)
}

const SETTING: Limit = Limit {
    key: "",
    discipline: Discipline::Coolant,
    name: "kelvins from the depot's design low down to the promised freeze point",
    jurisdiction: None,
    class: Class::ANY,
    wheels: Wheels::Any,
    grade: Some(Grade::Watch),
    bound: Bound::Missing,
    source: "house setting for coolant, no source",
    edition: "first edition",
    standing: Standing::CommonPractice,
};

/// The band in which concentrate is meant to be used.
const BAND: Limit = Limit {
    name: "glycol by volume",
    source: "ASTM D3306, scope 1.1",
    edition: "scope read first-hand in several editions; check the current one",
    standing: Standing::Verified,
    ..SETTING
};

static FREEZES: Limit = Limit {
    key: "coolant-freezes",
    grade: Some(Grade::Attend),
    bound: Bound::Below(kelvins(0.0)),
    ..SETTING
};
static BARELY: Limit = Limit { key: "coolant-barely", bound: Bound::Below(kelvins(5.0)), ..SETTING };
static NO_DESIGN_LOW: Limit =
    Limit { key: "coolant-design-low", name: "the depot's design low temperature", ..SETTING };
static THIN: Limit = Limit { key: "coolant-thin", bound: Bound::Below(percent(40.0)), ..BAND };
static BEYOND_BAND: Limit = Limit {
    key: "coolant-beyond-band",
    grade: Some(Grade::Attend),
    bound: Bound::Above(percent(70.0)),
    ..BAND
};
static RICH: Limit =
    Limit { key: "coolant-rich", name: "glycol by volume", bound: Bound::Above(percent(60.0)), ..SETTING };
static PREDILUTED: Limit = Limit {
    key: "coolant-prediluted",
    name: "glycol by volume in coolant bought ready to use",
    grade: None,
    bound: Bound::Below(percent(50.0)),
    ..BAND
};
/// Where freeze points end; told with every refusal of a number.
static NO_NUMBER: Limit = Limit {
    key: "coolant-no-number",
    name: "glycol, by volume or by mass, for which no freeze point is told",
    grade: None,
    bound: Bound::Above(percent(60.0)),
    source: "freeze points of CoolProp, which end there",
    edition: "version 8.0.0",
    standing: Standing::Computed,
    ..SETTING
};

/// Every limit of this discipline.
pub fn limits() -> impl Iterator<Item = &'static Limit> {
    [&FREEZES, &BARELY, &NO_DESIGN_LOW, &THIN, &RICH, &BEYOND_BAND, &PREDILUTED, &NO_NUMBER].into_iter()
}

/// The limits that a mixture meets in a vehicle kept where it becomes as cold as `design_low`, worst grade first.
///
/// Shares by mass are turned into volume for the band. Where the table has no freeze point because the mixture is too
/// thin, it is held to freeze at 0 °C, as water does; where it is too rich, nothing is said of freezing.
pub fn met(concentration: Concentration, design_low: Option<Temperature>) -> Vec<&'static Limit> {
    let volume = concentration.on(Basis::Volume).exact();
    let mut met: Vec<&'static Limit> =
        [&BEYOND_BAND, &RICH, &THIN].into_iter().filter(|limit| limit.bound.is_met(volume)).collect();
    match design_low {
        None => met.push(&NO_DESIGN_LOW),
        Some(low) => met.extend(cold_met(concentration, low)),
    }
    met.sort_by_key(|limit| std::cmp::Reverse(limit.grade));
    met
}

fn cold_met(concentration: Concentration, design_low: Temperature) -> Option<&'static Limit> {
    const ICE_POINT: Temperature = Temperature::from_mk(273_150);
    let promised = match freeze_point(concentration) {
        Ok(point) => point.promised(),
        Err(super::FreezeError::TooThin { .. }) => ICE_POINT,
        Err(super::FreezeError::TooRich { .. }) => return None,
    };
    // Thousandths of a kelvin, held to limits in millionths.
    let below = (design_low.mk() - promised.mk()).saturating_mul(1000);
    [&FREEZES, &BARELY].into_iter().find(|limit| limit.bound.is_met(below))
}
