//! Components that go from one vehicle to another, and how fast they wear.

use crate::records::{end, fitting, tyre};
use crate::world::{
    CAR, DEPOT, OURS, THEIR_VAN, THEIRS, VAN, at, code, day, furnished, id, keep_vehicle, morning, stamp,
    vehicle,
};
use model::{Component, ComponentId, FleetId, VehicleId, WearRate, WearRateId};
use store::acts::Stamp;
use store::elsewhere::Shared;
use store::{AsKnown, Conn, components, elsewhere, facts, fittings, states, wear_rates};
use testkit::on_both_engines;

const BUS: VehicleId = VehicleId(uuid::Uuid::from_u128(42));

fn later() -> Stamp {
    Stamp { recorded_at: at("2027-03-02T08:00:00Z"), ..stamp(OURS) }
}

async fn keep(conn: &mut Conn<'_>, component: &Component) {
    components::insert(conn, OURS, component, &stamp(OURS)).await.expect("kept");
}

async fn fit(conn: &mut Conn<'_>, number: u128, component: u128, on: VehicleId, by: &Stamp) {
    fittings::insert(conn, OURS, &fitting(number, component, on), by).await.expect("kept");
}

async fn take_out(conn: &mut Conn<'_>, number: u128, by: &Stamp) {
    let ended = fittings::end(conn, OURS, fitting(number, 0, VAN).id, &end("2027-01-01"), by).await;
    assert!(ended.expect("ended"));
}

/// Tyre 600 went from the van to the car, 601 from the van to the bus and on to the car, 602 was on the bus alone.
async fn moved(conn: &mut Conn<'_>) {
    keep_vehicle(conn, &vehicle(OURS, BUS, DEPOT, "Bus 1")).await;
    for number in [600, 601, 602] {
        keep(conn, &tyre(number)).await;
    }
    let by = &stamp(OURS);
    for (number, component, on) in [(700, 600, VAN), (710, 601, VAN), (711, 601, BUS), (720, 602, BUS)] {
        fit(conn, number, component, on, by).await;
        take_out(conn, number, by).await;
    }
    fit(conn, 701, 600, CAR, by).await;
    fit(conn, 712, 601, CAR, &later()).await;
}

fn shared(vehicle: VehicleId, component: u128, elsewhere: VehicleId) -> Shared {
    Shared { vehicle, component: ComponentId(id(component)), elsewhere }
}

fn rate(product: &str, front: f64) -> WearRate {
    WearRate {
        kind: code("tyre"),
        product: product.to_owned(),
        front_mm_per_1000_km: front,
        rear_mm_per_1000_km: 0.1 + 0.2,
        tau: 1e-7,
        components: 8,
    }
}

async fn keep_rate(conn: &mut Conn<'_>, number: u128, rate: &WearRate, by: &Stamp) {
    wear_rates::insert(conn, OURS, WearRateId(id(number)), rate, by).await.expect("kept");
}

async fn newest(conn: &mut Conn<'_>, fleet: FleetId, known: AsKnown) -> Vec<WearRate> {
    wear_rates::newest(conn, fleet, known).await.expect("an answer")
}

/// The vehicles whose horizon is asked for a second time.
async fn raised(conn: &mut Conn<'_>) -> Vec<VehicleId> {
    let states = states::page(conn, OURS, None, 9).await.expect("states");
    states.into_iter().filter(|state| state.needed_version > 1).map(|state| state.vehicle).collect()
}

