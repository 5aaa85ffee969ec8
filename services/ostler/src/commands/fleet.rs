//! `ostler fleet NAME`: makes a fleet with the shipped rulebooks and check sheets.

use super::open;
use crate::settings::Settings;
use crate::{edge, seed};

/// What `ostler fleet` takes.
#[derive(clap::Args)]
pub struct FleetArguments {
    /// Its name.
    name: String,
}

/// Makes the fleet and prints its id.
pub async fn run(settings: &Settings, arguments: FleetArguments) -> anyhow::Result<()> {
    let (clerk, _place) = open(settings).await?;
    let fleet = clerk::fleets::create_fleet(&clerk, &arguments.name).await?;
    let mut act = clerk.begin(fleet.id, &edge::operator("cli"), "plant", None).await?;
    seed::plant(&mut act).await?;
    act.commit().await?;
    println!("{}", fleet.id);
    Ok(())
}
