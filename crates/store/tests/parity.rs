//! The two schemas are one: same tables, columns, keys and indexes, through the table of types.

use std::collections::BTreeSet;
use store::schema::{self, ColumnOutline, ForeignKeyOutline, IndexOutline};
use store::{Conn, Engine, Reach, Store, StoreError};
use testkit::postgres::Database;

/// What stands for a type of PostgreSQL on SQLite.
const TYPES: [(&str, &str); 8] = [
    ("UUID", "BLOB"),
    ("BYTEA", "BLOB"),
    ("DATE", "TEXT"),
    ("TIMESTAMP WITH TIME ZONE", "TEXT"),
    ("TEXT", "TEXT"),
    ("BOOLEAN", "INTEGER"),
    ("BIGINT", "INTEGER"),
    ("DOUBLE PRECISION", "REAL"),
];

/// Asks both engines the same; SQLite's answer comes first.
fn both<T>(ask: &impl AsyncFn(&mut Conn<'_>) -> Result<T, StoreError>) -> (T, T) {
    let database = Database::fresh();
    let answer = async |store: Store| {
        let mut tx = store.reader(Reach::All).await.expect("a reader");
        ask(&mut tx.conn()).await.expect("an answer")
    };
    testkit::tell(async {
        (answer(testkit::sqlite::in_memory().await).await, answer(database.open().await).await)
    })
}

/// What is in one list only, and in which.
fn differences<T: Ord + std::fmt::Debug>(sqlite: Vec<T>, postgres: Vec<T>) -> Vec<String> {
    let (sqlite, postgres): (BTreeSet<T>, BTreeSet<T>) =
        (sqlite.into_iter().collect(), postgres.into_iter().collect());
    let only = |engine, one: &BTreeSet<T>, other: &BTreeSet<T>| {
        one.difference(other).map(|item| format!("{engine} only: {item:?}")).collect::<Vec<_>>()
    };
    [only("SQLite", &sqlite, &postgres), only("PostgreSQL", &postgres, &sqlite)].concat()
}

fn on_sqlite(postgres_type: &str) -> &str {
    TYPES.iter().find(|(postgres, _)| *postgres == postgres_type).map_or(postgres_type, |(_, sqlite)| sqlite)
}

#[test]
fn both_engines_have_the_same_columns() {
    let (sqlite, postgres) = both(&schema::columns);
    assert!(sqlite.len() > 300, "{} columns", sqlite.len());
    let flat = |columns: Vec<ColumnOutline>| -> Vec<_> {
        let flat =
            |c: ColumnOutline| (c.table_name, c.column_name, on_sqlite(&c.type_name).to_owned(), c.required);
        columns.into_iter().map(flat).collect()
    };
    let differences = differences(flat(sqlite), flat(postgres));
    assert!(differences.is_empty(), "{}", differences.join("\n"));
}

#[test]
fn both_engines_have_the_same_keys_and_indexes() {
    let (sqlite, postgres) = both(&schema::indexes);
    assert!(sqlite.len() > 60, "{} indexes", sqlite.len());
    // SQLite keeps a single integer key in the table itself, without an index.
    let listed = |indexes: Vec<IndexOutline>| -> Vec<_> {
        indexes.into_iter().filter(|index| index.table_name != "schema_version").collect()
    };
    let differences = differences(listed(sqlite), listed(postgres));
    assert!(differences.is_empty(), "{}", differences.join("\n"));
}

#[test]
fn both_engines_have_the_same_foreign_keys() {
    let (sqlite, postgres): (Vec<ForeignKeyOutline>, _) = both(&schema::foreign_keys);
    assert!(sqlite.len() > 60, "{} foreign keys", sqlite.len());
    let differences = differences(sqlite, postgres);
    assert!(differences.is_empty(), "{}", differences.join("\n"));
}

#[test]
fn the_fleet_leads_every_key_and_index_but_queues_and_lookups() {
    let (indexes, _) = both(&schema::indexes);
    let of_no_fleet = ["fleet", "installation", "replica", "schema_version"];
    let without: Vec<_> = indexes
        .iter()
        .filter(|index| !of_no_fleet.contains(&index.table_name.as_str()) && index.columns[0] != "fleet_id")
        .filter(|index| {
            !index.name.as_ref().is_some_and(|name| name.starts_with("queue_") || name.starts_with("lookup_"))
        })
        .collect();
    assert!(without.is_empty(), "{without:?}");
}

#[test]
fn a_foreign_key_never_leads_into_another_fleet() {
    let (keys, _) = both(&schema::foreign_keys);
    let astray: Vec<_> = keys
        .iter()
        .filter(|key| {
            let owner = if key.other_table == "fleet" { "id" } else { "fleet_id" };
            !key.columns.contains(&("fleet_id".to_owned(), owner.to_owned()))
        })
        .collect();
    assert!(astray.is_empty(), "{astray:?}");
}

#[test]
fn both_engines_have_the_same_migrations() {
    let listed = |engine| -> Vec<_> {
        store::migrations(engine).into_iter().map(|migration| (migration.number, migration.name)).collect()
    };
    assert_eq!(listed(Engine::Sqlite), listed(Engine::Postgres));
    assert!(listed(Engine::Sqlite).contains(&(1, "first")), "{:?}", listed(Engine::Sqlite));
}

#[test]
fn the_schema_names_the_newest_migration_as_its_version() {
    let database = Database::fresh();
    let version = database.as_superuser("SELECT MAX(version) FROM schema_version");
    let newest = store::migrations(Engine::Postgres).last().map(|migration| migration.number.to_string());
    assert_eq!(Some(version), newest);
}

#[test]
fn every_table_of_fleets_is_behind_row_security_that_binds_its_owner() {
    let open = Database::fresh().as_superuser(
        "SELECT c.table_name FROM information_schema.columns AS c JOIN pg_class AS t ON t.oid = c.table_name::regclass
         WHERE c.table_schema = CURRENT_SCHEMA AND (c.column_name = 'fleet_id' OR c.table_name = 'fleet')
             AND NOT (t.relrowsecurity AND t.relforcerowsecurity
                 AND EXISTS (SELECT 1 FROM pg_policy AS p WHERE p.polrelid = t.oid))",
    );
    assert_eq!(open, "");
}
