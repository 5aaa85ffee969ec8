//! Why a reading is held.

use super::chain::{Link, jumps, runs_backwards};
use model::{Doubt, OdometerReading};
use quantity::Distance;

/// The counted readings on either side of one that is judged.
pub(crate) struct Neighbours<'a> {
    pub(crate) before: Option<&'a Link>,
    pub(crate) after: Option<&'a Link>,
    /// What the odometer showed when the vehicle came into service.
    pub(crate) at_start: Distance,
}

/// What is wrong with a reading that stands in no largest chain: it contradicts at least one of its neighbours.
pub(crate) fn doubt(reading: &OdometerReading, neighbours: &Neighbours<'_>) -> Doubt {
    let held = Link::new(reading.odometer, reading.read_at, reading.source, false);
    if let Some(before) = neighbours.before {
        if runs_backwards(before, &held) {
            return Doubt::RunsBackwards { before: before.odometer, before_at: before.at };
        }
        if jumps(before, &held) {
            return Doubt::Jumps { before: before.odometer, plausible_most: before.plausible_most(held.at) };
        }
    }
    match neighbours.after {
        Some(after) if runs_backwards(&held, after) => {
            Doubt::RunsAhead { after: after.odometer, after_at: after.at }
        }
        Some(after) => Doubt::FallsShort {
            after: after.odometer,
            after_at: after.at,
            plausible_least: after.plausible_least(held.at),
        },
        // Agreeing with the one before and followed by none it would have made the chain longer.
        None => Doubt::ClockInDoubt,
    }
}
