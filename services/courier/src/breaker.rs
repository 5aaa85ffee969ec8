//! Holds letters back while the way is barred for all of them, so that no attempt is wasted.
//!
//! It opens after five faults in a row, and at once where the relay refuses us. From then on the way is tried once a
//! minute, at first without a letter and, where the relay is ready, with one: only a letter shows whether the relay takes
//! what we send. What such a trial finds does not count as an attempt. A relay that goes on refusing us is asked less and
//! less often: somebody has to mend something, and then starts the program anew or can wait for a while.

use crate::outcome::Outcome;
use chrono::{DateTime, TimeDelta, Utc};
use model::LetterId;
use std::collections::BTreeSet;

/// So many attempts in a row that found the way barred open the breaker.
const MOST: u32 = 5;

/// While it is open the way is tried so often.
pub const PROBE_EVERY: TimeDelta = TimeDelta::minutes(1);

/// Twice as long after each refusal, but for this many.
const MOST_DOUBLINGS: u32 = 4;

/// Letters remembered as having found the way barred on their own; beyond that the memory begins anew.
const MOST_ALONE: usize = 10_000;

/// Counts attempts that found the way barred.
#[derive(Debug, Default)]
pub struct Breaker {
    barred: u32,
    /// How often in a row the relay refused us, whoever we write to.
    refused: u32,
    probed_at: Option<DateTime<Utc>>,
    /// Letters that found the way barred since the last letter that went.
    suspects: BTreeSet<LetterId>,
    /// Letters that found it barred while others went: what is the matter lies with them, and they wait as others do.
    alone: BTreeSet<LetterId>,
}

/// What may be done now.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Way {
    /// Letters may go.
    Open,
    /// No letter goes but one, once the relay is seen to be ready.
    Probe,
    /// No letter goes.
    Held,
}

impl Breaker {
    /// What may be done at `now`. A clock that was turned back is no reason to wait longer.
    pub fn way(&self, now: DateTime<Utc>) -> Way {
        if self.is_closed() {
            return Way::Open;
        }
        let waiting = self.probed_at.is_some_and(|at| at <= now && now - at < self.wait());
        if waiting { Way::Held } else { Way::Probe }
    }

    const fn is_closed(&self) -> bool {
        self.barred < MOST && self.refused == 0
    }

    /// How long to wait before the way is tried again: up to 16 minutes where the relay refuses us.
    fn wait(&self) -> TimeDelta {
        PROBE_EVERY * (1 << self.refused.saturating_sub(1).min(MOST_DOUBLINGS))
    }

    /// Notes how an attempt at `letter`, or a probe, ended at `now`. Whatever a relay decides about one letter shows that
    /// it is there. Says whether the attempt counts: where the way is known to be barred for every letter it does not.
    pub fn note(&mut self, letter: Option<LetterId>, outcome: &Outcome, now: DateTime<Utc>) -> bool {
        let is_alone = letter.is_some_and(|letter| self.alone.contains(&letter));
        match outcome {
            Outcome::Barred { .. } | Outcome::SenderRefused { .. } if is_alone => true,
            Outcome::Barred { reply } => self.note_barred(letter, reply, now),
            Outcome::SenderRefused { reply } => self.note_refused(letter, reply, now),
            Outcome::Sent { .. } => {
                self.note_open();
                self.leave_alone(letter);
                true
            }
            Outcome::NotNow { .. }
            | Outcome::AddressRefused { .. }
            | Outcome::TooLarge { .. }
            | Outcome::LetterRefused { .. }
            | Outcome::Unknown { .. } => {
                self.note_open();
                true
            }
        }
    }

    fn note_barred(&mut self, letter: Option<LetterId>, reply: &str, now: DateTime<Utc>) -> bool {
        let counts = self.is_closed();
        self.barred = self.barred.saturating_add(1);
        self.probed_at = Some(now);
        if !counts {
            self.suspects.extend(letter);
        }
        if self.barred == MOST && self.refused == 0 {
            tracing::error!(reply, "letters are held back: the way is barred");
        }
        counts
    }

    fn note_refused(&mut self, letter: Option<LetterId>, reply: &str, now: DateTime<Utc>) -> bool {
        if self.is_closed() {
            tracing::error!(reply, "letters are held back: the relay refuses us");
        }
        self.refused = self.refused.saturating_add(1);
        self.probed_at = Some(now);
        self.suspects.extend(letter);
        false
    }

    /// Notes at `now` that the relay was ready, and that a letter is to show whether the way is open.
    pub const fn note_ready(&mut self, now: DateTime<Utc>) {
        self.probed_at = Some(now);
    }

    fn note_open(&mut self) {
        if !self.is_closed() {
            tracing::info!("letters go again");
        }
        (self.barred, self.refused, self.probed_at) = (0, 0, None);
    }

