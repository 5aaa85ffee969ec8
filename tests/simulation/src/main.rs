//! Lives many lives, seed after seed, on as many threads as there are processors.

use clap::Parser;
use simulation::moments::{self, WRONGS, Wrong};
use simulation::tally::{Tally, WANTED};
use simulation::{Lived, live};
use std::collections::BTreeSet;
use std::fs::OpenOptions;
use std::io::Write;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::PathBuf;
use std::process::ExitCode;
use std::sync::Mutex;
use std::sync::atomic::{AtomicBool, AtomicU64, Ordering};
use std::time::Instant;
use store::Engine;

/// From so many lives on, whatever should happen must have happened.
const ENOUGH: u64 = 200;

/// Lives the lives of a range of seeds and looks whether every law holds.
#[derive(Parser)]
#[command(name = "simulation")]
struct Arguments {
    /// How many lives.
    #[arg(long, default_value_t = 20)]
    seeds: u64,
    /// The first seed.
    #[arg(long, default_value_t = 1)]
    from: u64,
    /// On PostgreSQL instead of SQLite.
    #[arg(long)]
    postgres: bool,
    /// Notes each life that was lived in this file, and lives none that stands there.
    #[arg(long, value_name = "FILE")]
    resume: Option<PathBuf>,
    /// Goes on after a broken law.
    #[arg(long)]
    keep_going: bool,
    /// Instead of lives: one short life with one thing going wrong at its first moment, the second, and so on; or from
    /// there on.
    #[arg(long, value_name = "HOW", default_missing_value = "once", num_args = 0..=1)]
    each_moment: Option<How>,
    /// How many at once; as many as there are processors where none is said.
    #[arg(long)]
    threads: Option<usize>,
}

/// How something goes wrong.
#[derive(Debug, Clone, Copy, PartialEq, Eq, clap::ValueEnum)]
enum How {
    /// At one moment.
    Once,
    /// From that moment on.
    Lasting,
}

/// What a run came to so far.
#[derive(Default)]
struct Run {
    tally: Tally,
    vehicle_years: f64,
    steps: u64,
    lives: u64,
    broken: Vec<u64>,
}

fn main() -> ExitCode {
    let arguments = Arguments::parse();
    if let Some(without) = clerk::WITHOUT.iter().find(|guards| !guards.is_empty()) {
        eprintln!("WARNING: this build leaves out {without:?}: it is for tests of the tests only");
    }
    let engine = if arguments.postgres { Engine::Postgres } else { Engine::Sqlite };
    if let Some(how) = arguments.each_moment {
        return each_moment(engine, how);
    }
    let done = done_before(&arguments, engine);
    let (next, stop, run) =
        (AtomicU64::new(arguments.from), AtomicBool::new(false), Mutex::new(Run::default()));
    let began = Instant::now();
    let threads = std::thread::available_parallelism().map_or(1, Into::into);
    std::thread::scope(|scope| {
        for _ in 0..arguments.threads.unwrap_or(threads) {
            scope.spawn(|| {
                while !stop.load(Ordering::SeqCst) {
                    let seed = next.fetch_add(1, Ordering::SeqCst);
                    if seed >= arguments.from + arguments.seeds {
                        break;
                    }
                    if done.contains(&seed) {
                        continue;
                    }
                    if !one(&arguments, engine, seed, &run) && !arguments.keep_going {
                        stop.store(true, Ordering::SeqCst);
                    }
                }
            });
        }
    });
    let run = run.into_inner().unwrap_or_else(std::sync::PoisonError::into_inner);
    report(&run, engine, began.elapsed().as_secs_f64())
}

/// Lets each thing go wrong at each moment, all of them side by side.
fn each_moment(engine: Engine, how: How) -> ExitCode {
    let held = std::thread::scope(|scope| {
        let one = |wrong| scope.spawn(move || went_through(engine, wrong, how));
        WRONGS.map(one).map(|thread| thread.join().unwrap_or(false))
    });
    if held.into_iter().all(|held| held) { ExitCode::SUCCESS } else { ExitCode::FAILURE }
}

/// Whether every law held.
fn went_through(engine: Engine, wrong: Wrong, how: How) -> bool {
    match moments::each(engine, wrong, how == How::Lasting) {
        Ok(passes) => println!("{wrong:?}, {how:?}, on {engine:?}: {passes} passes, every law held"),
        Err(violation) => {
            eprintln!("{violation}");
            return false;
        }
    }
    true
}

/// Lives one; whether every law held.
fn one(arguments: &Arguments, engine: Engine, seed: u64, run: &Mutex<Run>) -> bool {
    let lived = catch_unwind(AssertUnwindSafe(|| live(seed, engine)));
    let mut run = run.lock().unwrap_or_else(std::sync::PoisonError::into_inner);
    match lived {
        Ok(Ok(Lived { tally, vehicle_years, steps })) => {
            run.tally.join(&tally);
            run.vehicle_years += vehicle_years;
            run.steps += steps;
            run.lives += 1;
            note(arguments, engine, seed);
            return true;
        }
        Ok(Err(violation)) => eprintln!("{violation}\n"),
        Err(_) => eprintln!("seed {seed} on {engine:?}: something panicked, see above\n"),
    }
    run.broken.push(seed);
    false
}

fn report(run: &Run, engine: Engine, seconds: f64) -> ExitCode {
    println!("{} lives on {engine:?} in {seconds:.1} s, {} steps", run.lives, run.steps);
    let rate = run.vehicle_years / seconds.max(0.001);
    println!("{:.0} vehicle-years, {rate:.1} a second", run.vehicle_years);
    print!("{}", run.tally);
    if !run.broken.is_empty() {
        println!("BROKEN in {} lives: seeds {:?}", run.broken.len(), run.broken);
        return ExitCode::FAILURE;
    }
    let missing = run.tally.missing(WANTED);
    if run.lives >= ENOUGH && !missing.is_empty() {
        println!("NEVER HAPPENED: {}", missing.join(", "));
        return ExitCode::FAILURE;
    }
    println!("every law held");
    ExitCode::SUCCESS
}

fn line(engine: Engine, seed: u64) -> String {
    format!("{engine:?} {seed}")
}

fn done_before(arguments: &Arguments, engine: Engine) -> BTreeSet<u64> {
    let text = arguments.resume.as_ref().and_then(|file| std::fs::read_to_string(file).ok());
    let lines: BTreeSet<String> = text.unwrap_or_default().lines().map(str::to_owned).collect();
    let all = arguments.from..arguments.from + arguments.seeds;
    all.filter(|seed| lines.contains(&line(engine, *seed))).collect()
}

fn note(arguments: &Arguments, engine: Engine, seed: u64) {
    let Some(file) = &arguments.resume else { return };
    let opened = OpenOptions::new().create(true).append(true).open(file);
    if let Err(error) = opened.and_then(|mut file| writeln!(file, "{}", line(engine, seed))) {
        eprintln!("{} cannot be written: {error}", file.display());
    }
}
