//! Hearing what other replicas change: a hint that scheduler and courier wake by. Without it they look every few seconds.

use crate::Clerk;
use std::pin::pin;
use std::time::Duration;
use tokio::time::sleep;

/// After a first fault listening is tried again so soon, then after twice as long each time,
const FIRST_WAIT: Duration = Duration::from_secs(1);

/// but after this at the latest.
const LONGEST_WAIT: Duration = Duration::from_secs(30);

impl Clerk {
    /// Rings this program's bell whenever another one on the same store has changed something, until `shutdown` resolves.
    pub async fn hear_others(&self, shutdown: impl Future<Output = ()>) {
        let mut changes = self.store.changes();
        let (mut shutdown, mut wait) = (pin!(shutdown), FIRST_WAIT);
        loop {
            let heard = tokio::select! {
                biased;
                () = &mut shutdown => return,
                heard = changes.wait_for_change() => heard,
            };
            match heard {
                Ok(()) => {
                    wait = FIRST_WAIT;
                    self.wake();
                }
                Err(error) => {
                    tracing::warn!(error = &error as &dyn std::error::Error, "other replicas are not heard");
                    tokio::select! {
                        biased;
                        () = &mut shutdown => return,
                        () = sleep(wait) => wait = (wait * 2).min(LONGEST_WAIT),
                    }
                }
            }
        }
    }
}