    /// One letter went while others did not.
    fn leave_alone(&mut self, went: Option<LetterId>) {
        if self.alone.len() > MOST_ALONE {
            self.alone.clear();
        }
        self.alone.append(&mut self.suspects);
        if let Some(went) = went {
            self.alone.remove(&went);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn barred() -> Outcome {
        Outcome::Barred { reply: "the relay cannot be reached".to_owned() }
    }

    fn refused() -> Outcome {
        Outcome::SenderRefused { reply: "535 5.7.8 wrong password".to_owned() }
    }

    fn sent() -> Outcome {
        Outcome::Sent { reply: "250 taken".to_owned() }
    }

    fn letter(number: u128) -> LetterId {
        LetterId(uuid::Uuid::from_u128(number))
    }

    #[test]
    fn r21_five_in_a_row_hold_letters_back_and_the_way_is_tried_once_a_minute() {
        let start = DateTime::<Utc>::UNIX_EPOCH;
        let mut breaker = Breaker::default();
        for _ in 0..4 {
            breaker.note(None, &barred(), start);
        }
        assert_eq!(breaker.way(start), Way::Open);
        breaker.note(None, &barred(), start);
        assert_eq!(breaker.way(start + TimeDelta::seconds(59)), Way::Held);
        assert_eq!(breaker.way(start + TimeDelta::seconds(60)), Way::Probe);
        breaker.note(None, &barred(), start + TimeDelta::seconds(60));
        assert_eq!(breaker.way(start + TimeDelta::seconds(119)), Way::Held);
        breaker.note(Some(letter(1)), &sent(), start + TimeDelta::seconds(119));
        assert_eq!(breaker.way(start + TimeDelta::seconds(119)), Way::Open);
    }

    #[test]
    fn an_answer_about_one_letter_shows_that_the_way_is_open() {
        let start = DateTime::<Utc>::UNIX_EPOCH;
        let mut breaker = Breaker::default();
        for _ in 0..20 {
            breaker.note(None, &barred(), start);
            breaker.note(None, &Outcome::AddressRefused { reply: "550 5.1.1 unknown".to_owned() }, start);
        }
        assert_eq!(breaker.way(start), Way::Open);
    }

    #[test]
    fn a_clock_turned_back_does_not_hold_letters_for_longer() {
        let start = DateTime::<Utc>::UNIX_EPOCH + TimeDelta::days(1);
        let mut breaker = Breaker::default();
        for _ in 0..5 {
            breaker.note(None, &barred(), start);
        }
        assert_eq!(breaker.way(start - TimeDelta::hours(1)), Way::Probe);
    }

    #[test]
    fn r18_a_relay_that_refuses_us_holds_letters_back_at_once_and_no_attempt_counts() {
        let start = DateTime::<Utc>::UNIX_EPOCH;
        let mut breaker = Breaker::default();
        assert!(!breaker.note(Some(letter(1)), &refused(), start));
        let mut now = start;
        // Twice as long each time, up to a quarter of an hour and a little.
        for minutes in [1, 2, 4, 8, 16, 16] {
            assert_eq!(breaker.way(now + TimeDelta::minutes(minutes) - TimeDelta::seconds(1)), Way::Held);
            now += TimeDelta::minutes(minutes);
            assert_eq!(breaker.way(now), Way::Probe);
            breaker.note_ready(now);
            assert_eq!(breaker.way(now), Way::Held, "one letter at most");
            assert!(!breaker.note(Some(letter(1)), &refused(), now));
        }
        assert!(breaker.note(Some(letter(1)), &sent(), now));
        assert_eq!(breaker.way(now), Way::Open);
    }

    #[test]
    fn r21_of_the_attempts_at_a_barred_way_five_count() {
        let start = DateTime::<Utc>::UNIX_EPOCH;
        let mut breaker = Breaker::default();
        let counted = (0..20).filter(|_| breaker.note(Some(letter(1)), &barred(), start)).count();
        assert_eq!(counted, 5);
    }

    #[test]
    fn a_letter_refused_while_others_go_holds_nobody_back_and_counts() {
        let start = DateTime::<Utc>::UNIX_EPOCH;
        let mut breaker = Breaker::default();
        assert!(!breaker.note(Some(letter(1)), &refused(), start));
        breaker.note(Some(letter(2)), &sent(), start + TimeDelta::minutes(1));
        assert!(breaker.note(Some(letter(1)), &refused(), start + TimeDelta::minutes(2)));
        assert_eq!(breaker.way(start + TimeDelta::minutes(2)), Way::Open);
        // Once it has gone it is like any other.
        breaker.note(Some(letter(1)), &sent(), start + TimeDelta::minutes(3));
        assert!(!breaker.note(Some(letter(1)), &refused(), start + TimeDelta::minutes(4)));
    }
}
