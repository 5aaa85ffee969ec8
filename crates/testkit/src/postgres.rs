//! A database of its own for each test, in one throw-away PostgreSQL server for all.
//!
//! Each test is a process. The first to come starts the server (`cluster.sh keep`), which ends by itself soon after the
//! last has gone; `cluster.sh around COMMAND` provides one for a whole run instead and names it in
//! `OSTLER_TEST_POSTGRES`. Either way a template is migrated once and copied for each test. Without PostgreSQL's
//! programs the tests fail and say so.

mod cluster;

use cluster::Cluster;
use std::hash::{DefaultHasher, Hash, Hasher};
use std::sync::atomic::{AtomicU32, Ordering};
use store::{Address, Engine, Store};

/// The databases' owner: no superuser, so that row security holds for it.
const OWNER: &str = "ostler";

/// A database of its own, migrated; dropped with the guard.
#[derive(Debug)]
pub struct Database {
    cluster: &'static Cluster,
    name: String,
}

impl Database {
    /// A new database with every migration in it and no rows but theirs.
    ///
    /// # Panics
    /// When there is no PostgreSQL, or it refuses. Not to be called inside an async runtime.
    pub fn fresh() -> Self {
        static MADE: AtomicU32 = AtomicU32::new(0);
        let cluster = Cluster::shared();
        let template = template(cluster);
        let name = format!("test_{}_{}", std::process::id(), MADE.fetch_add(1, Ordering::Relaxed));
        cluster.run("createdb", &["--owner", OWNER, "--template", &template, &name]);
        Self { cluster, name }
    }

    /// Where it is, for its owner.
    pub fn address(&self) -> Address {
        self.cluster.address(&self.name, OWNER)
    }

    /// Opens it.
    ///
    /// # Panics
    /// When it cannot be opened.
    pub async fn open(&self) -> Store {
        Store::open(&self.address()).await.expect("a database just made can be opened")
    }

    /// Runs SQL in it as the superuser, whom row security does not bind: to cut connections, look behind the wall.
    ///
    /// # Panics
    /// When the server refuses.
    pub fn as_superuser(&self, sql: &str) -> String {
        self.cluster.run("psql", &["--dbname", &self.name, "--no-align", "--tuples-only", "--command", sql])
    }
}

impl Drop for Database {
    fn drop(&mut self) {
        // While a failed test unwinds a second panic would hide the first: the server's end removes it anyway.
        self.cluster.try_run("dropdb", &["--force", &self.name]).ok();
    }
}

/// The migrated database that others are copied from: one for each set of migrations, made by whoever comes first.
fn template(cluster: &Cluster) -> String {
    let mut digest = DefaultHasher::new();
    for migration in store::migrations(Engine::Postgres) {
        migration.text.hash(&mut digest);
    }
    let name = format!("template_{:016x}", digest.finish());
    cluster.once(&name, || {
        let unfinished = format!("{name}_unfinished");
        cluster.run("psql", &["--command", &create_owner()]);
        cluster.run("dropdb", &["--if-exists", "--force", &unfinished]);
        cluster.run("createdb", &["--owner", OWNER, &unfinished]);
        migrate(&cluster.address(&unfinished, OWNER));
        cluster.run("psql", &["--command", &format!("ALTER DATABASE {unfinished} RENAME TO {name}")]);
    });
    name
}

fn create_owner() -> String {
    format!("DO $$ BEGIN CREATE ROLE {OWNER} LOGIN; EXCEPTION WHEN duplicate_object THEN NULL; END $$")
}

/// In a thread of its own, since the caller's may have a runtime.
fn migrate(address: &Address) {
    std::thread::scope(|scope| {
        let migrated = scope.spawn(|| {
            crate::tell(async {
                let store = Store::open(address).await.expect("the template can be opened");
                store.migrate().await.expect("the migrations run on an empty database");
                store.close().await;
            });
        });
        migrated.join().expect("the template is migrated");
    });
}
