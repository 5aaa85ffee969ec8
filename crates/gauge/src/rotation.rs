//! Rotation: when tyres may change axles, and when they must not, lest the rear let go first.

use crate::answer::Answer;
use crate::axle::Axle;
use crate::caution::Hazard;
use crate::grading::Bench;
use crate::limit::{Bound, Class, Discipline, Limit, Standing, Wheels};
use crate::measured::MeasuredSet;
use crate::shown::shown;
use crate::yardstick::Yardstick;
use quantity::{Depth, Entered, Unit};

pub(crate) mod driveline;
pub(crate) mod fitment;
mod tyre_tread;

pub use driveline::{Driveline, DrivenWheels, driveline};
pub use fitment::{Fitment, Moves, Running, SideToSide, Sizes};
pub use tyre_tread::TyreTread;

const SETTING: Limit = Limit {
    key: "",
    discipline: Discipline::Rotation,
    name: "",
    jurisdiction: None,
    class: Class::ANY,
    wheels: Wheels::Any,
    grade: None,
    bound: Bound::Missing,
    source: "house setting for rotation, no source",
    edition: "first edition",
    standing: Standing::CommonPractice,
};

const fn in32(value: f64) -> Entered {
    Entered::new(value, Unit::ThirtySecondInch)
}

/// The guard on the whole: the rear must not be left much shallower than the front.
static REAR_SHALLOWER: Limit = Limit {
    key: "rotation-rear-shallower",
    name: "a rear tyre left shallower than the front axle: no rotation",
    bound: Bound::Above(in32(2.0)),
    ..SETTING
};
/// The guard on each tyre that would come to the rear.
static REAR_FLOOR: Limit = Limit {
    key: "rotation-rear-floor",
    name: "a rear tyre left with so little: no rotation",
    wheels: Wheels::NotFront,
    bound: Bound::Below(in32(4.0)),
    ..SETTING
};
static TRIGGER_OF_THREE: Limit = Limit {
    key: "rotation-due-of-three",
    name: "front and rear averages of three places differ: rotation due",
    bound: Bound::Above(in32(1.0)),
    ..SETTING
};
/// One gauge reading is no finer than this.
static TRIGGER_OF_SINGLE: Limit = Limit {
    key: "rotation-due-of-single",
    name: "front and rear averages of single values differ: rotation due",
    bound: Bound::Above(in32(2.0)),
    ..SETTING
};

pub(crate) fn limits() -> impl Iterator<Item = &'static Limit> {
    let own = [&REAR_SHALLOWER, &REAR_FLOOR, &TRIGGER_OF_THREE, &TRIGGER_OF_SINGLE];
    own.into_iter().chain(driveline::limits())
}

pub(crate) fn answers() -> impl Iterator<Item = &'static Answer> {
    Running::answers().chain(Sizes::answers()).chain(DrivenWheels::answers())
}

/// Whether front and rear tyres should change places.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum RotationAdvice {
    /// They should.
    Due {
        /// The axle with less tread.
        shallower: Axle,
        /// By how much its average is less.
        difference: Depth,
        /// How they may.
        moves: Moves,
    },
    /// They differ too little.
    NotDue {
        /// By how much the averages differ.
        difference: Depth,
    },
    /// They differ enough, but must not change places.
    NeverBecause {
        /// The axle with less tread.
        shallower: Axle,
        /// What stands against it.
        bar: RotationBar,
    },
    /// A tyre has not been measured.
    NotEnoughMeasured,
}

/// What stands against a rotation.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum RotationBar {
    /// Front and rear sizes differ.
    SizesDiffer {
        /// Whether the tyres of one axle may change sides instead.
        across: SideToSide,
    },
    /// A tyre coming to the rear would be too much shallower than the front axle.
    RearShallower {
        /// By so much.
        by: Depth,
    },
    /// A tyre coming to the rear has too little tread for it.
    RearTooLow {
        /// Its lowest place.
        lowest: Depth,
    },
}

