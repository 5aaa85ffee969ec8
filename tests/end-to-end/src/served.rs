//! A world behind the real server, with scheduler and courier at hand.

use crate::{Caller, Record};
use chrono::{DateTime, TimeDelta, Utc};
use clerk::keys::{self, NewKey};
use courier::{Courier, Mail};
use model::{Clock, FleetId, KeyKind, PersonId, Scope};
use scheduler::Scheduler;
use serde_json::{Value, json};
use std::net::TcpListener;
use std::path::PathBuf;
use store::Store;
use testkit::World;
use testkit::sqlite::SqliteFile;
use testkit::world::operator;
use uuid::Uuid;

/// A world behind the real server.
pub struct Served {
    /// The world: its fleet, its clock, its clerk.
    pub world: World,
    /// The holder of a key with every scope.
    pub chief: Caller,
    /// The manager, with a key that reads, measures and manages.
    pub manager: Caller,
    /// The technician, with a key that reads and measures.
    pub technician: Caller,
    /// Somebody who may only read.
    pub viewer: Caller,
    scheduler: Scheduler,
    courier: Courier,
    folder: SqliteFile,
}

impl Served {
    /// Makes the world in `store` and serves it on a port of its own.
    ///
    /// # Panics
    /// When that cannot be done.
    pub async fn in_store(store: Store) -> Self {
        let world = World::in_store(store).await;
        let folder = testkit::sqlite::sqlite_file();
        let tray = Mail::Folder(folder.directory().join("tray"));
        let settings = courier::Settings::new(tray, "Ostler <ostler@fleet.example>");
        let courier = Courier::new(world.clerk.clone(), settings).expect("a courier with a tray");
        let scheduler = Scheduler::new(world.clerk.clone());
        let base = serve(&world);
        let caller = |key: String| Caller { client: client(), base: base.clone(), fleet: world.fleet, key };
        let chief = caller(key(&world, world.fleet, Scope::ALL, None).await);
        let scopes = [Scope::Read, Scope::Measure, Scope::Manage];
        let manager = caller(key(&world, world.fleet, &scopes, Some(world.manager)).await);
        let technician = caller(key(&world, world.fleet, &scopes[..2], Some(world.technician)).await);
        let viewer = caller(key(&world, world.fleet, &[Scope::Read], None).await);
        Self { world, chief, manager, technician, viewer, scheduler, courier, folder }
    }

    /// The instant now.
    pub fn now(&self) -> DateTime<Utc> {
        self.world.clock.now()
    }

    /// An id not used before.
    pub fn new_id(&self) -> Uuid {
        self.world.clerk.new_id()
    }

    /// Somebody with a new key of the fleet that bears these scopes.
    pub async fn caller_with(&self, scopes: &[Scope]) -> Caller {
        self.chief.with_key(&key(&self.world, self.world.fleet, scopes, None).await)
    }

    /// The holder of a key with every scope in a new fleet beside this one.
    ///
    /// # Panics
    /// When the store fails.
    pub async fn another_fleet(&self, name: &str) -> Caller {
        let fleet = clerk::fleets::create_fleet(&self.world.clerk, name).await.expect("a fleet").id;
        let key = key(&self.world, fleet, Scope::ALL, None).await;
        Caller { fleet, key, ..self.chief.clone() }
    }

    /// The same person asking a second server on the same store: another replica.
    pub fn at_another_replica(&self, caller: &Caller) -> Caller {
        Caller { base: serve(&self.world), ..caller.clone() }
    }

    /// Lets scheduler and courier work, then again after the few seconds for which notices are gathered.
    ///
    /// # Panics
    /// When one of them fails.
    pub async fn tick(&self) {
        self.scheduler.tick().await.expect("the scheduler ticks");
        self.world.clock.pass(TimeDelta::seconds(3));
        self.courier.tick().await.expect("the courier ticks");
    }

    /// Lets the scheduler alone work.
    ///
    /// # Panics
    /// When it fails.
    pub async fn tick_scheduler(&self) {
        self.scheduler.tick().await.expect("the scheduler ticks");
    }

    /// The letters in the mail tray, as they would be handed to a relay.
    ///
    /// # Panics
    /// When the tray cannot be read.
    pub fn letters(&self) -> Vec<Vec<u8>> {
        let tray = self.folder.directory().join("tray");
        let Ok(entries) = std::fs::read_dir(tray) else { return Vec::new() };
        let mut paths: Vec<PathBuf> = entries.map(|entry| entry.expect("a file").path()).collect();
        paths.sort();
        paths.into_iter().map(|path| std::fs::read(path).expect("a letter")).collect()
    }

    /// How much is on record.
    pub async fn record(&self) -> Record {
        Record::of(self.world.clerk.store()).await
    }

    /// An inspection entry of a vehicle an hour ago, by the yard walk, with these measurements:
    /// `[point, place, zone, value, unit]`.
    pub fn entry(&self, vehicle: &str, measured: &[Value]) -> Value {
        let measurements = measured
            .iter()
            .map(|m| json!({"point": m[0], "place": m[1], "zone": m[2], "value": m[3], "unit": m[4]}));
        json!({
            "entry_id": self.new_id(), "vehicle": vehicle, "check_sheet": {"code": "yard-walk"},
            "performed_at": self.now() - TimeDelta::hours(1), "measurements": measurements.collect::<Vec<_>>(),
        })
    }

    /// A batch of these entries, sent now.
    pub fn batch(&self, entries: &[Value]) -> Value {
        json!({
            "batch_id": self.new_id(), "device_id": "phone-early-shift", "device_sent_at": self.now(),
            "entries": entries,
        })
    }
}

/// Starts a server on the world's store; it ends with the runtime of the test.
fn serve(world: &World) -> String {
    let listener = TcpListener::bind("127.0.0.1:0").expect("a port");
    let server = api::serve(listener, world.clerk.clone(), api::Settings::default()).expect("a server");
    let base = format!("http://{}", server.address());
    tokio::spawn(server.run());
    base
}

fn client() -> reqwest::Client {
    let plain = reqwest::Client::builder().no_proxy().redirect(reqwest::redirect::Policy::none());
    plain.build().expect("a client without TLS needs nothing")
}

async fn key(world: &World, fleet: FleetId, scopes: &[Scope], person: Option<PersonId>) -> String {
    let new = NewKey {
        kind: if person.is_some() { KeyKind::Person } else { KeyKind::Script },
        person,
        vehicle: None,
        label: "Story".to_owned(),
        scopes: scopes.to_vec(),
        expires_at: None,
    };
    let mut act = world.clerk.begin(fleet, &operator(), "story", None).await.expect("an act");
    let (_, text) = keys::create_key(&mut act, new).await.expect("a key");
    act.commit().await.expect("committed");
    text
}
