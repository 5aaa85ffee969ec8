//! Tread: the lowest place governs, and no single value proves a tyre legal all round.

use crate::assessment::{Assessment, Opinion};
use crate::caution::Hazard;
use crate::ladder::{DepthLimits, Rung, stand_on};
use crate::limit::{
    Bound, Class, Discipline, Limit, MASS_UNKNOWN, Standing, Wheels, hang_on_unknown_mass, strictest,
};
use crate::measured::{MeasuredSet, MeasuredSets};
use crate::rotation::{self, TyreTread};
use crate::shown::{published, shown};
use crate::wear::WearLimit;
use model::{Grade, Jurisdiction, Place, Vehicle, Zone};
use quantity::{Depth, Entered, Unit};

mod age;
mod around;
mod credit;
mod damage;
mod mismatch;
mod season;
pub(crate) mod uneven;

pub use age::{AgeMark, DateCode, DateCodeError, age_marks};
pub use around::{Around, LEAST_PLACES_AROUND, around};
pub use credit::{TreadPromise, promised_distance, tread_wear_credit, treadwear_against_control};
pub use damage::TyreDamage;
pub use mismatch::dual_mismatch;
pub use season::{wet_grip_caution, winter_tread_limits};
use uneven::{three_places, uneven_opinion};

const fn mm(value: f64) -> Entered {
    Entered::new(value, Unit::Millimetre)
}

const fn in32(value: f64) -> Entered {
    Entered::new(value, Unit::ThirtySecondInch)
}

const FLOOR: Limit = Limit {
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
        jurisdiction: Some(Jurisdiction::Us),
        class: Class::LIGHT,
        bound: Bound::Below(in32(2.0)),
        source: "49 CFR 570.9(a)",
        edition: "text not read; check the current one",
        ..FLOOR
    },
    Limit {
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
    name: "depth less the legal floor",
    grade: Some(Grade::Attend),
    bound: Bound::Below(mm(0.8)),
    ..SETTING
};
static WATCH_ABOVE_FLOOR: Limit = Limit {
    name: "depth less the legal floor",
    grade: Some(Grade::Watch),
    bound: Bound::Below(mm(1.6)),
    ..SETTING
};
static WATCH: Limit =
    Limit { name: "depth", grade: Some(Grade::Watch), bound: Bound::Below(mm(3.2)), ..SETTING };
const NOTICEABLE: Limit = Limit { grade: Some(Grade::Watch), bound: Bound::AtOrAbove(mm(1.0)), ..SETTING };
static UNEVEN: Limit = Limit { name: "difference across the tread", ..NOTICEABLE };
static SWING_AROUND: Limit = Limit { name: "difference round the tyre", ..NOTICEABLE };
static THREE_PLACES: Limit = Limit {
    name: "depth at which three places are asked for",
    grade: None,
    bound: Bound::Below(mm(4.0)),
    ..SETTING
};

pub(crate) fn limits() -> impl Iterator<Item = &'static Limit> {
    let settings = [&ATTEND, &WATCH_ABOVE_FLOOR, &WATCH, &UNEVEN, &SWING_AROUND, &THREE_PLACES];
    LAW.iter().chain(settings).chain(season::limits()).chain(mismatch::limits()).chain(age::limits())
}

/// The depths at which the grade of a tyre at this place changes: each grade holds below its depth.
pub fn tread_limits(vehicle: &Vehicle, place: Place) -> DepthLimits {
    let floor = floor_at(vehicle, place).exact();
    let watch = (floor + WATCH_ABOVE_FLOOR.exact()).max(WATCH.exact());
    DepthLimits {
        do_not_drive: Depth::from_nm(floor),
        attend: Depth::from_nm(floor + ATTEND.exact()),
        watch: Depth::from_nm(watch),
    }
}

/// The depth below which a tyre at this place asks for work, and on whose word.
pub(crate) fn attend_limit(vehicle: &Vehicle, place: Place) -> WearLimit {
    let floor = floor_at(vehicle, place);
    WearLimit {
        depth: tread_limits(vehicle, place).attend,
        source: format!("{}, above the floor of {}", ATTEND.source, floor.source),
        standing: ATTEND.standing,
    }
}

/// The mean of several depths, to the nanometre below; none of none.
pub fn mean_depth(depths: &[Depth]) -> Option<Depth> {
    let sum: i64 = depths.iter().map(|depth| depth.nm()).sum();
    let count = i64::try_from(depths.len()).ok().filter(|count| *count > 0)?;
    Some(Depth::from_nm(sum / count))
}

/// The share of usable tread left, 0 to 1: (d - floor) / (new - floor), clamped (common practice, no source). For a set
/// of tyres d is the mean of their averages. `None` where a new tyre would have nothing to wear.
pub fn usable_fraction(depth: Depth, new: Depth, floor: Depth) -> Option<f64> {
    let (left, whole) = ((depth - floor).mm(), (new - floor).mm());
    (whole > 0.0).then(|| (left / whole).clamp(0.0, 1.0))
}

