//! Why a reading is held.

use super::chain::{Link, jumps, runs_backwards};
use chrono::{DateTime, Utc};

/// The counted readings on either side of one that is judged.
pub(crate) struct Neighbours<'a> {
    pub(crate) before: Option<&'a Link>,
    pub(crate) after: Option<&'a Link>,
    /// What the meter showed when the vehicle came into service, where that is on record.
    pub(crate) at_start: Option<i64>,
}

/// Why a reading of some meter is held. Numbers are what the instrument of their day showed, in the meter's base unit;
/// plausible ones what the instrument of the held reading would have shown.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Reason {
    RunsBackwards { before: i64, before_at: DateTime<Utc> },
    RunsAhead { after: i64, after_at: DateTime<Utc> },
    Jumps { before: i64, plausible_most: i64 },
    FallsShort { after: i64, after_at: DateTime<Utc>, plausible_least: i64 },
    BeforeService { at_start: i64 },
    ClockInDoubt,
}

/// What is wrong with a reading that stands in no largest chain: it contradicts at least one of its neighbours.
pub(crate) fn reason(held: &Link, neighbours: &Neighbours<'_>) -> Reason {
    if let Some(before) = neighbours.before {
        if runs_backwards(before, held) {
            return Reason::RunsBackwards { before: before.shown(), before_at: before.at };
        }
        if jumps(before, held) {
            let plausible_most = before.plausible_most(held.at).saturating_sub(held.added);
            return Reason::Jumps { before: before.shown(), plausible_most };
        }
    }
    match neighbours.after {
        Some(after) if runs_backwards(held, after) => {
            Reason::RunsAhead { after: after.shown(), after_at: after.at }
        }
        Some(after) => Reason::FallsShort {
            after: after.shown(),
            after_at: after.at,
            plausible_least: after.plausible_least(held.at).saturating_sub(held.added).max(0),
        },
        // Agreeing with the one before and followed by none it would have made the chain longer.
        None => Reason::ClockInDoubt,
    }
}
