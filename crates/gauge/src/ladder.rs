//! A ladder of limits, worst first: a value stands on the first rung it meets.

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

/// A limit as it applies to one measurement.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Rung<'a> {
    /// The limit.
    pub held: Held<'a>,
    /// What is held to it, in the base unit of the limit's number.
    pub tested: i64,
    /// Where it lies on the scale of what was measured, in that scale's base unit.
    pub at: i64,
}

impl<'a> Rung<'a> {
    /// A limit on the very scale of what was measured.
    pub fn on_scale(held: Held<'a>, measured: i64) -> Self {
        Self { at: held.exact(), tested: measured, held }
    }

    /// A limit on how far a measurement lies above `zero`.
    pub fn above(zero: i64, held: Held<'a>, measured: i64) -> Self {
        Self { at: zero + held.exact(), tested: measured - zero, held }
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
