//! The embedded migrations, and how they are run.

use super::Engine;
use crate::StoreError;
use sqlx::Executor;
use sqlx::migrate::{MigrateError, Migration, Migrator};
use sqlx::postgres::PgPool;
use sqlx::sqlite::SqlitePool;

static SQLITE_MIGRATIONS: Migrator = sqlx::migrate!("../../migrations/sqlite");
static POSTGRES_MIGRATIONS: Migrator = sqlx::migrate!("../../migrations/postgres");

/// How often a migration that waits for a table's lock (3 s each time) is tried before it gives up.
const MIGRATION_TRIES: u32 = 20;

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
pub(super) async fn migrate_server(pool: &PgPool) -> Result<(), StoreError> {
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

/// SQLite has one migrator anyway: the one writing connection.
pub(super) async fn migrate_file(writer: &SqlitePool) -> Result<(), StoreError> {
    apply(&SQLITE_MIGRATIONS).run(writer).await.map_err(StoreError::Migration)
}
