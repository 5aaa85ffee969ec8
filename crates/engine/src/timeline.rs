//! Moments put in order, and the marks that fall on them.

use chrono::{DateTime, NaiveDate, Utc};
use chrono_tz::Tz;
use model::horizon::{Basis, FOLLOW_UP, Mark, Moment, Timeline};
use model::{day_after, day_start};

/// The beginning of `day`, resting on a date written down.
pub(crate) fn from_start_of(day: NaiveDate, zone: Tz) -> Moment {
    Moment { at: day_start(day, zone), basis: Basis::Date }
}

/// The end of `day`, resting on a date written down.
pub(crate) fn once_over(day: NaiveDate, zone: Tz) -> Moment {
    Moment { at: day_after(day, zone), basis: Basis::Date }
}

/// Whichever comes first; of two at the same instant the one that rests on firmer ground.
pub(crate) fn whichever_first(one: Option<Moment>, other: Option<Moment>) -> Option<Moment> {
    one.into_iter().chain(other).min_by_key(|moment| (moment.at, moment.basis))
}

/// The timeline with no moment before `start`. Lead and grace being what they are, its moments follow each other.
pub(crate) fn not_before(start: DateTime<Utc>, timeline: Timeline) -> Timeline {
    let later = |moment: Option<Moment>| moment.map(|m| Moment { at: m.at.max(start), ..m });
    Timeline {
        approaching: later(timeline.approaching),
        due: later(timeline.due),
        overdue: later(timeline.overdue),
    }
}

/// Marks of work that follows other work: told as soon as that is on record, and again when it was left too long.
pub(crate) fn follow_up_marks(timeline: &Timeline, recorded_at: DateTime<Utc>) -> Vec<Mark> {
    let told = Some((FOLLOW_UP, 20, recorded_at));
    let left = timeline.overdue.map(|overdue| ("overdue", 30, overdue.at));
    let marks = told.into_iter().chain(left.filter(|(_, _, at)| *at > recorded_at));
    marks.map(|(code, rank, at)| Mark { code: code.to_owned(), rank, at }).collect()
}

/// The marks of a due item: one for each moment there is.
pub(crate) fn marks_of(timeline: &Timeline, do_not_drive_from: Option<DateTime<Utc>>) -> Vec<Mark> {
    let at = |moment: Option<Moment>| moment.map(|m| m.at);
    [
        ("approaching", 10, at(timeline.approaching)),
        ("due", 20, at(timeline.due)),
        ("overdue", 30, at(timeline.overdue)),
        ("do_not_drive", 90, do_not_drive_from),
    ]
    .into_iter()
    .filter_map(|(code, rank, at)| at.map(|at| Mark { code: code.to_owned(), rank, at }))
    .collect()
}
