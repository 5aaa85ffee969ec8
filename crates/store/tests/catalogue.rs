//! Every statement of the store means the same to both engines.

use std::collections::HashSet;
use store::{Reach, Sql, Store, StoreError};
use testkit::postgres::Database;

/// A statement that only PostgreSQL understands.
const LOPSIDED: Sql = Sql {
    name: "lopsided",
    sqlite: "SELECT ARRAY[1] || 2 AS list",
    postgres: "SELECT ARRAY[1] || 2 AS list",
};

/// What the engine makes of it; in a transaction of its own, since a refusal spoils PostgreSQL's.
async fn outline(store: &Store, sql: &Sql) -> Result<store::Outline, StoreError> {
    store.reader(Reach::All).await?.outline(sql).await
}

/// How the engines disagree about a statement, if they do.
async fn disagreement(sqlite: &Store, postgres: &Store, sql: &Sql) -> Option<String> {
    match (outline(sqlite, sql).await, outline(postgres, sql).await) {
        (Ok(one), Ok(other)) if one == other => None,
        (one, other) => Some(format!("{}: SQLite {one:?}, PostgreSQL {other:?}", sql.name)),
    }
}

#[test]
fn every_statement_takes_and_gives_the_same_on_both_engines() {
    let database = Database::fresh();
    testkit::tell(async {
        let (sqlite, postgres) = (testkit::sqlite::in_memory().await, database.open().await);
        let mut disagreements = Vec::new();
        for sql in store::catalogue() {
            disagreements.extend(disagreement(&sqlite, &postgres, sql).await);
        }
        assert!(disagreements.is_empty(), "{}", disagreements.join("\n"));
    });
}

#[test]
fn a_statement_of_one_engine_only_is_found_out_by_name() {
    let database = Database::fresh();
    testkit::tell(async {
        let (sqlite, postgres) = (testkit::sqlite::in_memory().await, database.open().await);
        let found = disagreement(&sqlite, &postgres, &LOPSIDED).await;
        assert!(found.as_ref().is_some_and(|text| text.starts_with("lopsided: SQLite Err")), "{found:?}");
    });
}

#[test]
fn every_statement_has_a_name_of_its_own() {
    let names: Vec<&str> = store::catalogue().map(|sql| sql.name).collect();
    assert_eq!(names.iter().collect::<HashSet<_>>().len(), names.len());
    assert!(names.contains(&"store::fleets::FIND"), "{names:?}");
}
