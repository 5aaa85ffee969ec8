//! Rows tampered with behind the program's back, to see whether it is noticed.

use store::{Reach, Sql, Store};

/// A way to spoil rows.
#[derive(Debug, Clone, Copy)]
pub struct Spoiling {
    /// The table that is spoilt.
    pub table: &'static str,
    /// How, for both engines.
    pub text: &'static str,
}

const fn spoiling(table: &'static str, text: &'static str) -> Spoiling {
    Spoiling { table, text }
}

/// At least one way for each derived table.
pub const OF_DERIVED_TABLES: [Spoiling; 9] = [
    spoiling("judgement", "UPDATE judgement SET odometer_mm = odometer_mm + 1 WHERE verdict = 'counted'"),
    spoiling("hour_judgement", "UPDATE hour_judgement SET seconds = seconds + 1 WHERE verdict = 'counted'"),
    spoiling("grade", "UPDATE grade SET body = body || ' '"),
    spoiling("usage_outlook", "UPDATE usage_outlook SET body = REPLACE(body, '1', '2')"),
    spoiling("due_item", "UPDATE due_item SET cycle = 'spoilt' WHERE item_key = 'rule:engine-oil'"),
    spoiling("due_item", "DELETE FROM due_item WHERE item_key = 'rule:brake-fluid'"),
    spoiling("window_outlook", "UPDATE window_outlook SET early_end = NULL"),
    spoiling("mark", "UPDATE mark SET rank = rank + 1 WHERE outcome = 'waiting'"),
    spoiling("vehicle_state", "UPDATE vehicle_state SET wakes_at = NULL"),
];

/// Every due item says it is of a cycle that is not.
pub const CYCLES: Spoiling = spoiling("due_item", "UPDATE due_item SET cycle = 'spoilt'");

/// Every horizon says that another engine made it.
pub const ENGINES: Spoiling = spoiling("vehicle_state", "UPDATE vehicle_state SET engine_version = 'older'");

/// No fleet has recurring work, as before there was any.
pub const NO_JOBS: Spoiling = spoiling("job", "DELETE FROM job");

/// Marks of the brake fluid come again, for a rule that nobody knows.
pub const MARKS_TOO_MANY: Spoiling = spoiling(
    "mark",
    "INSERT INTO mark (fleet_id, vehicle_id, item_key, cycle, mark, rank, fires_at, outcome)
     SELECT fleet_id, vehicle_id, 'rule:nobody', cycle, mark, rank, fires_at, outcome FROM mark
     WHERE item_key = 'rule:brake-fluid'",
);

impl Spoiling {
    /// Spoils the rows of every fleet. Says how many.
    ///
    /// # Panics
    /// When the store fails.
    pub async fn done_to(&self, store: &Store) -> u64 {
        let sql = Sql { name: "testkit::spoilt", sqlite: self.text, postgres: self.text };
        let mut tx = store.writer(Reach::All).await.expect("a writer");
        let touched = store::execute!(&mut tx.conn(), sql).expect("rows are spoilt");
        tx.commit().await.expect("committed");
        touched
    }
}
