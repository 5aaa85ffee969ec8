//! Tyres that run side by side and do not match: on one axle, and as duals on one hub.

use super::SETTING;
use crate::assessment::Opinion;
use crate::axle::{Axle, opposite};
use crate::grading::Bench;
use crate::limit::{Bound, Limit, Standing};
use crate::measured::MeasuredSet;
use crate::rotation::TyreTread;
use crate::shown::shown;
use crate::yardstick::Yardstick;
use model::{Grade, Jurisdiction};
use quantity::{Depth, Entered, Unit};

static AXLE: Limit = Limit {
    key: "tread-axle-mismatch",
    name: "average less that of the other tyre of the axle",
    grade: Some(Grade::Watch),
    bound: Bound::Above(Entered::new(2.0, Unit::ThirtySecondInch)),
    ..SETTING
};
static DUALS: Limit = Limit {
    key: "tread-dual-mismatch",
    name: "difference of the diameters of dual tyres",
    jurisdiction: Some(Jurisdiction::Us),
    grade: Some(Grade::Attend),
    bound: Bound::Above(Entered::new(16.0, Unit::ThirtySecondInch)),
    source: "Maryland COMAR 11.14.05.05",
    edition: "law of that state only, read first-hand; check the current text and that of the state",
    standing: Standing::Verified,
    ..SETTING
};

pub(crate) fn limits() -> impl Iterator<Item = &'static Limit> {
    [&AXLE, &DUALS].into_iter()
}

/// What dual tyres of these diameters (each as measured, unloaded) come to: the larger one carries the load of both.
///
/// `None` where they match: half an inch apart at most, which is 12.7 mm.
pub fn dual_mismatch(yardstick: &Yardstick<'_>, one: Depth, other: Depth) -> Option<(Grade, &'static Limit)> {
    let difference = (one - other).nm().abs();
    yardstick.held(&DUALS).is_met(difference).then_some((Grade::Attend, &DUALS))
}

/// At the shallower tyre of an axle, where the other was measured on the same occasion and is much deeper.
///
/// Only the shallower one is graded for it, so that more wear never makes any tyre's grade better.
pub(super) fn axle_opinion(bench: &Bench<'_>, set: &MeasuredSet<'_>) -> Option<Opinion> {
    let axle = Axle::of(set.place)?;
    let other = bench.sets.beside(set, opposite(set.place)?)?;
    let [here, there] = [set, other].map(|set| TyreTread::measured(set).average());
    let difference = there - here;
    let unit = set.lowest.entered.unit;
    let reason = format!(
        "The {} tyres differ by {} ({} here, {} opposite, on average); unlike tyres on one axle may pull in braking.",
        axle.word(),
        shown(difference.nm(), unit),
        shown(here.nm(), unit),
        shown(there.nm(), unit),
    );
    let held = bench.yardstick.held(&AXLE);
    held.is_met(difference.nm()).then(|| Opinion::on_comparison(&held, reason))
}
