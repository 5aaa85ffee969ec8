//! Brake pads: friction material without backing plate, inner and outer, left and right.

use crate::assessment::{Assessment, Opinion};
use crate::axle::{Axle, opposite};
use crate::caution::Hazard;
use crate::ladder::{DepthLimits, Rung, stand_on};
use crate::limit::{Bound, Class, Discipline, Limit, Standing, Wheels, strictest};
use crate::measured::{MeasuredSet, MeasuredSets};
use crate::shown::{published, shown};
use crate::wear::WearLimit;
use model::{Grade, Jurisdiction, Place, Vehicle, Zone};
use quantity::{Depth, Entered, Unit};

const fn mm(value: f64) -> Entered {
    Entered::new(value, Unit::Millimetre)
}

const FLOOR: Limit = Limit {
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
        jurisdiction: Some(Jurisdiction::Us),
        class: Class::LIGHT,
        bound: Bound::Below(Entered::new(2.0, Unit::ThirtySecondInch)),
        source: "49 CFR 570.5",
        edition: "text not read; check the current one",
        ..FLOOR
    },
    Limit {
        jurisdiction: Some(Jurisdiction::Us),
        class: Class::HEAVY,
        bound: Bound::Below(Entered::new(2.0, Unit::ThirtySecondInch)),
        source: "49 CFR 570.59(c)",
        edition: "read first-hand, undated page; check the current one",
        standing: Standing::Verified,
        ..FLOOR
    },
    Limit {
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

static WORN_OUT: Limit = Limit { bound: Bound::AtOrBelow(mm(2.0)), ..SETTING };
static ATTEND: Limit = Limit { grade: Some(Grade::Attend), bound: Bound::AtOrBelow(mm(3.0)), ..SETTING };
static WATCH: Limit = Limit { grade: Some(Grade::Watch), bound: Bound::AtOrBelow(mm(4.0)), ..SETTING };
static INNER_UNSEEN: Limit = Limit { name: "the inner pad", grade: Some(Grade::Watch), ..SETTING };
static INNER_OUTER: Limit = Limit {
    name: "difference of inner and outer pad",
    grade: Some(Grade::Watch),
    bound: Bound::Above(mm(2.0)),
    ..SETTING
};
static LEFT_RIGHT: Limit = Limit {
    name: "difference of left and right wheel",
    grade: Some(Grade::Watch),
    bound: Bound::Above(mm(2.0)),
    ..SETTING
};

pub(crate) fn limits() -> impl Iterator<Item = &'static Limit> {
    LAW.iter().chain([&WORN_OUT, &ATTEND, &WATCH, &INNER_UNSEEN, &INNER_OUTER, &LEFT_RIGHT])
}

/// The thicknesses at which the grade of pads changes: each grade holds at or below its thickness.
///
/// The house's do-not-drive setting lies above every floor of inspection; if a law were ever stricter, it would count.
pub fn pad_limits(vehicle: &Vehicle, place: Place) -> DepthLimits {
    let floor = strictest(&LAW, vehicle, place).map_or(0, Limit::exact);
    DepthLimits {
        do_not_drive: Depth::from_nm(WORN_OUT.exact().max(floor)),
        attend: Depth::from_nm(ATTEND.exact()),
        watch: Depth::from_nm(WATCH.exact()),
    }
}

/// The thickness at which pads at this place ask for work, and on whose word.
pub(crate) fn attend_limit(vehicle: &Vehicle, place: Place) -> WearLimit {
    WearLimit {
        depth: pad_limits(vehicle, place).attend,
        source: ATTEND.source.to_owned(),
        standing: ATTEND.standing,
    }
}

/// Grades the pads of one wheel.
pub(crate) fn assess<'a>(sets: &MeasuredSets<'a>, set: &MeasuredSet<'a>, vehicle: &Vehicle) -> Assessment {
    let mut assessment = Assessment::starting_with(thickness_opinion(set, vehicle));
    if set.in_zone(Zone::Inner).is_none() {
        let reason =
            format!("Only the outer pad was measured ({}); the inner one may be lower.", set.lowest.entered);
        assessment.hear(Opinion::on_comparison(&INNER_UNSEEN, reason));
        assessment.advise("Measure the inner pad as well.", BRAKES);
    }
    let uneven = [inner_outer_opinion(set), left_right_opinion(sets, set)];
    let is_uneven = uneven.iter().any(Option::is_some);
    uneven.into_iter().flatten().for_each(|opinion| assessment.hear(opinion));
    if is_uneven {
        assessment.advise(
            "Attend to the caliper: slide pins, piston and hose; a sticking one wears pads unevenly.",
            BRAKES,
        );
    }
    advise_on_thickness(&mut assessment, set);
    assessment
}

