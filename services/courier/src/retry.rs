//! When a letter that was not taken is tried again.

use chrono::{DateTime, TimeDelta, Utc};
use model::Chance;

/// Minutes after the first attempts; then every four hours.
const FIRST_WAITS: [i64; 7] = [1, 5, 15, 30, 60, 120, 240];

/// Minutes between later attempts.
const LATER_WAIT: i64 = 240;

/// Waits add up to at most this: four days, in minutes (RFC 5321, 4.5.4.1: at least 4 to 5 days).
const MOST: i64 = 4 * 24 * 60;

/// And to at most this where another letter is to tell it again before the four days are over.
const MOST_IF_TOLD_AGAIN: i64 = 48 * 60;

/// When to try again after attempt number `attempt` (from 1) of those that count failed at `now`, where what the letter
/// tells is told again at `told_again_at`; none: it is given up.
///
/// The wait is spread by a tenth either way, so that letters which failed together do not come back together. Attempts
/// are counted, not hours: while the way is barred for all letters none is attempted and the clock stands still.
pub fn next_attempt(
    attempt: i64,
    told_again_at: Option<DateTime<Utc>>,
    now: DateTime<Utc>,
    chance: &dyn Chance,
) -> Option<DateTime<Utc>> {
    let attempt = attempt.max(1);
    let waited: i64 = (1..attempt).map(wait).sum();
    let given_up_at = now + TimeDelta::minutes(MOST - waited);
    let comes_first = told_again_at.is_some_and(|again| again < given_up_at);
    let most = if comes_first { MOST_IF_TOLD_AGAIN } else { MOST };
    (waited + wait(attempt) <= most).then(|| now + spread(wait(attempt), chance))
}

/// Minutes to wait after this attempt.
fn wait(attempt: i64) -> i64 {
    let place = usize::try_from(attempt - 1).unwrap_or(0);
    FIRST_WAITS.get(place).copied().unwrap_or(LATER_WAIT)
}

/// `minutes`, a tenth more or less.
fn spread(minutes: i64, chance: &dyn Chance) -> TimeDelta {
    let mut bytes = [0; 4];
    chance.fill(&mut bytes);
    let milliseconds = minutes * 60_000;
    let tenth = milliseconds / 10;
    let place = i64::from(u32::from_le_bytes(bytes));
    TimeDelta::milliseconds(milliseconds - tenth + 2 * tenth * place / i64::from(u32::MAX))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Always the same bytes.
    struct Always(u8);

    impl Chance for Always {
        fn fill(&self, bytes: &mut [u8]) {
            bytes.fill(self.0);
        }
    }

    fn waits(chance: &dyn Chance) -> Vec<TimeDelta> {
        let start = DateTime::<Utc>::UNIX_EPOCH;
        (1..100)
            .map_while(|attempt| next_attempt(attempt, None, start, chance))
            .map(|at| at - start)
            .collect()
    }

    /// How long a letter is tried whose attempts take no time, where what it tells is told again at `told_again_at`.
    fn tried_for(told_again_at: TimeDelta) -> TimeDelta {
        let start = DateTime::<Utc>::UNIX_EPOCH;
        let mut now = start;
        for attempt in 1..100 {
            match next_attempt(attempt, Some(start + told_again_at), now, &Always(128)) {
                Some(next) => now = next,
                None => break,
            }
        }
        now - start
    }

    #[test]
    fn r19_retries_follow_the_schedule_within_a_tenth() {
        let (soonest, latest) = (waits(&Always(0)), waits(&Always(255)));
        let nominal = [1, 5, 15, 30, 60, 120, 240, 240, 240];
        for (place, minutes) in nominal.iter().enumerate() {
            assert_eq!(soonest[place], TimeDelta::seconds(minutes * 54), "{place}");
            assert_eq!(latest[place], TimeDelta::seconds(minutes * 66), "{place}");
        }
    }

    #[test]
    fn r19_a_letter_is_given_up_after_four_days() {
        let total: TimeDelta = waits(&Always(0)).iter().sum();
        let least = TimeDelta::days(4) - TimeDelta::hours(4);
        assert!(total * 10 / 9 > least && total * 10 / 9 <= TimeDelta::days(4), "{total}");
    }

    #[test]
    fn r19_a_letter_is_given_up_after_two_days_where_a_later_one_comes_first() {
        let two_days = TimeDelta::hours(44)..=TimeDelta::hours(49);
        for hours in [1, 40, 60, 94] {
            let tried = tried_for(TimeDelta::hours(hours));
            assert!(two_days.contains(&tried), "{hours}: {tried}");
        }
        let tried = tried_for(TimeDelta::hours(100));
        assert!(tried > TimeDelta::hours(90), "{tried}");
    }

    #[test]
    fn an_attempt_number_out_of_range_is_not_a_fault() {
        let now = DateTime::<Utc>::UNIX_EPOCH;
        assert!(next_attempt(0, None, now, &Always(0)).is_some());
        assert!(next_attempt(1_000, None, now, &Always(0)).is_none());
    }
}
