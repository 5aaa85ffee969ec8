//! `ostler jobs`: recurring work, when it comes next, and what became of it; which programs run, and when each turned last.

use super::{choose_fleet, open};
use crate::settings::Settings;
use chrono::{DateTime, Utc};
use clerk::beats::{Heard, heard};
use clerk::jobs::outlook;
use store::Reach;

/// What `ostler jobs` takes.
#[derive(clap::Args)]
pub struct JobsArguments {
    /// The fleet, by id or name; may be left out if there is only one.
    #[arg(long)]
    fleet: Option<String>,
}

/// Prints the jobs of a fleet, and the running programs of the store.
pub async fn run(settings: &Settings, arguments: &JobsArguments) -> anyhow::Result<()> {
    let (clerk, _place) = open(settings).await?;
    let fleet = choose_fleet(&clerk, arguments.fleet.as_deref()).await?;
    let mut tx = clerk.store().reader(Reach::Fleet(fleet)).await?;
    for one in outlook(&mut tx.conn(), fleet).await? {
        println!("{}\n  {}", one.job.code, one.says);
        for at in &one.next {
            println!("  next  {}", at.with_timezone(&one.zone).to_rfc3339());
        }
        for run in &one.runs {
            let due = run.due_at.with_timezone(&one.zone).to_rfc3339();
            println!("  {:<5} {due}  {}", run.outcome, run.detail.as_deref().unwrap_or(""));
        }
    }
    drop(tx);
    for one in heard(&clerk).await? {
        print_replica(&one);
    }
    Ok(())
}

fn print_replica(one: &Heard) {
    let replica = &one.replica;
    let at = |instant: Option<DateTime<Utc>>| instant.map_or("never".to_owned(), |at| at.to_rfc3339());
    println!(
        "replica {} (version {}), since {}",
        replica.id,
        replica.version,
        replica.started_at.to_rfc3339()
    );
    println!("  beat      {}", replica.beat_at.to_rfc3339());
    println!("  scheduler {}", at(replica.scheduler_at));
    println!("  courier   {}", at(replica.courier_at));
    match replica.clock.as_str() {
        "agreed" => println!("  its clock agrees with the database's"),
        way => println!("  its clock is {way} by {} s", replica.ahead_seconds.abs()),
    }
    for silence in &one.silences {
        println!("  SILENT: its {}", silence.word());
    }
}
