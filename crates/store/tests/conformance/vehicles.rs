//! Vehicles, their attributes and their names.

use crate::world::{
    CAR, DEPOT, OURS, THEIR_VAN, VAN, attributes, day, depot, furnished, id, keep_vehicle, morning, stamp,
    vehicle,
};
use model::{
    Attributes, Depot, DepotId, Duty, Jurisdiction, Placard, Powertrain, Vehicle, VehicleId, Vin, Weekdays,
};
use quantity::{Distance, Entered, Unit};
use store::vehicles::Filter;
use store::{Conn, depots, vehicles};
use testkit::on_both_engines;

const FAR: DepotId = DepotId(uuid::Uuid::from_u128(11));

fn vin() -> Vin {
    Vin::parse("G00DEM00000000001").expect("a VIN by its form")
}

/// A vehicle of which everything is known, moved once to a depot under another law.
fn full() -> Vehicle {
    let moved = Attributes {
        depot: FAR,
        duty: Duty::LongDistance,
        severe: false,
        plate: Some("11-G-1001".to_owned()),
        parked: true,
        operating_weekdays: Weekdays::from_bits(0b001_1111).expect("weekdays"),
        ..attributes("2027-02-01", FAR, "Van 2 north")
    };
    Vehicle {
        vin: Some(vin()),
        model_year: Some(2024),
        powertrain: Powertrain::BatteryElectric,
        gross_mass_kg: Some(3500),
        tags: vec!["cold".to_owned(), "ladder".to_owned()],
        in_service_on: Some(day("2024-02-29")),
        in_service_odometer: Distance::from_mm(12_345_678),
        history_unknown: true,
        odometer_unit: Unit::Mile,
        placard: Placard {
            front: Some(Entered::new(2.4, Unit::Bar)),
            rear: Some(Entered::new(0.1 + 0.2, Unit::Psi)),
        },
        attributes: vec![attributes("2026-05-04", DEPOT, "Van 2"), moved],
        zone: chrono_tz::America::Denver,
        jurisdiction: Jurisdiction::Us,
        design_low: None,
        ..vehicle(OURS, VehicleId(id(42)), DEPOT, "Van 2")
    }
}

async fn keep_full(conn: &mut Conn<'_>) {
    let far = Depot { zone: chrono_tz::America::Denver, jurisdiction: Jurisdiction::Us, ..depot(FAR) };
    depots::insert(conn, OURS, &far, morning()).await.expect("kept");
    keep_vehicle(conn, &full()).await;
}

async fn found(conn: &mut Conn<'_>, id: VehicleId) -> Vehicle {
    vehicles::find(conn, OURS, id).await.expect("an answer").expect("the vehicle")
}

