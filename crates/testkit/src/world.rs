//! A small fleet for stories: one depot, one rulebook, two people, a clock that stands still.

use crate::{FakeClock, SeededChance};
use chrono::{DateTime, NaiveDate, TimeDelta, Utc};
use clerk::inspections::{Batch, Entry, EntryResult, MeasurementEntered, Observed, RawEntry, SheetRef};
use clerk::organisation::{NewDepot, NewPerson};
use clerk::readings::NewReading;
use clerk::services::NewService;
use clerk::vehicles::NewVehicle;
use clerk::watch::{self, WorkedOff};
use clerk::{Act, Clerk};
use model::{
    Actor, ActorKind, Clock, Code, DepotId, Duty, Every, Expiry, FleetId, IntervalRule, Jurisdiction,
    OdometerReading, PaperKind, PersonId, Placard, Powertrain, ReadingSource, Role, RulebookId, SheetPoint,
    Trigger, VehicleId, Weekdays,
};
use quantity::{Entered, Unit};
use std::sync::Arc;
use store::Store;
use uuid::Uuid;

/// A fleet with one depot (Dublin), one rulebook, one check sheet, a manager and a technician.
pub struct World {
    /// Does the acts.
    pub clerk: Clerk,
    /// Shows 2027-03-01 08:00 UTC until it is moved.
    pub clock: Arc<FakeClock>,
    /// The fleet.
    pub fleet: FleetId,
    /// Its depot.
    pub depot: DepotId,
    /// Its rulebook: `engine-oil` every 12 months or 20,000 km or when the dash says so, `brake-fluid` every 24 months, the annual test.
    pub rulebook: RulebookId,
    /// A manager with an address.
    pub manager: PersonId,
    /// A technician with an address.
    pub technician: PersonId,
}

/// A code that is known to be one.
///
/// # Panics
/// When it is none.
pub fn code(text: &str) -> Code {
    Code::new(text).expect("a code")
}

/// A civil day.
///
/// # Panics
/// When the text is no date.
pub fn day(text: &str) -> NaiveDate {
    text.parse().expect("a date")
}

/// An instant.
///
/// # Panics
/// When the text is no instant in RFC 3339.
pub fn instant(text: &str) -> DateTime<Utc> {
    text.parse().expect("an instant")
}

/// Kilometres as entered.
pub const fn km(value: f64) -> Entered {
    Entered::new(value, Unit::Kilometre)
}

fn rule(name: &str, title: &str, trigger: Trigger) -> IntervalRule {
    IntervalRule {
        code: code(name),
        title: title.to_owned(),
        trigger,
        first: None,
        anchor: model::Anchoring::LastDone,
        indicator: false,
        severe: None,
        lead: model::Reach { days: Some(14), distance: Some(km(1000.0)) },
        grace: model::Reach { days: Some(7), distance: Some(km(500.0)) },
        satisfies: Vec::new(),
        renews: Vec::new(),
        applies_to: model::AppliesTo::default(),
        authority: Some("House practice".to_owned()),
        caution: None,
        baseline: model::BaselineDefault::Ask,
    }
}

/// The rules of a world's rulebook.
pub fn rules() -> Vec<IntervalRule> {
    let oil = Every { distance: Some(km(20_000.0)), months: Some(12), days: None, engine_hours: None };
    let brakes = Every { months: Some(24), ..Every::default() };
    let test = Expiry { paper: PaperKind::AnnualTest, renew_from_days: Some(30), no_paper_no_drive: true };
    let spoken_of = |rule: IntervalRule| IntervalRule { indicator: true, ..rule };
    vec![
        spoken_of(rule("engine-oil", "Engine oil and filter", Trigger::Every(oil))),
        rule("brake-fluid", "Brake fluid", Trigger::Every(brakes)),
        rule("annual-test", "Annual test", Trigger::Expiry(test)),
    ]
}

