//! Cold pressure against the placard.

use crate::assessment::{Assessment, Opinion};
use crate::axle::Axle;
use crate::caution::Hazard;
use crate::grading::Bench;
use crate::ladder::{Rung, stand_on};
use crate::limit::{Bound, Class, Discipline, Limit, Standing, Wheels};
use crate::measured::MeasuredSet;
use crate::points::{CheckPoint, FIVE_WHEELS, PRESSURE_UNITS, TEMPERATURE_UNITS, WHOLE, WHOLE_VEHICLE};
use crate::shown::published;
use crate::yardstick::Yardstick;
use model::{Grade, Place, Vehicle};
use quantity::{Dimension, Entered, Pressure, Unit};

mod air;
mod atmosphere;
mod duals;
mod leak;
mod monitor;
mod set_point;
mod told;
mod warmth;

pub use air::{Air, gauge_at};
pub use atmosphere::ambient_at;
pub use leak::{LeakRate, LeakReading, leak_rate};
pub use monitor::{monitor_threshold, temperature_showing};
pub use set_point::{SetPointError, set_point};
use told::Target;
pub use warmth::{Warmth, pressure_grade};

const SETTING: Limit = Limit {
    key: "",
    discipline: Discipline::Pressure,
    name: "share under the placard",
    jurisdiction: None,
    class: Class::ANY,
    wheels: Wheels::Any,
    grade: Some(Grade::Watch),
    bound: Bound::Missing,
    source: "house setting for pressure against the vehicle's placard, no source",
    edition: "first edition",
    standing: Standing::CommonPractice,
};

const fn percent(value: f64) -> Entered {
    Entered::new(value, Unit::Percent)
}

static HALF: Limit = Limit {
    key: "pressure-do-not-drive",
    grade: Some(Grade::DoNotDrive),
    bound: Bound::Above(percent(50.0)),
    ..SETTING
};
/// The threshold of the pressure monitor that US law asks for; kept for every vehicle as the mark of serious loss.
static MONITOR: Limit = Limit {
    key: "pressure-monitor",
    grade: Some(Grade::Attend),
    bound: Bound::AtOrAbove(percent(25.0)),
    source: "49 CFR 571.138 S4.2(a)",
    edition: "read first-hand, undated page; check the current one",
    standing: Standing::Verified,
    ..SETTING
};
static LOW: Limit = Limit {
    key: "pressure-attend",
    grade: Some(Grade::Attend),
    bound: Bound::Above(percent(10.0)),
    ..SETTING
};
static LOWISH: Limit = Limit { key: "pressure-watch", bound: Bound::Above(percent(5.0)), ..SETTING };
static OVER: Limit = Limit {
    key: "pressure-over",
    name: "share over the placard",
    bound: Bound::Above(percent(20.0)),
    ..SETTING
};
static LOOK_INSIDE: Limit = Limit {
    key: "pressure-look-inside",
    name: "share under the placard at which a driven tyre is looked into",
    grade: None,
    bound: Bound::AtOrAbove(percent(20.0)),
    ..SETTING
};
static NO_PLACARD: Limit = Limit { key: "pressure-placard", name: "the placard's pressure", ..SETTING };

// The plausible ranges are settings (common practice, no source): wide enough for any part that fits these vehicles.
const COLD: CheckPoint = CheckPoint {
    code: "cold-pressure",
    title: "Cold tyre pressure",
    discipline: Discipline::Pressure,
    dimension: Dimension::Pressure,
    units: PRESSURE_UNITS,
    places: FIVE_WHEELS,
    zones: WHOLE,
    least: Entered::new(0.0, Unit::Kilopascal),
    most: Entered::new(1000.0, Unit::Kilopascal),
    answers: &[],
    assess: Some(assess),
};
/// Of the air about the tyres, noted with the pressures.
const TEMPERATURE: CheckPoint = CheckPoint {
    code: "tyre-temperature",
    title: "Temperature where the tyres are now, which cold tyres share",
    dimension: Dimension::Temperature,
    units: TEMPERATURE_UNITS,
    places: WHOLE_VEHICLE,
    least: Entered::new(-60.0, Unit::Celsius),
    most: Entered::new(70.0, Unit::Celsius),
    assess: None,
    ..COLD
};