on_both_engines! {
    async fn a_vehicle_comes_back_as_it_was(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        keep_full(conn).await;
        assert_eq!(found(conn, full().id).await, full());
        assert_eq!(found(conn, VAN).await, vehicle(OURS, VAN, DEPOT, "Van 1"));
    }

    async fn a_change_recorded_late_takes_its_place_by_its_day(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        let (june, may) = (attributes("2027-06-01", DEPOT, "June"), attributes("2027-05-01", DEPOT, "May"));
        for version in [&june, &may] {
            vehicles::insert_attributes(conn, OURS, VAN, version, &stamp(OURS)).await.expect("kept");
        }
        let van = found(conn, VAN).await;
        let labels: Vec<&str> = van.attributes.iter().map(|version| version.label.as_str()).collect();
        assert_eq!((labels, van.attributes_now()), (vec!["Van 1", "May", "June"], Some(&june)));
    }

    async fn of_two_changes_of_one_day_the_later_recorded_holds(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        let versions = ["First", "Second"].map(|label| attributes("2027-06-01", DEPOT, label));
        vehicles::insert_all_attributes(conn, OURS, VAN, &versions, &stamp(OURS)).await.expect("kept");
        assert_eq!(found(conn, VAN).await.attributes_now(), Some(&versions[1]));
    }

    async fn of_two_editors_of_a_vehicle_one_wins(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        let retired = Vehicle { retired_on: Some(day("2027-02-28")), vin: Some(vin()), ..vehicle(OURS, VAN, DEPOT, "Van 1") };
        let renamed = Vehicle { make: "Bracken".to_owned(), ..vehicle(OURS, VAN, DEPOT, "Van 1") };
        let first = vehicles::update(conn, OURS, &retired, 1).await.expect("an answer");
        let second = vehicles::update(conn, OURS, &renamed, 1).await.expect("an answer");
        assert_eq!((first, second, found(conn, VAN).await), (true, false, Vehicle { version: 2, ..retired }));
    }

    async fn one_vin_is_one_vehicle(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        keep_full(conn).await;
        let twin = Vehicle { vin: Some(vin()), ..vehicle(OURS, VehicleId(id(43)), DEPOT, "Van 3") };
        let refusal = vehicles::insert(conn, OURS, &twin, &stamp(OURS)).await.expect_err("taken");
        assert!(refusal.is_unique(), "{refusal:?}");
    }

    async fn a_text_means_the_vehicle_that_bore_it_on_the_day(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        keep_full(conn).await;
        let (own, vin, foreign) = (full().id.to_string(), vin().to_string(), THEIR_VAN.to_string());
        let meant: &[(&str, &str, &[VehicleId])] = &[
            (&own, "2027-03-01", &[full().id]),
            (&vin, "2027-03-01", &[full().id]),
            ("Van 2", "2027-01-31", &[full().id]),
            ("Van 2", "2027-02-01", &[]),
            ("Van 2", "2020-01-01", &[full().id]),
            ("Van 2 north", "2027-02-01", &[full().id]),
            ("Van 2 north", "2027-01-31", &[]),
            ("11-G-1001", "2027-02-01", &[full().id]),
            ("11-G-1001", "2027-01-31", &[]),
            ("van 2", "2027-01-31", &[]),
            ("Van 1", "2027-03-01", &[VAN]),
            (&foreign, "2027-03-01", &[]),
            ("", "2027-03-01", &[]),
        ];
        for (text, on, vehicles) in meant {
            let answer = vehicles::resolve(conn, OURS, text, day(on)).await.expect("an answer");
            assert_eq!(answer, *vehicles, "{text:?} on {on}");
        }
        let asked: Vec<_> = meant.iter().map(|(text, on, _)| ((*text).to_owned(), day(on))).collect();
        let answers = vehicles::resolve_many(conn, OURS, &asked).await.expect("answers");
        assert_eq!(answers, meant.iter().map(|(_, _, vehicles)| vehicles.to_vec()).collect::<Vec<_>>());
    }

    async fn a_vehicle_that_left_no_longer_bears_its_label(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        let left = Vehicle { retired_on: Some(day("2027-02-28")), ..vehicle(OURS, VAN, DEPOT, "Van 1") };
        vehicles::update(conn, OURS, &left, 1).await.expect("an answer");
        keep_vehicle(conn, &vehicle(OURS, VehicleId(id(43)), DEPOT, "Van 1")).await;
        let meant = |on| (String::from("Van 1"), day(on));
        let answers = vehicles::resolve_many(conn, OURS, &[meant("2027-02-28"), meant("2027-03-01")]).await;
        assert_eq!(answers.expect("answers"), [vec![VAN, VehicleId(id(43))], vec![VehicleId(id(43))]]);
    }

    async fn a_page_shows_the_vehicles_of_a_depot_that_have_not_left(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        keep_full(conn).await;
        let left = Vehicle { retired_on: Some(day("2027-02-28")), ..vehicle(OURS, CAR, DEPOT, "Car 1") };
        vehicles::update(conn, OURS, &left, 1).await.expect("an answer");
        let filters = [
            (Filter { depot: Some(DEPOT), with_retired: false }, vec![VAN]),
            (Filter { depot: Some(DEPOT), with_retired: true }, vec![VAN, CAR]),
            (Filter { depot: Some(FAR), with_retired: false }, vec![full().id]),
            (Filter { depot: None, with_retired: false }, vec![VAN, full().id]),
        ];
        for (filter, expected) in filters {
            let page = vehicles::page(conn, OURS, filter, None, 9).await.expect("a page");
            assert_eq!(page.iter().map(|vehicle| vehicle.id).collect::<Vec<_>>(), expected, "{filter:?}");
        }
        assert_eq!(vehicles::ids(conn, OURS).await.expect("ids"), [VAN, full().id]);
    }
}
