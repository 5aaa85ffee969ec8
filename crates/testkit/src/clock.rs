//! A clock that stands still until a test moves it.

use chrono::{DateTime, SubsecRound, TimeDelta, Utc};
use model::Clock;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

/// A clock that stands still until it is set or moved on.
#[derive(Debug)]
pub struct FakeClock(Mutex<Shown>);

#[derive(Debug, Clone, Copy)]
struct Shown {
    /// What the clock shows.
    displayed: DateTime<Utc>,
    /// What one would show that was never set.
    unset: DateTime<Utc>,
}

/// The same time on a clock that nobody sets: what a database on another machine shows.
#[derive(Debug)]
struct NeverSet(Arc<FakeClock>);

impl FakeClock {
    /// A clock that shows `now`.
    pub fn at(now: DateTime<Utc>) -> Self {
        let now = now.trunc_subsecs(6);
        Self(Mutex::new(Shown { displayed: now, unset: now }))
    }

    /// A clock that shows an instant given in RFC 3339, such as `2027-03-01T08:00:00Z`.
    ///
    /// # Panics
    /// When the text is no instant.
    pub fn showing(now: &str) -> Self {
        Self::at(now.parse().expect("an instant in RFC 3339"))
    }

    /// Lets it show `now`: later, and the time until then has passed; earlier, and the clock was set back.
    pub fn set(&self, now: DateTime<Utc>) {
        let mut shown = self.shown();
        let now = now.trunc_subsecs(6);
        let passed = (now - shown.displayed).max(TimeDelta::zero());
        *shown = Shown { displayed: now, unset: shown.unset + passed };
    }

    /// Lets time pass; a negative span sets the clock back.
    pub fn pass(&self, span: TimeDelta) {
        self.set(self.now() + span);
    }

    /// Sets the clock on, or back, while no time passes.
    pub fn jump(&self, span: TimeDelta) {
        let mut shown = self.shown();
        shown.displayed = (shown.displayed + span).trunc_subsecs(6);
    }

    /// A clock beside it that shows the same until this one is set, and goes on with it.
    pub fn never_set(self: &Arc<Self>) -> Arc<dyn Clock> {
        Arc::new(NeverSet(Arc::clone(self)))
    }

    fn shown(&self) -> MutexGuard<'_, Shown> {
        self.0.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

impl Clock for FakeClock {
    fn now(&self) -> DateTime<Utc> {
        self.shown().displayed
    }

    fn elapsed(&self) -> TimeDelta {
        self.shown().unset - DateTime::<Utc>::UNIX_EPOCH
    }
}

impl Clock for NeverSet {
    fn now(&self) -> DateTime<Utc> {
        self.0.shown().unset
    }

    fn elapsed(&self) -> TimeDelta {
        self.0.elapsed()
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

    #[test]
    fn time_passes_for_a_clock_that_is_never_set_and_jumps_do_not() {
        let clock = Arc::new(FakeClock::showing("2027-03-01T08:00:00Z"));
        let (other, began) = (clock.never_set(), clock.elapsed());

        clock.jump(TimeDelta::days(730));
        clock.pass(TimeDelta::hours(2));
        clock.jump(TimeDelta::days(-730));
        clock.pass(TimeDelta::hours(-1));

        assert_eq!(clock.now().to_rfc3339(), "2027-03-01T09:00:00+00:00");
        assert_eq!(other.now().to_rfc3339(), "2027-03-01T10:00:00+00:00");
        assert_eq!(clock.elapsed() - began, TimeDelta::hours(2));
    }
}