pub(crate) static POINTS: [CheckPoint; 6] = [
    COLD,
    CheckPoint {
        code: "hot-pressure",
        title: "Tyre pressure of a vehicle driven within the last three hours",
        assess: Some(warmth::assess),
        ..COLD
    },
    TEMPERATURE,
    CheckPoint {
        code: "standing-temperature",
        title: "Lowest temperature to be expected where the vehicle will stand",
        ..TEMPERATURE
    },
    CheckPoint {
        code: "tyre-maximum",
        title: "Maximum pressure marked on the tyre",
        least: Entered::new(100.0, Unit::Kilopascal),
        assess: None,
        ..COLD
    },
    duals::POINT,
];

pub(crate) fn limits() -> impl Iterator<Item = &'static Limit> {
    let own = [&HALF, &MONITOR, &LOW, &LOWISH, &OVER, &LOOK_INSIDE, &NO_PLACARD, &warmth::HOT];
    own.into_iter().chain(told::limits()).chain(leak::limits()).chain(duals::limits())
}

/// Grades one tyre's cold pressure.
pub(crate) fn assess<'a>(bench: &Bench<'a>, set: &MeasuredSet<'a>) -> Assessment {
    let yardstick = &bench.yardstick;
    let Some((entered, placard)) = placard_at(yardstick.vehicle, set.place) else {
        return without_placard(set, yardstick);
    };
    let told = published(entered, placard, set.lowest.entered.unit);
    let under = share_under(set.lowest.exact, placard);
    let mut assessment = Assessment::starting_with(under_opinion(set, yardstick, placard, under, &told));
    let held = yardstick.held(&OVER);
    if set.place != Place::Spare && held.is_met(-under) {
        let at = share_of(placard, HUNDRED_PERCENT + held.exact());
        let rung = Rung { held, tested: -under, at, is_inverse: false };
        let over = shown_share(-under);
        let reason = format!(
            "Cold pressure of {} is {over} over the placard's {told}, more than the {} allowed.",
            set.lowest.entered,
            shown_share(held.exact()),
        );
        assessment.hear(Opinion::on_rung(Grade::Watch, &rung, reason));
    }
    let target = told::target(bench, set, (entered, placard));
    advise(&mut assessment, yardstick, set.place, under, target);
    told::hear_maximum(&mut assessment, bench, set, placard);
    told::hear_leak(&mut assessment, bench, set);
    assessment
}

/// The placard's pressure for a place, as entered and exact; for the spare the higher one, since it may go anywhere.
fn placard_at(vehicle: &Vehicle, place: Place) -> Option<(Entered, i64)> {
    let usable = |entered: Option<Entered>| {
        let entered = entered?;
        Pressure::parse(entered)
            .ok()
            .filter(|pressure| *pressure > Pressure::ZERO)
            .map(|p| (entered, p.mpa()))
    };
    let (front, rear) = (usable(vehicle.placard.front), usable(vehicle.placard.rear));
    match Axle::of(place) {
        Some(Axle::Front) => front,
        Some(Axle::Rear) => rear,
        None => [front, rear].into_iter().flatten().max_by_key(|(_, exact)| *exact),
    }
}

fn without_placard(set: &MeasuredSet<'_>, yardstick: &Yardstick<'_>) -> Assessment {
    let which = Axle::of(set.place).map_or_else(String::new, |axle| format!(" for the {} axle", axle.word()));
    let reason = format!(
        "No placard pressure recorded{which}, so the cold pressure of {} cannot be judged.",
        set.lowest.entered
    );
    let mut assessment =
        Assessment::starting_with(Opinion::on_comparison(&yardstick.held(&NO_PLACARD), reason));
    assessment.advise("Read the cold pressures off the vehicle's placard and record them.", &[]);
    assessment
}

