//! The courier: a tick that gathers and sends, and the loop that ticks when there is something to do.

use crate::breaker::Breaker;
use crate::carrier::Carriage;
use crate::gathering::SetAside;
use crate::sending::{InHand, Unfinished};
use crate::settings::{Settings, SettingsError};
use crate::smtp::Dial;
use clerk::beats::Worker;
use clerk::post::{self, Delivery};
use clerk::{ActError, Clerk};
use letters::LetterError;
use std::future::Future;
use std::pin::pin;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex, PoisonError};
use std::time::Duration;
use tokio::time::{sleep, timeout};

/// After a tick that did nothing, or failed, the next comes no sooner.
const REST: Duration = Duration::from_secs(1);

/// Changes that come within this are looked at together.
const TOGETHER: Duration = Duration::from_millis(100);

/// Gathers notices into letters and delivers them. Any number of couriers may work on one store.
pub struct Courier {
    pub(crate) clerk: Clerk,
    pub(crate) settings: Settings,
    pub(crate) carriage: Carriage,
    /// The sender's domain: ids are made under it.
    pub(crate) domain: String,
    /// What one tick leaves to the next; locked by the tick that runs.
    desk: tokio::sync::Mutex<Desk>,
    in_hand: Mutex<Option<InHand>>,
    unfinished: Mutex<Option<Unfinished>>,
    stopping: AtomicBool,
}

#[derive(Debug, Default)]
struct Desk {
    set_aside: SetAside,
    breaker: Breaker,
}

/// What a tick did.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Ticked {
    /// Letters made.
    pub gathered: usize,
    /// People whose letter could not be written.
    pub unwritable: usize,
    /// Letters taken by the relay.
    pub sent: usize,
    /// Letters to be tried again.
    pub retried: usize,
    /// Letters held back, since the way is barred for all.
    pub held: usize,
    /// Letters that may have been taken.
    pub uncertain: usize,
    /// Letters given up.
    pub undeliverable: usize,
    /// Letters whose claim had passed to another courier.
    pub lost: usize,
}

impl Ticked {
    pub(crate) const fn attempts(&self) -> usize {
        self.sent + self.retried + self.held + self.uncertain + self.undeliverable + self.lost
    }

    pub(crate) const fn count(&mut self, delivery: &Delivery) {
        match delivery {
            Delivery::Sent { .. } => self.sent += 1,
            Delivery::Retry { .. } | Delivery::Lightened { .. } => self.retried += 1,
            Delivery::Held { .. } => self.held += 1,
            Delivery::Uncertain { .. } => self.uncertain += 1,
            Delivery::Undeliverable { .. } | Delivery::AddressRefused { .. } => self.undeliverable += 1,
        }
    }
}

/// Why a tick broke off. What was claimed stays claimed until its lease runs out.
#[derive(Debug, thiserror::Error)]
pub enum CourierError {
    /// The store failed.
    #[error("the store failed")]
    Store(#[from] ActError),
    /// A letter could not be written.
    #[error(transparent)]
    Unwritable(#[from] LetterError),
}

impl Courier {
    /// A courier that works as `settings` say.
    ///
    /// # Errors
    /// See [`SettingsError`].
    pub fn new(clerk: Clerk, settings: Settings) -> Result<Self, SettingsError> {
        let carriage = Carriage::new(&settings)?;
        let domain = letters::sender_domain(&settings.from)?;
        Ok(Self {
            clerk,
            settings,
            carriage,
            domain,
            desk: tokio::sync::Mutex::default(),
            in_hand: Mutex::default(),
            unfinished: Mutex::default(),
            stopping: AtomicBool::new(false),
        })
    }

    /// The same courier, whose relay is reached by `dial` instead of the network: for simulations.
    #[must_use]
    pub fn dialling(mut self, dial: Arc<dyn Dial>) -> Self {
        self.carriage = self.carriage.dialled(dial);
        self
    }

    /// Gathers what waits and sends what is due, at the clerk's now.
    ///
    /// # Errors
    /// [`CourierError::Store`]; the next tick goes on where this one broke off.
    pub async fn tick(&self) -> Result<Ticked, CourierError> {
        let mut desk = self.desk.lock().await;
        let Desk { set_aside, breaker } = &mut *desk;
        let mut ticked = Ticked::default();
        self.clerk.note_turn(Worker::Courier);
        self.finish().await?;
        if self.clerk.compare_clocks().await?.holds() {
            return Ok(ticked);
        }
        self.gather(set_aside, &mut ticked).await?;
        self.send(breaker, &mut ticked).await?;
        Ok(ticked)
    }

    /// Ticks whenever there is something to do, until `shutdown` resolves.
    ///
    /// The letter in hand may then still take as long as the settings grant. If its answer has not come by then it is settled for what is
    /// known: to be tried again before its final dot, uncertain after it.
    pub async fn run(&self, shutdown: impl Future<Output = ()>) {
        let mut shutdown = pin!(shutdown);
        self.stopping.store(false, Ordering::SeqCst);
        loop {
            let mut turn = pin!(self.turn());
            let rest = tokio::select! {
                biased;
                () = &mut shutdown => {
                    self.stopping.store(true, Ordering::SeqCst);
                    // What is not done by then is settled below.
                    let _ = timeout(self.settings.grace, turn).await;
                    break;
                }
                rest = &mut turn => rest,
            };
            tokio::select! {
                biased;
                () = &mut shutdown => break,
                () = self.clerk.woken(), if !rest.is_zero() => sleep(TOGETHER).await,
                () = sleep(rest) => {}
            }
        }
        if let Err(error) = self.settle_what_is_in_hand().await {
            tracing::error!(
                error = &error as &dyn std::error::Error,
                "the letter in hand could not be settled"
            );
        }
    }

    /// One tick; says how long to rest after it.
    async fn turn(&self) -> Duration {
        match self.tick().await {
            Ok(_) if self.is_held() => self.settings.poll,
            Ok(ticked) if ticked == Ticked::default() => self.time_to_next().await.max(REST),
            Ok(_) => Duration::ZERO,
            Err(error) => {
                tracing::error!(error = &error as &dyn std::error::Error, "a tick broke off");
                REST
            }
        }
    }

    async fn time_to_next(&self) -> Duration {
        match post::next_letter_time(&self.clerk).await {
            Ok(Some(at)) => (at - self.clerk.now()).to_std().unwrap_or_default().min(self.settings.poll),
            Ok(None) => self.settings.poll,
            Err(error) => {
                tracing::warn!(
                    error = &error as &dyn std::error::Error,
                    "the next letter's time is not known"
                );
                REST
            }
        }
    }

    /// Whether no letter may be begun: the clock is not believed.
    pub(crate) fn is_held(&self) -> bool {
        self.clerk.look_at_clock().holds()
    }

    pub(crate) fn is_stopping(&self) -> bool {
        self.stopping.load(Ordering::SeqCst)
    }

    /// Notes which letter is being delivered, and gives back the one before.
    pub(crate) fn take_in_hand(&self, letter: Option<InHand>) -> Option<InHand> {
        std::mem::replace(&mut *self.in_hand.lock().unwrap_or_else(PoisonError::into_inner), letter)
    }

    /// Notes what the store was not there for, and gives back what was noted before.
    pub(crate) fn put_aside(&self, unfinished: Option<Unfinished>) -> Option<Unfinished> {
        std::mem::replace(&mut *self.unfinished.lock().unwrap_or_else(PoisonError::into_inner), unfinished)
    }
}
