//! Drum brakes: lining of the shoes, bonded or riveted.

use crate::assessment::{Assessment, Opinion};
use crate::caution::brakes_at;
use crate::grading::Bench;
use crate::ladder::{DepthLimits, Rung, stand_on};
use crate::limit::{Bound, Class, Discipline, Limit, Standing, Wheels};
use crate::lining::{self, BrakeKind, Lining};
use crate::measured::MeasuredSet;
use crate::points::{CheckPoint, DEPTH_UNITS, FOUR_WHEELS};
use crate::shown::published;
use crate::yardstick::{Held, Yardstick};
use model::{Grade, Jurisdiction, Place, Zone};
use quantity::{Depth, Dimension, Entered, Unit};

const fn mm(value: f64) -> Entered {
    Entered::new(value, Unit::Millimetre)
}

const fn in32(value: f64) -> Entered {
    Entered::new(value, Unit::ThirtySecondInch)
}

const FLOOR: Limit = Limit {
    key: "",
    discipline: Discipline::Shoes,
    name: "thickness of a bonded lining, the floor of inspection",
    jurisdiction: Some(Jurisdiction::Us),
    class: Class::LIGHT,
    wheels: Wheels::Any,
    grade: Some(Grade::DoNotDrive),
    bound: Bound::Below(in32(2.0)),
    source: "49 CFR 570.5",
    edition: "text not read; check the current one",
    standing: Standing::Memory,
};

const HEAVY: Limit = Limit {
    class: Class::HEAVY,
    source: "49 CFR 570.59(c)",
    edition: "read first-hand, undated page; check the current one",
    standing: Standing::Verified,
    ..FLOOR
};

/// Floors of inspection for bonded linings: 1/16 in is 2/32 in.
static LAW: [Limit; 3] = [
    Limit { key: "shoes-law-us-light", ..FLOOR },
    Limit { key: "shoes-law-us-heavy", ..HEAVY },
    Limit {
        key: "shoes-law-uk",
        jurisdiction: Some(Jurisdiction::Uk),
        class: Class::ANY,
        bound: Bound::Below(mm(1.5)),
        source: "UK annual test, below it dangerous",
        ..FLOOR
    },
];

/// Floors for riveted linings, measured over the head of the fastener.
static OVER_RIVETS: [Limit; 2] = [
    Limit { key: "shoes-law-rivets-us-light", name: OVER, bound: Bound::Below(in32(1.0)), ..FLOOR },
    Limit { key: "shoes-law-rivets-us-heavy", name: OVER, bound: Bound::Below(in32(1.0)), ..HEAVY },
];
const OVER: &str = "thickness of a riveted lining over the fastener, the floor of inspection";

const SETTING: Limit = Limit {
    name: "thickness",
    jurisdiction: None,
    class: Class::ANY,
    source: "house setting for shoes, no source",
    edition: "first edition",
    standing: Standing::CommonPractice,
    ..FLOOR
};

// A new lining has 4 to 6 mm (common practice, no source).
static WORN_OUT: Limit = Limit { key: "shoes-do-not-drive", bound: Bound::AtOrBelow(mm(1.6)), ..SETTING };
static ATTEND: Limit =
    Limit { key: "shoes-attend", grade: Some(Grade::Attend), bound: Bound::AtOrBelow(mm(2.0)), ..SETTING };
static WATCH: Limit =
    Limit { key: "shoes-watch", grade: Some(Grade::Watch), bound: Bound::AtOrBelow(mm(2.5)), ..SETTING };
/// Where no law names a number.
static OVER_RIVETS_ELSEWHERE: Limit = Limit {
    key: "shoes-rivets",
    name: "thickness of a riveted lining over the fastener",
    bound: Bound::Below(in32(1.0)),
    ..SETTING
};
static LEFT_RIGHT: Limit = Limit {
    key: "shoes-left-right",
    name: "thickness less that of the other wheel of the axle",
    grade: Some(Grade::Watch),
    bound: Bound::Above(mm(2.0)),
    ..SETTING
};

