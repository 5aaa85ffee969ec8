//! The two drivers behind one door: the only file that names them.
//!
//! Every call on a database goes through [`Conn`], an enum over the two connections, and the macros [`fetch!`],
//! [`execute!`] and [`batch!`], which write the call once for each. No trait and no boxing: futures stay `Send`.

use crate::{Address, Sql, StoreError, moment};
use chrono::{DateTime, Utc};
use model::{Clock, FleetId};
use sqlx::error::DatabaseError;
use sqlx::migrate::{MigrateError, Migration, Migrator};
use sqlx::postgres::{PgConnectOptions, PgConnection, PgPool, PgPoolOptions};
use sqlx::sqlite::{
    SqliteConnectOptions, SqliteConnection, SqliteError, SqliteJournalMode, SqlitePool, SqlitePoolOptions,
    SqliteSynchronous,
};
use sqlx::{AssertSqlSafe, Column, Either, Executor, Postgres, SqlSafeStr, Sqlite, Statement, Transaction};
use std::path::Path;
use std::str::FromStr;
use std::sync::Arc;
use std::time::Duration;

/// What the exported macros need in the scope of other crates.
#[doc(hidden)]
pub mod drivers_of_macros {
    pub use sqlx::{Postgres, QueryBuilder, Sqlite, query, query_as};
}

static SQLITE_MIGRATIONS: Migrator = sqlx::migrate!("../../migrations/sqlite");
static POSTGRES_MIGRATIONS: Migrator = sqlx::migrate!("../../migrations/postgres");

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
/// How often a migration that waits for a table's lock (3 s each time) is tried before it gives up.
const MIGRATION_TRIES: u32 = 20;

/// Writes `$body` once for each driver: `$conn` is the open connection, `$Db` sqlx's name of the database, `$engine`
/// ours. For what [`fetch!`], [`execute!`] and [`batch!`] cannot say, such as filters by `QueryBuilder`.
#[macro_export]
macro_rules! on_engine {
    ($on:expr, |$conn:ident, $Db:ident, $engine:ident| $body:expr) => {
        match &mut *$on {
            $crate::Conn::Sqlite(connection) => {
                type $Db = $crate::drivers_of_macros::Sqlite;
                let ($conn, $engine) = (&mut **connection, $crate::Engine::Sqlite);
                $body
            }
            $crate::Conn::Postgres(connection) => {
                type $Db = $crate::drivers_of_macros::Postgres;
                let ($conn, $engine) = (&mut **connection, $crate::Engine::Postgres);
                $body
            }
        }
    };
}

/// Runs a statement that gives rows: `fetch!(fetch_all | fetch_one | fetch_optional, conn, Row, STATEMENT, binds…)`.
///
/// Gives `Result<Vec<Row> | Row | Option<Row>, StoreError>`. `Row` is a tuple or derives `sqlx::FromRow`.
#[macro_export]
macro_rules! fetch {
    ($how:ident, $on:expr, $Row:ty, $sql:expr $(, $bind:expr)* $(,)?) => {{
        let sql: $crate::Sql = $sql;
        let fetched = $crate::on_engine!($on, |conn, Db, engine| {
            $crate::drivers_of_macros::query_as::<Db, $Row>(sql.text(engine))$(.bind($bind))*.$how(conn).await
        });
        fetched.map_err(|cause| $crate::StoreError::of(sql.name, cause))
    }};
}

/// Runs a statement that gives no rows: `execute!(conn, STATEMENT, binds…)`.
///
/// Gives the number of rows it touched, a `Result<u64, StoreError>`.
#[macro_export]
macro_rules! execute {
    ($on:expr, $sql:expr $(, $bind:expr)* $(,)?) => {{
        let sql: $crate::Sql = $sql;
        let done = $crate::on_engine!($on, |conn, Db, engine| {
            $crate::drivers_of_macros::query::<Db>(sql.text(engine))$(.bind($bind))*
                .execute(conn).await.map(|done| done.rows_affected())
        });
        done.map_err(|cause| $crate::StoreError::of(sql.name, cause))
    }};
}

