//! As of when the record is read: now, or as it stood at an instant of the past.

use chrono::{DateTime, NaiveTime, SubsecRound, Utc};
use model::LAST_DAY;

/// What had been recorded by when. A statement that heeds it takes its bound and reads
/// `recorded_at <= $n AND (withdrawn_at IS NULL OR withdrawn_at > $n)`: one text for today and for the past.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct AsKnown(Option<DateTime<Utc>>);

impl AsKnown {
    /// Everything on record, and nothing that was withdrawn.
    pub const NOW: Self = Self(None);

    /// What was on record at that instant, to the microsecond; what was withdrawn later is there.
    pub fn at(instant: DateTime<Utc>) -> Self {
        Self(Some(instant.trunc_subsecs(6)))
    }

    /// The instant, if it is not now.
    pub const fn instant(self) -> Option<DateTime<Utc>> {
        self.0
    }

    /// The instant that statements compare with; for now one that nothing is recorded after.
    pub(crate) fn bound(self) -> DateTime<Utc> {
        self.0.unwrap_or_else(|| LAST_DAY.and_time(NaiveTime::MIN).and_utc())
    }
}
