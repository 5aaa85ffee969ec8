//! What an engine's refusal means, by its code.

use sqlx::error::DatabaseError;
use sqlx::sqlite::SqliteError;

/// Whether the engine's refusal may pass by itself: busy, shutting down, out of room or memory, a lock not gained.
pub(crate) fn is_passing(refusal: &dyn DatabaseError) -> bool {
    let code = refusal.code().unwrap_or_default();
    if refusal.try_downcast_ref::<SqliteError>().is_some() {
        // SQLite's primary codes: BUSY, LOCKED, NOMEM, IOERR, FULL, CANTOPEN.
        return primary_code(&code).is_some_and(|code| [5, 6, 7, 10, 13, 14].contains(&code));
    }
    // SQLSTATE: connection, resources, operator intervention, system error; serialization, deadlock, lock and idle
    // time-outs.
    ["08", "53", "57", "58"].iter().any(|class| code.starts_with(class))
        || ["40001", "40P01", "55P03", "25P03"].contains(&code.as_ref())
}

/// Whether the engine says that its files are damaged.
pub(crate) fn is_damage(refusal: &dyn DatabaseError) -> bool {
    let code = refusal.code().unwrap_or_default();
    if refusal.try_downcast_ref::<SqliteError>().is_some() {
        // CORRUPT, NOTADB.
        return primary_code(&code).is_some_and(|code| [11, 26].contains(&code));
    }
    code.starts_with("XX00")
}

/// SQLite's extended codes carry the primary one in their low byte.
fn primary_code(extended: &str) -> Option<i32> {
    extended.parse::<i32>().ok().map(|code| code & 0xff)
}