/// 100 % in millionths of a percent, the base unit of a share.
const HUNDRED_PERCENT: i64 = 100_000_000;

/// By what share `measured` is under `placard` (both mPa), in millionths of a percent to the nearest hundred.
///
/// Rounded, because one psi is no whole number of mPa: a tyre at exactly 90 % in psi must be at exactly 90 % here.
fn share_under(measured: i64, placard: i64) -> i64 {
    let parts = 2_000_000 * (i128::from(placard) - i128::from(measured));
    let rounded = (parts + i128::from(placard)).div_euclid(2 * i128::from(placard));
    i64::try_from(rounded).unwrap_or(i64::MIN / 100).saturating_mul(100)
}

/// This share of the placard, mPa.
fn share_of(placard: i64, share: i64) -> i64 {
    let part = i128::from(placard) * i128::from(share) / i128::from(HUNDRED_PERCENT);
    i64::try_from(part).unwrap_or(i64::MAX)
}

/// A share with one decimal at most.
fn shown_share(share: i64) -> String {
    let tenths = (share + 50_000).div_euclid(100_000) * 100_000;
    Entered::from_exact(tenths, Unit::Percent).to_string()
}

/// The ladder of being low.
fn rungs_under<'a>(yardstick: &Yardstick<'a>, placard: i64, under: i64) -> [Rung<'a>; 4] {
    [&HALF, &MONITOR, &LOW, &LOWISH].map(|limit| {
        let held = yardstick.held(limit);
        let at = share_of(placard, HUNDRED_PERCENT - held.exact());
        Rung { held, tested: under, at, is_inverse: true }
    })
}

fn under_opinion(
    set: &MeasuredSet<'_>,
    yardstick: &Yardstick<'_>,
    placard: i64,
    under: i64,
    told: &str,
) -> Opinion {
    let (grade, rung) = stand_on(&rungs_under(yardstick, placard, under));
    let found = format!("Cold pressure of {}", set.lowest.entered);
    let (share, allowed) = (shown_share(under), shown_share(rung.held.exact()));
    let reason = match grade {
        Grade::DoNotDrive => format!("{found} is {share} under the placard's {told}, more than {allowed}."),
        Grade::Attend if rung.held.limit == &MONITOR => {
            format!(
                "{found} is {share} under the placard's {told}; at {allowed} a pressure monitor must warn."
            )
        }
        Grade::Attend | Grade::Watch => {
            format!("{found} is {share} under the placard's {told}, more than {allowed}.")
        }
        Grade::Good => format!("{found} is not more than {allowed} under the placard's {told}."),
    };
    let opinion = Opinion::on_rung(grade, &rung, reason);
    if set.place == Place::Spare {
        return opinion.at_most(Grade::Watch, "it is the spare, which is not on the road");
    }
    opinion
}

fn advise(assessment: &mut Assessment, yardstick: &Yardstick<'_>, place: Place, under: i64, target: Target) {
    let is_met = |limit| yardstick.held(limit).is_met(under);
    if is_met(&MONITOR) && place != Place::Spare {
        assessment.advise("This is a serious loss: find the leak before the vehicle goes out.", &[]);
    }
    if is_met(&LOOK_INSIDE) && place != Place::Spare {
        assessment.advise(
            "If it was driven like this, take the tyre off and look inside before inflating.",
            &[Hazard::Lifting, Hazard::Wheel, Hazard::SoftTyre],
        );
    }
    if is_met(&LOWISH) || target.is_above {
        assessment.advise(
            format!("Inflate to {}, cold, and look for the cause if it is low again.", target.told),
            &[Hazard::Inflating],
        );
    } else if assessment.grade() == Grade::Watch {
        assessment.advise(
            format!("Let it down only when cold, and never below the placard: to {}.", target.told),
            &[],
        );
    }
    if let Some(sentence) = target.out_there {
        assessment.advise(sentence, &[]);
    }
    if place == Place::Spare {
        assessment.advise("On a compact spare the pressure marked on its side wall counts instead.", &[]);
    }
}
