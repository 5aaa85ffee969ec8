//! Where time and chance come from: only the edge of the program implements these.

use chrono::{DateTime, SubsecRound, TimeDelta, Utc};
use uuid::Uuid;

/// Tells the time. Every timestamp in the program comes from here.
pub trait Clock: Send + Sync {
    /// The instant now. Implementations truncate to microseconds, the finest both databases keep.
    fn now(&self) -> DateTime<Utc>;

    /// The time that has passed since some moment before the program began, whoever sets the clock meanwhile: it never
    /// goes back, and it goes on while the machine sleeps.
    fn elapsed(&self) -> TimeDelta;
}

/// Gives random bytes, fit for secrets.
pub trait Chance: Send + Sync {
    /// Fills `bytes` with random ones.
    fn fill(&self, bytes: &mut [u8]);
}

impl dyn Chance + '_ {
    /// A new UUIDv7 for the instant `at` (RFC 9562): the time in milliseconds, then chance.
    pub fn id_at(&self, at: DateTime<Utc>) -> Uuid {
        let mut noise = [0; 10];
        self.fill(&mut noise);
        let millis = u64::try_from(at.trunc_subsecs(3).timestamp_millis()).unwrap_or(0);
        uuid::Builder::from_unix_timestamp_millis(millis, &noise).into_uuid()
    }
}
