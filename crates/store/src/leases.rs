//! When a lease holds: until its end, and not where its end lies too far ahead.

use crate::{Engine, StoreError, Tx};
use chrono::{DateTime, TimeDelta, Utc};
use model::CLOCKS_APART;

/// A lease to be taken, on the clock of leases: the database's, which every replica shares. SQLite has one process and no
/// clock of its own; there it is the machine's.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Lease {
    /// When it is taken.
    pub at: DateTime<Utc>,
    /// Until when it holds.
    pub until: DateTime<Utc>,
}

impl Lease {
    /// A lease for `span` from now on, where the machine's clock shows `now`.
    ///
    /// # Errors
    /// Storage errors.
    pub async fn taken(tx: &mut Tx, now: DateTime<Utc>, span: TimeDelta) -> Result<Self, StoreError> {
        let at = match tx.conn().engine() {
            Engine::Sqlite => now,
            Engine::Postgres => tx.database_now().await?,
        };
        Ok(Self { at, until: at + span })
    }

    /// A lease that ends later than this was taken under a clock that was wrong: it holds nothing, or its row would wait
    /// until that clock is right.
    pub(crate) fn beyond(self) -> DateTime<Utc> {
        self.until + CLOCKS_APART
    }
}
