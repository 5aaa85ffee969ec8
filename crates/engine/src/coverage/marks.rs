//! When somebody must be told of a window.

use super::Outlook;
use crate::known::Known;
use chrono::{DateTime, Utc};
use model::horizon::{Basis, Mark};
use model::{Finding, add_days, day_start};

/// What may still be claimed is told so many days before the last day to book (house setting, no source).
const CLAIM_NOTICE_DAYS: i64 = 7;
/// The rank of the end where few marks come before it.
const RANK_OF_END: i16 = 50;

/// Marks before the early end, nearer ones ranking higher, the last call for open findings, and the end itself.
///
/// Those that would fall before the window starts are left out, and all of a window that was over before the vehicle
/// came. None but the end itself falls at or after the end, and none but the end is left once a reading is of later:
/// what such a reading moves about has been told or overtaken.
pub(crate) fn marks(known: &Known<'_>, outlook: &Outlook<'_>, findings: &[&Finding]) -> Vec<Mark> {
    let acquired = day_start(known.facts.vehicle.acquired_on, known.zone);
    if outlook.ended.is_some_and(|ended| ended.at <= acquired) {
        return Vec::new();
    }
    let mut marks = if is_past(known, outlook) { Vec::new() } else { before_the_end(known, outlook) };
    let last_rank = marks.last().map_or(0, |mark| mark.rank);
    let is_after_the_end = |at| outlook.ended.is_some_and(|ended| ended.at <= at);
    let last_call = last_call(known, outlook, findings).filter(|at| !is_after_the_end(*at));
    if let Some(at) = last_call.filter(|_| !is_past(known, outlook)) {
        let place = marks.partition_point(|mark| mark.at <= at);
        let rank = place.checked_sub(1).map_or(0, |before| marks[before].rank) + 5;
        marks.insert(place, Mark { code: "act_by".to_owned(), rank, at });
    }
    let rank = last_rank.saturating_add(10).max(RANK_OF_END);
    marks.extend(outlook.ended.map(|ended| Mark { code: "ended".to_owned(), rank, at: ended.at }));
    marks
}

/// Whether a reading was made after the end; the one that ended it was made in time.
fn is_past(known: &Known<'_>, outlook: &Outlook<'_>) -> bool {
    let read_at = known.log.last().map(|last| last.at);
    read_at.zip(outlook.ended).is_some_and(|(read_at, ended)| match ended.basis {
        Basis::Reading => read_at > ended.at,
        Basis::Date | Basis::Forecast => read_at >= ended.at,
    })
}

fn before_the_end(known: &Known<'_>, outlook: &Outlook<'_>) -> Vec<Mark> {
    let mut days: Vec<u32> = known.policy.window_marks_days.clone();
    days.sort_unstable_by(|one, other| other.cmp(one));
    days.dedup();
    let Some(early) = outlook.ends.early else { return Vec::new() };
    days.iter()
        .zip(1_i16..)
        .filter_map(|(days, place)| {
            let day = add_days(early, -i64::from(*days));
            let at = day_start(day, known.zone);
            let code = format!("days_{days}");
            (day >= outlook.starts_on).then_some(Mark { code, rank: place * 10, at })
        })
        .collect()
}

/// When the open findings within the scope are told of: a week before the last day to book the vehicle in, but not
/// before the first of them was found.
fn last_call(known: &Known<'_>, outlook: &Outlook<'_>, findings: &[&Finding]) -> Option<DateTime<Utc>> {
    let found_at = findings.iter().map(|finding| finding.found_at).min()?;
    let day = add_days(outlook.act_by(known)?.book_by, -CLAIM_NOTICE_DAYS).max(outlook.starts_on);
    Some(day_start(day, known.zone).max(found_at))
}
