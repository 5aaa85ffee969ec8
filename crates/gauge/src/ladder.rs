//! A ladder of limits, worst first: a value stands on the first rung it meets.

use crate::limit::Bound;
use crate::yardstick::Held;
use model::Grade;
use quantity::Depth;

/// The depths at which a part's grade changes, for forecasts of when it gets there.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct DepthLimits {
    /// Where the vehicle must not be driven any more: below it for tread, at or below it for pads.
    pub do_not_drive: Depth,
    /// The same for being attended to.
    pub attend: Depth,
    /// The same for being watched.
    pub watch: Depth,
}

/// On which side of a number a measurement does not meet a limit.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Side {
    /// At it or above.
    AtOrAbove,
    /// Above it.
    Above,
    /// At it or below.
    AtOrBelow,
    /// Below it.
    Below,
}

impl Side {
    /// As a sentence begins.
    pub const fn words(self) -> &'static str {
        match self {
            Self::AtOrAbove => "At or above",
            Self::Above => "Above",
            Self::AtOrBelow => "At or below",
            Self::Below => "Below",
        }
    }

    /// The other side.
    pub const fn other(self) -> Self {
        match self {
            Self::AtOrAbove => Self::Below,
            Self::Above => Self::AtOrBelow,
            Self::AtOrBelow => Self::Above,
            Self::Below => Self::AtOrAbove,
        }
    }
}

/// A limit as it applies to one measurement.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Rung<'a> {
    /// The limit.
    pub held: Held<'a>,
    /// What is held to it, in the base unit of the limit's number.
    pub tested: i64,
    /// Where it lies on the scale of what was measured, in that scale's base unit.
    pub at: i64,
    /// Whether more of what is tested is less of what was measured, as a share under the placard is.
    pub is_inverse: bool,
}

impl<'a> Rung<'a> {
    /// A limit on the very scale of what was measured.
    pub fn on_scale(held: Held<'a>, measured: i64) -> Self {
        Self { at: held.exact(), tested: measured, held, is_inverse: false }
    }

    /// A limit on how far a measurement lies above `zero`.
    pub fn above(zero: i64, held: Held<'a>, measured: i64) -> Self {
        Self { at: zero + held.exact(), tested: measured - zero, held, is_inverse: false }
    }

    /// From where on the scale of what was measured it is not met.
    pub const fn side(&self) -> Side {
        match (self.held.bound, self.is_inverse) {
            // What is missing meets its limit by having no number at all: any would do.
            (Bound::Below(_), false) | (Bound::Above(_), true) | (Bound::Missing, _) => Side::AtOrAbove,
            (Bound::AtOrBelow(_), false) | (Bound::AtOrAbove(_), true) => Side::Above,
            (Bound::Above(_), false) | (Bound::Below(_), true) => Side::AtOrBelow,
            (Bound::AtOrAbove(_), false) | (Bound::AtOrBelow(_), true) => Side::Below,
        }
    }

    pub fn grade(&self) -> Grade {
        self.held.limit.grade.unwrap_or(Grade::Good)
    }

    fn is_met(&self) -> bool {
        self.held.is_met(self.tested)
    }
}

/// The rung a value stands on, and its grade. A value that meets none is good, and stands above the highest.
pub(crate) fn stand_on<'a>(rungs: &[Rung<'a>]) -> (Grade, Rung<'a>) {
    if let Some(met) = rungs.iter().find(|rung| rung.is_met()) {
        return (met.grade(), *met);
    }
    let highest = rungs.iter().max_by_key(|rung| rung.at).expect("every discipline has at least one limit");
    (Grade::Good, *highest)
}

/// The same on a ladder of limits on too much: a value that meets none is good, and stands below the lowest.
pub(crate) fn stand_under<'a>(rungs: &[Rung<'a>]) -> (Grade, Rung<'a>) {
    if let Some(met) = rungs.iter().find(|rung| rung.is_met()) {
        return (met.grade(), *met);
    }
    let lowest = rungs.iter().min_by_key(|rung| rung.at).expect("every discipline has at least one limit");
    (Grade::Good, *lowest)
}
