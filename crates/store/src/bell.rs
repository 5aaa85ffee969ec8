//! A word to other programs on the same store that something has changed: a hint, which nothing rests on.

use crate::{Conn, StoreError};

statements! {
    /// On PostgreSQL it is heard when the transaction commits, and once however often it rang. SQLite has one process.
    RING = {
        "SELECT CAST(1 AS BIGINT) AS rung" postgres: "FROM pg_notify('ostler_changed', '')"
    }
}

/// Lets other programs hear, once this transaction lasts, that something has changed.
pub async fn ring(conn: &mut Conn<'_>) -> Result<(), StoreError> {
    fetch!(fetch_one, conn, (i64,), RING).map(|_| ())
}
