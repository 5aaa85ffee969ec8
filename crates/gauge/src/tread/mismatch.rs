//! Tyres that run side by side and do not match: on one axle, and as duals on one hub.

use super::{LIFT_WHEEL, SETTING};
use crate::assessment::{Assessment, Opinion};
use crate::axle::{Axle, opposite};
use crate::grading::Bench;
use crate::ladder::{Rung, stand_under};
use crate::limit::{Bound, Discipline, Limit, Standing};
use crate::measured::MeasuredSet;
use crate::points::{CheckPoint, DEPTH_UNITS, WHOLE};
use crate::rotation::TyreTread;
use crate::shown::shown;
use crate::yardstick::{Held, Yardstick};
use model::{Grade, Jurisdiction, Place};
use quantity::{Depth, Dimension, Entered, Unit};

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

/// Where no law known to the program names a number.
static DUALS_ELSEWHERE: Limit = Limit {
    key: "tread-dual-mismatch-elsewhere",
    name: "difference of the diameters of dual tyres",
    grade: Some(Grade::Attend),
    bound: Bound::Above(Entered::new(16.0, Unit::ThirtySecondInch)),
    ..SETTING
};

pub(crate) fn limits() -> impl Iterator<Item = &'static Limit> {
    [&AXLE, &DUALS, &DUALS_ELSEWHERE].into_iter()
}

const DUAL_WHEELS: &[Place] = &[Place::RearLeft, Place::RearRight];

// The plausible range is a setting (common practice, no source).
pub(super) const DUAL: CheckPoint = CheckPoint {
    code: "dual-difference",
    title: "Difference of the diameters of dual tyres, by straight edge or calliper",
    discipline: Discipline::Tread,
    dimension: Dimension::Depth,
    units: DEPTH_UNITS,
    places: DUAL_WHEELS,
    zones: WHOLE,
    least: Entered::new(0.0, Unit::Millimetre),
    most: Entered::new(100.0, Unit::Millimetre),
    answers: &[],
    assess: Some(assess_duals),
};

/// The limit on the difference of dual tyres that holds for this vehicle.
fn duals<'a>(yardstick: &Yardstick<'a>) -> Held<'a> {
    yardstick.held(if yardstick.vehicle.jurisdiction == Jurisdiction::Us { &DUALS } else { &DUALS_ELSEWHERE })
}

/// Grades the tyres that run side by side on one hub.
fn assess_duals<'a>(bench: &Bench<'a>, set: &MeasuredSet<'a>) -> Assessment {
    let (grade, rung) = stand_under(&[Rung::on_scale(duals(&bench.yardstick), set.lowest.exact)]);
    let (found, bound) = (set.lowest.entered, rung.held.bound);
    let reason = match grade {
        Grade::Good => format!("The diameters of the dual tyres differ by {found}, not {bound}."),
        Grade::Watch | Grade::Attend | Grade::DoNotDrive => format!(
            "The diameters of the dual tyres differ by {found}, {bound}; the larger one carries the load of both."
        ),
    };
    let mut assessment = Assessment::starting_with(Opinion::on_rung(grade, &rung, reason));
    if grade != Grade::Good {
        assessment.advise(
            "Set both to one pressure and measure again; pair tyres of like diameter if they still differ.",
            LIFT_WHEEL,
        );
    }
    assessment
}

/// What dual tyres of these diameters (each as measured, unloaded) come to: the larger one carries the load of both.
///
/// `None` where they match: half an inch apart at most, which is 12.7 mm.
pub fn dual_mismatch(yardstick: &Yardstick<'_>, one: Depth, other: Depth) -> Option<(Grade, &'static Limit)> {
    let difference = (one - other).nm().abs();
    let held = duals(yardstick);
    held.is_met(difference).then_some((Grade::Attend, held.limit))
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
