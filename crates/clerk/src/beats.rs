//! Beats: each running program tells every ten seconds that it lives, and when its workers turned last; the others say so
//! when one has fallen silent.

use crate::Clerk;
use crate::error::ActError;
use chrono::{DateTime, TimeDelta, Utc};
use std::collections::BTreeSet;
use std::pin::pin;
use std::sync::atomic::{AtomicI64, Ordering};
use std::time::Duration;
use store::replicas::Replica;
use store::{Conn, Lease, Reach};
use uuid::Uuid;

/// Between two beats (house setting, no source).
const EVERY: Duration = Duration::from_secs(10);

/// Who has not been heard of for longer is silent (house setting, no source).
const SILENT_AFTER: TimeDelta = TimeDelta::minutes(2);

/// A courier's turn may take as long as its lease on a letter, and its beat a little longer.
const COURIER_SILENT_AFTER: TimeDelta = TimeDelta::minutes(16);

/// Who has been silent for longer is forgotten (house setting, no source).
const FORGOTTEN_AFTER: TimeDelta = TimeDelta::days(7);

/// One who works in turns.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Worker {
    /// Wakes vehicles.
    Scheduler,
    /// Sends letters.
    Courier,
}

/// When each worker of this program turned last, in microseconds of what has passed; less than none before the first turn.
#[derive(Debug)]
pub(crate) struct Turned([AtomicI64; 2]);

impl Default for Turned {
    fn default() -> Self {
        Self([AtomicI64::new(-1), AtomicI64::new(-1)])
    }
}

impl Turned {
    const fn of(&self, worker: Worker) -> &AtomicI64 {
        let Self([scheduler, courier]) = self;
        match worker {
            Worker::Scheduler => scheduler,
            Worker::Courier => courier,
        }
    }
}

impl Clerk {
    /// Notes that a worker of this program has got on.
    pub fn note_turn(&self, worker: Worker) {
        let elapsed = self.clock.elapsed().num_microseconds().unwrap_or(i64::MAX);
        self.turned.of(worker).store(elapsed, Ordering::Relaxed);
    }

    /// How long ago a worker of this program had its last turn.
    fn since_turn(&self, worker: Worker) -> Option<TimeDelta> {
        let turned = self.turned.of(worker).load(Ordering::Relaxed);
        (turned >= 0).then(|| self.clock.elapsed() - TimeDelta::microseconds(turned))
    }
}

/// What of a replica has fallen silent.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Silence {
    /// All of it.
    Program,
    /// Its scheduler.
    Scheduler,
    /// Its courier.
    Courier,
}

impl Silence {
    /// What has fallen silent, in a word.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Program => "program",
            Self::Scheduler => "scheduler",
            Self::Courier => "courier",
        }
    }
}

/// What of a replica is silent at `now`, on the clock that replicas share. Where all of it is, its workers say nothing more.
pub fn silences(replica: &Replica, now: DateTime<Utc>) -> Vec<Silence> {
    if now - replica.beat_at > SILENT_AFTER {
        return vec![Silence::Program];
    }
    let is_silent =
        |turned: Option<DateTime<Utc>>, after| replica.beat_at - turned.unwrap_or(replica.started_at) > after;
    let workers = [
        (Silence::Scheduler, is_silent(replica.scheduler_at, SILENT_AFTER)),
        (Silence::Courier, is_silent(replica.courier_at, COURIER_SILENT_AFTER)),
    ];
    workers.into_iter().filter(|(_, silent)| *silent).map(|(silence, _)| silence).collect()
}

/// A replica and what of it is silent.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Heard {
    /// As it last told of itself.
    pub replica: Replica,
    /// What of it is silent.
    pub silences: Vec<Silence>,
}

/// Every replica, in order of ids.
///
/// # Errors
/// Storage errors.
pub async fn heard(clerk: &Clerk) -> Result<Vec<Heard>, ActError> {
    let mut tx = clerk.store().reader(Reach::All).await?;
    let now = Lease::taken(&mut tx, clerk.now(), TimeDelta::zero()).await?.at;
    heard_at(&mut tx.conn(), now).await
}

