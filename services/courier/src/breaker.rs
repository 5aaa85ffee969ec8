//! Holds letters back while the way is barred for all of them, so that no attempt is wasted.

use crate::outcome::Outcome;
use chrono::{DateTime, TimeDelta, Utc};

/// So many attempts in a row that found the way barred open the breaker.
const MOST: u32 = 5;

/// While it is open the way is tried so often, at the cost of a connection but of no letter.
const PROBE_EVERY: TimeDelta = TimeDelta::minutes(1);

/// Counts attempts that found the way barred.
#[derive(Debug, Default)]
pub struct Breaker {
    barred: u32,
    probed_at: Option<DateTime<Utc>>,
}

/// What may be done now.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Way {
    /// Letters may go.
    Open,
    /// No letter goes, but the way should be tried.
    Probe,
    /// No letter goes.
    Held,
}

impl Breaker {
    /// What may be done at `now`. A clock that was turned back is no reason to wait longer.
    pub fn way(&self, now: DateTime<Utc>) -> Way {
        if self.barred < MOST {
            return Way::Open;
        }
        let waiting = self.probed_at.is_some_and(|at| at <= now && now - at < PROBE_EVERY);
        if waiting { Way::Held } else { Way::Probe }
    }

    /// Notes how an attempt or a probe at `now` ended. Whatever a relay decides about one letter shows that it is there.
    pub fn note(&mut self, outcome: &Outcome, now: DateTime<Utc>) {
        match outcome {
            Outcome::Barred { reply } => self.note_barred(reply, now),
            Outcome::Sent { .. }
            | Outcome::NotNow { .. }
            | Outcome::AddressRefused { .. }
            | Outcome::LetterRefused { .. }
            | Outcome::Unknown { .. } => self.note_open(),
        }
    }

    fn note_barred(&mut self, reply: &str, now: DateTime<Utc>) {
        self.barred = self.barred.saturating_add(1);
        self.probed_at = Some(now);
        if self.barred == MOST {
            tracing::error!(reply, "letters are held back: the way is barred");
        }
    }

    /// Notes that the way is open.
    pub fn note_open(&mut self) {
        if self.barred >= MOST {
            tracing::info!("letters go again");
        }
        *self = Self::default();
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn barred() -> Outcome {
        Outcome::Barred { reply: "535 5.7.8 wrong password".to_owned() }
    }

    #[test]
    fn r21_five_in_a_row_hold_letters_back_and_the_way_is_tried_once_a_minute() {
        let start = DateTime::<Utc>::UNIX_EPOCH;
        let mut breaker = Breaker::default();
        for _ in 0..4 {
            breaker.note(&barred(), start);
        }
        assert_eq!(breaker.way(start), Way::Open);
        breaker.note(&barred(), start);
        assert_eq!(breaker.way(start + TimeDelta::seconds(59)), Way::Held);
        assert_eq!(breaker.way(start + TimeDelta::seconds(60)), Way::Probe);
        breaker.note(&barred(), start + TimeDelta::seconds(60));
        assert_eq!(breaker.way(start + TimeDelta::seconds(119)), Way::Held);
        breaker.note_open();
        assert_eq!(breaker.way(start + TimeDelta::seconds(119)), Way::Open);
    }

    #[test]
    fn an_answer_about_one_letter_shows_that_the_way_is_open() {
        let start = DateTime::<Utc>::UNIX_EPOCH;
        let mut breaker = Breaker::default();
        for _ in 0..20 {
            breaker.note(&barred(), start);
            breaker.note(&Outcome::AddressRefused { reply: "550 5.1.1 unknown".to_owned() }, start);
        }
        assert_eq!(breaker.way(start), Way::Open);
    }

    #[test]
    fn a_clock_turned_back_does_not_hold_letters_for_longer() {
        let start = DateTime::<Utc>::UNIX_EPOCH + TimeDelta::days(1);
        let mut breaker = Breaker::default();
        for _ in 0..5 {
            breaker.note(&barred(), start);
        }
        assert_eq!(breaker.way(start - TimeDelta::hours(1)), Way::Probe);
    }
}
