//! The acts: whatever changes the record of a fleet, each in one transaction.
//!
//! An act locks its vehicles, stores facts, renews the horizons that follow from them, and commits; the last thing it
//! does is to take the fleet's next number. API, pages, imports, scheduler, courier and command line all go through
//! here, so that nothing is written that is not judged, and nothing judged that is not written.

pub mod act;
pub mod answers;
mod audience;
pub mod beats;
mod clocks;
pub mod components;
pub mod coverage;
mod entered;
pub mod error;
mod facts;
pub mod findings;
pub mod fits;
pub mod fleets;
mod hearing;
mod heirs;
pub mod horizons;
pub mod indicators;
pub mod inspections;
pub mod jobs;
pub mod keys;
pub mod linked;
pub mod lives;
pub mod mending;
pub mod meters;
mod off_road;
pub mod organisation;
pub mod papers;
pub mod post;
pub mod readings;
pub mod rebuild;
mod renewal;
pub mod replies;
mod retraction;
pub mod rulebooks;
pub mod services;
pub mod set_asides;
pub mod sheets;
pub mod stays;
pub mod unreachable;
pub mod vehicles;
pub mod watch;

pub use act::{Act, Asked, StoredAnswer};
pub use clocks::Look;
pub use error::{ActError, Fault};

use chrono::{DateTime, SubsecRound, Utc};
use clocks::Clocks;
use model::{Actor, Chance, Clock, FleetId};
use std::sync::Arc;
use store::Store;
use tokio::sync::watch::{Receiver, Sender};
use tokio::sync::{Mutex, OnceCell};
use uuid::Uuid;

/// The guards that this build leaves out, for tests of the tests only; none in every build that is meant for use.
pub const WITHOUT: &[&[&str]] = &[
    store::unguarded::WITHOUT,
    #[cfg(feature = "without-recheck")]
    &["the check before a letter goes"],
];

/// Keeps the record: a store, a clock and chance, and a bell that rings when something changed.
///
/// Each clone listens to the bell for itself, and what rang while it was busy is heard when it listens again.
pub struct Clerk {
    store: Store,
    clock: Arc<dyn Clock>,
    chance: Arc<dyn Chance>,
    clocks: Arc<std::sync::Mutex<Clocks>>,
    turned: Arc<beats::Turned>,
    bell: Sender<()>,
    heard: Mutex<Receiver<()>>,
    secret: Arc<OnceCell<[u8; 32]>>,
}

impl Clone for Clerk {
    fn clone(&self) -> Self {
        Self {
            store: self.store.clone(),
            clock: self.clock.clone(),
            chance: self.chance.clone(),
            clocks: self.clocks.clone(),
            turned: self.turned.clone(),
            bell: self.bell.clone(),
            heard: Mutex::new(self.bell.subscribe()),
            secret: self.secret.clone(),
        }
    }
}

impl Clerk {
    /// A clerk over `store`.
    pub fn new(store: Store, clock: Arc<dyn Clock>, chance: Arc<dyn Chance>) -> Self {
        if cfg!(feature = "without-recheck") {
            tracing::warn!(without = ?WITHOUT, "this build is for tests of the tests only: guards are left out");
        }
        let (bell, heard) = tokio::sync::watch::channel(());
        let clocks = Clocks::begun(clock.now().trunc_subsecs(6), clock.elapsed());
        Self {
            store,
            clock,
            chance,
            clocks: Arc::new(std::sync::Mutex::new(clocks)),
            turned: Arc::default(),
            bell,
            heard: Mutex::new(heard),
            secret: Arc::new(OnceCell::new()),
        }
    }

    /// The store, for reading.
    pub const fn store(&self) -> &Store {
        &self.store
    }

    /// The instant now, to the microsecond.
    pub fn now(&self) -> DateTime<Utc> {
        self.clock.now().trunc_subsecs(6)
    }

    /// A new id for a fact made now.
    pub fn new_id(&self) -> Uuid {
        self.chance.id_at(self.now())
    }

    /// Random bytes, fit for secrets.
    pub fn chance(&self) -> &dyn Chance {
        &*self.chance
    }

    /// Waits until an act has changed something that scheduler or courier may have to see to: at once if one has since
    /// this clone last listened.
    pub async fn woken(&self) {
        // The sender lives as long as this clone does, so that listening cannot fail.
        let _ = self.heard.lock().await.changed().await;
    }

    /// Rings the bell for all who wait.
    pub fn wake(&self) {
        self.bell.send_replace(());
    }

    /// Opens an act of `kind` in `fleet`.
    ///
    /// # Errors
    /// [`ActError::NotFound`] if there is no such fleet; storage errors.
    pub async fn begin(
        &self,
        fleet: FleetId,
        actor: &Actor,
        kind: &'static str,
        request_id: Option<&str>,
    ) -> Result<Act, ActError> {
        Act::begin(self, fleet, actor, kind, request_id).await
    }

    /// The secret that links are signed with where the settings name none, made on first use and kept in the store, so
    /// that every replica has the same.
    ///
    /// # Errors
    /// Storage errors.
    pub async fn link_secret(&self) -> Result<[u8; 32], ActError> {
        fleets::secret(self, "links").await
    }

    /// The installation's secret, made on first use: it seals cursors.
    ///
    /// # Errors
    /// Storage errors.
    pub async fn installation_secret(&self) -> Result<[u8; 32], ActError> {
        self.secret.get_or_try_init(|| fleets::secret(self, "seal")).await.copied()
    }
}
