//! Rates of wear fitted to the fleet's own components, in the monthly refit.

use chrono::{DateTime, Days, TimeDelta, Utc};
use clerk::components::{NewComponent, NewFitting};
use clerk::fits::{Refit, refit};
use clerk::horizons::{self, View};
use clerk::inspections::{Entry, EntryOutcome};
use clerk::rebuild::prove;
use clerk::vehicles::NewVehicle;
use model::horizon::WearOutlook;
use model::{Clock, Place, VehicleId, WearRate};
use quantity::{Entered, Unit};
use std::collections::BTreeSet;
use store::Reach;
use testkit::world::{World, code, day, instant, km, measured};

fn number(count: usize) -> f64 {
    f64::from(u32::try_from(count).expect("a few"))
}

/// The n-th van drives 90 km and n more a day.
fn odometer(van: usize, days: u64) -> f64 {
    (90.0 + number(van)) * f64::from(u32::try_from(days).expect("a few years"))
}

fn after(days: u64) -> DateTime<Utc> {
    instant("2026-01-01T12:00:00Z") + Days::new(days)
}

/// Vans that have come into service on 1 January 2026, each with a new tyre of this product front left.
async fn vans(world: &World, from: usize, count: usize, product: &str) -> Vec<VehicleId> {
    let mut act = world.act().await;
    let mut vans = Vec::new();
    for n in from..from + count {
        let new: NewVehicle = world.new_van(&format!("Van {n}"));
        let van = clerk::vehicles::register(&mut act, new).await.expect("a vehicle").id;
        let depth_new = Some(Entered::new(8.0, Unit::Millimetre));
        let new = NewComponent {
            kind: code("tyre"),
            product: product.to_owned(),
            depth_new,
            came_used: false,
            cost: None,
        };
        let component = clerk::components::create(&mut act, new).await.expect("a tyre").id;
        let (place, from) = (Place::FrontLeft, day("2026-01-01"));
        let new = NewFitting { component, place, from, odometer: km(0.0) };
        clerk::components::fit(&mut act, van, new).await.expect("fitted");
        vans.push(van);
    }
    act.commit().await.expect("committed");
    vans
}

/// What these vans have driven so many days on.
async fn drive(world: &World, vans: std::ops::Range<usize>, days: u64) {
    let entry = |van: usize| Entry {
        performed_at: after(days),
        odometer: Some(km(odometer(van, days))),
        unread_odometer: None,
        ..world.entry(&format!("Van {van}"))
    };
    take_in(world, vans.map(entry).collect()).await;
}

/// Their tyres at the same time: they lose so much over 1,000 km, each its own share more or less.
async fn look(world: &World, vans: std::ops::Range<usize>, days: u64, mm_per_1000_km: f64) {
    let entry = |van: usize| {
        let pace = 0.9 + 0.2 * number(van % 5) / 4.0;
        let depth = 8.0 - pace * mm_per_1000_km * odometer(van, days) / 1000.0;
        Entry {
            performed_at: after(days),
            measurements: vec![measured("tread-depth", "front_left", "lowest", depth, "mm")],
            ..world.entry(&format!("Van {van}"))
        }
    };
    take_in(world, vans.map(entry).collect()).await;
}

async fn take_in(world: &World, entries: Vec<Entry>) {
    for result in world.post(&entries).await {
        assert!(matches!(result.outcome, EntryOutcome::Accepted(_)), "{:?}", result.outcome);
    }
}

async fn seen(
    world: &World,
    van: VehicleId,
    known_at: Option<DateTime<Utc>>,
) -> (Vec<WearRate>, WearOutlook) {
    let view = View { known_at, as_of: None };
    let outlook =
        horizons::at(&world.clerk, world.fleet, van, view).await.expect("an answer").expect("the van");
    let mut wear = outlook.horizon.wear;
    assert_eq!(wear.len(), 1, "{wear:?}");
    (outlook.facts.wear_rates, wear.swap_remove(0))
}

async fn behind(world: &World) -> BTreeSet<VehicleId> {
    let mut tx = world.clerk.store().reader(Reach::Fleet(world.fleet)).await.expect("a reader");
    let states = store::states::page(&mut tx.conn(), world.fleet, None, 999).await.expect("states");
    let behind = states.into_iter().filter(|state| state.done_version < state.needed_version);
    behind.map(|state| state.vehicle).collect()
}

/// These vans have driven for so long; their usage is fitted and worked off.
async fn driven(world: &World, vans: std::ops::Range<usize>, days: &[u64]) {
    for days in days {
        drive(world, vans.clone(), *days).await;
    }
    let done = refit(&world.clerk, world.fleet).await.expect("refitted");
    assert_eq!((done.rates_adopted, done.rates_kept), (0, 0), "no tyre was measured");
    world.tick().await;
}

