//! `ostler jobs`: recurring work, when it comes next, and what became of it.

use super::{choose_fleet, open};
use crate::settings::Settings;
use clerk::jobs::outlook;
use store::Reach;

/// What `ostler jobs` takes.
#[derive(clap::Args)]
pub struct JobsArguments {
    /// The fleet, by id or name; may be left out if there is only one.
    #[arg(long)]
    fleet: Option<String>,
}

/// Prints the jobs of a fleet.
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
    Ok(())
}