on_both_engines! {
    async fn whose_components_were_elsewhere_is_told_for_all_vehicles_at_once(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        moved(conn).await;
        let all = elsewhere::of_vehicles(conn, OURS, &[CAR, VAN, BUS], AsKnown::NOW).await;
        // The car's own fittings have not ended, so that nobody is told of them.
        assert_eq!(
            all.expect("an answer"),
            [
                shared(VAN, 601, BUS),
                shared(CAR, 600, VAN),
                shared(CAR, 601, VAN),
                shared(CAR, 601, BUS),
                shared(BUS, 601, VAN),
            ]
        );
        let of_the_bus = elsewhere::of_vehicles(conn, OURS, &[BUS], AsKnown::NOW).await;
        assert_eq!(of_the_bus.expect("an answer"), [shared(BUS, 601, VAN)]);
        assert_eq!(elsewhere::of_vehicles(conn, OURS, &[], AsKnown::NOW).await.expect("an answer"), []);
    }

    async fn whose_components_were_elsewhere_is_told_as_it_was_known(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        moved(conn).await;
        let before = morning() - chrono::TimeDelta::microseconds(1);
        for (known, expected) in [
            (later().recorded_at, vec![shared(CAR, 600, VAN), shared(CAR, 601, VAN), shared(CAR, 601, BUS)]),
            (morning(), vec![shared(CAR, 600, VAN)]),
            (before, vec![]),
        ] {
            let told = elsewhere::of_vehicles(conn, OURS, &[CAR], AsKnown::at(known)).await;
            assert_eq!(told.expect("an answer"), expected, "{known}");
        }
    }

    async fn an_end_recorded_later_was_not_known(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        keep(conn, &tyre(600)).await;
        fit(conn, 700, 600, VAN, &stamp(OURS)).await;
        fit(conn, 701, 600, CAR, &stamp(OURS)).await;
        take_out(conn, 700, &later()).await;
        let then = elsewhere::of_vehicles(conn, OURS, &[CAR], AsKnown::at(morning())).await;
        assert_eq!(then.expect("an answer"), []);
        let now = elsewhere::of_vehicles(conn, OURS, &[CAR], AsKnown::NOW).await;
        assert_eq!(now.expect("an answer"), [shared(CAR, 600, VAN)]);
    }

    async fn heirs_are_those_that_have_the_component_now(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        moved(conn).await;
        let of_both = elsewhere::heirs(conn, OURS, &[VAN, BUS]).await.expect("an answer");
        assert_eq!(of_both, [shared(CAR, 600, VAN), shared(CAR, 601, VAN), shared(CAR, 601, BUS)]);
        assert_eq!(elsewhere::heirs(conn, OURS, &[CAR]).await.expect("an answer"), []);
        take_out(conn, 712, &later()).await;
        assert_eq!(elsewhere::heirs(conn, OURS, &[BUS]).await.expect("an answer"), [], "it lies in store");
    }

    async fn a_component_names_its_vehicles_and_the_last_day_it_was_taken_out(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        moved(conn).await;
        let component = ComponentId(id(601));
        let vehicles = elsewhere::vehicles_of(conn, OURS, component).await.expect("an answer");
        assert_eq!(vehicles, [VAN, CAR, BUS]);
        assert_eq!(fittings::last_end(conn, OURS, component).await.expect("an answer"), Some(day("2027-01-01")));
        keep(conn, &tyre(603)).await;
        assert_eq!(fittings::last_end(conn, OURS, ComponentId(id(603))).await.expect("an answer"), None);
    }

    async fn the_other_fleet_is_told_nothing_of_ours(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        moved(conn).await;
        keep_rate(conn, 800, &rate("Wayfarer 225/65", 0.2), &stamp(OURS)).await;
        let (ours, component) = ([VAN, CAR, BUS, THEIR_VAN], ComponentId(id(601)));
        let told = elsewhere::of_vehicles(conn, THEIRS, &ours, AsKnown::NOW).await;
        assert_eq!(told.expect("an answer"), []);
        assert_eq!(elsewhere::heirs(conn, THEIRS, &ours).await.expect("an answer"), []);
        assert_eq!(elsewhere::vehicles_of(conn, THEIRS, component).await.expect("an answer"), []);
        assert_eq!(fittings::last_end(conn, THEIRS, component).await.expect("an answer"), None);
        assert_eq!(newest(conn, THEIRS, AsKnown::NOW).await, []);
        let product = &tyre(601).product;
        let touched = states::raise_needed_by_product(conn, THEIRS, &code("tyre"), product).await;
        assert_eq!((touched.expect("an answer"), raised(conn).await), (0, vec![]));
    }

    async fn the_newest_rates_of_each_product_come_back_as_they_were_known(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        let pads = WearRate { kind: code("pad-set"), ..rate("Wayfarer", 0.5) };
        for (number, rate) in [(800, &rate("Wayfarer", 0.2)), (801, &pads), (802, &rate("Marl", 0.3))] {
            keep_rate(conn, number, rate, &stamp(OURS)).await;
        }
        keep_rate(conn, 790, &rate("Wayfarer", 0.25), &later()).await;
        let now = [pads.clone(), rate("Marl", 0.3), rate("Wayfarer", 0.25)];
        assert_eq!(newest(conn, OURS, AsKnown::NOW).await, now);
        let then = [pads, rate("Marl", 0.3), rate("Wayfarer", 0.2)];
        assert_eq!(newest(conn, OURS, AsKnown::at(morning())).await, then);
        let before = morning() - chrono::TimeDelta::microseconds(1);
        assert_eq!(newest(conn, OURS, AsKnown::at(before)).await, []);
    }

    async fn a_vehicle_is_told_the_rates_of_what_is_or_was_fitted_to_it(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        moved(conn).await;
        let own = rate(&tyre(600).product, 0.2);
        keep_rate(conn, 800, &own, &stamp(OURS)).await;
        keep_rate(conn, 801, &rate("Marl", 0.3), &stamp(OURS)).await;
        keep_rate(conn, 802, &WearRate { kind: code("pad-set"), ..own.clone() }, &stamp(OURS)).await;
        let loaded = facts::load(conn, OURS, &[VAN]).await.expect("facts");
        assert_eq!(loaded[0].wear_rates, [own]);
    }

    async fn new_horizons_are_asked_of_vehicles_to_which_the_product_is_fitted_now(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        moved(conn).await;
        keep(conn, &Component { product: "Marl".to_owned(), ..tyre(603) }).await;
        fit(conn, 730, 603, BUS, &stamp(OURS)).await;
        let product = &tyre(600).product;
        let touched = states::raise_needed_by_product(conn, OURS, &code("tyre"), product).await;
        assert_eq!((touched.expect("an answer"), raised(conn).await), (1, vec![CAR]));
        let pads = states::raise_needed_by_product(conn, OURS, &code("pad-set"), product).await;
        assert_eq!(pads.expect("an answer"), 0);
    }
}
