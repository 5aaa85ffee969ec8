//! Which runs of a job are made now, and which are not.

use chrono::{DateTime, TimeDelta, Utc};
use chrono_tz::Tz;
use model::CronExpression;

/// Of runs that were missed all are made, so many of them at most, the newest (house setting, no source).
const MOST_AT_ONCE: usize = 100;

/// The runs recorded as missed at most, the newest (house setting, no source).
const MOST_RECORDED: usize = 1_000;

/// A run that begins so long after it was due was not missed yet (house setting, no source).
const PATIENCE: TimeDelta = TimeDelta::minutes(10);

/// What becomes of runs whose time passed while nobody could make them.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Missed {
    /// The last is made and stands for the others.
    Once,
    /// Each is made, the oldest first.
    All,
    /// None is made: the next is made in its own time.
    Skip,
}

impl Missed {
    /// The policy of that word.
    pub fn from_word(word: &str) -> Option<Self> {
        match word {
            "once" => Some(Self::Once),
            "all" => Some(Self::All),
            "skip" => Some(Self::Skip),
            _ => None,
        }
    }

    /// Why a run was not made, as it is recorded.
    pub const fn why(self) -> &'static str {
        match self {
            Self::Once => "a later run stands for it",
            Self::All => "too many were missed: only the newest were made",
            Self::Skip => "its time had passed",
        }
    }
}

/// What is to be done about a job.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Turns {
    /// Runs to be made, the oldest first.
    pub to_run: Vec<DateTime<Utc>>,
    /// Runs to be recorded as missed, the oldest first.
    pub to_leave: Vec<DateTime<Utc>>,
    /// When it is due next; none where its expression never comes again.
    pub next: Option<DateTime<Utc>>,
}

/// What is to be done at `now` about a job that was first due at `first_due`.
pub fn turns(
    expression: &CronExpression,
    zone: Tz,
    missed: Missed,
    first_due: DateTime<Utc>,
    now: DateTime<Utc>,
) -> Turns {
    let mut due = Vec::new();
    let mut next = Some(first_due);
    while let Some(at) = next.filter(|at| *at <= now) {
        due.push(at);
        next = expression.next_after(at, zone);
        // An expression of every minute after years: what is too old to be told apart is dropped as it comes.
        if due.len() >= 2 * MOST_RECORDED {
            due.drain(..MOST_RECORDED);
        }
    }
    let made = match missed {
        Missed::Once => due.len().min(1),
        Missed::All => due.len().min(MOST_AT_ONCE),
        Missed::Skip => usize::from(due.last().is_some_and(|last| now - *last <= PATIENCE)),
    };
    let to_run = due.split_off(due.len() - made);
    let to_leave = due.split_off(due.len().saturating_sub(MOST_RECORDED));
    Turns { to_run, to_leave, next }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(text: &str) -> DateTime<Utc> {
        text.parse().expect("an instant")
    }

    /// R2: with twelve missed, 1, 12 or 0 run, the rest recorded.
    #[test]
    fn r02_missed_runs_are_made_once_or_all_or_not_at_all() {
        let daily: CronExpression = "30 2 * * *".parse().expect("an expression");
        let (first, now) = (at("2027-03-01T02:30:00Z"), at("2027-03-12T09:00:00Z"));
        for (missed, made) in [(Missed::Once, 1), (Missed::All, 12), (Missed::Skip, 0)] {
            let turns = turns(&daily, Tz::UTC, missed, first, now);
            assert_eq!((turns.to_run.len(), turns.to_leave.len()), (made, 12 - made), "{missed:?}");
            assert_eq!(turns.next, Some(at("2027-03-13T02:30:00Z")), "{missed:?}");
            let mut all = turns.to_leave.clone();
            all.extend(&turns.to_run);
            assert_eq!(all.first().zip(all.last()), Some((&first, &at("2027-03-12T02:30:00Z"))));
            assert!(all.is_sorted());
        }
    }

    #[test]
    fn what_is_due_now_is_run_under_every_policy() {
        let daily: CronExpression = "30 2 * * *".parse().expect("an expression");
        let due = at("2027-03-01T02:30:00Z");
        for missed in [Missed::Once, Missed::All, Missed::Skip] {
            let turns = turns(&daily, Tz::UTC, missed, due, at("2027-03-01T02:31:00Z"));
            assert_eq!((turns.to_run, turns.to_leave), (vec![due], vec![]), "{missed:?}");
        }
    }

    #[test]
    fn of_very_many_missed_runs_a_hundred_are_made_and_a_thousand_recorded() {
        let every_minute: CronExpression = "* * * * *".parse().expect("an expression");
        let (first, now) = (at("2027-03-01T00:00:00Z"), at("2027-03-31T00:00:30Z"));
        let turns = turns(&every_minute, Tz::UTC, Missed::All, first, now);
        assert_eq!(turns.to_run.len(), 100);
        assert!((900..=1_000).contains(&turns.to_leave.len()), "{}", turns.to_leave.len());
        assert_eq!(turns.to_run.last(), Some(&at("2027-03-31T00:00:00Z")));
    }

    /// The refit of the first of the month, counted by hand.
    #[test]
    fn a_monthly_job_that_slept_three_months_runs_once() {
        let monthly: CronExpression = "0 3 1 * *".parse().expect("an expression");
        let turns =
            turns(&monthly, Tz::UTC, Missed::Once, at("2027-01-01T03:00:00Z"), at("2027-04-01T03:00:00Z"));
        assert_eq!(turns.to_run, [at("2027-04-01T03:00:00Z")]);
        assert_eq!(
            turns.to_leave,
            ["2027-01", "2027-02", "2027-03"].map(|m| at(&format!("{m}-01T03:00:00Z")))
        );
        assert_eq!(turns.next, Some(at("2027-05-01T03:00:00Z")));
    }
}
