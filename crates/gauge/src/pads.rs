//! Brake pads: friction material without backing plate, inner and outer, left and right.

use crate::assessment::{Assessment, Opinion};
use crate::caution::brakes_at;
use crate::grading::Bench;
use crate::ladder::DepthLimits;
use crate::limit::{Bound, Class, Discipline, Limit, Standing, Wheels};
use crate::lining::{BrakeKind, Lining};
use crate::measured::MeasuredSet;
use crate::points::{CheckPoint, DEPTH_UNITS, FOUR_WHEELS};
use crate::shown::shown;
use crate::yardstick::Yardstick;
use model::{Grade, Jurisdiction, Place, Zone};
use quantity::{Dimension, Entered, Unit};

const fn mm(value: f64) -> Entered {
    Entered::new(value, Unit::Millimetre)
}

const FLOOR: Limit = Limit {
    key: "",
    discipline: Discipline::Pads,
    name: "thickness, the floor of inspection",
    jurisdiction: None,
    class: Class::ANY,
    wheels: Wheels::Any,
    grade: Some(Grade::DoNotDrive),
    bound: Bound::Missing,
    source: "",
    edition: "",
    standing: Standing::Memory,
};

/// Floors of inspection for bonded pads: 1/16 in is 2/32 in.
static LAW: [Limit; 3] = [
    Limit {
        key: "pads-law-us-light",
        jurisdiction: Some(Jurisdiction::Us),
        class: Class::LIGHT,
        bound: Bound::Below(Entered::new(2.0, Unit::ThirtySecondInch)),
        source: "49 CFR 570.5",
        edition: "text not read; check the current one",
        ..FLOOR
    },
    Limit {
        key: "pads-law-us-heavy",
        jurisdiction: Some(Jurisdiction::Us),
        class: Class::HEAVY,
        bound: Bound::Below(Entered::new(2.0, Unit::ThirtySecondInch)),
        source: "49 CFR 570.59(c)",
        edition: "read first-hand, undated page; check the current one",
        standing: Standing::Verified,
        ..FLOOR
    },
    Limit {
        key: "pads-law-uk",
        jurisdiction: Some(Jurisdiction::Uk),
        bound: Bound::Below(mm(1.5)),
        source: "UK annual test, below it dangerous",
        edition: "text not read; check the current one",
        ..FLOOR
    },
];

const SETTING: Limit = Limit {
    name: "thickness",
    source: "house setting for pads, no source",
    edition: "first edition",
    standing: Standing::CommonPractice,
    ..FLOOR
};

static WORN_OUT: Limit = Limit { key: "pads-do-not-drive", bound: Bound::AtOrBelow(mm(2.0)), ..SETTING };
static ATTEND: Limit =
    Limit { key: "pads-attend", grade: Some(Grade::Attend), bound: Bound::AtOrBelow(mm(3.0)), ..SETTING };
static WATCH: Limit =
    Limit { key: "pads-watch", grade: Some(Grade::Watch), bound: Bound::AtOrBelow(mm(4.0)), ..SETTING };
static INNER_UNSEEN: Limit =
    Limit { key: "pads-inner-unseen", name: "the inner pad", grade: Some(Grade::Watch), ..SETTING };
static INNER_OUTER: Limit = Limit {
    key: "pads-inner-outer",
    name: "difference of inner and outer pad",
    grade: Some(Grade::Watch),
    bound: Bound::Above(mm(2.0)),
    ..SETTING
};
static LEFT_RIGHT: Limit = Limit {
    key: "pads-left-right",
    name: "thickness less that of the other wheel of the axle",
    grade: Some(Grade::Watch),
    bound: Bound::Above(mm(2.0)),
    ..SETTING
};

// The plausible range is a setting (common practice, no source): wide enough for any part that fits these vehicles.
pub(crate) static POINTS: [CheckPoint; 1] = [CheckPoint {
    code: "pad-thickness",
    title: "Brake pad thickness, friction material without backing plate",
    discipline: Discipline::Pads,
    dimension: Dimension::Depth,
    units: DEPTH_UNITS,
    places: FOUR_WHEELS,
    zones: &[Zone::Inner, Zone::Outer],
    least: Entered::new(0.0, Unit::Millimetre),
    most: Entered::new(25.0, Unit::Millimetre),
    answers: &[],
    assess: Some(assess),
}];

pub(crate) fn limits() -> impl Iterator<Item = &'static Limit> {
    LAW.iter().chain([&WORN_OUT, &ATTEND, &WATCH, &INNER_UNSEEN, &INNER_OUTER, &LEFT_RIGHT])
}

pub(crate) static PADS: Lining = Lining {
    law: &LAW,
    worn_out: &WORN_OUT,
    attend: &ATTEND,
    watch: &WATCH,
    left_right: &LEFT_RIGHT,
    material: "pads",
    part: "pads",
    partner: "discs",
    apart: "as with a sticking caliper or a blocked hose",
    kinds: &[BrakeKind::AirDisc, BrakeKind::Hydraulic, BrakeKind::Electric],
};

/// The thicknesses at which the grade of pads changes, of a vehicle whose kind of brake is not noted: each grade holds at
/// or below its thickness.
pub fn pad_limits(yardstick: &Yardstick<'_>, place: Place) -> DepthLimits {
    PADS.depth_limits(yardstick, place, None)
}

/// Grades the pads of one wheel.
pub(crate) fn assess<'a>(bench: &Bench<'a>, set: &MeasuredSet<'a>) -> Assessment {
    let yardstick = &bench.yardstick;
    let found = format!("Friction material of {} on the {} pad", set.lowest.entered, pad(set.lowest.zone));
    let opinion = PADS.opinion(bench, set, &found);
    let thickness = opinion.grade;
    let mut assessment = Assessment::starting_with(opinion);
    if set.in_zone(Zone::Inner).is_none() {
        let reason =
            format!("Only the outer pad was measured ({}); the inner one may be lower.", set.lowest.entered);
        assessment.hear(Opinion::on_comparison(&yardstick.held(&INNER_UNSEEN), reason));
        assessment.advise("Measure the inner pad as well.", brakes_at(set.place));
    }
    let uneven = [inner_outer_opinion(set, yardstick), PADS.left_right(bench, set)];
    let is_uneven = uneven.iter().any(Option::is_some);
    uneven.into_iter().flatten().for_each(|opinion| assessment.hear(opinion));
    if is_uneven {
        assessment.advise(
            "Attend to the caliper: slide pins, piston and hose; a sticking one wears pads unevenly.",
            brakes_at(set.place),
        );
    }
    PADS.advise(&mut assessment, thickness, set.place);
    assessment
}

const fn pad(zone: Zone) -> &'static str {
    match zone {
        Zone::Inner => "inner",
        Zone::Outer => "outer",
        Zone::Centre | Zone::Lowest | Zone::Whole => "lowest",
    }
}

fn inner_outer_opinion(set: &MeasuredSet<'_>, yardstick: &Yardstick<'_>) -> Option<Opinion> {
    let (inner, outer) = (set.in_zone(Zone::Inner)?, set.in_zone(Zone::Outer)?);
    let difference = (inner - outer).abs();
    let unit = set.lowest.entered.unit;
    let reason = format!(
        "Inner and outer pad differ by {} ({} inner, {} outer), as behind a sticking piston or slide pin.",
        shown(difference, unit),
        shown(inner, unit),
        shown(outer, unit),
    );
    let held = yardstick.held(&INNER_OUTER);
    held.is_met(difference).then(|| Opinion::on_comparison(&held, reason))
}
