//! Cold pressure against the placard.

use crate::assessment::{Assessment, Opinion};
use crate::axle::Axle;
use crate::caution::Hazard;
use crate::ladder::{Rung, stand_on};
use crate::limit::{Bound, Class, Discipline, Limit, Standing, Wheels};
use crate::measured::{MeasuredSet, MeasuredSets};
use crate::shown::{published, to_be_set};
use model::{Grade, Place, Vehicle};
use quantity::{Entered, Pressure, Unit};

mod air;
mod atmosphere;
mod leak;
mod monitor;
mod set_point;
mod warmth;

pub use air::{Air, gauge_at};
pub use atmosphere::ambient_at;
pub use leak::{LeakRate, LeakReading, leak_rate};
pub use monitor::{monitor_threshold, temperature_showing};
pub use set_point::{SetPointError, set_point};
pub use warmth::{Warmth, pressure_grade};

const SETTING: Limit = Limit {
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

static HALF: Limit = Limit { grade: Some(Grade::DoNotDrive), bound: Bound::Above(percent(50.0)), ..SETTING };
/// The threshold of the pressure monitor that US law asks for; kept for every vehicle as the mark of serious loss.
static MONITOR: Limit = Limit {
    grade: Some(Grade::Attend),
    bound: Bound::AtOrAbove(percent(25.0)),
    source: "49 CFR 571.138 S4.2(a)",
    edition: "read first-hand, undated page; check the current one",
    standing: Standing::Verified,
    ..SETTING
};
static LOW: Limit = Limit { grade: Some(Grade::Attend), bound: Bound::Above(percent(10.0)), ..SETTING };
static LOWISH: Limit = Limit { bound: Bound::Above(percent(5.0)), ..SETTING };
static OVER: Limit = Limit { name: "share over the placard", bound: Bound::Above(percent(20.0)), ..SETTING };
static LOOK_INSIDE: Limit = Limit {
    name: "share under the placard at which a driven tyre is looked into",
    grade: None,
    bound: Bound::AtOrAbove(percent(20.0)),
    ..SETTING
};
static NO_PLACARD: Limit = Limit { name: "the placard's pressure", ..SETTING };

pub(crate) fn limits() -> impl Iterator<Item = &'static Limit> {
    let own = [&HALF, &MONITOR, &LOW, &LOWISH, &OVER, &LOOK_INSIDE, &NO_PLACARD, &warmth::HOT];
    own.into_iter().chain(leak::limits())
}

/// Grades one tyre's cold pressure.
pub(crate) fn assess<'a>(_: &MeasuredSets<'a>, set: &MeasuredSet<'a>, vehicle: &Vehicle) -> Assessment {
    let Some((entered, placard)) = placard_at(vehicle, set.place) else {
        return without_placard(set);
    };
    let told = published(entered, placard, set.lowest.entered.unit);
    let under = share_under(set.lowest.exact, placard);
    let mut assessment = Assessment::starting_with(under_opinion(set, placard, under, &told));
    if set.place != Place::Spare && OVER.bound.is_met(-under) {
        let rung =
            Rung { limit: &OVER, tested: -under, at: share_of(placard, HUNDRED_PERCENT + OVER.exact()) };
        let over = shown_share(-under);
        let reason = format!(
            "Cold pressure of {} is {over} over the placard's {told}, more than the {} allowed.",
            set.lowest.entered,
            shown_share(OVER.exact()),
        );
        assessment.hear(Opinion::on_rung(Grade::Watch, &rung, reason));
    }
    let target = to_be_set(entered, placard, set.lowest.entered.unit);
    advise(&mut assessment, set.place, under, &target);
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

fn without_placard(set: &MeasuredSet<'_>) -> Assessment {
    let which = Axle::of(set.place).map_or_else(String::new, |axle| format!(" for the {} axle", axle.word()));
    let reason = format!(
        "No placard pressure recorded{which}, so the cold pressure of {} cannot be judged.",
        set.lowest.entered
    );
    let mut assessment = Assessment::starting_with(Opinion::on_comparison(&NO_PLACARD, reason));
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
fn rungs_under(placard: i64, under: i64) -> [Rung; 4] {
    [&HALF, &MONITOR, &LOW, &LOWISH].map(|limit| Rung {
        limit,
        tested: under,
        at: share_of(placard, HUNDRED_PERCENT - limit.exact()),
    })
}

fn under_opinion(set: &MeasuredSet<'_>, placard: i64, under: i64, told: &str) -> Opinion {
    let (grade, rung) = stand_on(&rungs_under(placard, under));
    let found = format!("Cold pressure of {}", set.lowest.entered);
    let (share, allowed) = (shown_share(under), shown_share(rung.limit.exact()));
    let reason = match grade {
        Grade::DoNotDrive => format!("{found} is {share} under the placard's {told}, less than half of it."),
        Grade::Attend if rung.limit == &MONITOR => {
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

fn advise(assessment: &mut Assessment, place: Place, under: i64, target: &str) {
    if MONITOR.bound.is_met(under) && place != Place::Spare {
        assessment.advise("This is a serious loss: find the leak before the vehicle goes out.", &[]);
    }
    if LOOK_INSIDE.bound.is_met(under) && place != Place::Spare {
        assessment.advise(
            "If it was driven like this, take the tyre off and look inside before inflating.",
            &[Hazard::Lifting, Hazard::Wheel, Hazard::SoftTyre],
        );
    }
    if LOWISH.bound.is_met(under) {
        assessment.advise(
            format!("Inflate to {target}, cold, and look for the cause if it is low again."),
            &[Hazard::Inflating],
        );
    } else if assessment.grade() == Grade::Watch {
        assessment
            .advise(format!("Let it down only when cold, and never below the placard: to {target}."), &[]);
    }
    if place == Place::Spare {
        assessment.advise("On a compact spare the pressure marked on its side wall counts instead.", &[]);
    }
}
