//! Where a page begins: behind the last row seen, or before every row there can be.

use chrono::{DateTime, NaiveDate, NaiveTime, Utc};
use model::FIRST_DAY;
use uuid::Uuid;

/// A sort key that has a least value.
pub(crate) trait Least {
    /// No stored key sorts before it.
    fn least() -> Self;
}

impl Least for NaiveDate {
    fn least() -> Self {
        FIRST_DAY
    }
}

impl Least for DateTime<Utc> {
    fn least() -> Self {
        FIRST_DAY.and_time(NaiveTime::MIN).and_utc()
    }
}

impl Least for Uuid {
    fn least() -> Self {
        Self::nil()
    }
}

/// The place behind which a page begins. A bound value instead of `IS NULL OR`, so that the index is always used.
pub(crate) fn behind<K: Least>(after: Option<(K, Uuid)>) -> (K, Uuid) {
    after.unwrap_or_else(|| (K::least(), Uuid::nil()))
}

/// The id behind which a page in order of ids begins. Ids of facts begin with their time.
pub(crate) fn behind_id(after: Option<impl Into<Uuid>>) -> Uuid {
    after.map_or(Uuid::nil(), Into::into)
}