/// Runs a one-row `INSERT … VALUES ($1, …, $n) …` for many rows at once: `batch!(conn, STATEMENT, rows, |row| [binds…])`.
///
/// `rows` is a slice; as many go into one statement as its parameters allow. Gives the number of rows touched, a
/// `Result<u64, StoreError>`. A statement of another shape, or a wrong number of binds, does not compile.
#[macro_export]
macro_rules! batch {
    ($on:expr, $sql:expr, $rows:expr, |$row:pat_param| [$($bind:expr),+ $(,)?]) => {{
        const SHAPE: $crate::Rows = $crate::Rows::of(&$sql);
        const { assert!(SHAPE.columns == [$(stringify!($bind)),+].len(), "one bind for each column") };
        let mut touched = Ok(0);
        for rows in $rows.chunks(SHAPE.at_once()) {
            let done = $crate::on_engine!($on, |conn, Db, engine| {
                let mut text = $crate::drivers_of_macros::QueryBuilder::<Db>::new(SHAPE.head(engine));
                text.push_values(rows, |mut tuple, $row| {
                    $(tuple.push_bind($bind);)+
                });
                // Not kept as a prepared statement: texts of a thousand rows would push out all others.
                text.push(SHAPE.tail(engine)).build().persistent(false)
                    .execute(conn).await.map(|done| done.rows_affected())
            });
            match done {
                Ok(number) => touched = touched.map(|before| before + number),
                Err(cause) => {
                    touched = Err($crate::StoreError::of($sql.name, cause));
                    break;
                }
            }
        }
        touched
    }};
}

/// Which engine keeps a store.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Engine {
    /// One file (or memory), one writer at a time.
    Sqlite,
    /// A server, many replicas.
    Postgres,
}

/// What a transaction may see on PostgreSQL, whose row security is the second wall behind every `WHERE fleet_id`.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Reach {
    /// The rows of one fleet.
    Fleet(FleetId),
    /// Every row: for the queues, look-ups by key, and the operator.
    All,
}

/// An open store. Clones share its connections.
#[derive(Clone)]
pub struct Store {
    pools: Pools,
    /// The simulator's time in place of the database's.
    clock: Option<Arc<dyn Clock>>,
}

#[derive(Clone)]
enum Pools {
    Sqlite { writer: SqlitePool, readers: SqlitePool },
    Postgres(PgPool),
}

impl std::fmt::Debug for Store {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Store").field("engine", &self.engine()).finish_non_exhaustive()
    }
}

impl Store {
    /// Opens the store and makes sure that it answers. Call [`Store::migrate`] before using a new one.
    pub async fn open(address: &Address) -> Result<Self, StoreError> {
        let pools = match address {
            Address::File(path) => open_file(path).await,
            Address::Memory => open_memory().await,
            Address::Server(url) => open_server(url).await,
        };
        let pools = pools.map_err(|cause| StoreError::of("opening the store", cause))?;
        Ok(Self { pools, clock: None })
    }

    /// The same store with another clock behind [`Tx::database_now`]: for simulations, where time is made up.
    #[must_use]
    pub fn with_clock(mut self, clock: Arc<dyn Clock>) -> Self {
        self.clock = Some(clock);
        self
    }

    /// Which engine keeps it.
    pub fn engine(&self) -> Engine {
        match self.pools {
            Pools::Sqlite { .. } => Engine::Sqlite,
            Pools::Postgres(_) => Engine::Postgres,
        }
    }

    /// Brings the schema up to date; refuses one that a newer program made unreadable for this one.
    pub async fn migrate(&self) -> Result<(), StoreError> {
        match &self.pools {
            Pools::Sqlite { writer, .. } => {
                apply(&SQLITE_MIGRATIONS).run(writer).await.map_err(StoreError::Migration)?;
            }
            Pools::Postgres(pool) => migrate_server(pool).await?,
        }
        crate::schema::refuse_if_too_new(&mut self.reader(Reach::All).await?.conn()).await
    }

    /// Begins a transaction that only reads, with one view of everything from its first statement on.
    pub async fn reader(&self, reach: Reach) -> Result<Tx, StoreError> {
        let tx = match &self.pools {
            Pools::Sqlite { readers, .. } => begin_reading_sqlite(readers).await.map(Open::Sqlite),
            Pools::Postgres(pool) => {
                begin_postgres(pool, "BEGIN ISOLATION LEVEL REPEATABLE READ, READ ONLY", reach).await
            }
        };
        self.opened(tx)
    }

    /// Begins a transaction that may write. Never hold one while talking to anybody else.
    pub async fn writer(&self, reach: Reach) -> Result<Tx, StoreError> {
        let tx = match &self.pools {
            // SQLite takes its write lock here: a deferred lock could fail half-way, where waiting no longer helps.
            Pools::Sqlite { writer, .. } => writer.begin_with("BEGIN IMMEDIATE").await.map(Open::Sqlite),
            Pools::Postgres(pool) => {
                begin_postgres(pool, "BEGIN ISOLATION LEVEL READ COMMITTED, READ WRITE", reach).await
            }
        };
        self.opened(tx)
    }

    fn opened(&self, tx: sqlx::Result<Open>) -> Result<Tx, StoreError> {
        let open = tx.map_err(|cause| StoreError::of("beginning a transaction", cause))?;
        Ok(Tx { open, clock: self.clock.clone() })
    }

