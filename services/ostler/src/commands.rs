//! The short commands of an operator.

pub mod fleet;
pub mod horizon;
pub mod jobs;
pub mod key;
pub mod migrate;
pub mod rebuild;

use crate::edge;
use crate::place::{self, Place};
use crate::settings::Settings;
use anyhow::bail;
use clerk::Clerk;
use model::{Fleet, FleetId};
use store::Reach;

/// A clerk over the store of the settings, with what keeps other processes from writing the same file.
async fn open(settings: &Settings) -> anyhow::Result<(Clerk, Place)> {
    let place = place::open(settings).await?;
    Ok((edge::clerk_over(place.store.clone()), place))
}

/// The fleet named by id or name; the only one where none is named.
async fn choose_fleet(clerk: &Clerk, wanted: Option<&str>) -> anyhow::Result<FleetId> {
    let mut tx = clerk.store().reader(Reach::All).await?;
    let fleets: Vec<Fleet> = store::fleets::all(&mut tx.conn()).await?;
    let matching =
        |fleet: &&Fleet| wanted.is_none_or(|text| fleet.name == text || fleet.id.to_string() == text);
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
