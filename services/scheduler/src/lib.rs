//! Wakes vehicles and fires marks.
//!
//! A tick is a function of the store and the clerk's now: it does the recurring work that has fallen due and works off
//! every vehicle that has woken or whose horizon is behind. Any number of schedulers may work on one store; none is special.

use chrono::{DateTime, TimeDelta, Utc};
use clerk::beats::Worker;
use clerk::mending::{self, Mended};
use clerk::watch::{self, ClaimedVehicle, WorkedOff};
use clerk::{ActError, Clerk, Look, jobs};
use model::CLOCKS_APART;
use std::future::Future;
use std::pin::pin;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::Duration;
use tokio::sync::Mutex;
use tokio::time::sleep;

/// Vehicles claimed together: one slice, worked off in one transaction a fleet. So few that others get their turn soon even
/// where each of them has a dozen marks to fire.
const SLICE: u32 = 8;

/// Slices of one tick; the next tick follows at once.
const MOST_SLICES: usize = 2048;

/// The longest sleep: covers wakings that were missed and horizons that fell behind elsewhere.
const POLL: Duration = Duration::from_secs(20);

/// After a tick that did nothing, or failed, the next comes no sooner.
const REST: Duration = Duration::from_secs(1);

/// So long after it has looked around, a scheduler looks around again.
const LOOK_AROUND: TimeDelta = TimeDelta::hours(1);

/// Changes that come within this are looked at together.
const TOGETHER: Duration = Duration::from_millis(100);

/// Works off vehicles that have woken.
pub struct Scheduler {
    clerk: Clerk,
    stopping: AtomicBool,
    looked: Mutex<Looked>,
}

/// What a scheduler saw last.
#[derive(Debug)]
struct Looked {
    /// When it looked around.
    around_at: Option<DateTime<Utc>>,
    /// By how much its clock was ahead.
    ahead: Option<TimeDelta>,
}

/// What a tick did.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Ticked {
    /// Slices claimed.
    pub slices: usize,
    /// Vehicles in them.
    pub vehicles: usize,
    /// Horizons renewed.
    pub renewed: usize,
    /// Marks settled.
    pub fired: usize,
    /// Notices made.
    pub notices: usize,
    /// Vehicles whose claim had passed to another scheduler.
    pub lost: usize,
    /// Vehicles that could not be worked off.
    pub faulty: usize,
    /// Recurring work done.
    pub jobs: usize,
}

impl Ticked {
    const fn add(&mut self, done: &WorkedOff) {
        self.renewed += done.renewed;
        self.fired += done.fired;
        self.notices += done.notices;
        self.lost += done.lost;
    }
}

impl Scheduler {
    /// A scheduler over the clerk's store.
    pub const fn new(clerk: Clerk) -> Self {
        Self {
            clerk,
            stopping: AtomicBool::new(false),
            looked: Mutex::const_new(Looked { around_at: None, ahead: None }),
        }
    }

    /// Works off every vehicle that has woken by the clerk's now, in slices.
    ///
    /// # Errors
    /// Storage errors. What was claimed stays claimed until its lease of 15 seconds runs out; the next tick goes on.
    pub async fn tick(&self) -> Result<Ticked, ActError> {
        let look = self.clerk.compare_clocks().await?;
        let mut ticked = Ticked::default();
        if look.holds() {
            self.looked.lock().await.ahead = Some(look.ahead);
        } else {
            self.look_around(look).await?;
            ticked.jobs = self.recurring_work().await?;
        }
        for _ in 0..MOST_SLICES {
            self.clerk.note_turn(Worker::Scheduler);
            let claimed = watch::claim_vehicles(&self.clerk, SLICE).await?;
            if claimed.is_empty() {
                break;
            }
            ticked.slices += 1;
            ticked.vehicles += claimed.len();
            self.work_off(&claimed, &mut ticked).await?;
            if self.stopping.load(Ordering::SeqCst) {
                break;
            }
            // Between two slices whoever waits for the store gets it.
            tokio::task::yield_now().await;
        }
        if ticked != Ticked::default() {
            let Ticked { slices, vehicles, renewed, fired, notices, lost, faulty, jobs } = ticked;
            tracing::info!(
                slices,
                vehicles,
                renewed,
                fired,
                notices,
                lost,
                faulty,
                jobs,
                "vehicles worked off"
            );
        }
        Ok(ticked)
    }

