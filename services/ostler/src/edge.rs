//! The edge of the program: the real clock, real chance, the log, and the signal to stop.

use chrono::{DateTime, SubsecRound, TimeDelta, Utc};
use clerk::Clerk;
use model::{Actor, ActorKind, Chance, Clock};
use rustix::time::{ClockId, clock_gettime};
use std::io::IsTerminal;
use std::sync::Arc;
use store::Store;
use tokio::signal::unix::{SignalKind, signal};
use tokio::sync::watch;
use tracing_subscriber::EnvFilter;

/// Goes on while the machine sleeps, whoever sets its clock.
#[cfg(target_os = "linux")]
const SINCE_START: ClockId = ClockId::Boottime;
#[cfg(not(target_os = "linux"))]
const SINCE_START: ClockId = ClockId::Monotonic;

/// The system's clock, truncated to microseconds: the finest both databases keep.
struct SystemClock;

impl Clock for SystemClock {
    #[expect(clippy::disallowed_methods, reason = "the one place where the program reads the clock")]
    fn now(&self) -> DateTime<Utc> {
        Utc::now().trunc_subsecs(6)
    }

    // Since the machine was started, sleep included: a machine that wakes has not had its clock set.
    fn elapsed(&self) -> TimeDelta {
        let since_start = clock_gettime(SINCE_START);
        let nanos = u32::try_from(since_start.tv_nsec).unwrap_or_default();
        TimeDelta::new(since_start.tv_sec, nanos).unwrap_or_default()
    }
}

/// The system's randomness.
struct SystemChance;

impl Chance for SystemChance {
    #[expect(clippy::disallowed_methods, reason = "the one place where the program asks for randomness")]
    fn fill(&self, bytes: &mut [u8]) {
        getrandom::fill(bytes).expect("the system gives randomness; without it no key may be made");
    }
}

/// A clerk over `store` with the system's clock and chance.
pub fn clerk_over(store: Store) -> Clerk {
    Clerk::new(store, Arc::new(SystemClock), Arc::new(SystemChance))
}

/// The operator at the command line, as the actor of an act.
pub fn operator(source: &str) -> Actor {
    Actor { kind: ActorKind::Operator, key: None, person: None, source: source.to_owned() }
}

/// Sends one event a line to standard error, as much as `OSTLER_LOG` asks for.
pub fn log_to_stderr() {
    let filter = EnvFilter::try_from_env("OSTLER_LOG")
        .unwrap_or_else(|_| EnvFilter::new("info,sqlx=warn,actix_server=warn"));
    let in_colour = std::io::stderr().is_terminal();
    let log = tracing_subscriber::fmt().with_env_filter(filter).with_writer(std::io::stderr);
    log.with_target(false).with_ansi(in_colour).init();
}

/// Turns true when the program is told to stop: by SIGTERM or SIGINT.
pub fn told_to_stop() -> std::io::Result<watch::Receiver<bool>> {
    let (tell, told) = watch::channel(false);
    let mut terminate = signal(SignalKind::terminate())?;
    let mut interrupt = signal(SignalKind::interrupt())?;
    tokio::spawn(async move {
        tokio::select! {
            _ = terminate.recv() => {}
            _ = interrupt.recv() => {}
        }
        tracing::info!("told to stop");
        // Nobody listening means that everything has stopped already.
        let _ = tell.send(true);
    });
    Ok(told)
}
