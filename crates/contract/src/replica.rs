//! Running programs on one store.

use crate::define::answer;
use chrono::{DateTime, Utc};
use uuid::Uuid;

answer! {
    /// A running program, as it last told of itself. Its times are on the clock that all of them share: the database's.
    Replica {
        /// Its id, by chance at its start.
        id: Uuid,
        /// Its version.
        version: String = "0.1.0",
        /// When it started.
        started_at: DateTime<Utc>,
        /// When it last told that it lives; it does so every ten seconds.
        beat_at: DateTime<Utc>,
        /// When it last read from the database.
        read_at: Option<DateTime<Utc>>,
        /// When its scheduler last had a turn.
        scheduler_at: Option<DateTime<Utc>>,
        /// When its courier last had a turn.
        courier_at: Option<DateTime<Utc>>,
        /// How its machine's clock stands to the shared one: `agreed`, `ahead` or `behind`. More than a day ahead, nothing
        /// is told.
        clock: String = "agreed",
        /// By how many seconds that is ahead; fewer than none where it is behind.
        ahead_seconds: i64 = 0,
        /// What of it has fallen silent: `program`, `scheduler`, `courier`.
        silent: Vec<String>,
    }
}
