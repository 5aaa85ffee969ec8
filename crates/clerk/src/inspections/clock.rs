//! What a phone's clock is worth: ignored, shifted or doubted, never clamped to now.

use crate::readings::CLOCK_SLACK;
use chrono::{DateTime, TimeDelta, Utc};

/// Within so much a phone's clock counts as right.
const IGNORED: TimeDelta = CLOCK_SLACK;

/// Up to so much its times are shifted by the offset; beyond, they are held.
const SHIFTED: TimeDelta = TimeDelta::hours(24);

/// A time as the phone gave it and as it will be used.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Timed {
    /// As sent.
    pub sent: DateTime<Utc>,
    /// As used.
    pub at: DateTime<Utc>,
    /// `received - sent` of the batch, whole seconds.
    pub offset_seconds: i64,
    /// Whether the time was shifted.
    pub corrected: bool,
    /// Whether it cannot be trusted.
    pub in_doubt: bool,
}

/// Judges `performed_at` of a batch sent and received at these instants. A time before `not_before` (the vehicle came
/// into service then) or after its arrival is in doubt.
pub(super) fn judge(
    performed_at: DateTime<Utc>,
    device_sent_at: DateTime<Utc>,
    received_at: DateTime<Utc>,
    not_before: Option<DateTime<Utc>>,
) -> Timed {
    let offset = received_at - device_sent_at;
    let size = offset.abs();
    let corrected = size > IGNORED && size <= SHIFTED;
    let at = if corrected {
        performed_at.checked_add_signed(offset).unwrap_or(performed_at)
    } else {
        performed_at
    };
    let too_early = not_before.is_some_and(|first| at < first);
    let in_doubt = size > SHIFTED || at > received_at + IGNORED || too_early;
    Timed { sent: performed_at, at, offset_seconds: offset.num_seconds(), corrected, in_doubt }
}

#[cfg(test)]
mod tests {
    use super::*;
    use chrono::TimeZone;

    fn at(hour: u32, minute: u32) -> DateTime<Utc> {
        Utc.with_ymd_and_hms(2026, 11, 2, hour, minute, 0).unwrap()
    }

    #[test]
    fn a_clock_two_minutes_off_is_taken_as_right() {
        let timed = judge(at(9, 0), at(12, 0), at(12, 2), None);
        assert_eq!((timed.at, timed.corrected, timed.in_doubt), (at(9, 0), false, false));
    }

    #[test]
    fn a_clock_three_hours_slow_shifts_the_entry_and_says_so() {
        let timed = judge(at(9, 0), at(12, 0), at(15, 0), None);
        assert_eq!(
            (timed.sent, timed.at, timed.corrected, timed.in_doubt),
            (at(9, 0), at(12, 0), true, false)
        );
    }

    #[test]
    fn a_clock_more_than_a_day_off_is_doubted_and_not_shifted() {
        let timed = judge(at(9, 0), at(12, 0), at(12, 0) + TimeDelta::hours(25), None);
        assert_eq!((timed.at, timed.corrected, timed.in_doubt), (at(9, 0), false, true));
    }

    #[test]
    fn a_time_in_the_future_or_before_the_vehicle_is_doubted() {
        assert!(judge(at(13, 0), at(12, 0), at(12, 0), None).in_doubt);
        assert!(judge(at(9, 0), at(12, 0), at(12, 0), Some(at(10, 0))).in_doubt);
    }
}
