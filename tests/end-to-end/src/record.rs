//! How much is on record: to see that a refused request wrote nothing.

use std::collections::BTreeMap;
use store::{Reach, Sql, Store};

/// Rows of every table, and how many acts there have been in all fleets.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Record(pub BTreeMap<String, i64>);

const TABLES: Sql = Sql {
    name: "end_to_end::TABLES",
    sqlite: "SELECT name FROM sqlite_schema WHERE type = 'table' AND name NOT LIKE 'sqlite_%'",
    postgres: "SELECT tablename::text FROM pg_tables WHERE schemaname = 'public'",
};

const SEQUENCES: &str = "SELECT 'acts of all fleets', CAST(sum(sequence) AS BIGINT) FROM fleet";

impl Record {
    /// What is in the store now.
    ///
    /// # Panics
    /// When the store fails.
    pub async fn of(store: &Store) -> Self {
        let mut reading = store.reader(Reach::All).await.expect("a reader");
        let tables =
            store::fetch!(fetch_all, &mut reading.conn(), (String,), TABLES).expect("names of tables");
        assert!(tables.len() > 20, "a store has more tables than {tables:?}");
        let counts = tables.iter().map(|(table,)| format!("SELECT '{table}', count(*) FROM {table}"));
        let all: Vec<String> = counts.chain([SEQUENCES.to_owned()]).collect();
        // A statement lives as long as the program; a test asks a handful of times.
        let text: &'static str = Box::leak(all.join(" UNION ALL ").into_boxed_str());
        let counting = Sql { name: "end_to_end::COUNTS", sqlite: text, postgres: text };
        let rows = store::fetch!(fetch_all, &mut reading.conn(), (String, i64), counting).expect("counts");
        Self(rows.into_iter().collect())
    }
}
