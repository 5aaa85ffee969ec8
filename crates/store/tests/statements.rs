//! What the macros promise: one text for two engines, sets of ids, batches, and errors that mean the same.

use chrono::{DateTime, NaiveDate, Utc};
use store::{Engine, Reach, Store, StoreError, batch, execute, fetch, id_list, statements};
use testkit::on_both_engines;
use uuid::Uuid;

statements! {
    ADD = {
        "INSERT INTO fleet (id, name, sequence, policy, policy_version, recorded_at)"
        "VALUES ($1, $2, $3, $4, $5, $6)"
        "ON CONFLICT (id) DO NOTHING"
    }
    ADD_STRICTLY = {
        "INSERT INTO fleet (id, name, sequence, policy, policy_version, recorded_at)"
        "VALUES ($1, $2, $3, $4, $5, $6)"
    }
    ADD_DEPOT = {
        "INSERT INTO depot (fleet_id, id, name, zone, jurisdiction, version, recorded_at)"
        "VALUES ($1, $2, 'North yard', 'Europe/Paris', $3, 1, $4)"
    }
    COUNT = { "SELECT COUNT(*) AS fleets, CAST(SUM(sequence) AS BIGINT) AS total FROM fleet" }
    NAMES_OF = { "SELECT name FROM fleet WHERE id IN" ids: "$1" "ORDER BY name" }
    RECORDED_AT = { "SELECT recorded_at FROM fleet WHERE id = $1" }
    WHICH = { sqlite: "SELECT 'sqlite' AS engine" postgres: "SELECT 'postgres' AS engine" "WHERE TRUE" }
    SPOIL = { sqlite: "UPDATE fleet SET recorded_at = 'yesterday'" postgres: "SELECT 1" }
    NEWER = { "INSERT INTO schema_version (version, readable_from) VALUES ($1, $2)" }
    FILL_UP = { "PRAGMA max_page_count = 1" }
    SYNCHRONOUS = { "SELECT synchronous FROM pragma_synchronous" }
    JOURNAL = { "SELECT journal_mode FROM pragma_journal_mode" }
    FOREIGN_KEYS = { "SELECT foreign_keys FROM pragma_foreign_keys" }
    BUSY = { "SELECT timeout FROM pragma_busy_timeout" }
    HARD_DAY = { "SELECT CAST($1 AS TEXT) AS day WHERE $2 = TRUE" }
}

struct Row {
    id: Uuid,
    name: String,
    sequence: i64,
}

fn rows(number: u128) -> Vec<Row> {
    let row = |n| Row { id: Uuid::from_u128(n), name: format!("{n:05}"), sequence: 2 };
    (0..number).map(row).collect()
}

fn at() -> DateTime<Utc> {
    "2027-03-01T08:00:00.123456Z".parse().expect("an instant")
}

async fn add(store: &Store, rows: &[Row]) -> Result<u64, StoreError> {
    let mut tx = store.writer(Reach::All).await?;
    let conn = &mut tx.conn();
    let added = batch!(conn, ADD, rows, |row| [row.id, row.name.as_str(), row.sequence, "{}", 1_i64, at()])?;
    tx.commit().await?;
    Ok(added)
}

async fn add_one(store: &Store, name: Option<&str>) -> Result<u64, StoreError> {
    let mut tx = store.writer(Reach::All).await?;
    let done = execute!(&mut tx.conn(), ADD_STRICTLY, Uuid::nil(), name, 0_i64, "{}", 1_i64, at())?;
    tx.commit().await?;
    Ok(done)
}

async fn add_depot(store: &Store, fleet: Uuid, jurisdiction: &str) -> Result<u64, StoreError> {
    let mut tx = store.writer(Reach::All).await?;
    let done = execute!(&mut tx.conn(), ADD_DEPOT, fleet, Uuid::max(), jurisdiction, at())?;
    tx.commit().await?;
    Ok(done)
}

async fn count(store: &Store) -> (i64, Option<i64>) {
    let mut tx = store.reader(Reach::All).await.expect("a reader");
    fetch!(fetch_one, &mut tx.conn(), (i64, Option<i64>), COUNT).expect("a count")
}