impl World {
    /// Makes the world in `store`.
    ///
    /// # Panics
    /// When the store does not do what is asked: nothing can be told then.
    pub async fn in_store(store: Store) -> Self {
        let clock = Arc::new(FakeClock::showing("2027-03-01T08:00:00Z"));
        let store = store.with_clock(clock.never_set());
        let clerk = Clerk::new(store, clock.clone(), Arc::new(SeededChance::from_seed(1)));
        let fleet = clerk::fleets::create_fleet(&clerk, "Story fleet").await.expect("a fleet").id;
        let mut act = clerk.begin(fleet, &operator(), "story", None).await.expect("an act");
        let zone = chrono_tz::Europe::Dublin;
        let new =
            NewDepot { name: "Harbour".to_owned(), zone, jurisdiction: Jurisdiction::Eu, design_low: None };
        let depot = clerk::organisation::create_depot(&mut act, new).await.expect("a depot").id;
        let rulebook =
            clerk::rulebooks::create(&mut act, "Vans".to_owned(), rules()).await.expect("a book").id;
        let points = ["tread-depth", "cold-pressure", "pad-thickness"].map(|point| SheetPoint {
            units: Vec::new(),
            point: code(point),
            places: Vec::new(),
            how: "As usual.".to_owned(),
            caution: None,
        });
        let sheet =
            clerk::sheets::publish(&mut act, code("yard-walk"), "Yard walk".to_owned(), points.to_vec());
        sheet.await.expect("a sheet");
        let manager = person(&mut act, Role::Manager, "manager@example.com").await;
        let technician = person(&mut act, Role::Technician, "technician@example.com").await;
        act.commit().await.expect("committed");
        Self { clerk, clock, fleet, depot, rulebook, manager, technician }
    }

    /// An act of the operator.
    ///
    /// # Panics
    /// When the store fails.
    pub async fn act(&self) -> Act {
        self.clerk.begin(self.fleet, &operator(), "story", None).await.expect("an act")
    }

    /// A van in service since 2026-01-01, not yet entered.
    pub fn new_van(&self, label: &str) -> NewVehicle {
        NewVehicle {
            vin: None,
            make: "Harrow".to_owned(),
            model: "Carter".to_owned(),
            model_year: Some(2026),
            powertrain: Powertrain::Diesel,
            gross_mass_kg: Some(3200),
            tags: Vec::new(),
            in_service_on: Some(day("2026-01-01")),
            in_service_odometer: Some(km(0.0)),
            history_unknown: false,
            acquired_on: None,
            odometer_unit: Unit::Kilometre,
            placard: Placard {
                front: Some(Entered::new(300.0, Unit::Kilopascal)),
                rear: Some(Entered::new(350.0, Unit::Kilopascal)),
            },
            depot: self.depot,
            duty: Duty::Pool,
            severe: None,
            label: label.to_owned(),
            plate: None,
            parked: false,
            operating_weekdays: Weekdays::ALL,
            rulebook: Some(self.rulebook),
        }
    }

    /// Enters that van.
    ///
    /// # Panics
    /// When it is refused.
    pub async fn van(&self, label: &str) -> VehicleId {
        let mut act = self.act().await;
        let van = clerk::vehicles::register(&mut act, self.new_van(label)).await.expect("a vehicle").id;
        act.commit().await.expect("committed");
        van
    }

    /// Records a driver's odometer reading.
    ///
    /// # Panics
    /// When it is refused.
    pub async fn reading(&self, vehicle: VehicleId, at: &str, value: f64) -> OdometerReading {
        let mut act = self.act().await;
        let new = NewReading { value: km(value), read_at: instant(at), source: ReadingSource::Driver };
        let reading = clerk::readings::record(&mut act, vehicle, new).await.expect("a reading");
        act.commit().await.expect("committed");
        reading
    }

    /// Records a service that satisfies one rule.
    ///
    /// # Panics
    /// When it is refused.
    pub async fn service(&self, vehicle: VehicleId, on: &str, value: f64, rule: &str) {
        let mut act = self.act().await;
        let new = NewService {
            done_on: day(on),
            odometer: km(value),
            rules: vec![code(rule)],
            workshop: None,
            parts: Vec::new(),
            cost_minor: None,
            currency: None,
            evidence: None,
            note: None,
            warranties: Vec::new(),
        };
        clerk::services::record(&mut act, vehicle, new).await.expect("a service");
        act.commit().await.expect("committed");
    }

    /// An inspection entry of `vehicle` an hour ago, by the yard walk, with nothing measured yet.
    pub fn entry(&self, vehicle: &str) -> Entry {
        Entry {
            entry_id: self.clerk.new_id(),
            vehicle: vehicle.to_owned(),
            check_sheet: SheetRef { code: code("yard-walk"), version: None },
            performed_at: self.clock.now() - chrono::TimeDelta::hours(1),
            odometer: None,
            unread_odometer: None,
            measurements: Vec::new(),
            findings: Vec::new(),
            note: None,
            corrects: None,
            unknown_members: Vec::new(),
        }
    }

