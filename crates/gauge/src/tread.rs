//! Tread: the lowest place governs, and no single value proves a tyre legal all round.

use crate::assessment::Assessment;
use crate::caution::Hazard;
use crate::grading::Bench;
use crate::ladder::DepthLimits;
use crate::limit::{Bound, Class, Discipline, Limit, MASS_UNKNOWN, Standing, Wheels};
use crate::measured::MeasuredSet;
use crate::points::{ANSWERED, CheckPoint, DEPTH_UNITS, FIVE_WHEELS};
use crate::rotation::{self, driveline};
use crate::wear::WearLimit;
use crate::yardstick::{Held, Yardstick};
use model::{Grade, Jurisdiction, Place, Zone};
use quantity::{Depth, Dimension, Entered, Unit};

mod age;
mod around;
mod credit;
mod damage;
mod date_code;
mod depth;
mod mismatch;
mod season;
mod share;
pub(crate) mod uneven;

pub use age::{AgeMark, DateCode, DateCodeError, age_marks, noted_date_code};
pub use around::{Around, LEAST_PLACES_AROUND, around};
pub use credit::{TreadPromise, promised_distance, tread_wear_credit, treadwear_against_control};
pub use damage::TyreDamage;
use depth::{advise_on_depth, depth_opinion, on_the_road};
pub use mismatch::dual_mismatch;
pub use season::{TyreKind, wet_grip_caution, winter_tread_limits};
use share::percent_left;
pub use share::{mean_depth, usable_fraction, usable_fraction_of_set};
use uneven::uneven_opinion;

const fn mm(value: f64) -> Entered {
    Entered::new(value, Unit::Millimetre)
}

const fn in32(value: f64) -> Entered {
    Entered::new(value, Unit::ThirtySecondInch)
}

const FLOOR: Limit = Limit {
    key: "",
    discipline: Discipline::Tread,
    name: "depth, the legal floor",
    jurisdiction: None,
    class: Class::ANY,
    wheels: Wheels::Any,
    grade: Some(Grade::DoNotDrive),
    bound: Bound::Missing,
    source: "",
    edition: "",
    standing: Standing::Memory,
};

/// Legal floors. 2/32 in is 1.5875 mm, less than 1.6 mm: the same tyre may pass one law and fail another.
static LAW: [Limit; 6] = [
    Limit {
        key: "tread-law-us-light",
        jurisdiction: Some(Jurisdiction::Us),
        class: Class::LIGHT,
        bound: Bound::Below(in32(2.0)),
        source: "49 CFR 570.9(a)",
        edition: "text not read; check the current one",
        ..FLOOR
    },
    Limit {
        key: "tread-law-us-heavy-front",
        jurisdiction: Some(Jurisdiction::Us),
        class: Class::HEAVY,
        wheels: Wheels::Front,
        bound: Bound::Below(in32(4.0)),
        source: "49 CFR 570.62(a)",
        edition: "read first-hand, undated page; check the current one",
        standing: Standing::Verified,
        ..FLOOR
    },
    Limit {
        key: "tread-law-us-heavy-other",
        jurisdiction: Some(Jurisdiction::Us),
        class: Class::HEAVY,
        wheels: Wheels::NotFront,
        bound: Bound::Below(in32(2.0)),
        source: "49 CFR 570.62(a)",
        edition: "read first-hand, undated page; check the current one",
        standing: Standing::Verified,
        ..FLOOR
    },
    Limit {
        key: "tread-law-uk-light",
        jurisdiction: Some(Jurisdiction::Uk),
        name: "depth over the central three quarters of the breadth, all round, the legal floor",
        class: Class::CARS_AND_VANS,
        bound: Bound::Below(mm(1.6)),
        source: "Road Vehicles (Construction and Use) Regulations 1986, regulation 27",
        edition: "1986 as amended, read second-hand in police guidance",
        standing: Standing::Verified,
        ..FLOOR
    },
    Limit {
        key: "tread-law-uk-heavy",
        jurisdiction: Some(Jurisdiction::Uk),
        name: "depth over three quarters of the breadth, all round, the legal floor",
        class: Class::OVER_3500,
        bound: Bound::Below(mm(1.0)),
        source: "Road Vehicles (Construction and Use) Regulations 1986, regulation 27",
        edition: "1986 as amended, read second-hand in police guidance",
        standing: Standing::Verified,
        ..FLOOR
    },
    Limit {
        key: "tread-law-eu",
        jurisdiction: Some(Jurisdiction::Eu),
        bound: Bound::Below(mm(1.6)),
        source: "Directive 89/459/EEC",
        edition: "1989, text not read; check the current one",
        ..FLOOR
    },
];

const SETTING: Limit = Limit {
    source: "house setting for tread, no source",
    edition: "first edition",
    standing: Standing::CommonPractice,
    ..FLOOR
};

static ATTEND: Limit = Limit {
    key: "tread-attend-above-law",
    name: "depth less the legal floor",
    grade: Some(Grade::Attend),
    bound: Bound::Below(mm(0.8)),
    ..SETTING
};
static WATCH_ABOVE_FLOOR: Limit = Limit {
    key: "tread-watch-above-law",
    name: "depth less the legal floor",
    grade: Some(Grade::Watch),
    bound: Bound::Below(mm(1.6)),
    ..SETTING
};
static WATCH: Limit = Limit {
    key: "tread-watch",
    name: "depth",
    grade: Some(Grade::Watch),
    bound: Bound::Below(mm(3.2)),
    ..SETTING
};
const NOTICEABLE: Limit = Limit { grade: Some(Grade::Watch), bound: Bound::AtOrAbove(mm(1.0)), ..SETTING };
static UNEVEN: Limit = Limit { key: "tread-uneven", name: "difference across the tread", ..NOTICEABLE };
static SWING_AROUND: Limit =
    Limit { key: "tread-swing-around", name: "difference round the tyre", ..NOTICEABLE };