    /// Waits for what is under way, then lets go of every connection.
    pub async fn close(&self) {
        match &self.pools {
            Pools::Sqlite { writer, readers } => {
                readers.close().await;
                writer.close().await;
            }
            Pools::Postgres(pool) => pool.close().await,
        }
    }
}

/// A transaction. Dropped without [`Tx::commit`], it leaves nothing behind.
pub struct Tx {
    open: Open,
    clock: Option<Arc<dyn Clock>>,
}

enum Open {
    Sqlite(Transaction<'static, Sqlite>),
    Postgres(Transaction<'static, Postgres>),
}

impl Tx {
    /// The connection: what query functions take.
    pub fn conn(&mut self) -> Conn<'_> {
        match &mut self.open {
            Open::Sqlite(tx) => Conn::Sqlite(tx),
            Open::Postgres(tx) => Conn::Postgres(tx),
        }
    }

    /// Makes everything in it last. After `Unavailable` it is not known whether it did.
    pub async fn commit(self) -> Result<(), StoreError> {
        let done = match self.open {
            Open::Sqlite(tx) => tx.commit().await,
            Open::Postgres(tx) => tx.commit().await,
        };
        done.map_err(|cause| StoreError::of("committing", cause))
    }

    /// Undoes everything in it and waits until that is done; dropping it does so in the background.
    pub async fn roll_back(self) -> Result<(), StoreError> {
        let done = match self.open {
            Open::Sqlite(tx) => tx.rollback().await,
            Open::Postgres(tx) => tx.rollback().await,
        };
        done.map_err(|cause| StoreError::of("rolling back", cause))
    }

    /// The instant the database believes it is: for leases alone, which several machines must agree on.
    pub async fn database_now(&mut self) -> Result<DateTime<Utc>, StoreError> {
        match &self.clock {
            Some(clock) => Ok(clock.now()),
            None => moment::now(&mut self.conn()).await,
        }
    }

    /// Prepares a statement and says what it takes and gives, without running it.
    pub async fn outline(&mut self, sql: &Sql) -> Result<Outline, StoreError> {
        let outline = on_engine!(&mut self.conn(), |conn, Db, engine| {
            let prepared: sqlx::Result<<Db as sqlx::Database>::Statement> =
                conn.prepare(SqlSafeStr::into_sql_str(sql.text(engine))).await;
            prepared.map(|statement| Outline {
                columns: statement.columns().iter().map(|column| column.name().to_owned()).collect(),
                parameters: match statement.parameters() {
                    Some(Either::Left(types)) => types.len(),
                    Some(Either::Right(number)) => number,
                    None => 0,
                },
            })
        });
        outline.map_err(|cause| StoreError::of(sql.name, cause))
    }
}

/// What a prepared statement takes and gives.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Outline {
    /// Names of the columns it gives, in order.
    pub columns: Vec<String>,
    /// How many parameters it takes.
    pub parameters: usize,
}

/// A connection inside a transaction.
pub enum Conn<'c> {
    /// To SQLite.
    Sqlite(&'c mut SqliteConnection),
    /// To PostgreSQL.
    Postgres(&'c mut PgConnection),
}

impl Conn<'_> {
    /// Which engine it leads to.
    pub fn engine(&self) -> Engine {
        match self {
            Self::Sqlite(_) => Engine::Sqlite,
            Self::Postgres(_) => Engine::Postgres,
        }
    }
}

/// One embedded migration.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct MigrationOutline {
    /// Its number: the schema's version once it has run.
    pub number: i64,
    /// Its name.
    pub name: &'static str,
    /// Its text.
    pub text: &'static str,
}

/// Every embedded migration of an engine, in order.
pub fn migrations(engine: Engine) -> Vec<MigrationOutline> {
    let outline = |migration: &'static Migration| MigrationOutline {
        number: migration.version,
        name: &migration.description,
        text: migration.sql.as_str(),
    };
    migrator(engine).iter().map(outline).collect()
}

fn migrator(engine: Engine) -> &'static Migrator {
    match engine {
        Engine::Sqlite => &SQLITE_MIGRATIONS,
        Engine::Postgres => &POSTGRES_MIGRATIONS,
    }
}

/// Whether `url` names a PostgreSQL database; otherwise what is wrong with it.
pub(crate) fn check_server(url: &str) -> Result<(), String> {
    PgConnectOptions::from_str(url).map(|_| ()).map_err(|cause| cause.to_string())
}

