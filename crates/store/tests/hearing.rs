//! What one program rings is heard by another on the same database, and a connection that was cut is made again.

use std::time::Duration;
use store::{Changes, Reach, Store};
use testkit::postgres::Database;

/// Long enough for any machine; what is waited for comes at once or never.
const FOREVER: Duration = Duration::from_mins(2);

async fn ring(store: &Store, lasts: bool) {
    let mut tx = store.writer(Reach::All).await.expect("a writer");
    store::bell::ring(&mut tx.conn()).await.expect("rung");
    if lasts {
        tx.commit().await.expect("committed");
    } else {
        tx.roll_back().await.expect("undone");
    }
}

async fn hears(changes: &mut Changes) {
    let heard = tokio::time::timeout(FOREVER, changes.wait_for_change()).await;
    heard.expect("it is heard").expect("a change");
}

#[test]
fn what_is_undone_is_not_heard_and_what_lasts_is() {
    let database = Database::fresh();
    testkit::tell(async {
        let (one, other) = (database.open().await, database.open().await);
        let mut changes = other.changes();
        changes.wait_for_change().await.expect("it listens");
        ring(&one, false).await;
        ring(&one, true).await;
        hears(&mut changes).await;
        // Notifications arrive in order: had the one undone been told, this one would be left over.
        tokio::select! {
            biased;
            _ = changes.wait_for_change() => panic!("it was heard twice"),
            () = ring(&one, false) => {}
        }
    });
}

#[test]
fn who_listens_over_a_connection_that_is_cut_wakes_and_listens_again() {
    let database = Database::fresh();
    testkit::tell(async {
        let (one, other) = (database.open().await, database.open().await);
        let mut changes = other.changes();
        changes.wait_for_change().await.expect("it listens");
        database.as_superuser(
            "SELECT pg_terminate_backend(pid) FROM pg_stat_activity WHERE datname = current_database()
             AND query LIKE 'LISTEN%'",
        );
        // That something may have been missed, or that the server is away: then it begins anew.
        let noticed = tokio::time::timeout(FOREVER, changes.wait_for_change()).await;
        noticed.expect("it is noticed").ok();
        hears(&mut changes).await;
        ring(&one, true).await;
        hears(&mut changes).await;
    });
}

#[test]
fn on_a_file_there_is_nobody_else_to_hear() {
    testkit::tell(async {
        let store = testkit::sqlite::in_memory().await;
        let mut changes = store.changes();
        tokio::select! {
            biased;
            _ = changes.wait_for_change() => panic!("there is nobody else"),
            () = ring(&store, true) => {}
        }
    });
}
