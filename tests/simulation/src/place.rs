//! Where a life is kept: a file of SQLite, or a database of PostgreSQL of its own.

use crate::stage::Stage;
use model::Clock;
use std::path::Path;
use std::sync::Arc;
use store::{Address, Engine, Store, StoreError};
use testkit::postgres::Database;
use testkit::sqlite::{self, SqliteFile};

/// In memory where there is such a folder: a life is about dying programs, not about losing power.
const FAST: &str = "/dev/shm";

/// Where it is kept; gone with this guard.
pub enum Place {
    /// A file.
    File(SqliteFile),
    /// A database.
    Server(Database),
}

impl Place {
    /// A new one. Not to be called inside an async runtime.
    pub fn new(engine: Engine) -> Self {
        match engine {
            Engine::Sqlite if Path::new(FAST).is_dir() => Self::File(sqlite::sqlite_file_in(Path::new(FAST))),
            Engine::Sqlite => Self::File(sqlite::sqlite_file()),
            Engine::Postgres => Self::Server(Database::fresh()),
        }
    }

    /// Which engine keeps it.
    pub const fn engine(&self) -> Engine {
        match self {
            Self::File(_) => Engine::Sqlite,
            Self::Server(_) => Engine::Postgres,
        }
    }

    fn address(&self) -> Address {
        match self {
            Self::File(file) => file.address(),
            Self::Server(database) => database.address(),
        }
    }

    /// Prepares it.
    ///
    /// # Errors
    /// Storage errors.
    pub async fn prepare(&self) -> Result<Store, StoreError> {
        let store = Store::open(&self.address()).await?;
        store.migrate().await?;
        #[cfg(feature = "without-unique-key")]
        store::unguarded::drop_unique_key(&store).await?;
        Ok(store)
    }

    /// Opens it as a program does whose every transaction passes over `stage`.
    ///
    /// # Errors
    /// Storage errors.
    pub async fn open(&self, clock: Arc<dyn Clock>, stage: &Stage) -> Result<Store, StoreError> {
        let store = Store::open(&self.address()).await?;
        Ok(store.with_clock(clock).with_stops(Arc::new(stage.clone())))
    }
}
