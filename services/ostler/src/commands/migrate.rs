//! `ostler migrate`: brings the database to this version's schema.

use crate::settings::Settings;
use anyhow::Context;
use store::{Address, Store};

/// Migrates the store of the settings, making its folder if need be.
pub async fn run(settings: &Settings) -> anyhow::Result<()> {
    let address: Address = settings.store.address.parse()?;
    if let Some(folder) = address.folder() {
        std::fs::create_dir_all(folder).with_context(|| format!("making {}", folder.display()))?;
    }
    let store = Store::open(&address).await.with_context(|| format!("opening {address}"))?;
    store.migrate().await.with_context(|| format!("migrating {address}"))?;
    println!("{address} is ready");
    Ok(())
}
