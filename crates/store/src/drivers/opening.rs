//! How each engine is opened and a transaction begun on it: settings, pools, row security.

use super::{Open, Pools, Reach};
use model::FleetId;
use sqlx::postgres::{PgConnectOptions, PgPool, PgPoolOptions};
use sqlx::sqlite::{
    SqliteConnectOptions, SqliteJournalMode, SqlitePool, SqlitePoolOptions, SqliteSynchronous,
};
use sqlx::{AssertSqlSafe, Connection, Executor, Sqlite, Transaction};
use std::path::Path;
use std::str::FromStr;
use std::time::Duration;

/// How long SQLite waits for another process's lock before it says it is busy.
const BUSY_TIMEOUT: Duration = Duration::from_secs(5);
/// How long a caller waits for a connection; then the store is unavailable.
const ACQUIRE_TIMEOUT: Duration = Duration::from_secs(10);
/// Connections that read a SQLite file at once, each a thread.
const SQLITE_READERS: u32 = 8;
/// Connections of one replica to PostgreSQL; its default allows 100 in all.
const POSTGRES_CONNECTIONS: u32 = 16;
/// Prepared statements a connection keeps: more than the store has.
const STATEMENT_CACHE: usize = 512;
/// Whether `url` names a PostgreSQL database; otherwise what is wrong with it.
pub(crate) fn check_server(url: &str) -> Result<(), String> {
    PgConnectOptions::from_str(url).map(|_| ()).map_err(|cause| cause.to_string())
}

/// Settings of every connection to SQLite: an answered write survives power loss, and rows never lose their owner.
fn sqlite_options() -> SqliteConnectOptions {
    SqliteConnectOptions::new()
        .create_if_missing(true)
        .foreign_keys(true)
        .synchronous(SqliteSynchronous::Full)
        .busy_timeout(BUSY_TIMEOUT)
        .statement_cache_capacity(STATEMENT_CACHE)
}

/// A local file does not go stale, so connections are kept for good and not tried before each use.
fn sqlite_pool(connections: u32) -> SqlitePoolOptions {
    SqlitePoolOptions::new()
        .max_connections(connections)
        .acquire_timeout(ACQUIRE_TIMEOUT)
        .idle_timeout(None)
        .max_lifetime(None)
        .test_before_acquire(false)
}

/// Where the disk failed, SQLite has undone a transaction by itself; the driver's own undoing is refused then, and it
/// believes for ever that the transaction is open. Such a connection is replaced, or nothing would be written any more.
fn file_pool(connections: u32) -> SqlitePoolOptions {
    sqlite_pool(connections).before_acquire(|conn, _| {
        let is_free = !conn.is_in_transaction();
        Box::pin(async move { Ok(is_free) })
    })
}

pub(super) async fn open_file(path: &Path) -> sqlx::Result<Pools> {
    let options = sqlite_options().filename(path).journal_mode(SqliteJournalMode::Wal);
    // One writing connection is the queue of writers: they wait in order, in this process, instead of in turns of
    // SQLite's own lock, which is not fair.
    let writer = file_pool(1).connect_with(options.clone()).await?;
    let readers = file_pool(SQLITE_READERS).connect_with(options.pragma("query_only", "ON")).await?;
    Ok(Pools::Sqlite { writer, readers })
}

/// In memory everything is one connection: another would be another database. A reader makes it refuse writes, and
/// gives it back as it was.
pub(super) async fn open_memory() -> sqlx::Result<Pools> {
    let pool = sqlite_pool(1)
        .after_release(|conn, _| {
            Box::pin(async move { conn.execute("PRAGMA query_only = OFF").await.map(|_| true) })
        })
        .connect_with(sqlite_options().filename(":memory:"))
        .await?;
    Ok(Pools::Sqlite { writer: pool.clone(), readers: pool })
}

pub(super) async fn begin_reading_sqlite(readers: &SqlitePool) -> sqlx::Result<Transaction<'static, Sqlite>> {
    let mut tx = readers.begin_with("BEGIN DEFERRED").await?;
    if readers.options().get_max_connections() == 1 {
        tx.execute("PRAGMA query_only = ON").await?;
    }
    Ok(tx)
}

pub(super) async fn open_server(url: &str) -> sqlx::Result<Pools> {
    let options =
        PgConnectOptions::from_str(url)?.application_name("ostler").statement_cache_capacity(STATEMENT_CACHE);
    let pool = PgPoolOptions::new()
        .max_connections(POSTGRES_CONNECTIONS)
        .acquire_timeout(ACQUIRE_TIMEOUT)
        .connect_with(options)
        .await?;
    Ok(Pools::Postgres(pool))
}

/// Begins and sets the reach in one round trip. The setting is the transaction's, never the session's: a connection
/// that goes back to the pool takes no fleet along.
pub(super) async fn begin_postgres(pool: &PgPool, begin: &'static str, reach: Reach) -> sqlx::Result<Open> {
    let text = match reach {
        Reach::Fleet(FleetId(fleet)) => format!("{begin}; SET LOCAL ostler.fleet = '{fleet}'"),
        Reach::All => format!("{begin}; SET LOCAL ostler.reach = 'all'"),
    };
    // Safe: constants of this file and an id, which is shown in hexadecimal digits and hyphens only.
    pool.begin_with(AssertSqlSafe(text)).await.map(Open::Postgres)
}
