//! When a lease holds: until its end, and not where its end lies too far ahead.

use crate::{Conn, Engine, StoreError, Tx};
use chrono::{DateTime, TimeDelta, Utc};
use model::CLOCKS_APART;

statements! {
    /// Before every instant a clock may show.
    END_OF_LETTERS = {
        "UPDATE letter SET claimed_until = $1 WHERE state IN ('claimed', 'sending') AND claimed_until <> $1"
    }
    END_OF_VEHICLES = {
        "UPDATE vehicle_state SET claimed_until = $1 WHERE claim_token IS NOT NULL AND claimed_until <> $1"
    }
    END_OF_RUNS = { "UPDATE job_run SET started_at = $1 WHERE outcome = 'running' AND started_at <> $1" }
}

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

/// Ends every lease, as if it had run out long ago: what a dead process had in hand is taken up at once. Only for who knows
/// that no other process works on this store. Says how many there were. Needs `Reach::All`.
///
/// # Errors
/// Storage errors.
pub async fn end_all(conn: &mut Conn<'_>) -> Result<u64, StoreError> {
    let long_ago = DateTime::UNIX_EPOCH;
    let letters = execute!(conn, END_OF_LETTERS, long_ago)?;
    let vehicles = execute!(conn, END_OF_VEHICLES, long_ago)?;
    Ok(letters + vehicles + execute!(conn, END_OF_RUNS, long_ago)?)
}
