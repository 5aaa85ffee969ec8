//! The one stream of chance a life is decided by.

use chrono::TimeDelta;
use testkit::SeededChance;

/// Draws from a seed; the same seed draws the same.
#[derive(Debug)]
pub struct Dice(SeededChance);

impl Dice {
    /// The stream of `seed` for `purpose`: streams of two purposes have nothing to do with each other.
    pub fn of(seed: u64, purpose: u64) -> Self {
        let mixed = SeededChance::from_seed(seed ^ purpose.rotate_left(32)).draw();
        Self(SeededChance::from_seed(mixed))
    }

    /// A number below `limit`, which is at least 1.
    pub fn below(&self, limit: u64) -> u64 {
        self.0.below(limit.max(1))
    }

    /// A place in something of that length, which is not empty.
    pub fn place(&self, length: usize) -> usize {
        usize::try_from(self.below(u64::try_from(length).unwrap_or(1))).unwrap_or(0)
    }

    /// A number from `least` to `most`, both included.
    pub fn between(&self, least: u64, most: u64) -> u64 {
        least + self.below(most.saturating_sub(least) + 1)
    }

    /// True so often in a thousand.
    pub fn in_thousand(&self, times: u64) -> bool {
        self.below(1000) < times
    }

    /// True so often in a hundred.
    pub fn percent(&self, times: u64) -> bool {
        self.below(100) < times
    }

    /// One of several, which are not none.
    pub fn pick<'a, T>(&self, of: &'a [T]) -> &'a T {
        &of[self.place(of.len())]
    }

    /// A span between two numbers of seconds, short ones as likely as long ones by their logarithm.
    pub fn span(&self, least_seconds: u64, most_seconds: u64) -> TimeDelta {
        let doublings = (most_seconds / least_seconds.max(1)).max(1).ilog2();
        let floor = least_seconds.max(1) << self.below(u64::from(doublings) + 1);
        let seconds = self.between(floor, (floor * 2).min(most_seconds.max(floor)));
        TimeDelta::seconds(i64::try_from(seconds).unwrap_or(i64::MAX / 1_000_000))
    }
}