/// Whether to change front and rear tyres, left and right of each axle given (common practice, no source).
///
/// Every pattern brings the two front tyres to the rear and the two rear tyres to the front, whether or not it crosses
/// sides, so the guards look at pairs. Guards: sizes that differ never change axles; no tyre that comes to the rear may be
/// on average more than 2/32 in shallower than the axle that goes to the front, nor below 4/32 in at its lowest place; a
/// fleet may tighten both, and what it loosened counts for nothing here. Trigger: the axles' averages of three places
/// differ by more than 1/32 in, or, where a tyre is known by a single value, by more than 2/32 in.
pub fn rotation_advice(
    yardstick: &Yardstick<'_>,
    front: [Option<TyreTread>; 2],
    rear: [Option<TyreTread>; 2],
    fitment: Fitment,
) -> RotationAdvice {
    let ([Some(front_left), Some(front_right)], [Some(rear_left), Some(rear_right)]) = (front, rear) else {
        return RotationAdvice::NotEnoughMeasured;
    };
    let (front, rear) = ([front_left, front_right], [rear_left, rear_right]);
    let gap_nm = (six_sum(front) - six_sum(rear)) / 6;
    let difference = Depth::from_nm(gap_nm.abs());
    let every_of_three = front.iter().chain(&rear).all(|tyre| tyre.is_of_three);
    let trigger = if every_of_three { &TRIGGER_OF_THREE } else { &TRIGGER_OF_SINGLE };
    if !yardstick.held(trigger).is_met(difference.nm()) {
        return RotationAdvice::NotDue { difference };
    }
    let shallower = if gap_nm < 0 { Axle::Front } else { Axle::Rear };
    let moves = fitment.moves();
    if let Moves::NotBetweenAxles { across } = moves {
        return RotationAdvice::NeverBecause { shallower, bar: RotationBar::SizesDiffer { across } };
    }
    match bar_against(yardstick, front, rear) {
        Some(bar) => RotationAdvice::NeverBecause { shallower, bar },
        None => RotationAdvice::Due { shallower, difference, moves },
    }
}

/// What stands against `to_rear` coming to the rear and `to_front` to the front.
fn bar_against(
    yardstick: &Yardstick<'_>,
    to_rear: [TyreTread; 2],
    to_front: [TyreTread; 2],
) -> Option<RotationBar> {
    let lowest = to_rear[0].lowest.min(to_rear[1].lowest);
    if yardstick.held_at_least(&REAR_FLOOR).is_met(lowest.nm()) {
        return Some(RotationBar::RearTooLow { lowest });
    }
    // Six-fold, since an axle's average is a sixth of six places.
    let shallowest = to_rear[0].three_sum_nm.min(to_rear[1].three_sum_nm) * 2;
    let by = Depth::from_nm((six_sum(to_front) - shallowest) / 6);
    let held = yardstick.held_at_least(&REAR_SHALLOWER);
    held.is_met(by.nm()).then_some(RotationBar::RearShallower { by })
}

const fn six_sum(axle: [TyreTread; 2]) -> i64 {
    axle[0].three_sum_nm + axle[1].three_sum_nm
}

/// What to tell about rotation at this tyre: only at the shallower axle, only if all four were measured together.
pub(crate) fn sentence_for(bench: &Bench<'_>, set: &MeasuredSet<'_>) -> Option<(String, &'static [Hazard])> {
    let here = Axle::of(set.place)?;
    let [front, rear] = [Axle::Front, Axle::Rear]
        .map(|axle| axle.wheels().map(|wheel| bench.sets.beside(set, wheel).map(TyreTread::measured)));
    let unit = set.lowest.entered.unit;
    match rotation_advice(&bench.yardstick, front, rear, Fitment::noted(bench)) {
        RotationAdvice::Due { shallower, difference, moves } if shallower == here => {
            let sentence = format!(
                "Rotation is due: the {} tyres have {} less tread on average than the others; {}.",
                shallower.word(),
                shown(difference.nm(), unit),
                moves.how(),
            );
            Some((sentence, &[Hazard::Lifting, Hazard::Wheel]))
        }
        RotationAdvice::NeverBecause { shallower, bar } if shallower == here => {
            Some((bar.sentence(unit), &[]))
        }
        RotationAdvice::Due { .. }
        | RotationAdvice::NeverBecause { .. }
        | RotationAdvice::NotDue { .. }
        | RotationAdvice::NotEnoughMeasured => None,
    }
}

impl RotationBar {
    fn sentence(self, unit: Unit) -> String {
        let why = match self {
            Self::SizesDiffer { across } => {
                return format!("Do not rotate front to rear: the sizes differ; {}.", across.sentence());
            }
            Self::RearShallower { by } => {
                format!("would come to the rear {} shallower than the front", shown(by.nm(), unit))
            }
            Self::RearTooLow { lowest } => {
                format!("has only {}, too little for the rear", shown(lowest.nm(), unit))
            }
        };
        format!("Do not rotate: a front tyre {why}; two new tyres go to the rear axle.")
    }
}
