//! Whether the machine's clock agrees with another, and what follows where it does not.

use chrono::{DateTime, TimeDelta, Utc};

/// Clocks that differ by no more than this agree (house setting, no source).
pub const CLOCKS_APART: TimeDelta = TimeDelta::seconds(60);

/// A clock that is further ahead than this is not believed, and nothing is told by it (house setting, no source).
const FARTHEST: TimeDelta = TimeDelta::hours(24);

/// Without a second clock to ask, one that was set is believed once it has stood by that for so long (house setting, no
/// source): a machine that began with a wrong clock is put right for good, one whose clock was set wrong is seen to.
const BELIEVED_AFTER: TimeDelta = TimeDelta::hours(24);

/// How the machine's clock stands to the other.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ClockVerdict {
    /// They agree.
    Agreed,
    /// The machine's shows later by so much.
    Ahead(TimeDelta),
    /// The machine's shows earlier by so much.
    Behind(TimeDelta),
}

impl ClockVerdict {
    /// What a clock is that shows so much more than the other; a negative span means less.
    pub fn of(ahead: TimeDelta) -> Self {
        if ahead > CLOCKS_APART {
            Self::Ahead(ahead)
        } else if -ahead > CLOCKS_APART {
            Self::Behind(-ahead)
        } else {
            Self::Agreed
        }
    }

    /// Whether nothing may be told until the clocks agree: the machine's is more than 24 hours ahead.
    pub fn holds(self) -> bool {
        matches!(self, Self::Ahead(by) if by > FARTHEST)
    }

    /// The word it is kept and shown by.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Agreed => "agreed",
            Self::Ahead(_) => "ahead",
            Self::Behind(_) => "behind",
        }
    }
}

/// Watches the machine's clock. What it should show is known from another clock that was read at some moment, and from
/// the time that has passed since then, whoever sets the clock meanwhile.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct ClockWatch {
    /// What the other clock showed,
    showed: DateTime<Utc>,
    /// after so much time had passed.
    read_at: TimeDelta,
    /// By how much the machine's clock was ahead when it last began to differ otherwise, and when that was.
    differs: Option<(TimeDelta, TimeDelta)>,
}

impl ClockWatch {
    /// One that goes by a clock that showed `showed` when `elapsed` had passed: another's, or where there is none, the
    /// machine's own when the program began.
    pub const fn by(showed: DateTime<Utc>, elapsed: TimeDelta) -> Self {
        Self { showed, read_at: elapsed, differs: None }
    }

    /// By how much a clock that shows `now` is ahead after `elapsed`; a negative span where it is behind.
    pub fn ahead(&self, now: DateTime<Utc>, elapsed: TimeDelta) -> TimeDelta {
        (now - self.showed) - (elapsed - self.read_at)
    }

    /// How a clock stands that shows `now` after `elapsed`.
    pub fn verdict(&self, now: DateTime<Utc>, elapsed: TimeDelta) -> ClockVerdict {
        ClockVerdict::of(self.ahead(now, elapsed))
    }

    /// Looks at the clock where there is no other to ask: one that has differed by the same for a day is believed.
    pub fn look(&mut self, now: DateTime<Utc>, elapsed: TimeDelta) {
        let ahead = self.ahead(now, elapsed);
        if ClockVerdict::of(ahead) == ClockVerdict::Agreed {
            self.differs = None;
            return;
        }
        match self.differs {
            Some((by, since)) if ClockVerdict::of(ahead - by) == ClockVerdict::Agreed => {
                if elapsed - since >= BELIEVED_AFTER {
                    *self = Self::by(now, elapsed);
                }
            }
            _ => self.differs = Some((ahead, elapsed)),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(text: &str) -> DateTime<Utc> {
        text.parse().expect("an instant")
    }

    const HOUR: TimeDelta = TimeDelta::hours(1);

    #[test]
    fn r07_a_clock_that_is_set_differs_from_the_time_that_has_passed() {
        let watch = ClockWatch::by(at("2027-03-01T08:00:00Z"), HOUR);
        let after_an_hour = HOUR * 2;
        for (shows, verdict, holds) in [
            ("2027-03-01T09:00:00Z", ClockVerdict::Agreed, false),
            ("2027-03-01T09:01:00Z", ClockVerdict::Agreed, false),
            ("2027-03-01T08:59:00Z", ClockVerdict::Agreed, false),
            ("2027-03-01T09:01:01Z", ClockVerdict::Ahead(TimeDelta::seconds(61)), false),
            ("2027-03-01T08:58:59Z", ClockVerdict::Behind(TimeDelta::seconds(61)), false),
            ("2027-03-01T10:00:00Z", ClockVerdict::Ahead(HOUR), false),
            ("2027-03-01T08:00:00Z", ClockVerdict::Behind(HOUR), false),
            ("2027-03-02T09:00:00Z", ClockVerdict::Ahead(HOUR * 24), false),
            ("2027-03-02T09:00:01Z", ClockVerdict::Ahead(TimeDelta::seconds(86_401)), true),
            ("2029-03-01T09:00:00Z", ClockVerdict::Ahead(TimeDelta::days(731)), true),
            ("2025-03-01T09:00:00Z", ClockVerdict::Behind(TimeDelta::days(730)), false),
        ] {
            let told = watch.verdict(at(shows), after_an_hour);
            assert_eq!((told, told.holds()), (verdict, holds), "{shows}");
        }
    }

    #[test]
    fn r01_four_hundred_days_that_have_passed_are_no_jump() {
        let watch = ClockWatch::by(at("2027-03-01T08:00:00Z"), TimeDelta::zero());
        let later = at("2027-03-01T08:00:00Z") + TimeDelta::days(400);
        assert_eq!(watch.verdict(later, TimeDelta::days(400)), ClockVerdict::Agreed);
    }

    #[test]
    fn r07_alone_a_clock_that_was_set_is_believed_after_a_day_and_not_if_it_is_set_again_meanwhile() {
        let began = at("2027-03-01T08:00:00Z");
        let mut watch = ClockWatch::by(began, TimeDelta::zero());
        let mut holds = Vec::new();
        // Days that the clock is ahead, hour by hour.
        for (days, hour) in [(730, 1), (730, 20), (700, 24), (700, 26), (700, 47), (700, 48), (700, 49)] {
            let (elapsed, now) = (HOUR * hour, began + TimeDelta::days(days) + HOUR * hour);
            watch.look(now, elapsed);
            holds.push(watch.verdict(now, elapsed).holds());
        }
        assert_eq!(holds, [true, true, true, true, true, false, false]);
        let put_right = began + HOUR * 50;
        watch.look(put_right, HOUR * 50);
        assert_eq!(watch.verdict(put_right, HOUR * 50), ClockVerdict::Behind(TimeDelta::days(700)));
    }
}