on_both_engines! {
    async fn a_batch_larger_than_one_statement_is_kept_whole(store: Store) {
        // 6 columns: 5,461 rows fill the 32,766 parameters that SQLite takes.
        assert_eq!(add(&store, &rows(12_000)).await.expect("kept"), 12_000);
        assert_eq!(count(&store).await, (12_000, Some(24_000)));
    }

    async fn a_batch_of_nothing_does_nothing(store: Store) {
        assert_eq!(add(&store, &[]).await.expect("nothing to do"), 0);
        assert_eq!(count(&store).await, (0, None));
    }

    async fn a_batch_keeps_what_follows_its_tuple(store: Store) {
        add(&store, &rows(3)).await.expect("kept");
        assert_eq!(add(&store, &rows(5)).await.expect("only the new ones"), 2);
        assert_eq!(count(&store).await, (5, Some(10)));
    }

    async fn a_set_of_ids_goes_in_as_one_parameter(store: Store) {
        add(&store, &rows(20)).await.expect("kept");
        let wanted = id_list([3, 17, 99].map(Uuid::from_u128));
        let mut tx = store.reader(Reach::All).await.expect("a reader");
        let names = fetch!(fetch_all, &mut tx.conn(), (String,), NAMES_OF, &wanted).expect("names");
        let none = fetch!(fetch_all, &mut tx.conn(), (String,), NAMES_OF, id_list::<Uuid>([])).expect("names");
        assert_eq!((names, none), (vec![("00003".to_owned(),), ("00017".to_owned(),)], vec![]));
    }

    async fn a_marked_piece_goes_to_its_engine_only(store: Store) {
        let mut tx = store.reader(Reach::All).await.expect("a reader");
        let (engine,) = fetch!(fetch_one, &mut tx.conn(), (String,), WHICH).expect("a word");
        let expected = match store.engine() {
            Engine::Sqlite => "sqlite",
            Engine::Postgres => "postgres",
        };
        assert_eq!(engine, expected);
    }

    async fn an_instant_keeps_its_microseconds(store: Store) {
        add(&store, &rows(1)).await.expect("kept");
        let mut tx = store.reader(Reach::All).await.expect("a reader");
        let found = fetch!(fetch_optional, &mut tx.conn(), (DateTime<Utc>,), RECORDED_AT, Uuid::nil());
        assert_eq!(found.expect("an answer"), Some((at(),)));
    }

    async fn a_key_taken_is_told_from_other_refusals(store: Store) {
        add_one(&store, Some("first")).await.expect("kept");
        let refusal = add_one(&store, Some("second")).await.expect_err("the key is taken");
        assert!(refusal.is_unique() && !refusal.is_unavailable(), "{refusal:?}");
        assert!(refusal.to_string().contains("ADD_STRICTLY"), "{refusal}");
        assert_eq!(count(&store).await.0, 1);
    }

    async fn a_row_of_nobody_is_refused(store: Store) {
        let refusal = add_depot(&store, Uuid::from_u128(404), "eu").await.expect_err("no such fleet");
        assert!(refusal.is_foreign_key(), "{refusal:?}");
    }

    async fn a_value_that_the_schema_forbids_is_refused(store: Store) {
        add_one(&store, Some("first")).await.expect("kept");
        let unknown = add_depot(&store, Uuid::nil(), "atlantis").await.expect_err("no such law");
        let missing = add_one(&store, None).await.expect_err("no name");
        for refusal in [unknown, missing] {
            assert!(matches!(refusal, StoreError::Forbidden { .. }), "{refusal:?}");
        }
    }

    async fn a_schema_that_only_newer_programs_read_is_refused(store: Store) {
        let newest = store::migrations(store.engine()).last().expect("a migration").number;
        let mut tx = store.writer(Reach::All).await.expect("a writer");
        execute!(&mut tx.conn(), NEWER, newest + 2, newest + 1).expect("written");
        tx.commit().await.expect("committed");
        let refusal = store.migrate().await.expect_err("too new");
        let named = matches!(refusal, StoreError::TooNew { schema, readable_from, known }
            if (schema, readable_from, known) == (newest + 2, newest + 1, newest));
        assert!(named, "{refusal:?}");
    }

    async fn a_newer_schema_that_this_program_can_read_is_accepted(store: Store) {
        let newest = store::migrations(store.engine()).last().expect("a migration").number;
        let mut tx = store.writer(Reach::All).await.expect("a writer");
        execute!(&mut tx.conn(), NEWER, newest + 1, newest).expect("written");
        tx.commit().await.expect("committed");
        store.migrate().await.expect("an older program goes on reading");
    }

    async fn a_day_and_a_yes_are_bound_alike(store: Store) {
        let mut tx = store.reader(Reach::All).await.expect("a reader");
        let day = NaiveDate::from_ymd_opt(2028, 2, 29);
        let text = day.map(|day| day.to_string());
        let found = fetch!(fetch_optional, &mut tx.conn(), (String,), HARD_DAY, text.as_deref(), true);
        assert_eq!(found.expect("an answer"), Some(("2028-02-29".to_owned(),)));
    }
}

