//! How the machine's clock stands to the database's, or where there is none, to the time that has passed.

use crate::Clerk;
use crate::error::ActError;
use chrono::{DateTime, SubsecRound, TimeDelta, Utc};
use model::{CLOCKS_APART, ClockVerdict, ClockWatch};
use std::sync::PoisonError;
use store::{Engine, Reach};

/// What this program knows of clocks.
#[derive(Debug)]
pub(crate) struct Clocks {
    watch: ClockWatch,
    /// What was said of them last, so that it is said once.
    said: ClockVerdict,
}

impl Clocks {
    /// The machine's clock is taken for right when a program begins.
    pub(crate) const fn begun(now: DateTime<Utc>, elapsed: TimeDelta) -> Self {
        Self { watch: ClockWatch::by(now, elapsed), said: ClockVerdict::Agreed }
    }
}

/// A look at the clocks.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Look {
    /// What the machine's clock shows, to the microsecond.
    pub now: DateTime<Utc>,
    /// By how much that is ahead; a negative span where it is behind.
    pub ahead: TimeDelta,
}

impl Look {
    /// How the machine's clock stands.
    pub fn verdict(&self) -> ClockVerdict {
        ClockVerdict::of(self.ahead)
    }

    /// Whether nothing may be told until the clocks agree.
    pub fn holds(&self) -> bool {
        self.verdict().holds()
    }
}

impl Clerk {
    /// A look at the machine's clock, against what was learnt of the other when [`compare_clocks`](Self::compare_clocks)
    /// was last asked.
    pub fn look_at_clock(&self) -> Look {
        let (now, elapsed) = (self.clock.now().trunc_subsecs(6), self.clock.elapsed());
        let clocks = self.clocks.lock().unwrap_or_else(PoisonError::into_inner);
        Look { now, ahead: clocks.watch.ahead(now, elapsed) }
    }

    /// Compares the machine's clock with PostgreSQL's. SQLite has none of its own: there a clock that is set differs from
    /// the time that has passed. A change is said on the log once.
    ///
    /// # Errors
    /// Storage errors.
    pub async fn compare_clocks(&self) -> Result<Look, ActError> {
        let shown = match self.store.engine() {
            Engine::Sqlite => None,
            Engine::Postgres => {
                let asked_at = self.clock.elapsed();
                let shown = self.store.reader(Reach::All).await?.database_now().await?;
                // An answer that was long under way says little.
                Some(shown).filter(|_| self.clock.elapsed() - asked_at < CLOCKS_APART / 2)
            }
        };
        let (now, elapsed) = (self.clock.now().trunc_subsecs(6), self.clock.elapsed());
        let mut clocks = self.clocks.lock().unwrap_or_else(PoisonError::into_inner);
        match (shown, self.store.engine()) {
            (Some(shown), _) => clocks.watch = ClockWatch::by(shown, elapsed),
            (None, Engine::Sqlite) => clocks.watch.look(now, elapsed),
            (None, Engine::Postgres) => {}
        }
        let look = Look { now, ahead: clocks.watch.ahead(now, elapsed) };
        let said = std::mem::replace(&mut clocks.said, look.verdict());
        drop(clocks);
        say(said, look.verdict());
        Ok(look)
    }
}

fn say(before: ClockVerdict, verdict: ClockVerdict) {
    if before.holds() == verdict.holds() && before.word() == verdict.word() {
        return;
    }
    match verdict {
        ClockVerdict::Agreed => tracing::info!("the clocks agree"),
        ClockVerdict::Ahead(by) if verdict.holds() => {
            let seconds = by.num_seconds();
            tracing::error!(
                seconds,
                "this machine's clock runs ahead by more than a day: nothing is told until the clocks agree"
            );
        }
        ClockVerdict::Ahead(by) => {
            tracing::warn!(seconds = by.num_seconds(), "this machine's clock runs ahead");
        }
        ClockVerdict::Behind(by) => {
            tracing::warn!(seconds = by.num_seconds(), "this machine's clock is behind");
        }
    }
}
