//! What readers and writers promise, on both engines.

use chrono::{DateTime, TimeDelta, Utc};
use model::{Clock, Fleet, FleetId, Policy};
use std::sync::Arc;
use std::time::Duration;
use store::{Address, Engine, Reach, Sql, Store, StoreError, execute, fleets, turns};
use testkit::postgres::Database;
use testkit::{FakeClock, on_both_engines};
use uuid::Uuid;

fn fleet(number: u128) -> Fleet {
    Fleet { id: FleetId(Uuid::from_u128(number)), name: format!("Fleet {number}"), sequence: 0 }
}

fn morning() -> DateTime<Utc> {
    "2027-03-01T08:00:00.123456Z".parse().expect("an instant")
}

async fn keep(store: &Store, fleet: &Fleet) -> Result<(), StoreError> {
    let mut tx = store.writer(Reach::All).await?;
    fleets::insert(&mut tx.conn(), fleet, &Policy::default(), morning()).await?;
    tx.commit().await
}

async fn names(store: &Store) -> Vec<String> {
    let mut tx = store.reader(Reach::All).await.expect("a reader");
    let fleets = fleets::all(&mut tx.conn()).await.expect("the fleets");
    fleets.into_iter().map(|fleet| fleet.name).collect()
}

/// Tells a story that needs more than one connection: SQLite in a file, PostgreSQL as ever.
fn on_both_with_room(story: impl AsyncFn(Store)) {
    let (file, database) = (testkit::sqlite::sqlite_file(), Database::fresh());
    testkit::tell(async {
        story(file.open().await).await;
        story(database.open().await).await;
    });
}

on_both_engines! {
    async fn what_is_committed_is_read_back_as_it_was(store: Store) {
        keep(&store, &fleet(1)).await.expect("kept");
        let mut tx = store.reader(Reach::All).await.expect("a reader");
        let found = fleets::find(&mut tx.conn(), fleet(1).id).await.expect("an answer");
        assert_eq!(found, Some(fleet(1)));
    }

    async fn a_writer_dropped_without_commit_leaves_nothing(store: Store) {
        let mut tx = store.writer(Reach::All).await.expect("a writer");
        fleets::insert(&mut tx.conn(), &fleet(1), &Policy::default(), morning()).await.expect("written");
        drop(tx);
        assert_eq!(names(&store).await, Vec::<String>::new());
    }

    async fn a_writer_rolled_back_leaves_nothing(store: Store) {
        let mut tx = store.writer(Reach::All).await.expect("a writer");
        fleets::insert(&mut tx.conn(), &fleet(1), &Policy::default(), morning()).await.expect("written");
        tx.roll_back().await.expect("undone");
        assert_eq!(names(&store).await, Vec::<String>::new());
    }

    async fn a_reader_refuses_to_write(store: Store) {
        let mut tx = store.reader(Reach::All).await.expect("a reader");
        let refusal = fleets::insert(&mut tx.conn(), &fleet(1), &Policy::default(), morning()).await;
        drop(tx);
        assert!(matches!(refusal, Err(StoreError::Other { .. })), "{refusal:?}");
        assert_eq!(names(&store).await, Vec::<String>::new());
    }

    async fn a_writer_writes_where_a_reader_was_before(store: Store) {
        let before = names(&store).await;
        keep(&store, &fleet(1)).await.expect("kept");
        assert_eq!((before.len(), names(&store).await), (0, vec!["Fleet 1".to_owned()]));
    }

    async fn migrating_again_changes_nothing(store: Store) {
        keep(&store, &fleet(1)).await.expect("kept");
        store.migrate().await.expect("nothing to do");
        assert_eq!(names(&store).await, ["Fleet 1"]);
    }

    async fn the_databases_clock_is_that_of_its_machine(store: Store) {
        let file = testkit::sqlite::sqlite_file();
        std::fs::write(file.path(), "now").expect("a file with the time of writing");
        let written = std::fs::metadata(file.path()).and_then(|file| file.modified()).expect("a time");
        let mut tx = store.reader(Reach::All).await.expect("a reader");
        let now = tx.database_now().await.expect("an instant");
        // Servers and file systems round, and a busy machine takes its time: a minute tells a clock from another.
        assert!((now - DateTime::<Utc>::from(written)).abs() < TimeDelta::minutes(1), "{now}");
    }

    async fn a_simulated_clock_stands_in_for_the_databases(store: Store) {
        let clock = Arc::new(FakeClock::at(morning()));
        let store = store.with_clock(clock.clone());
        clock.pass(TimeDelta::days(400));
        let mut tx = store.reader(Reach::All).await.expect("a reader");
        assert_eq!(tx.database_now().await.expect("an instant"), clock.now());
    }

    async fn a_closed_store_is_unavailable(store: Store) {
        store.close().await;
        let refusal = store.writer(Reach::All).await.err().expect("a refusal");
        assert!(refusal.is_unavailable(), "{refusal:?}");
    }
}

#[test]
fn a_reader_sees_one_moment_while_others_write() {
    on_both_with_room(async |store| {
        let mut tx = store.reader(Reach::All).await.expect("a reader");
        let before = fleets::all(&mut tx.conn()).await.expect("the fleets");
        keep(&store, &fleet(1)).await.expect("a reader does not stop a writer");
        let after = fleets::all(&mut tx.conn()).await.expect("the fleets");
        assert_eq!((before, after), (vec![], vec![]), "{:?}", store.engine());
        assert_eq!(names(&store).await, ["Fleet 1"], "{:?}", store.engine());
    });
}