const BRAKES: &[Hazard] = &[Hazard::Lifting, Hazard::Wheel, Hazard::Brakes];

fn thickness_opinion(set: &MeasuredSet<'_>, vehicle: &Vehicle) -> Opinion {
    let lowest = set.lowest.exact;
    let rung = |limit: &'static Limit| Rung { limit, tested: lowest, at: limit.exact() };
    let law = strictest(&LAW, vehicle, set.place);
    let rungs: Vec<Rung> = law.into_iter().chain([&WORN_OUT, &ATTEND, &WATCH]).map(rung).collect();
    let (grade, rung) = stand_on(&rungs);
    let unit = set.lowest.entered.unit;
    let found = format!("Friction material of {} on the {} pad", set.lowest.entered, pad(set.lowest.zone));
    let at = rung.limit.bound.value().map(|value| published(value, rung.at, unit)).unwrap_or_default();
    let reason = match grade {
        Grade::DoNotDrive if rung.limit.jurisdiction.is_some() => {
            format!("{found} is below the floor of inspection of {at}.")
        }
        Grade::DoNotDrive => format!("{found} is at or below {at}, where pads are worn out."),
        Grade::Attend => format!("{found} is at or below {at}, where pads are to be replaced."),
        Grade::Watch => format!("{found} is at or below {at}, where watching begins."),
        Grade::Good => format!("{found} is above {at}, where watching begins."),
    };
    Opinion::on_rung(grade, &rung, reason)
}

const fn pad(zone: Zone) -> &'static str {
    match zone {
        Zone::Inner => "inner",
        Zone::Outer => "outer",
        Zone::Centre | Zone::Lowest | Zone::Whole => "lowest",
    }
}

fn inner_outer_opinion(set: &MeasuredSet<'_>) -> Option<Opinion> {
    let (inner, outer) = (set.in_zone(Zone::Inner)?, set.in_zone(Zone::Outer)?);
    let difference = (inner - outer).abs();
    let unit = set.lowest.entered.unit;
    let reason = format!(
        "Inner and outer pad differ by {} ({} inner, {} outer), as behind a sticking piston or slide pin.",
        shown(difference, unit),
        shown(inner, unit),
        shown(outer, unit),
    );
    INNER_OUTER.bound.is_met(difference).then(|| Opinion::on_comparison(&INNER_OUTER, reason))
}

/// Like is held to like: a wheel whose inner pad was seen is not compared with one whose inner pad was not.
fn left_right_opinion(sets: &MeasuredSets<'_>, set: &MeasuredSet<'_>) -> Option<Opinion> {
    let axle = Axle::of(set.place)?;
    let other = sets.beside(set, opposite(set.place)?)?;
    if set.in_zone(Zone::Inner).is_some() != other.in_zone(Zone::Inner).is_some() {
        return None;
    }
    let difference = (set.lowest.exact - other.lowest.exact).abs();
    let unit = set.lowest.entered.unit;
    let reason = format!(
        "Left and right on the {} axle differ by {} ({} here, {} opposite), as with a sticking caliper or a blocked hose.",
        axle.word(),
        shown(difference, unit),
        shown(set.lowest.exact, unit),
        shown(other.lowest.exact, unit),
    );
    LEFT_RIGHT.bound.is_met(difference).then(|| Opinion::on_comparison(&LEFT_RIGHT, reason))
}

fn advise_on_thickness(assessment: &mut Assessment, set: &MeasuredSet<'_>) {
    let lowest = set.lowest.exact;
    if WORN_OUT.bound.is_met(lowest) {
        assessment
            .advise("Have the pads of both wheels of this axle replaced, and look at the discs.", BRAKES);
    } else if ATTEND.bound.is_met(lowest) {
        assessment.advise("Book the pads of both wheels of this axle for replacement.", BRAKES);
    } else if WATCH.bound.is_met(lowest) {
        assessment.advise("Measure them again at every check.", &[]);
    }
}
