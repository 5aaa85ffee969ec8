//! What people said to reminders, and what is told when nobody says anything.

use crate::known::Known;
use chrono::{DateTime, TimeDelta, Utc};
use model::horizon::{Cycle, DueItem, ItemKey, ItemKind, Mark};
use model::{Acknowledgement, Postponement, day_start};

/// The mark of what has stayed overdue too long.
pub(crate) const ESCALATED: &str = "escalated";

/// Its place: above what was told before, below what must not be driven.
const ESCALATED_RANK: i16 = 40;

/// Marks that nobody can put off: what must not be driven, and the end of a window, which nobody can move either.
const FIRM: [&str; 2] = ["do_not_drive", "ended"];

/// Adds what is told when an item stays overdue, and moves what people have put off.
pub(crate) fn heed(known: &Known<'_>, item: &mut DueItem) {
    item.marks.extend(escalation(known, item));
    heed_postponement(known, &item.key, &item.cycle, &mut item.marks);
}

/// Told when it has been overdue for as long as the fleet grants, unless somebody has seen it since it became so.
fn escalation(known: &Known<'_>, item: &DueItem) -> Option<Mark> {
    let days = known.policy.escalate_after_days;
    let overdue = item.marks.iter().find(|mark| mark.code == "overdue")?.at;
    if days == 0 || item.kind == ItemKind::ReadingWanted || is_acknowledged(known, item, overdue) {
        return None;
    }
    let at = overdue.checked_add_signed(TimeDelta::days(i64::from(days)))?;
    Some(Mark { code: ESCALATED.to_owned(), rank: ESCALATED_RANK, at })
}

fn is_acknowledged(known: &Known<'_>, item: &DueItem, since: DateTime<Utc>) -> bool {
    let is_about = |said: &&Acknowledgement| said.item == item.key && said.cycle == item.cycle;
    known.facts.acknowledgements.iter().filter(is_about).any(|said| said.recorded_at >= since)
}

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
    let is_moved =
        |mark: &&Mark| mark.at == until && mark.code != ESCALATED && !FIRM.contains(&mark.code.as_str());
    marks.iter().filter(is_moved).map(|mark| mark.rank).max().unwrap_or(0) + 1
}
