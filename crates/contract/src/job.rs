//! Recurring work.

use crate::define::answer;
use chrono::{DateTime, Utc};

answer! {
    /// A run of recurring work to come.
    JobTurn {
        /// When it is due.
        at: DateTime<Utc> = "2027-04-01T03:00:00Z",
        /// The same on the clocks of its zone, with their offset.
        local: String = "2027-04-01T03:00:00+00:00",
    }
}

answer! {
    /// A run of recurring work that was due.
    JobRun {
        /// When it was due.
        due_at: DateTime<Utc> = "2027-03-01T03:00:00Z",
        /// `running`, `done`, or `missed`.
        outcome: String = "done",
        /// When it was begun.
        started_at: Option<DateTime<Utc>>,
        /// When it ended.
        ended_at: Option<DateTime<Utc>>,
        /// What it did, or why it was not made.
        detail: Option<String> = "2 fits adopted, 1 kept",
    }
}

answer! {
    /// Recurring work of the fleet.
    Job {
        /// What it is called.
        code: String = "refit",
        /// When it recurs: minute, hour, day of the month, month, day of the week.
        expression: String = "0 3 1 * *",
        /// The zone on whose clocks that is read.
        zone: String = "UTC",
        /// What becomes of missed runs: `once`, `all` or `skip`.
        missed: String = "once",
        /// All of this in words.
        says: String = "Fits usage and rates of wear anew: …",
        /// The next five runs; the first may be due already.
        next: Vec<JobTurn>,
        /// The last five runs, the newest first.
        runs: Vec<JobRun>,
    }
}
