//! Turns: what two transactions must not do at once although they touch no row in common.

use crate::{Conn, StoreError};

statements! {
    /// SQLite has one writer at a time: whoever asks has the turn already.
    TAKE = {
        sqlite: "SELECT $1 AS taken"
        postgres: "SELECT $1 AS taken FROM pg_advisory_xact_lock(hashtextextended($1, 0))"
    }
}

/// Waits until no other writing transaction has the turn of this name, and has it until its own end. What the others
/// committed meanwhile is seen by the next statement.
pub async fn take(conn: &mut Conn<'_>, name: &str) -> Result<(), StoreError> {
    fetch!(fetch_one, conn, (String,), TAKE, name).map(|_| ())
}
