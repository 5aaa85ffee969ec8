//! `ostler migrate`: brings the database to this version's schema.

use crate::place;
use crate::settings::Settings;
use store::Address;

/// Migrates the store of the settings, making its folder if need be.
pub async fn run(settings: &Settings) -> anyhow::Result<()> {
    place::open(settings).await?;
    let address: Address = settings.store.address.parse()?;
    println!("{address} is ready");
    Ok(())
}