testkit::on_both_engines! {
    async fn eight_tyres_of_a_product_tell_its_rates_and_a_ninth_is_judged_by_them(store: Store) {
        let world = World::in_store(store).await;
        let nine = vans(&world, 0, 9, "Gripwell Van").await;
        let (newcomer, stranger) = (nine[8], vans(&world, 9, 1, "Marl 4").await[0]);
        driven(&world, 0..10, &[30, 100, 200]).await;
        look(&world, 0..8, 100, 0.24).await;
        look(&world, 0..8, 200, 0.24).await;
        world.tick().await;
        let (then, before) = (world.clock.now(), seen(&world, newcomer, None).await);
        world.clock.pass(TimeDelta::hours(1));

        let done = refit(&world.clerk, world.fleet).await.expect("refitted");

        assert_eq!(done, Refit { kept: 3, rates_adopted: 1, ..Refit::default() });
        let (rates, wear) = seen(&world, newcomer, None).await;
        let rate = &rates[0];
        assert_eq!((rates.len(), rate.product.as_str(), rate.components), (1, "Gripwell Van", 8));
        // The paces spread evenly from 0.9 to 1.1 around 0.24 mm; none was driven behind, where the shipped rate stays.
        assert!((rate.front_mm_per_1000_km - 0.24).abs() < 0.012, "{rate:?}");
        assert!((rate.rear_mm_per_1000_km - 0.09).abs() < 1e-9, "{rate:?}");
        assert!(rate.tau < 0.3, "they differ less than was thought: {rate:?}");
        assert!(wear.mm_per_1000_km > 1.2 * before.1.mm_per_1000_km, "{wear:?} after {:?}", before.1);
        assert_eq!(seen(&world, stranger, None).await.0, [], "another product");
        assert_eq!(seen(&world, newcomer, Some(then)).await, before, "as known then");
        assert_eq!(before.0, []);
        let nine: BTreeSet<VehicleId> = nine.into_iter().collect();
        assert_eq!(behind(&world).await, nine, "the newcomer too, and nobody else");
    }

    async fn the_same_tyres_fitted_again_change_nothing_and_ask_nothing(store: Store) {
        let world = World::in_store(store).await;
        vans(&world, 0, 9, "Gripwell Van").await;
        driven(&world, 0..9, &[30, 100, 200]).await;
        look(&world, 0..9, 100, 0.24).await;
        look(&world, 0..9, 200, 0.24).await;
        let first = refit(&world.clerk, world.fleet).await.expect("refitted");
        assert_eq!((first.rates_adopted, first.rates_kept), (1, 0));
        world.tick().await;
        let again = refit(&world.clerk, world.fleet).await.expect("refitted");
        assert_eq!(again, Refit { kept: 3, rates_kept: 1, ..Refit::default() });
        assert_eq!(behind(&world).await, BTreeSet::new());
        let proof = prove(&world.clerk, world.fleet, None).await.expect("a proof");
        assert_eq!((proof.vehicles, proof.behind, proof.differences), (9, vec![], vec![]));
    }

    async fn faster_wear_is_adopted_and_the_former_rates_stay_on_record(store: Store) {
        let world = World::in_store(store).await;
        let vans = vans(&world, 0, 8, "Gripwell Van").await;
        driven(&world, 0..8, &[30, 100, 200, 250]).await;
        look(&world, 0..8, 100, 0.16).await;
        refit(&world.clerk, world.fleet).await.expect("refitted");
        let (then, former) = (world.clock.now(), seen(&world, vans[0], None).await);
        assert!((former.0[0].front_mm_per_1000_km - 0.16).abs() < 0.012, "{:?}", former.0);
        world.clock.pass(TimeDelta::hours(1));
        look(&world, 0..8, 200, 0.24).await;
        look(&world, 0..8, 250, 0.24).await;
        let later = refit(&world.clerk, world.fleet).await.expect("refitted");
        assert_eq!((later.rates_adopted, later.rates_kept), (1, 0));
        let now = seen(&world, vans[0], None).await;
        assert!(now.0[0].front_mm_per_1000_km > 0.2, "{:?}", now.0);
        assert_eq!(seen(&world, vans[0], Some(then)).await, former, "as known then");
    }

    async fn seven_tyres_tell_nothing_yet(store: Store) {
        let world = World::in_store(store).await;
        let vans = vans(&world, 0, 7, "Gripwell Van").await;
        driven(&world, 0..7, &[100]).await;
        look(&world, 0..7, 100, 0.24).await;
        let done = refit(&world.clerk, world.fleet).await.expect("refitted");
        assert_eq!((done.rates_adopted, done.rates_kept), (0, 0));
        assert_eq!(seen(&world, vans[0], None).await.0, []);
    }
}
