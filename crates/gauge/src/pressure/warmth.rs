//! Tyres still hot from the road: graded only for being low, and never let down.

use super::{OVER, SETTING, rungs_under, share_under};
use crate::ladder::stand_on;
use crate::limit::{Bound, Limit};
use crate::yardstick::Yardstick;
use chrono::TimeDelta;
use model::Grade;
use quantity::{Entered, Pressure, Unit};

pub(super) static HOT: Limit = Limit {
    key: "pressure-hot",
    name: "time since it was driven, below which a tyre is hot: graded only for being low",
    grade: None,
    bound: Bound::Below(Entered::new(3.0, Unit::Hour)),
    ..SETTING
};

/// Whether a tyre has the temperature of the air around it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Warmth {
    /// It has stood long enough.
    Cold,
    /// It was driven not long ago and shows more than it will.
    Hot,
}

impl Warmth {
    /// Of a tyre that has stood for this long: hot until three hours have passed (common practice, no source). What was
    /// driven in the future is hot.
    pub fn after_standing(yardstick: &Yardstick<'_>, stood: TimeDelta) -> Self {
        if yardstick.held(&HOT).is_met(stood.num_seconds()) { Self::Hot } else { Self::Cold }
    }
}

/// The grade of a pressure against a placard above zero, and the limit that decides: for a good one the next below it.
///
/// A hot tyre shows more than it will when cold, so a low one is at least as low as it shows; being high says nothing.
pub fn pressure_grade(
    yardstick: &Yardstick<'_>,
    placard: Pressure,
    measured: Pressure,
    warmth: Warmth,
) -> Option<(Grade, &'static Limit)> {
    if placard <= Pressure::ZERO {
        return None;
    }
    let under = share_under(measured.mpa(), placard.mpa());
    if warmth == Warmth::Cold && yardstick.held(&OVER).is_met(-under) {
        return Some((Grade::Watch, &OVER));
    }
    let (grade, rung) = stand_on(&rungs_under(yardstick, placard.mpa(), under));
    Some((grade, rung.held.limit))
}
