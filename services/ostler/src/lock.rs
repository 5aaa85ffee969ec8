//! One SQLite file, one serving process: an operating-system lock says so.

use anyhow::{Context, bail};
use std::fs::{File, OpenOptions, TryLockError};
use std::path::{Path, PathBuf};

/// Holds the lock until dropped or the process dies.
pub struct FileLock {
    _file: File,
}

/// Takes the lock that belongs to the database file `database`.
pub fn take(database: &Path) -> anyhow::Result<FileLock> {
    let mut name = database.as_os_str().to_owned();
    name.push(".lock");
    let path = PathBuf::from(name);
    let file = OpenOptions::new()
        .create(true)
        .truncate(false)
        .write(true)
        .open(&path)
        .with_context(|| format!("opening {}", path.display()))?;
    match file.try_lock() {
        Ok(()) => Ok(FileLock { _file: file }),
        Err(TryLockError::WouldBlock) => {
            bail!("another ostler process serves {}; stop it first, or ask it", database.display())
        }
        Err(TryLockError::Error(error)) => Err(error).with_context(|| format!("locking {}", path.display())),
    }
}
