//! Reminders that people have put off.

use crate::known::Known;
use chrono::{DateTime, Utc};
use model::horizon::{Cycle, ItemKey, Mark};
use model::{Postponement, day_start};

/// Marks that nobody can put off: what must not be driven, and the end of a window, which nobody can move either.
const FIRM: [&str; 2] = ["do_not_drive", "ended"];

/// Moves marks to the day until which they were put off, and tells it again on that day. What must not be driven is
/// never moved.
pub(crate) fn heed_postponement(known: &Known<'_>, item: &ItemKey, cycle: &Cycle, marks: &mut Vec<Mark>) {
    let is_about = |said: &&Postponement| said.item == *item && said.cycle == *cycle;
    let newest = |said: &&Postponement| (said.recorded_at, said.until);
    let Some(said) = known.facts.postponements.iter().filter(is_about).max_by_key(newest) else { return };
    let until = day_start(said.until, known.facts.vehicle.zone);
    let is_movable = |mark: &Mark| !FIRM.contains(&mark.code.as_str());
    for mark in marks.iter_mut().filter(|mark| is_movable(mark)) {
        mark.at = mark.at.max(until);
    }
    let code = format!("postponed_{}", said.until);
    marks.push(Mark { code, rank: rank_of_postponed(marks, until), at: until });
    marks.sort_by_key(|mark| mark.rank);
}

/// The reminder that comes back is told in place of those it moved, and of nothing more pressing.
fn rank_of_postponed(marks: &[Mark], until: DateTime<Utc>) -> i16 {
    let is_moved = |mark: &&Mark| mark.at == until && !FIRM.contains(&mark.code.as_str());
    marks.iter().filter(is_moved).map(|mark| mark.rank).max().unwrap_or(0) + 1
}