async fn heard_at(conn: &mut Conn<'_>, now: DateTime<Utc>) -> Result<Vec<Heard>, ActError> {
    let all = store::replicas::all(conn).await?;
    let heard = |replica: Replica| Heard { silences: silences(&replica, now), replica };
    Ok(all.into_iter().map(heard).collect())
}

/// The beat of this program.
pub struct Beat {
    clerk: Clerk,
    id: Uuid,
    version: String,
    started_at: Option<DateTime<Utc>>,
    read_at: Option<DateTime<Utc>>,
    /// Silences that were said, each once.
    said: BTreeSet<(Uuid, Silence)>,
}

impl Beat {
    /// Of the program of this version.
    pub fn new(clerk: Clerk, version: &str) -> Self {
        let (id, version) = (clerk.new_id(), version.to_owned());
        Self { clerk, id, version, started_at: None, read_at: None, said: BTreeSet::new() }
    }

    /// Tells that this program lives, and listens who else does. Names on the log who has fallen silent since the last
    /// time, and gives them.
    ///
    /// # Errors
    /// Storage errors.
    pub async fn beat(&mut self) -> Result<Vec<(Uuid, Silence)>, ActError> {
        let look = self.clerk.compare_clocks().await?;
        let mut tx = self.clerk.store().writer(Reach::All).await?;
        let now = Lease::taken(&mut tx, look.now, TimeDelta::zero()).await?.at;
        // A clock that is set back would have it turn before it started.
        let started_at = self.started_at.map_or(now, |at| at.min(now));
        self.started_at = Some(started_at);
        let turned = |worker| self.clerk.since_turn(worker).map(|ago| now - ago);
        let own = Replica {
            id: self.id,
            version: self.version.clone(),
            started_at,
            beat_at: now,
            read_at: self.read_at,
            scheduler_at: turned(Worker::Scheduler),
            courier_at: turned(Worker::Courier),
            clock: look.verdict().word().to_owned(),
            ahead_seconds: look.ahead.num_seconds(),
        };
        store::replicas::beat(&mut tx.conn(), &own).await?;
        store::replicas::prune(&mut tx.conn(), self.id, now - FORGOTTEN_AFTER).await?;
        let heard = heard_at(&mut tx.conn(), now).await?;
        tx.commit().await?;
        self.read_at = Some(now);
        Ok(self.say(&heard))
    }

    fn say(&mut self, heard: &[Heard]) -> Vec<(Uuid, Silence)> {
        let of = |one: &Heard| {
            let id = one.replica.id;
            one.silences.iter().map(move |silence| (id, *silence)).collect::<Vec<_>>()
        };
        let silent: BTreeSet<(Uuid, Silence)> = heard.iter().flat_map(of).collect();
        let fresh: Vec<_> = silent.difference(&self.said).copied().collect();
        for (replica, silence) in &fresh {
            tracing::error!(%replica, what = silence.word(), "a replica has fallen silent");
        }
        for (replica, silence) in self.said.difference(&silent) {
            tracing::info!(%replica, what = silence.word(), "a silent replica is heard again, or was forgotten");
        }
        self.said = silent;
        fresh
    }

    /// Takes leave: who stops is not silent.
    ///
    /// # Errors
    /// Storage errors.
    pub async fn end(self) -> Result<(), ActError> {
        let mut tx = self.clerk.store().writer(Reach::All).await?;
        store::replicas::forget(&mut tx.conn(), self.id).await?;
        tx.commit().await?;
        Ok(())
    }

    /// Beats every ten seconds until `shutdown` resolves, then takes leave.
    pub async fn run(mut self, shutdown: impl Future<Output = ()>) {
        let mut shutdown = pin!(shutdown);
        let mut was_fine = true;
        loop {
            let beaten = self.beat().await;
            if let (Err(error), true) = (&beaten, was_fine) {
                tracing::warn!(error = error as &dyn std::error::Error, "the beat cannot be kept");
            }
            was_fine = beaten.is_ok();
            tokio::select! {
                biased;
                () = &mut shutdown => break,
                () = tokio::time::sleep(EVERY) => {}
            }
        }
        if let Err(error) = self.end().await {
            tracing::warn!(error = &error as &dyn std::error::Error, "the program stops without leave");
        }
    }
}