// The plausible range is a setting (common practice, no source): wide enough for any part that fits these vehicles.
const LINING: CheckPoint = CheckPoint {
    code: "shoe-thickness",
    title: "Brake shoe lining thickness, without the shoe",
    discipline: Discipline::Shoes,
    dimension: Dimension::Depth,
    units: DEPTH_UNITS,
    places: FOUR_WHEELS,
    zones: &[Zone::Lowest],
    least: Entered::new(0.0, Unit::Millimetre),
    most: Entered::new(25.0, Unit::Millimetre),
    answers: &[],
    assess: Some(assess),
};

pub(crate) static POINTS: [CheckPoint; 2] = [
    LINING,
    CheckPoint {
        code: "shoe-over-rivets",
        title: "Brake shoe lining over the head of its rivets",
        assess: Some(assess_over_rivets),
        ..LINING
    },
];

pub(crate) fn limits() -> impl Iterator<Item = &'static Limit> {
    let settings = [&WORN_OUT, &ATTEND, &WATCH, &OVER_RIVETS_ELSEWHERE, &LEFT_RIGHT];
    LAW.iter().chain(&OVER_RIVETS).chain(settings).chain(lining::limits())
}

pub(crate) static SHOES: Lining = Lining {
    law: &LAW,
    worn_out: &WORN_OUT,
    attend: &ATTEND,
    watch: &WATCH,
    left_right: &LEFT_RIGHT,
    material: "linings",
    part: "shoes",
    partner: "drums",
    apart: "as with a stuck cylinder or adjuster",
    kinds: &[BrakeKind::AirDrumStrip, BrakeKind::AirDrumTwoPads, BrakeKind::Hydraulic, BrakeKind::Electric],
};

/// The thicknesses at which the grade of bonded linings changes, of a vehicle whose kind of brake is not noted: each grade
/// holds at or below its thickness.
pub fn shoe_limits(yardstick: &Yardstick<'_>, place: Place) -> DepthLimits {
    SHOES.depth_limits(yardstick, place, None)
}

/// The least that a riveted lining must have over its fasteners, where a law says so.
pub fn over_rivets_floor(yardstick: &Yardstick<'_>, place: Place) -> Option<Depth> {
    Some(Depth::from_nm(yardstick.strictest(&OVER_RIVETS, place)?.exact()))
}

/// Grades the lining of one wheel.
fn assess<'a>(bench: &Bench<'a>, set: &MeasuredSet<'a>) -> Assessment {
    let opinion = SHOES.opinion(bench, set, &format!("Lining of {}", set.lowest.entered));
    let thickness = opinion.grade;
    let mut assessment = Assessment::starting_with(opinion);
    if let Some(uneven) = SHOES.left_right(bench, set) {
        assessment.hear(uneven);
        assessment
            .advise("Attend to cylinder and adjuster of both wheels of this axle.", brakes_at(set.place));
    }
    SHOES.advise(&mut assessment, thickness, set.place);
    assessment
}

fn told(rung: &Rung<'_>, unit: Unit) -> String {
    rung.held.bound.value().map(|value| published(value, rung.at, unit)).unwrap_or_default()
}

/// Grades what a riveted lining has over its fasteners: by the law where there is one.
fn assess_over_rivets<'a>(bench: &Bench<'a>, set: &MeasuredSet<'a>) -> Assessment {
    let floor: Held<'_> = bench
        .yardstick
        .strictest(&OVER_RIVETS, set.place)
        .unwrap_or_else(|| bench.yardstick.held(&OVER_RIVETS_ELSEWHERE));
    let rung = Rung::on_scale(floor, set.lowest.exact);
    let (grade, rung) = stand_on(&[rung]);
    let found = format!("Lining of {} over its rivets", set.lowest.entered);
    let at = told(&rung, set.lowest.entered.unit);
    let reason = match grade {
        Grade::Good => format!("{found} is not below {at}, the least they are left with."),
        _ => format!("{found} is below {at}, the least they are left with; bare rivets score the drum."),
    };
    let mut assessment = Assessment::starting_with(Opinion::on_rung(grade, &rung, reason));
    SHOES.advise(&mut assessment, grade, set.place);
    assessment
}
