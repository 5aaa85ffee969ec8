//! When a lease holds: until its end, and not where its end lies too far ahead.

use chrono::{DateTime, TimeDelta, Utc};

/// Clocks of replicas may differ by so much (house setting, no source).
const APART: TimeDelta = TimeDelta::seconds(60);

/// A lease that ends later than this was taken under a clock that was wrong, where one taken now would hold `until` then:
/// it holds nothing, or its row would wait until that clock is right.
pub(crate) fn beyond(until: DateTime<Utc>) -> DateTime<Utc> {
    until + APART
}