/// The share of usable tread a set of tyres has left, 0 to 1, from the mean of their averages across the tread; see
/// [`usable_fraction`].
pub fn usable_fraction_of_set(tyres: &[TyreTread], new: Depth, floor: Depth) -> Option<f64> {
    let averages: Vec<Depth> = tyres.iter().map(TyreTread::average).collect();
    usable_fraction(mean_depth(&averages)?, new, floor)
}

/// Grades one tyre.
pub(crate) fn assess<'a>(sets: &MeasuredSets<'a>, set: &MeasuredSet<'a>, vehicle: &Vehicle) -> Assessment {
    let floor = floor_at(vehicle, set.place);
    let mut assessment = Assessment::starting_with(on_the_road(depth_opinion(set, floor), set.place));
    if let Some(uneven) = uneven_opinion(set) {
        assessment.hear(uneven);
        assessment.advise("Find the cause of uneven wear before fitting new tyres.", LIFT_WHEEL);
    }
    if let Some(mismatch) = mismatch::axle_opinion(sets, set) {
        assessment.hear(mismatch);
        assessment.advise("Pair tyres of like depth on each axle when tyres are next fitted.", LIFT_WHEEL);
    }
    advise_on_depth(&mut assessment, set);
    if let Some(caution) = wet_grip_caution(Depth::from_nm(set.lowest.exact)) {
        assessment.advise(caution, &[]);
    }
    if let Some((sentence, hazards)) = rotation::sentence_for(sets, set) {
        assessment.advise(sentence, hazards);
    }
    if hang_on_unknown_mass(&LAW, vehicle, set.place) {
        assessment.advise(MASS_UNKNOWN, &[]);
    }
    assessment
}

const LIFT_WHEEL: &[Hazard] = &[Hazard::Lifting, Hazard::Wheel];

fn floor_at(vehicle: &Vehicle, place: Place) -> &'static Limit {
    strictest(&LAW, vehicle, place)
        .expect("every law has a floor for every mass and wheel; a test walks them all")
}

fn depth_opinion(set: &MeasuredSet<'_>, floor: &'static Limit) -> Opinion {
    let (lowest, law) = (set.lowest.exact, floor.exact());
    let above_law = lowest - law;
    let (grade, rung) = stand_on(&[
        Rung { limit: floor, tested: lowest, at: law },
        Rung { limit: &ATTEND, tested: above_law, at: law + ATTEND.exact() },
        // Of the two marks for watching the higher one decides.
        Rung { limit: &WATCH, tested: lowest, at: WATCH.exact() },
        Rung { limit: &WATCH_ABOVE_FLOOR, tested: above_law, at: law + WATCH_ABOVE_FLOOR.exact() },
    ]);
    let unit = set.lowest.entered.unit;
    let found = format!("Tread of {} {}", set.lowest.entered, where_across(set.lowest.zone));
    let legal = floor.bound.value().map(|value| published(value, law, unit)).unwrap_or_default();
    let at = shown(rung.at, unit);
    let reason = match grade {
        Grade::DoNotDrive => format!("{found} is below the legal floor of {legal}."),
        Grade::Attend => format!("{found} is below {at}, too near the legal floor of {legal}."),
        Grade::Watch => format!("{found} is below {at}, where watching begins; the legal floor is {legal}."),
        Grade::Good => format!("{found} is not below {at}, where watching begins."),
    };
    Opinion::on_rung(grade, &rung, reason).resting_on(floor)
}

fn on_the_road(opinion: Opinion, place: Place) -> Opinion {
    if place == Place::Spare {
        return opinion.at_most(Grade::Attend, "it is the spare, which is not on the road");
    }
    opinion
}

const fn where_across(zone: Zone) -> &'static str {
    match zone {
        Zone::Inner => "on the inner side",
        Zone::Centre => "at the centre",
        Zone::Outer => "on the outer side",
        Zone::Lowest | Zone::Whole => "at the lowest place found",
    }
}

fn advise_on_depth(assessment: &mut Assessment, set: &MeasuredSet<'_>) {
    match assessment.grade() {
        Grade::DoNotDrive => assessment.advise(
            "Fit another tyre before the vehicle goes out; two new tyres go to the rear axle.",
            LIFT_WHEEL,
        ),
        Grade::Attend if set.place == Place::Spare => {
            assessment.advise("Replace the spare before it is needed.", LIFT_WHEEL);
        }
        Grade::Attend => assessment.advise(
            "Replace the tyre before it wears down to the legal floor; two new tyres go to the rear axle.",
            LIFT_WHEEL,
        ),
        Grade::Watch => assessment.advise("Measure it again at every check.", &[]),
        Grade::Good => {}
    }
    if THREE_PLACES.bound.is_met(set.lowest.exact) && three_places(set).is_none() {
        assessment.advise(
            "Measure inner, centre and outer in the main grooves, at several places round the tyre: one value never \
             proves a tyre legal all round.",
            &[],
        );
    }
}
