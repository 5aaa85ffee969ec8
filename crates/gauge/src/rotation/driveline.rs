//! All-wheel drive: tyres that differ too much wear the driveline; how much is too much the maker says.

use super::{SETTING, TyreTread};
use crate::answer::{Answer, answered};
use crate::assessment::{Assessment, Opinion};
use crate::axle::Axle;
use crate::caution::Hazard;
use crate::grading::Bench;
use crate::limit::{Bound, Discipline, Limit};
use crate::measured::MeasuredSet;
use crate::points::{CheckPoint, DEPTH_UNITS, NOTED, WHOLE_VEHICLE};
use crate::shown::shown;
use model::{Grade, Place};
use quantity::{Depth, Dimension, Entered, Unit};

static ALLOWED: Limit = Limit {
    key: "rotation-driveline",
    name: "difference of tread between the tyres of an all-wheel drive, less what its maker allows",
    grade: Some(Grade::Attend),
    bound: Bound::Above(Entered::new(0.0, Unit::Millimetre)),
    source: "the maker's own limit as recorded, by house setting, no source",
    ..SETTING
};

pub(super) fn limits() -> impl Iterator<Item = &'static Limit> {
    [&ALLOWED].into_iter()
}

answered! {
    /// Which wheels are driven.
    DrivenWheels, Rotation, "driven wheels";

    /// Those of one axle.
    OneAxle = "one_axle", Answer::good("one axle", "The wheels of one axle are driven.");

    /// All of them, always or at times.
    All = "all", Answer::good("all wheels", "All wheels are driven, always or at times.");
}

pub(crate) static POINTS: [CheckPoint; 2] = [
    CheckPoint {
        code: "driven-wheels",
        title: "Driven wheels",
        discipline: Discipline::Rotation,
        places: WHOLE_VEHICLE,
        answers: DrivenWheels::ANSWERS,
        ..NOTED
    },
    CheckPoint {
        code: "tread-difference-allowed",
        title: "Difference of tread that the maker of the all-wheel drive allows",
        discipline: Discipline::Rotation,
        dimension: Dimension::Depth,
        units: DEPTH_UNITS,
        places: WHOLE_VEHICLE,
        least: Entered::new(0.0, Unit::Millimetre),
        most: Entered::new(10.0, Unit::Millimetre),
        ..NOTED
    },
];

/// What differences between the tyres of an all-wheel drive mean.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Driveline {
    /// Fewer than four tyres have been measured, and those that were differ no more than allowed.
    NotEnoughMeasured,
    /// No more than the maker allows.
    Within {
        /// Deepest less shallowest tyre, averages across the tread.
        difference: Depth,
    },
    /// More than the maker allows.
    TooMuch {
        /// Deepest less shallowest tyre, averages across the tread.
        difference: Depth,
        /// What the maker allows.
        allowed: Depth,
    },
    /// The maker's limit is not on record.
    LookUp {
        /// Deepest less shallowest tyre, averages across the tread.
        difference: Depth,
    },
}

/// Holds four tyres of an all-wheel drive to the maker's limit on the difference of tread, if it is known.
///
/// Makers differ, some name a rolling circumference instead; there is no general number, so without one it only asks.
/// Two tyres that differ too much are enough to say so.
pub fn driveline(tyres: [Option<TyreTread>; 4], allowed: Option<Depth>) -> Driveline {
    let known: Vec<Depth> = tyres.iter().flatten().map(TyreTread::average).collect();
    let (Some(deepest), Some(shallowest)) = (known.iter().max(), known.iter().min()) else {
        return Driveline::NotEnoughMeasured;
    };
    let difference = *deepest - *shallowest;
    match allowed {
        Some(allowed) if difference > allowed => Driveline::TooMuch { difference, allowed },
        _ if known.len() < tyres.len() => Driveline::NotEnoughMeasured,
        Some(_) => Driveline::Within { difference },
        None => Driveline::LookUp { difference },
    }
}

/// Tells of the driveline at the shallowest tyre, where all wheels are noted as driven.
pub(crate) fn hear(assessment: &mut Assessment, bench: &Bench<'_>, set: &MeasuredSet<'_>) {
    let wheels = Axle::Front.wheels().into_iter().chain(Axle::Rear.wheels());
    let measured = |wheel| bench.sets.beside(set, wheel).map(TyreTread::measured);
    let tyres: Vec<Option<TyreTread>> = wheels.map(measured).collect();
    let shallowest = tyres.iter().flatten().map(TyreTread::average).min();
    let is_shallowest = shallowest == Some(TyreTread::measured(set).average());
    let Ok(tyres) = <[Option<TyreTread>; 4]>::try_from(tyres) else { return };
    if !is_shallowest || Axle::of(set.place).is_none() || !all_wheels_driven(bench) {
        return;
    }
    let allowed = bench.noted("tread-difference-allowed", Place::Vehicle);
    let unit = set.lowest.entered.unit;
    match driveline(tyres, allowed.map(|set| Depth::from_nm(set.lowest.exact))) {
        Driveline::NotEnoughMeasured | Driveline::Within { .. } => {}
        Driveline::TooMuch { difference, allowed } => {
            let reason = format!(
                "The tyres of this all-wheel drive differ by {}, more than the {} its maker allows.",
                shown(difference.nm(), unit),
                shown(allowed.nm(), unit),
            );
            assessment.hear(Opinion::on_comparison(&bench.yardstick.held(&ALLOWED), reason));
            assessment.advise(TOO_MUCH, &[Hazard::Lifting, Hazard::Wheel]);
        }
        Driveline::LookUp { .. } => {
            if assessment.grade() != Grade::Good {
                assessment.advise(LOOK_UP, &[]);
            }
        }
    }
}

fn all_wheels_driven(bench: &Bench<'_>) -> bool {
    let noted = bench.noted("driven-wheels", Place::Vehicle);
    let answer = noted.and_then(|set| set.point.answer_kept(set.lowest.exact));
    answer.is_some_and(|answer| answer.word == DrivenWheels::All.word())
}

const TOO_MUCH: &str =
    "Renew the tyres as the maker of the drive says, often all four at once, before the driveline suffers.";
const LOOK_UP: &str = "All-wheel drive: look up by how much the maker allows tyres to differ, and record it, before fitting fewer than four.";