#[test]
fn eight_writers_take_turns_and_nobody_is_told_that_the_store_is_busy() {
    on_both_with_room(async |store| {
        let writers = (0..8).map(|writer| {
            let store = store.clone();
            tokio::spawn(async move {
                for turn in 0..25 {
                    keep(&store, &fleet(writer * 100 + turn)).await?;
                }
                Ok::<_, StoreError>(())
            })
        });
        // Spawned at once; that they may be spawned shows that every future of the store is Send.
        for writer in writers.collect::<Vec<_>>() {
            writer.await.expect("no panic").expect("not busy");
        }
        assert_eq!(names(&store).await.len(), 200, "{:?}", store.engine());
    });
}

#[test]
fn a_file_keeps_what_was_committed_when_it_is_opened_again() {
    let file = testkit::sqlite::sqlite_file();
    testkit::tell(async {
        let store = file.open().await;
        keep(&store, &fleet(1)).await.expect("kept");
        store.close().await;
        assert_eq!(names(&file.open().await).await, ["Fleet 1"]);
    });
}

/// Looks before it writes: with a lock taken only when writing, the later of two would be refused at once, since what
/// it saw is out of date (`SQLITE_BUSY_SNAPSHOT`, <https://www.sqlite.org/rescode.html#busy_snapshot>).
async fn look_and_keep(store: &Store, fleet: &Fleet) -> Result<(), StoreError> {
    let mut tx = store.writer(Reach::All).await?;
    let conn = &mut tx.conn();
    if fleets::find(conn, fleet.id).await?.is_none() {
        fleets::insert(conn, fleet, &Policy::default(), morning()).await?;
    }
    tx.commit().await
}

#[test]
fn two_programs_on_one_file_look_and_write_in_turns() {
    let file = testkit::sqlite::sqlite_file();
    testkit::tell(async {
        let stores = [file.open().await, file.open().await];
        let programs = stores.into_iter().zip([0, 100]).map(|(store, from)| {
            tokio::spawn(async move {
                for turn in 0..50 {
                    look_and_keep(&store, &fleet(from + turn)).await?;
                }
                Ok::<_, StoreError>(())
            })
        });
        for program in programs.collect::<Vec<_>>() {
            program.await.expect("no panic").expect("its turn comes");
        }
        assert_eq!(names(&file.open().await).await.len(), 100);
    });
}

#[test]
fn a_place_where_no_file_can_be_is_unavailable() {
    let address: Address = "sqlite:/nowhere/at/all.db".parse().expect("an address");
    let refusal = testkit::tell(Store::open(&address)).expect_err("no such directory");
    assert!(refusal.is_unavailable(), "{refusal:?}");
}

#[test]
fn a_server_that_is_not_there_is_unavailable() {
    let address: Address = "postgres://nobody@%2Fnowhere/nothing".parse().expect("an address");
    let refusal = testkit::tell(Store::open(&address)).expect_err("no such socket");
    assert!(refusal.is_unavailable(), "{refusal:?}");
}

#[test]
fn a_cut_connection_is_unavailable_and_the_next_works() {
    let database = Database::fresh();
    testkit::tell(async {
        let store = database.open().await;
        let mut tx = store.writer(Reach::All).await.expect("a writer");
        database.as_superuser(
            "SELECT pg_terminate_backend(pid, 5000) FROM pg_stat_activity WHERE datname = CURRENT_DATABASE() AND pid <> pg_backend_pid()",
        );
        let refusal =
            fleets::insert(&mut tx.conn(), &fleet(1), &Policy::default(), morning()).await.expect_err("cut");
        drop(tx);
        keep(&store, &fleet(2)).await.expect("a new connection");
        assert!(refusal.is_unavailable(), "{refusal:?}");
        assert_eq!((store.engine(), names(&store).await), (Engine::Postgres, vec!["Fleet 2".to_owned()]));
    });
}

#[test]
fn who_comes_second_has_the_turn_when_the_first_is_done_and_sees_what_it_did() {
    on_both_with_room(async |store| {
        let mut first = store.writer(Reach::All).await.expect("a writer");
        turns::take(&mut first.conn(), "names").await.expect("the turn");
        let other = store.clone();
        let mut second = tokio::spawn(async move {
            let mut tx = other.writer(Reach::All).await.expect("a writer");
            turns::take(&mut tx.conn(), "names").await.expect("the turn");
            fleets::find(&mut tx.conn(), fleet(1).id).await.expect("an answer")
        });
        assert!(
            tokio::time::timeout(Duration::from_millis(200), &mut second).await.is_err(),
            "it did not wait"
        );
        fleets::insert(&mut first.conn(), &fleet(1), &Policy::default(), morning()).await.expect("written");
        first.commit().await.expect("committed");
        assert_eq!(second.await.expect("the second"), Some(fleet(1)));
    });
}

const UNDONE: Sql = Sql { name: "what SQLite does where the disk fails", sqlite: "ROLLBACK", postgres: "" };

/// Where the disk is full SQLite undoes a whole transaction by itself (its own documentation, "Response To Errors Within A
/// Transaction"); the driver learns nothing of it.
#[test]
fn a_transaction_undone_by_the_database_itself_is_not_the_last_one() {
    let file = testkit::sqlite::sqlite_file();
    testkit::tell(async {
        let store = file.open().await;
        let mut tx = store.writer(Reach::All).await.expect("a writer");
        fleets::insert(&mut tx.conn(), &fleet(1), &Policy::default(), morning()).await.expect("written");
        execute!(&mut tx.conn(), UNDONE).expect("undone");
        tx.commit().await.expect_err("nothing is left to be committed");
        keep(&store, &fleet(2)).await.expect("kept");
        assert_eq!(names(&store).await, ["Fleet 2"]);
    });
}
