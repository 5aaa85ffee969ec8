//! `ostler rebuild`: derived rows of every fleet, made anew from the facts or proven to be what the facts give.

use super::open;
use crate::settings::Settings;
use clerk::Clerk;
use clerk::rebuild::{prove, rebuild};
use model::Fleet;
use std::process::ExitCode;
use store::Reach;

/// What `ostler rebuild` takes.
#[derive(clap::Args)]
pub struct RebuildArguments {
    /// Writes nothing: computes everything again, compares it byte for byte with what is kept, and names each
    /// difference. Comes back with 1 if there is any.
    #[arg(long)]
    verify: bool,
}

/// Goes through every fleet.
pub async fn run(settings: &Settings, arguments: &RebuildArguments) -> anyhow::Result<ExitCode> {
    let (clerk, _place) = open(settings).await?;
    let mut tx = clerk.store().reader(Reach::All).await?;
    let fleets = store::fleets::all(&mut tx.conn()).await?;
    drop(tx);
    if arguments.verify { verify(&clerk, &fleets).await } else { write(&clerk, &fleets).await }
}

async fn verify(clerk: &Clerk, fleets: &[Fleet]) -> anyhow::Result<ExitCode> {
    let (mut vehicles, mut rows, mut behind, mut differences) = (0, 0, 0, 0);
    for fleet in fleets {
        let mut after = None;
        loop {
            let proof = prove(clerk, fleet.id, after).await?;
            for vehicle in &proof.behind {
                println!("behind       fleet {} vehicle {vehicle}: its horizon is to be made anew", fleet.id);
            }
            for (vehicle, one) in &proof.differences {
                println!("difference   fleet {} vehicle {vehicle}, {} {}", fleet.id, one.table, one.key);
                println!("    stored   {}", one.stored.as_deref().unwrap_or("nothing"));
                println!("    computed {}", one.computed.as_deref().unwrap_or("nothing"));
            }
            vehicles += proof.vehicles;
            rows += proof.rows;
            behind += proof.behind.len();
            differences += proof.differences.len();
            after = proof.next;
            if after.is_none() {
                break;
            }
        }
    }
    println!(
        "{rows} rows of {vehicles} vehicles compared, {differences} differ; {behind} vehicles are behind"
    );
    Ok(if differences == 0 { ExitCode::SUCCESS } else { ExitCode::FAILURE })
}

async fn write(clerk: &Clerk, fleets: &[Fleet]) -> anyhow::Result<ExitCode> {
    let (mut vehicles, mut written) = (0, 0);
    for fleet in fleets {
        let mut after = None;
        loop {
            let rebuilt = rebuild(clerk, fleet.id, after).await?;
            vehicles += rebuilt.vehicles;
            written += rebuilt.written;
            after = rebuilt.next;
            if after.is_none() {
                break;
            }
        }
    }
    println!("{vehicles} vehicles rebuilt, {written} rows had to change");
    Ok(ExitCode::SUCCESS)
}
