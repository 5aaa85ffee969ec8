//! Tread measured at several places round one tyre: cupping and flat spots by number.

use super::{SWING_AROUND, damage::TyreDamage};
use crate::yardstick::{Held, Yardstick};
use quantity::Depth;

/// The fewest places round a tyre from which a pattern can be told.
pub const LEAST_PLACES_AROUND: usize = 4;

/// What depths at places round a tyre show.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Around {
    /// Too few places to tell.
    TooFew,
    /// No place is noticeably lower than its neighbours.
    Even,
    /// One stretch is low.
    OneLow {
        /// Highest less lowest place.
        swing: Depth,
    },
    /// High and low in turn, at least twice.
    Alternating {
        /// Highest less lowest place.
        swing: Depth,
    },
}

impl Around {
    /// The answer with the likely cause (common practice, no source); nothing for an even tyre.
    pub const fn damage(self) -> Option<TyreDamage> {
        match self {
            Self::TooFew | Self::Even => None,
            Self::OneLow { .. } => Some(TyreDamage::FlatSpot),
            Self::Alternating { .. } => Some(TyreDamage::Cupped),
        }
    }
}

/// The pattern of depths taken in one groove, in order round the tyre; the last is a neighbour of the first.
///
/// A hollow is a fall by at least the noticeable swing followed by an equal rise. Where the first measurement was taken
/// and in which direction the rest does not matter.
pub fn around(yardstick: &Yardstick<'_>, depths: &[Depth]) -> Around {
    if depths.len() < LEAST_PLACES_AROUND {
        return Around::TooFew;
    }
    let highest = depths.iter().copied().max().unwrap_or_default();
    let lowest = depths.iter().copied().min().unwrap_or_default();
    let swing = highest - lowest;
    match hollows(&yardstick.held(&SWING_AROUND), depths, highest) {
        0 => Around::Even,
        1 => Around::OneLow { swing },
        _ => Around::Alternating { swing },
    }
}

/// How many hollows are passed going round once from the highest place back to it.
fn hollows(swing: &Held<'_>, depths: &[Depth], highest: Depth) -> usize {
    let start = depths.iter().position(|depth| *depth == highest).unwrap_or_default();
    let round = depths.iter().cycle().skip(start).take(depths.len() + 1);
    let (mut count, mut turning, mut is_falling) = (0, highest, true);
    for depth in round.copied() {
        if is_falling && swing.is_met((turning - depth).nm()) {
            (is_falling, turning) = (false, depth);
        } else if !is_falling && swing.is_met((depth - turning).nm()) {
            (is_falling, turning, count) = (true, depth, count + 1);
        } else {
            turning = if is_falling { turning.max(depth) } else { turning.min(depth) };
        }
    }
    count
}