    /// Takes in a batch sent just now.
    ///
    /// # Panics
    /// When the batch as a whole fails.
    pub async fn post(&self, entries: &[Entry]) -> Vec<EntryResult> {
        let mut act = self.act().await;
        let batch = self.batch(self.clerk.new_id(), entries);
        let results = clerk::inspections::take_in(&mut act, batch).await.expect("a batch");
        act.commit().await.expect("committed");
        results
    }

    /// A batch of these entries, sent and received just now.
    pub fn batch(&self, id: Uuid, entries: &[Entry]) -> Batch {
        let now = self.clock.now();
        Batch {
            id,
            device_id: "story".to_owned(),
            device_seq: None,
            device_sent_at: now,
            received_at: now,
            raw: "{}".to_owned(),
            entries: entries.iter().map(raw).collect(),
        }
    }

    /// Lets the clock pass until the next notice may be told or the next letter sent, and ten seconds more.
    ///
    /// # Panics
    /// When the store fails.
    pub async fn pass_to_next_letter(&self) {
        let now = self.clock.now();
        let next = clerk::post::next_letter_time(&self.clerk).await.expect("a time");
        self.clock.set(next.map_or(now, |next| next.max(now)) + TimeDelta::seconds(10));
    }

    /// Works off every vehicle that has woken.
    ///
    /// # Panics
    /// When the store fails.
    pub async fn tick(&self) -> WorkedOff {
        let mut all = WorkedOff::default();
        loop {
            let claimed = watch::claim_vehicles(&self.clerk, 64).await.expect("claims");
            if claimed.is_empty() {
                return all;
            }
            let done = watch::work_off(&self.clerk, &claimed).await.expect("worked off");
            all.renewed += done.renewed;
            all.written += done.written;
            all.fired += done.fired;
            all.notices += done.notices;
            all.lost += done.lost;
        }
    }
}

/// A measurement as a phone writes it.
pub fn measured(point: &str, place: &str, zone: &str, value: f64, unit: &str) -> MeasurementEntered {
    MeasurementEntered {
        point: point.to_owned(),
        place: place.to_owned(),
        zone: Some(zone.to_owned()),
        observed: Observed::Measured { value, unit: unit.to_owned() },
    }
}

/// The operator, as the actor of an act.
pub fn operator() -> Actor {
    Actor { kind: ActorKind::Operator, key: None, person: None, source: "story".to_owned() }
}

async fn person(act: &mut Act, role: Role, email: &str) -> PersonId {
    let new = NewPerson {
        role,
        depots: Vec::new(),
        name: role.to_string(),
        email: Some(email.to_owned()),
        language: "en-GB".to_owned(),
        zone: chrono_tz::Europe::Dublin,
        quiet_hours: None,
        letter_days: None,
        letter_time: None,
        declined_letters: Vec::new(),
    };
    clerk::organisation::create_person(act, new).await.expect("a person").id
}

/// The entry as it would come over the wire, as far as its content matters.
fn raw(entry: &Entry) -> RawEntry {
    let measurements: Vec<_> = entry.measurements.iter().map(written).collect();
    let raw = serde_json::json!({
        "entry_id": entry.entry_id,
        "vehicle": entry.vehicle,
        "check_sheet": {"code": entry.check_sheet.code, "version": entry.check_sheet.version},
        "performed_at": entry.performed_at,
        "odometer": entry.odometer,
        "measurements": measurements,
        "note": entry.note,
    });
    RawEntry { raw, entry_id_text: Some(entry.entry_id.to_string()), parsed: Ok(entry.clone()) }
}

fn written(measured: &MeasurementEntered) -> serde_json::Value {
    let MeasurementEntered { point, place, zone, observed } = measured;
    match observed {
        Observed::Measured { value, unit } => {
            serde_json::json!({"point": point, "place": place, "zone": zone, "value": value, "unit": unit})
        }
        Observed::Seen(word) => {
            serde_json::json!({"point": point, "place": place, "zone": zone, "seen": word})
        }
        Observed::Unread { .. } => serde_json::json!({"point": point, "place": place}),
    }
}
