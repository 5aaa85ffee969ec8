//! SQLite stores for tests: in memory, or in a file that goes with its guard.

use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicU32, Ordering};
use store::{Address, Store};

/// A new store in memory, migrated: one connection, so a reader taken inside a writer waits until it is refused.
///
/// # Panics
/// When it cannot be made.
pub async fn in_memory() -> Store {
    let store = Store::open(&Address::Memory).await.expect("SQLite opens in memory");
    store.migrate().await.expect("the migrations run on an empty store");
    store
}

/// A directory with a place for a SQLite file in it, for tests that open a store twice or start the program. It is
/// removed with the guard.
#[derive(Debug)]
pub struct SqliteFile {
    directory: PathBuf,
}

/// A place for a SQLite file that is not yet there.
///
/// # Panics
/// When no directory can be made among the temporary ones.
pub fn sqlite_file() -> SqliteFile {
    sqlite_file_in(&std::env::temp_dir())
}

/// The same in another folder.
///
/// # Panics
/// When no directory can be made there.
pub fn sqlite_file_in(folder: &Path) -> SqliteFile {
    static MADE: AtomicU32 = AtomicU32::new(0);
    let name = format!("ostler-test-{}-{}", std::process::id(), MADE.fetch_add(1, Ordering::Relaxed));
    let directory = folder.join(name);
    std::fs::create_dir(&directory).expect("a directory for the test's file");
    SqliteFile { directory }
}

impl SqliteFile {
    /// The file's path.
    pub fn path(&self) -> PathBuf {
        self.directory.join("ostler.db")
    }

    /// The directory, for other files that go with the guard.
    pub fn directory(&self) -> &Path {
        &self.directory
    }

    /// The file as a store's address.
    pub fn address(&self) -> Address {
        Address::File(self.path())
    }

    /// Opens it, migrated.
    ///
    /// # Panics
    /// When it cannot be opened.
    pub async fn open(&self) -> Store {
        let store = Store::open(&self.address()).await.expect("SQLite opens the file");
        store.migrate().await.expect("the migrations run");
        store
    }
}

impl Drop for SqliteFile {
    fn drop(&mut self) {
        // A directory that is gone already is no reason to fail.
        let _ = std::fs::remove_dir_all(&self.directory);
    }
}
