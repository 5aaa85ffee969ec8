//! Two fleets with a depot, a manager, a workshop and two vehicles each, and short names for what tests mention.

use chrono::{DateTime, NaiveDate, Utc};
use model::{
    ActId, Actor, ActorKind, Attributes, Code, Depot, DepotId, Duty, Fleet, FleetId, Jurisdiction, Person,
    PersonId, Placard, Policy, Powertrain, Role, Vehicle, VehicleId, Weekdays, Workshop, WorkshopId,
    WorkshopKind,
};
use quantity::{Distance, Entered, Unit};
use store::acts::{ActRow, Stamp};
use store::{Conn, Reach, Store, Tx, acts, depots, fleets, people, states, vehicles, workshops};
use uuid::Uuid;

pub const OURS: FleetId = FleetId(Uuid::from_u128(1));
pub const THEIRS: FleetId = FleetId(Uuid::from_u128(2));

pub const DEPOT: DepotId = DepotId(Uuid::from_u128(10));
pub const MANAGER: PersonId = PersonId(Uuid::from_u128(20));
pub const WORKSHOP: WorkshopId = WorkshopId(Uuid::from_u128(30));
pub const VAN: VehicleId = VehicleId(Uuid::from_u128(40));
pub const CAR: VehicleId = VehicleId(Uuid::from_u128(41));

/// What stands in the other fleet under these ids.
pub const THEIR_DEPOT: DepotId = DepotId(Uuid::from_u128(1010));
pub const THEIR_MANAGER: PersonId = PersonId(Uuid::from_u128(1020));
pub const THEIR_VAN: VehicleId = VehicleId(Uuid::from_u128(1040));

pub fn id(number: u128) -> Uuid {
    Uuid::from_u128(number)
}

pub fn at(text: &str) -> DateTime<Utc> {
    text.parse().expect("an instant")
}

pub fn day(text: &str) -> NaiveDate {
    text.parse().expect("a day")
}

/// The instant everything is recorded at; both engines keep microseconds.
pub fn morning() -> DateTime<Utc> {
    at("2027-03-01T08:00:00.123456Z")
}

pub fn code(text: &str) -> Code {
    Code::new(text).expect("a code")
}

pub fn km(value: f64) -> Entered {
    Entered::new(value, Unit::Kilometre)
}

pub fn stamp(fleet: FleetId) -> Stamp {
    let act = ActId(id(fleet.0.as_u128() * 100));
    Stamp { act, recorded_at: morning(), recorded_by: Some(MANAGER.0), source: "api".to_owned() }
}

pub fn depot(id: DepotId) -> Depot {
    let zone = chrono_tz::Europe::Dublin;
    Depot {
        id,
        name: "Harbour yard".to_owned(),
        zone,
        jurisdiction: Jurisdiction::Eu,
        design_low: None,
        version: 1,
    }
}

pub fn person(id: PersonId) -> Person {
    Person {
        id,
        role: Role::Manager,
        depots: vec![DEPOT],
        name: "Ada Quill".to_owned(),
        email: Some("ada@quill.example".to_owned()),
        language: "en-IE".to_owned(),
        zone: chrono_tz::Europe::Dublin,
        quiet_hours: Some(("22:00:00".parse().expect("a time"), "06:30:15".parse().expect("a time"))),
        letter_days: model::Weekdays::from_bits(0b010_0101).expect("days"),
        letter_time: "08:15:30".parse().expect("a time"),
        declined_letters: vec![model::OptionalLetter::WeekAhead],
        version: 1,
    }
}

pub fn workshop(id: WorkshopId) -> Workshop {
    Workshop {
        id,
        name: "Own bay".to_owned(),
        kind: WorkshopKind::OwnBay,
        warranty_work: false,
        working_weekdays: model::Weekdays::MONDAY_TO_FRIDAY,
        lead_days: 3,
        version: 1,
    }
}

pub fn attributes(from: &str, depot: DepotId, label: &str) -> Attributes {
    Attributes {
        from: day(from),
        depot,
        duty: Duty::Delivery,
        severe: true,
        label: label.to_owned(),
        plate: None,
        parked: false,
        operating_weekdays: Weekdays::ALL,
        rulebook: None,
    }
}

/// A vehicle of which nothing is known that may be unknown.
pub fn vehicle(fleet: FleetId, id: VehicleId, depot: DepotId, label: &str) -> Vehicle {
    Vehicle {
        id,
        fleet,
        vin: None,
        make: "Bramble".to_owned(),
        model: "Carrier".to_owned(),
        model_year: None,
        powertrain: Powertrain::Diesel,
        gross_mass_kg: None,
        tags: Vec::new(),
        in_service_on: None,
        in_service_odometer: Distance::ZERO,
        history_unknown: false,
        acquired_on: day("2026-05-04"),
        odometer_unit: Unit::Kilometre,
        placard: Placard::default(),
        retired_on: None,
        attributes: vec![attributes("2026-05-04", depot, label)],
        zone: chrono_tz::Europe::Dublin,
        jurisdiction: Jurisdiction::Eu,
        design_low: None,
        version: 1,
    }
}

/// Keeps a vehicle with its state.
pub async fn keep_vehicle(conn: &mut Conn<'_>, vehicle: &Vehicle) {
    let fleet = vehicle.fleet;
    vehicles::insert(conn, fleet, vehicle, &stamp(fleet)).await.expect("a vehicle");
    states::insert(conn, fleet, vehicle.id).await.expect("its state");
}

/// Keeps a fleet with the act that everything else is stamped with.
async fn keep_fleet(conn: &mut Conn<'_>, id: FleetId, name: &str) {
    let fleet = Fleet { id, name: name.to_owned(), sequence: 0 };
    fleets::insert(conn, &fleet, &Policy::default(), morning()).await.expect("a fleet");
    let actor = Actor { kind: ActorKind::Operator, key: None, person: None, source: "cli".to_owned() };
    let kind = "furnish".to_owned();
    let act = ActRow { id: stamp(id).act, seq: 0, kind, actor, request_id: None, recorded_at: morning() };
    acts::insert(conn, id, &act).await.expect("an act");
}

/// A writer in which the two fleets have just been kept.
pub async fn furnished(store: &Store) -> Tx {
    let mut tx = store.writer(Reach::All).await.expect("a writer");
    let conn = &mut tx.conn();
    keep_fleet(conn, OURS, "Ours").await;
    keep_fleet(conn, THEIRS, "Theirs").await;
    for (fleet, yard, manager, shop) in
        [(OURS, DEPOT, MANAGER, WORKSHOP), (THEIRS, THEIR_DEPOT, THEIR_MANAGER, WorkshopId(id(1030)))]
    {
        depots::insert(conn, fleet, &depot(yard), morning()).await.expect("a depot");
        people::insert(conn, fleet, &person(manager), morning()).await.expect("a person");
        workshops::insert(conn, fleet, &workshop(shop), morning()).await.expect("a workshop");
    }
    keep_vehicle(conn, &vehicle(OURS, VAN, DEPOT, "Van 1")).await;
    keep_vehicle(conn, &vehicle(OURS, CAR, DEPOT, "Car 1")).await;
    keep_vehicle(conn, &vehicle(THEIRS, THEIR_VAN, THEIR_DEPOT, "Van 1")).await;
    tx
}
