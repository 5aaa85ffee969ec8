//! The short commands of an operator.

pub mod fleet;
pub mod horizon;
pub mod key;
pub mod migrate;

use crate::edge;
use crate::settings::Settings;
use anyhow::{Context, bail};
use clerk::Clerk;
use model::{Fleet, FleetId};
use store::{Address, Reach, Store};

/// A clerk over the store of the settings, its schema as this version wants it.
async fn open(settings: &Settings) -> anyhow::Result<Clerk> {
    let address: Address = settings.store.address.parse()?;
    let store = Store::open(&address).await.with_context(|| format!("opening {address}"))?;
    store.check_schema().await.context("the schema does not fit; run `ostler migrate` first")?;
    Ok(edge::clerk_over(store))
}

/// The fleet named by id or name; the only one where none is named.
async fn choose_fleet(clerk: &Clerk, wanted: Option<&str>) -> anyhow::Result<FleetId> {
    let mut tx = clerk.store().reader(Reach::All).await?;
    let fleets: Vec<Fleet> = store::fleets::all(&mut tx.conn()).await?;
    let matching = |fleet: &&Fleet| wanted.is_none_or(|text| fleet.name == text || fleet.id.to_string() == text);
    let found: Vec<&Fleet> = fleets.iter().filter(matching).collect();
    match found.as_slice() {
        [one] => Ok(one.id),
        [] => bail!("there is no such fleet; make one with `ostler fleet NAME`"),
        several => {
            let names: Vec<String> = several.iter().map(|f| format!("{} ({})", f.name, f.id)).collect();
            bail!("name one of the fleets with --fleet: {}", names.join(", "))
        }
    }
}
