//! A clock that stands still until a test moves it.

use chrono::{DateTime, SubsecRound, TimeDelta, Utc};
use model::Clock;
use std::sync::{Mutex, PoisonError};

/// A clock that stands still until it is set or moved on.
#[derive(Debug)]
pub struct FakeClock {
    now: Mutex<DateTime<Utc>>,
}

impl FakeClock {
    /// A clock that shows `now`.
    pub fn at(now: DateTime<Utc>) -> Self {
        Self { now: Mutex::new(now.trunc_subsecs(6)) }
    }

    /// A clock that shows an instant given in RFC 3339, such as `2027-03-01T08:00:00Z`.
    ///
    /// # Panics
    /// When the text is no instant.
    pub fn showing(now: &str) -> Self {
        Self::at(now.parse().expect("an instant in RFC 3339"))
    }

    /// Sets the clock, forwards or backwards.
    pub fn set(&self, now: DateTime<Utc>) {
        *self.now.lock().unwrap_or_else(PoisonError::into_inner) = now.trunc_subsecs(6);
    }

    /// Moves the clock on; a negative span turns it back.
    pub fn pass(&self, span: TimeDelta) {
        self.set(self.now() + span);
    }
}

impl Clock for FakeClock {
    fn now(&self) -> DateTime<Utc> {
        *self.now.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_fake_clock_stands_still_until_it_is_moved_and_knows_no_nanoseconds() {
        let clock = FakeClock::showing("2027-03-01T08:00:00.123456789Z");
        assert_eq!((clock.now(), clock.now().timestamp_subsec_nanos()), (clock.now(), 123_456_000));

        clock.pass(TimeDelta::hours(-9));

        assert_eq!(clock.now().to_rfc3339(), "2027-02-28T23:00:00.123456+00:00");
    }
}
