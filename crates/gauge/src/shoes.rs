//! Drum brakes: lining of the shoes, bonded or riveted, and the floors of commercial vehicles.

use crate::assessment::{Assessment, Opinion};
use crate::axle::{Axle, opposite};
use crate::caution::brakes_at;
use crate::grading::Bench;
use crate::ladder::{DepthLimits, Rung, stand_on};
use crate::limit::{Bound, Class, Discipline, Limit, Standing, Wheels};
use crate::measured::MeasuredSet;
use crate::points::{CheckPoint, DEPTH_UNITS, FOUR_WHEELS};
use crate::shown::{published, shown};
use crate::wear::WearLimit;
use crate::yardstick::{Held, Yardstick};
use model::{Grade, Jurisdiction, Place, Zone};
use quantity::{Depth, Dimension, Entered, Unit};

mod commercial;

pub use commercial::{BrakeKind, commercial_lining_floor};

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
    LAW.iter().chain(&OVER_RIVETS).chain(settings).chain(commercial::limits())
}

/// The thicknesses at which the grade of bonded linings changes: each grade holds at or below its thickness.
pub fn shoe_limits(yardstick: &Yardstick<'_>, place: Place) -> DepthLimits {
    let exact = |limit| yardstick.held(limit).exact();
    let floor = yardstick.strictest(&LAW, place).map_or(0, |floor| floor.exact());
    DepthLimits {
        do_not_drive: Depth::from_nm(exact(&WORN_OUT).max(floor)),
        attend: Depth::from_nm(exact(&ATTEND)),
        watch: Depth::from_nm(exact(&WATCH)),
    }
}

/// The thickness at which shoes at this place ask for work, and on whose word.
pub(crate) fn attend_limit(yardstick: &Yardstick<'_>, place: Place) -> WearLimit {
    let attend = yardstick.held(&ATTEND);
    WearLimit {
        depth: shoe_limits(yardstick, place).attend,
        source: attend.source(),
        standing: attend.standing(),
    }
}

/// The least that a riveted lining must have over its fasteners, where a law says so.
pub fn over_rivets_floor(yardstick: &Yardstick<'_>, place: Place) -> Option<Depth> {
    Some(Depth::from_nm(yardstick.strictest(&OVER_RIVETS, place)?.exact()))
}

/// Grades the lining of one wheel.
fn assess<'a>(bench: &Bench<'a>, set: &MeasuredSet<'a>) -> Assessment {
    let opinion = thickness_opinion(set, &bench.yardstick);
    let thickness = opinion.grade;
    let mut assessment = Assessment::starting_with(opinion);
    if let Some(uneven) = left_right_opinion(bench, set) {
        assessment.hear(uneven);
        assessment
            .advise("Attend to cylinder and adjuster of both wheels of this axle.", brakes_at(set.place));
    }
    advise_on_thickness(&mut assessment, thickness, set.place);
    assessment
}

fn thickness_opinion(set: &MeasuredSet<'_>, yardstick: &Yardstick<'_>) -> Opinion {
    let lowest = set.lowest.exact;
    let law = yardstick.strictest(&LAW, set.place);
    let house = [&WORN_OUT, &ATTEND, &WATCH].map(|limit| yardstick.held(limit));
    let rungs: Vec<Rung<'_>> =
        law.into_iter().chain(house).map(|held| Rung::on_scale(held, lowest)).collect();
    let (grade, rung) = stand_on(&rungs);
    let found = format!("Lining of {}", set.lowest.entered);
    let at = told(&rung, set.lowest.entered.unit);
    let reason = match grade {
        Grade::DoNotDrive if rung.held.limit.jurisdiction.is_some() => {
            format!("{found} is below the floor of inspection of {at}.")
        }
        Grade::DoNotDrive => format!("{found} is at or below {at}, where linings are worn out."),
        Grade::Attend => format!("{found} is at or below {at}, where shoes are to be replaced."),
        Grade::Watch => format!("{found} is at or below {at}, where watching begins."),
        Grade::Good => format!("{found} is above {at}, where watching begins."),
    };
    Opinion::on_rung(grade, &rung, reason)
}

fn told(rung: &Rung<'_>, unit: Unit) -> String {
    rung.held.bound.value().map(|value| published(value, rung.at, unit)).unwrap_or_default()
}

/// At the thinner wheel only, so that more wear never makes a grade better.
fn left_right_opinion(bench: &Bench<'_>, set: &MeasuredSet<'_>) -> Option<Opinion> {
    let axle = Axle::of(set.place)?;
    let other = bench.sets.beside(set, opposite(set.place)?)?;
    let difference = other.lowest.exact - set.lowest.exact;
    let unit = set.lowest.entered.unit;
    let reason = format!(
        "Left and right on the {} axle differ by {} ({} here, {} opposite), as with a stuck cylinder or adjuster.",
        axle.word(),
        shown(difference, unit),
        shown(set.lowest.exact, unit),
        shown(other.lowest.exact, unit),
    );
    let held = bench.yardstick.held(&LEFT_RIGHT);
    held.is_met(difference).then(|| Opinion::on_comparison(&held, reason))
}

fn advise_on_thickness(assessment: &mut Assessment, thickness: Grade, place: Place) {
    let hazards = brakes_at(place);
    match thickness {
        Grade::DoNotDrive => assessment
            .advise("Have the shoes of both wheels of this axle replaced, and look at the drums.", hazards),
        Grade::Attend => {
            assessment.advise("Book the shoes of both wheels of this axle for replacement.", hazards);
        }
        Grade::Watch => assessment.advise("Measure them again at every check.", &[]),
        Grade::Good => {}
    }
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
    advise_on_thickness(&mut assessment, grade, set.place);
    assessment
}
