//! Dual tyres whose pressures differ: the harder one carries the load of both.

use super::{COLD, SETTING};
use crate::assessment::{Assessment, Opinion};
use crate::caution::Hazard;
use crate::grading::Bench;
use crate::ladder::{Rung, stand_under};
use crate::limit::{Bound, Limit};
use crate::measured::MeasuredSet;
use crate::points::CheckPoint;
use model::{Grade, Place};
use quantity::{Entered, Unit};

static APART: Limit = Limit {
    key: "pressure-duals-apart",
    name: "difference of the cold pressures of dual tyres",
    bound: Bound::Above(Entered::new(5.0, Unit::Psi)),
    ..SETTING
};

pub(super) fn limits() -> impl Iterator<Item = &'static Limit> {
    [&APART].into_iter()
}

pub(super) const POINT: CheckPoint = CheckPoint {
    code: "dual-pressure-difference",
    title: "Difference of the cold pressures of dual tyres",
    places: &[Place::RearLeft, Place::RearRight],
    assess: Some(assess),
    ..COLD
};

fn assess<'a>(bench: &Bench<'a>, set: &MeasuredSet<'a>) -> Assessment {
    let (grade, rung) = stand_under(&[Rung::on_scale(bench.yardstick.held(&APART), set.lowest.exact)]);
    let (found, bound) = (set.lowest.entered, rung.held.bound);
    let reason = match grade {
        Grade::Good => format!("The pressures of the dual tyres differ by {found}, not {bound}."),
        Grade::Watch | Grade::Attend | Grade::DoNotDrive => format!(
            "The pressures of the dual tyres differ by {found}, {bound}; the harder one carries the load of both."
        ),
    };
    let mut assessment = Assessment::starting_with(Opinion::on_rung(grade, &rung, reason));
    if grade != Grade::Good {
        assessment.advise(
            "Set both to the placard, cold, and look for a leak in the softer one and its valve.",
            &[Hazard::Inflating],
        );
    }
    assessment
}