/// Whether the engine's refusal may pass by itself: busy, shutting down, out of room or memory, a lock not gained.
pub(crate) fn is_passing(refusal: &dyn DatabaseError) -> bool {
    let code = refusal.code().unwrap_or_default();
    if refusal.try_downcast_ref::<SqliteError>().is_some() {
        // SQLite's primary codes: BUSY, LOCKED, NOMEM, IOERR, FULL, CANTOPEN.
        return primary_code(&code).is_some_and(|code| [5, 6, 7, 10, 13, 14].contains(&code));
    }
    // SQLSTATE: connection, resources, operator intervention, system error; serialization, deadlock, lock and idle
    // time-outs.
    ["08", "53", "57", "58"].iter().any(|class| code.starts_with(class))
        || ["40001", "40P01", "55P03", "25P03"].contains(&code.as_ref())
}

/// Whether the engine says that its files are damaged.
pub(crate) fn is_damage(refusal: &dyn DatabaseError) -> bool {
    let code = refusal.code().unwrap_or_default();
    if refusal.try_downcast_ref::<SqliteError>().is_some() {
        // CORRUPT, NOTADB.
        return primary_code(&code).is_some_and(|code| [11, 26].contains(&code));
    }
    code.starts_with("XX00")
}

/// SQLite's extended codes carry the primary one in their low byte.
fn primary_code(extended: &str) -> Option<i32> {
    extended.parse::<i32>().ok().map(|code| code & 0xff)
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

async fn open_file(path: &Path) -> sqlx::Result<Pools> {
    let options = sqlite_options().filename(path).journal_mode(SqliteJournalMode::Wal);
    // One writing connection is the queue of writers: they wait in order, in this process, instead of in turns of
    // SQLite's own lock, which is not fair.
    let writer = sqlite_pool(1).connect_with(options.clone()).await?;
    let readers = sqlite_pool(SQLITE_READERS).connect_with(options.pragma("query_only", "ON")).await?;
    Ok(Pools::Sqlite { writer, readers })
}

/// In memory everything is one connection: another would be another database. A reader makes it refuse writes, and
/// gives it back as it was.
async fn open_memory() -> sqlx::Result<Pools> {
    let pool = sqlite_pool(1)
        .after_release(|conn, _| {
            Box::pin(async move { conn.execute("PRAGMA query_only = OFF").await.map(|_| true) })
        })
        .connect_with(sqlite_options().filename(":memory:"))
        .await?;
    Ok(Pools::Sqlite { writer: pool.clone(), readers: pool })
}

async fn begin_reading_sqlite(readers: &SqlitePool) -> sqlx::Result<Transaction<'static, Sqlite>> {
    let mut tx = readers.begin_with("BEGIN DEFERRED").await?;
    if readers.options().get_max_connections() == 1 {
        tx.execute("PRAGMA query_only = ON").await?;
    }
    Ok(tx)
}

async fn open_server(url: &str) -> sqlx::Result<Pools> {
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
async fn begin_postgres(pool: &PgPool, begin: &'static str, reach: Reach) -> sqlx::Result<Open> {
    let text = match reach {
        Reach::Fleet(FleetId(fleet)) => format!("{begin}; SET LOCAL ostler.fleet = '{fleet}'"),
        Reach::All => format!("{begin}; SET LOCAL ostler.reach = 'all'"),
    };
    // Safe: constants of this file and an id, which is shown in hexadecimal digits and hyphens only.
    pool.begin_with(AssertSqlSafe(text)).await.map(Open::Postgres)
}

/// Migrations beyond those embedded are a newer program's; `schema_version` says whether they matter.
fn apply(embedded: &'static Migrator) -> Migrator {
    Migrator {
        migrations: std::borrow::Cow::Borrowed(&embedded.migrations),
        ignore_missing: true,
        ..Migrator::DEFAULT
    }
}

/// One migrator at a time holds sqlx's advisory lock. Waiting for it, or for a table in use, is cut into short turns:
/// a migration that waits long for a table makes every request behind it wait as well.
async fn migrate_server(pool: &PgPool) -> Result<(), StoreError> {
    let mut tries = 1;
    loop {
        let unavailable = |cause| StoreError::of("migrating", cause);
        let mut conn = pool.acquire().await.map_err(unavailable)?;
        conn.execute("SET lock_timeout = '3s'").await.map_err(unavailable)?;
        let done = apply(&POSTGRES_MIGRATIONS).run(&mut *conn).await;
        // The advisory lock and the time-out are the session's: end it.
        conn.close().await.map_err(unavailable)?;
        match done {
            Err(MigrateError::Execute(cause) | MigrateError::ExecuteMigration(cause, _))
                if tries < MIGRATION_TRIES && StoreError::is_lock_timeout(&cause) =>
            {
                tries += 1;
            }
            done => return done.map_err(StoreError::Migration),
        }
    }
}
