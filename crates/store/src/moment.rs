//! The database's own clock, for the leases that several processes share and for nothing else.

use crate::{Conn, StoreError};
use chrono::{DateTime, Utc};

statements! {
    /// SQLite's clock is this machine's, to the millisecond; PostgreSQL's is the one every replica shares.
    NOW = {
        sqlite: "SELECT strftime('%Y-%m-%dT%H:%M:%f+00:00', 'now') AS now"
        postgres: "SELECT clock_timestamp() AS now"
    }
}

/// The instant the database believes it is. [`Tx::database_now`](crate::Tx::database_now) is what callers use.
pub(crate) async fn now(conn: &mut Conn<'_>) -> Result<DateTime<Utc>, StoreError> {
    let (now,): (DateTime<Utc>,) = fetch!(fetch_one, conn, (DateTime<Utc>,), NOW)?;
    Ok(now)
}