static THREE_PLACES: Limit = Limit {
    key: "tread-three-places",
    name: "depth at which three places are asked for",
    grade: None,
    bound: Bound::Below(mm(4.0)),
    ..SETTING
};

// The plausible range is a setting (common practice, no source): wide enough for any part that fits these vehicles.
pub(crate) static POINTS: [CheckPoint; 5] = [DEPTH, DAMAGE, season::KIND, date_code::POINT, mismatch::DUAL];

const DEPTH: CheckPoint = CheckPoint {
    code: "tread-depth",
    title: "Tread depth in the main grooves",
    discipline: Discipline::Tread,
    dimension: Dimension::Depth,
    units: DEPTH_UNITS,
    places: FIVE_WHEELS,
    zones: &[Zone::Inner, Zone::Centre, Zone::Outer, Zone::Lowest],
    least: Entered::new(0.0, Unit::Millimetre),
    most: Entered::new(25.0, Unit::Millimetre),
    answers: &[],
    assess: Some(assess),
};

const DAMAGE: CheckPoint =
    CheckPoint { code: "tyre-damage", title: "Damage of the tyre", answers: TyreDamage::ANSWERS, ..ANSWERED };

pub(crate) fn limits() -> impl Iterator<Item = &'static Limit> {
    let settings = [&ATTEND, &WATCH_ABOVE_FLOOR, &WATCH, &UNEVEN, &SWING_AROUND, &THREE_PLACES];
    LAW.iter()
        .chain(settings)
        .chain(season::limits())
        .chain(mismatch::limits())
        .chain(age::limits())
        .chain([&date_code::UNREADABLE])
}

/// The depths at which the grade of a tyre at this place changes: each grade holds below its depth.
pub fn tread_limits(yardstick: &Yardstick<'_>, place: Place) -> DepthLimits {
    let exact = |limit| yardstick.held(limit).exact();
    let floor = floor_at(yardstick, place).exact();
    let watch = (floor + exact(&WATCH_ABOVE_FLOOR)).max(exact(&WATCH));
    DepthLimits {
        do_not_drive: Depth::from_nm(floor),
        attend: Depth::from_nm(floor + exact(&ATTEND)),
        watch: Depth::from_nm(watch),
    }
}

/// The depth below which a tyre at this place asks for work, and on whose word.
pub(crate) fn attend_limit(yardstick: &Yardstick<'_>, place: Place) -> WearLimit {
    let attend = yardstick.held(&ATTEND);
    WearLimit {
        depth: tread_limits(yardstick, place).attend,
        source: format!("{}, above the floor of {}", attend.source(), floor_at(yardstick, place).source()),
        standing: attend.standing(),
    }
}

/// The same of a winter tyre: on the word of whichever of the two limits lies higher.
pub(crate) fn winter_attend_limit(yardstick: &Yardstick<'_>, place: Place) -> WearLimit {
    let ordinary = attend_limit(yardstick, place);
    let depth = winter_tread_limits(yardstick, place).attend;
    if depth <= ordinary.depth {
        return ordinary;
    }
    let winter = yardstick.held(&season::WINTER);
    WearLimit { depth, source: winter.source(), standing: winter.standing() }
}

/// Grades one tyre.
pub(crate) fn assess<'a>(bench: &Bench<'a>, set: &MeasuredSet<'a>) -> Assessment {
    let yardstick = &bench.yardstick;
    let depth = on_the_road(depth_opinion(bench, set), set.place);
    let depth_grade = depth.grade;
    let mut assessment = Assessment::starting_with(depth);
    if let Some(uneven) = uneven_opinion(set, &yardstick.held(&UNEVEN)) {
        assessment.hear(uneven);
        assessment.advise("Find the cause of uneven wear before fitting new tyres.", LIFT_WHEEL);
    }
    if let Some(mismatch) = mismatch::axle_opinion(bench, set) {
        assessment.hear(mismatch);
        assessment.advise("Pair tyres of like depth on each axle when tyres are next fitted.", LIFT_WHEEL);
    }
    driveline::hear(&mut assessment, bench, set);
    advise_on_depth(&mut assessment, depth_grade, set, &yardstick.held(&THREE_PLACES));
    if let Some(caution) = wet_grip_caution(yardstick, Depth::from_nm(set.lowest.exact)) {
        assessment.advise(caution, &[]);
    }
    if let Some(percent) = percent_left(bench, set) {
        assessment.advise(format!("{percent} % of the tread it can lose is left."), &[]);
    }
    if let Some((sentence, hazards)) = rotation::sentence_for(bench, set) {
        assessment.advise(sentence, hazards);
    }
    if yardstick.hangs_on_unknown_mass(&LAW, set.place) {
        assessment.advise(MASS_UNKNOWN, &[]);
    }
    assessment
}

const LIFT_WHEEL: &[Hazard] = &[Hazard::Lifting, Hazard::Wheel];

fn floor_at<'a>(yardstick: &Yardstick<'a>, place: Place) -> Held<'a> {
    yardstick
        .strictest(&LAW, place)
        .expect("every law has a floor for every mass and wheel; a test walks them all")
}
