//! The one binary: command line, settings, and the roles put together. No logic lives here.

mod commands;
mod demo;
mod edge;
mod lock;
mod place;
mod seed;
mod serve;
mod settings;

use clap::{Parser, Subcommand};
use std::path::PathBuf;
use std::process::ExitCode;

/// Builds without one of their guards are for tests of the tests only, and never the program.
const _: () = {
    let mut at = 0;
    while at < clerk::WITHOUT.len() {
        assert!(
            clerk::WITHOUT[at].is_empty(),
            "ostler is not built with a `without-...` feature of store or clerk"
        );
        at += 1;
    }
};

/// Keeps a small fleet of vehicles serviced.
#[derive(Parser)]
#[command(name = "ostler", version, about, disable_help_subcommand = true)]
struct Arguments {
    /// Settings file; without one, ostler.toml in the working directory if it is there.
    #[arg(long, global = true, value_name = "FILE")]
    settings: Option<PathBuf>,
    #[command(subcommand)]
    command: Command,
}

#[derive(Subcommand)]
enum Command {
    /// Answers requests, wakes vehicles and sends letters until it is told to stop.
    Serve(serve::ServeArguments),
    /// Brings the database to this version's schema.
    Migrate,
    /// Makes a fleet, with the shipped rulebooks and check sheets.
    Fleet(commands::fleet::FleetArguments),
    /// Makes an access key for a fleet and shows it once.
    Key(commands::key::KeyArguments),
    /// Shows what is coming for one vehicle.
    Horizon(commands::horizon::HorizonArguments),
    /// Shows recurring work: when it comes next, and what became of it.
    Jobs(commands::jobs::JobsArguments),
    /// Makes everything that follows from the facts anew, or only proves that it is right.
    ///
    /// With a PostgreSQL store it may run while others serve: each slice of 64 vehicles is one transaction. A database
    /// file is one process's at a time: stop the one that serves it first.
    Rebuild(commands::rebuild::RebuildArguments),
}

fn main() -> ExitCode {
    let arguments = Arguments::parse();
    edge::log_to_stderr();
    let runtime = match tokio::runtime::Builder::new_multi_thread().enable_all().build() {
        Ok(runtime) => runtime,
        Err(error) => return failed(&anyhow::Error::from(error).context("starting the runtime")),
    };
    match runtime.block_on(run(arguments)) {
        Ok(code) => code,
        Err(error) => failed(&error),
    }
}

fn failed(error: &anyhow::Error) -> ExitCode {
    eprintln!("ostler: {error:#}");
    ExitCode::FAILURE
}

async fn run(arguments: Arguments) -> anyhow::Result<ExitCode> {
    let settings = settings::Settings::read(arguments.settings.as_deref())?;
    match arguments.command {
        Command::Serve(serve) => serve::run(settings, serve).await?,
        Command::Migrate => commands::migrate::run(&settings).await?,
        Command::Fleet(fleet) => commands::fleet::run(&settings, fleet).await?,
        Command::Key(key) => commands::key::run(&settings, key).await?,
        Command::Horizon(horizon) => commands::horizon::run(&settings, &horizon).await?,
        Command::Jobs(jobs) => commands::jobs::run(&settings, &jobs).await?,
        Command::Rebuild(rebuild) => return commands::rebuild::run(&settings, &rebuild).await,
    }
    Ok(ExitCode::SUCCESS)
}