    /// At the start, every hour while versions of the program may work side by side, and when the clock was put back: mends
    /// what was decided while it ran ahead, asks for what another version's engine made, and plans recurring work for
    /// fleets that have none.
    async fn look_around(&self, look: Look) -> Result<(), ActError> {
        let now = look.now;
        let mut looked = self.looked.lock().await;
        let is_put_back = looked.ahead.is_some_and(|ahead| ahead - look.ahead > CLOCKS_APART);
        let is_recent = looked.around_at.is_some_and(|then| then <= now && now - then < LOOK_AROUND);
        if is_recent && !is_put_back {
            looked.ahead = Some(look.ahead);
            return Ok(());
        }
        let mended = mending::mend(&self.clerk).await?;
        if mended != Mended::default() {
            let Mended { marks, notices, letters, jobs } = mended;
            tracing::warn!(
                marks,
                notices,
                letters,
                jobs,
                "mended what was decided under a clock that ran ahead"
            );
        }
        let raised = watch::raise_other_engines(&self.clerk).await?;
        if raised > 0 {
            tracing::info!(vehicles = raised, "horizons of another engine are to be made anew");
        }
        jobs::plan(&self.clerk).await?;
        *looked = Looked { around_at: Some(now), ahead: Some(look.ahead) };
        Ok(())
    }

    /// Does the recurring work that has fallen due. What fails is logged and tried again: vehicles do not wait for it.
    async fn recurring_work(&self) -> Result<usize, ActError> {
        match jobs::run_due(&self.clerk).await {
            Ok(made) => Ok(made),
            Err(error @ ActError::Unavailable(_)) => Err(error),
            Err(error) => {
                tracing::error!(error = &error as &dyn std::error::Error, "recurring work broke off");
                Ok(0)
            }
        }
    }

    /// Works off a slice. Should it fail, each of its vehicles is tried by itself, so that one with a fault does not keep
    /// the others waiting; the one with the fault stays claimed until its lease runs out.
    async fn work_off(&self, claimed: &[ClaimedVehicle], ticked: &mut Ticked) -> Result<(), ActError> {
        match watch::work_off(&self.clerk, claimed).await {
            Ok(done) => ticked.add(&done),
            Err(error @ ActError::Unavailable(_)) => return Err(error),
            Err(_) => {
                for one in claimed {
                    match watch::work_off(&self.clerk, std::slice::from_ref(one)).await {
                        Ok(done) => ticked.add(&done),
                        Err(error @ ActError::Unavailable(_)) => return Err(error),
                        Err(error) => {
                            let error: &dyn std::error::Error = &error;
                            tracing::error!(fleet = %one.fleet, vehicle = %one.vehicle, error, "a vehicle cannot be worked off");
                            ticked.faulty += 1;
                        }
                    }
                }
            }
        }
        Ok(())
    }

    /// Ticks whenever a vehicle wakes or something has changed, until `shutdown` resolves; the slice in hand is
    /// finished.
    pub async fn run(&self, shutdown: impl Future<Output = ()>) {
        let mut shutdown = pin!(shutdown);
        self.stopping.store(false, Ordering::SeqCst);
        loop {
            let mut turn = pin!(self.turn());
            let rest = tokio::select! {
                biased;
                () = &mut shutdown => {
                    self.stopping.store(true, Ordering::SeqCst);
                    turn.await;
                    return;
                }
                rest = &mut turn => rest,
            };
            tokio::select! {
                biased;
                () = &mut shutdown => return,
                () = self.clerk.woken(), if !rest.is_zero() => sleep(TOGETHER).await,
                () = sleep(rest) => {}
            }
        }
    }

    /// One tick; says how long to rest after it.
    async fn turn(&self) -> Duration {
        match self.tick().await {
            Ok(ticked) if ticked == Ticked::default() => self.time_to_next().await.max(REST),
            Ok(_) => Duration::ZERO,
            Err(error) => {
                tracing::error!(error = &error as &dyn std::error::Error, "a tick broke off");
                REST
            }
        }
    }

    async fn time_to_next(&self) -> Duration {
        match watch::next_wake(&self.clerk).await {
            Ok(Some(at)) => (at - self.clerk.now()).to_std().unwrap_or_default().min(POLL),
            Ok(None) => POLL,
            Err(error) => {
                tracing::warn!(error = &error as &dyn std::error::Error, "the next waking is not known");
                REST
            }
        }
    }
}
