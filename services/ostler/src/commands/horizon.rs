//! `ostler horizon VEHICLE`: what is coming for one vehicle, in words.

use super::{choose_fleet, open};
use crate::settings::Settings;
use anyhow::bail;
use clerk::horizons::{self, Outlook};
use model::horizon::ItemKey;
use store::Reach;

/// What `ostler horizon` takes.
#[derive(clap::Args)]
pub struct HorizonArguments {
    /// The vehicle: id, label, plate or VIN.
    vehicle: String,
    /// The fleet, by id or name; may be left out if there is only one.
    #[arg(long)]
    fleet: Option<String>,
    /// Also say why, step by step.
    #[arg(long)]
    because: bool,
}

/// Prints the horizon.
pub async fn run(settings: &Settings, arguments: &HorizonArguments) -> anyhow::Result<()> {
    let (clerk, _place) = open(settings).await?;
    let fleet = choose_fleet(&clerk, arguments.fleet.as_deref()).await?;
    let mut tx = clerk.store().reader(Reach::Fleet(fleet)).await?;
    let today = clerk.now().date_naive();
    let found = store::vehicles::resolve(&mut tx.conn(), fleet, &arguments.vehicle, today).await?;
    drop(tx);
    let [vehicle] = found.as_slice() else {
        bail!("{} vehicles bear {:?} today", found.len(), arguments.vehicle);
    };
    let Some(outlook) = horizons::of(&clerk, fleet, *vehicle).await? else {
        bail!("there is no vehicle {vehicle}");
    };
    let now = clerk.now();
    for item in &outlook.horizon.items {
        let stage = item.timeline.stage_at(now).0;
        println!("{:<12} {}", stage.word(), engine::words::item(item, outlook.facts.vehicle.odometer_unit));
        because(&outlook, &item.key, arguments.because);
    }
    for window in &outlook.horizon.windows {
        let stage = window.stage_at(now).0;
        println!(
            "{:<12} {}",
            stage.word(),
            engine::words::window(window, outlook.facts.vehicle.odometer_unit)
        );
        because(&outlook, &window.key, arguments.because);
    }
    Ok(())
}

fn because(outlook: &Outlook, key: &ItemKey, wanted: bool) {
    if !wanted {
        return;
    }
    let Some(explanation) = engine::explain(&outlook.facts, &outlook.policy, key) else { return };
    for step in engine::words::because(&explanation, outlook.facts.vehicle.odometer_unit) {
        println!("             - {step}");
    }
}
