//! The two drivers behind one door: this file and its folder alone name them.
//!
//! Every call on a database goes through [`Conn`], an enum over the two connections, and the macros [`fetch!`],
//! [`execute!`] and [`batch!`], which write the call once for each. No trait and no boxing: futures stay `Send`.

#[macro_use]
mod calls;
mod hearing;
mod migrating;
mod opening;
mod refusals;

use crate::stops::{self, Stop, Stops};
use crate::{Address, Sql, StoreError, moment};
use chrono::{DateTime, Utc};
use model::{Clock, FleetId};
use opening::{begin_postgres, begin_reading_sqlite, open_file, open_memory, open_server};
use sqlx::postgres::{PgConnection, PgPool};
use sqlx::sqlite::{SqliteConnection, SqlitePool};
use sqlx::{Column, Either, Executor, Postgres, SqlSafeStr, Sqlite, Statement, Transaction};
use std::sync::Arc;

pub use calls::drivers_of_macros;
pub use hearing::Changes;
pub use migrating::{MigrationOutline, migrations};
pub(crate) use opening::check_server;
pub(crate) use refusals::{is_damage, is_passing};

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
    /// Where the simulator holds transactions up or breaks them off.
    stops: Option<Arc<dyn Stops>>,
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
        crate::unguarded::warn();
        let pools = match address {
            Address::File(path) => open_file(path).await,
            Address::Memory => open_memory().await,
            Address::Server(url) => open_server(url).await,
        };
        let pools = pools.map_err(|cause| StoreError::of("opening the store", cause))?;
        Ok(Self { pools, clock: None, stops: None })
    }

    /// The same store with another clock behind [`Tx::database_now`]: for simulations, where time is made up.
    #[must_use]
    pub fn with_clock(mut self, clock: Arc<dyn Clock>) -> Self {
        self.clock = Some(clock);
        self
    }

    /// The same store, whose transactions wait at each [`Stop`]: for simulations, where a program may die at any moment.
    #[must_use]
    pub fn with_stops(mut self, stops: Arc<dyn Stops>) -> Self {
        self.stops = Some(stops);
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
            Pools::Sqlite { writer, .. } => migrating::migrate_file(writer).await?,
            Pools::Postgres(pool) => migrating::migrate_server(pool).await?,
        }
        crate::schema::refuse_if_too_new(&mut self.reader(Reach::All).await?.conn()).await
    }

    /// Begins a transaction that only reads, with one view of everything from its first statement on.
    pub async fn reader(&self, reach: Reach) -> Result<Tx, StoreError> {
        stops::reached(self.stops.as_ref(), Stop::BeforeReading).await;
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
        stops::reached(self.stops.as_ref(), Stop::BeforeWriting).await;
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
        Ok(Tx { open, clock: self.clock.clone(), stops: self.stops.clone() })
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
    stops: Option<Arc<dyn Stops>>,
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
        stops::reached(self.stops.as_ref(), Stop::BeforeCommit).await;
        let done = match self.open {
            Open::Sqlite(tx) => tx.commit().await,
            Open::Postgres(tx) => tx.commit().await,
        };
        done.map_err(|cause| StoreError::of("committing", cause))?;
        stops::reached(self.stops.as_ref(), Stop::AfterCommit).await;
        Ok(())
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