#[test]
fn a_value_that_does_not_parse_is_called_corrupt_by_the_statements_name() {
    testkit::on_sqlite(async |store| {
        add(&store, &rows(1)).await.expect("kept");
        let mut tx = store.writer(Reach::All).await.expect("a writer");
        execute!(&mut tx.conn(), SPOIL).expect("spoilt");
        let refusal = fetch!(fetch_one, &mut tx.conn(), (DateTime<Utc>,), RECORDED_AT, Uuid::nil());
        let refusal = refusal.expect_err("no instant").to_string();
        assert!(refusal.contains("RECORDED_AT") && refusal.contains("cannot be read"), "{refusal}");
    });
}

#[test]
fn a_full_disk_is_unavailable() {
    testkit::on_sqlite(async |store| {
        let mut tx = store.writer(Reach::All).await.expect("a writer");
        let conn = &mut tx.conn();
        fetch!(fetch_one, conn, (i64,), FILL_UP).expect("no page more than there are");
        let refusal =
            batch!(conn, ADD, rows(5_000), |row| [row.id, &row.name, row.sequence, "{}", 1_i64, at()]);
        drop(tx);
        assert!(refusal.as_ref().is_err_and(StoreError::is_unavailable), "{refusal:?}");
        assert_eq!(count(&store).await, (0, None));
    });
}

/// What SQLite promises with these settings: <https://www.sqlite.org/pragma.html#pragma_synchronous> (2 is FULL) and
/// <https://www.sqlite.org/wal.html>.
#[test]
fn a_file_is_opened_so_that_an_answered_write_survives_power_loss() {
    let file = testkit::sqlite::sqlite_file();
    testkit::tell(async {
        let store = file.open().await;
        for tx in [store.reader(Reach::All).await, store.writer(Reach::All).await] {
            let mut tx = tx.expect("a transaction");
            let conn = &mut tx.conn();
            assert_eq!(fetch!(fetch_one, conn, (i64,), SYNCHRONOUS).expect("a setting"), (2,));
            assert_eq!(fetch!(fetch_one, conn, (String,), JOURNAL).expect("a setting"), ("wal".into(),));
            assert_eq!(fetch!(fetch_one, conn, (i64,), FOREIGN_KEYS).expect("a setting"), (1,));
            assert_eq!(fetch!(fetch_one, conn, (i64,), BUSY).expect("a setting"), (5_000,));
        }
    });
}

/// SQLite's plan of a statement, line by line; what it would be given stays open.
async fn plan_on_sqlite(conn: &mut store::Conn<'_>, of: &store::Sql) -> Vec<String> {
    let text: &'static str = format!("EXPLAIN QUERY PLAN {}", of.sqlite).leak();
    let explain = store::Sql { name: of.name, sqlite: text, postgres: "SELECT 1" };
    let lines = fetch!(fetch_all, conn, (i64, i64, i64, String), explain).expect("a plan");
    lines.into_iter().map(|line| line.3).collect()
}

/// Told from SQLite's own plans: <https://www.sqlite.org/eqp.html>. A fleet has tens of thousands of notices; who wants
/// those of a vehicle, a person or a letter, or of given ids, must not go through all of them.
#[test]
fn on_sqlite_only_the_page_of_all_goes_through_a_fleets_notices() {
    testkit::tell(async {
        let store = testkit::sqlite::in_memory().await;
        let mut tx = store.writer(Reach::All).await.expect("a writer");
        let conn = &mut tx.conn();
        let about_notices = store::catalogue()
            .filter(|sql| ["FROM notice", "UPDATE notice"].iter().any(|words| sql.sqlite.contains(words)));
        let mut through_all = Vec::new();
        let mut looked_at = 0;
        for sql in about_notices {
            let plan = plan_on_sqlite(conn, sql).await;
            let reads_all = |line: &str| {
                // By the table's name or, under another, by its indexes'.
                line.contains("notice") && (line.starts_with("SCAN") || line.ends_with("(fleet_id=?)"))
            };
            looked_at += 1;
            through_all.extend(plan.iter().any(|line| reads_all(line)).then_some(sql.name));
        }
        assert!(looked_at > 15, "{looked_at} statements");
        assert_eq!(through_all, ["store::notices::PAGE"]);
    });
}
