//! Opening the store of the settings: its folder made, its file locked, its schema brought up to date.

use crate::lock::{self, FileLock};
use crate::settings::Settings;
use anyhow::Context;
use std::path::Path;
use store::{Address, Reach, Store, StoreError, leases};

/// An open store and, for a file, the lock that keeps other processes from writing it.
pub struct Place {
    /// The store.
    pub store: Store,
    _lock: Option<FileLock>,
}

/// Opens the store of the settings, alone: no other process may write the same file meanwhile.
pub async fn open(settings: &Settings) -> anyhow::Result<Place> {
    let address: Address = settings.store.address.parse()?;
    let lock = match &address {
        Address::File(path) => {
            make_folder_of(path)?;
            Some(lock::take(path)?)
        }
        Address::Memory | Address::Server(_) => None,
    };
    let store = Store::open(&address).await.with_context(|| format!("opening {address}"))?;
    store.migrate().await.with_context(|| format!("bringing {address} to this version's schema"))?;
    if lock.is_some() {
        let ended = end_leases(&store).await.with_context(|| format!("ending leases in {address}"))?;
        tracing::debug!(ended, "leases of an earlier process");
    }
    Ok(Place { store, _lock: lock })
}

/// Whoever held a lease in a file that only we may write is gone: nothing waits for it to run out.
async fn end_leases(store: &Store) -> Result<u64, StoreError> {
    let mut tx = store.writer(Reach::All).await?;
    let ended = leases::end_all(&mut tx.conn()).await?;
    tx.commit().await?;
    Ok(ended)
}

fn make_folder_of(path: &Path) -> anyhow::Result<()> {
    match path.parent().filter(|folder| !folder.as_os_str().is_empty()) {
        Some(folder) => {
            std::fs::create_dir_all(folder).with_context(|| format!("making {}", folder.display()))
        }
        None => Ok(()),
    }
}
