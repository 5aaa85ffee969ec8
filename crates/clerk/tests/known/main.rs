//! What was known at an instant of the past is told later as it was told then, whatever was recorded since.

mod steps;

use chrono::{DateTime, TimeDelta, Utc};
use clerk::horizons::{self, Outlook, View};
use clerk::vehicles::VehicleChange;
use model::{Clock, VehicleId};
use std::collections::BTreeSet;
use steps::{KINDS, step};
use store::Reach;
use testkit::SeededChance;
use testkit::world::{World, instant};

async fn seen(world: &World, van: VehicleId, view: View) -> Option<Outlook> {
    horizons::at(&world.clerk, world.fleet, van, view).await.expect("an answer")
}

fn known_at(at: DateTime<Utc>) -> View {
    View { known_at: Some(at), as_of: None }
}

/// What was known after each step, and which kinds of steps were taken.
struct Life {
    memory: Vec<(DateTime<Utc>, Outlook)>,
    kinds: BTreeSet<u64>,
}

/// Takes steps drawn by chance, and remembers what was known after each.
async fn live(world: &World, van: VehicleId, seed: u64, steps: u64) -> Life {
    let chance = SeededChance::from_seed(seed);
    let mut life = Life { memory: Vec::new(), kinds: BTreeSet::new() };
    for number in 0..steps {
        world.clock.pass(TimeDelta::hours(i64::try_from(1 + chance.below(90)).expect("few")));
        world.tick().await;
        let known = seen(world, van, View::default()).await.expect("the van").facts;
        let mut act = world.act().await;
        // Every kind comes once, then they come as chance has it. A refused step leaves nothing behind.
        let kind = if number < KINDS { number } else { chance.below(KINDS) };
        if step(world, &mut act, van, &known, kind).await.is_ok() {
            act.commit().await.expect("committed");
            life.kinds.insert(kind);
        } else {
            drop(act);
        }
        if number % 9 == 8 {
            clerk::fits::refit(&world.clerk, world.fleet).await.expect("refitted");
        }
        let now = world.clock.now();
        life.memory.push((now, seen(world, van, View::default()).await.expect("the van")));
    }
    life
}

fn assert_same(told: &Outlook, remembered: &Outlook, at: DateTime<Utc>, seed: u64) {
    assert_eq!(told.facts, remembered.facts, "facts known at {at}, seed {seed}");
    assert_eq!(told.policy, remembered.policy, "policy known at {at}, seed {seed}");
    assert_eq!(told.set_aside, remembered.set_aside, "what waits known at {at}, seed {seed}");
    assert_eq!(told.horizon, remembered.horizon, "horizon known at {at}, seed {seed}");
}

testkit::on_both_engines! {
    async fn what_was_known_then_is_told_later_as_it_was_told_then(store: Store) {
        let world = World::in_store(store).await;
        let van = world.van("Van 1").await;
        for seed in [1, 2] {
            let life = live(&world, van, seed, 60).await;
            assert_eq!(life.kinds, (0..KINDS).collect(), "every kind of step was taken, seed {seed}");
            for (at, remembered) in &life.memory {
                let told = seen(&world, van, known_at(*at)).await.expect("the van");
                assert_same(&told, remembered, *at, seed);
            }
        }
    }

    async fn known_now_is_what_is_stored(store: Store) {
        let world = World::in_store(store).await;
        let van = world.van("Van 1").await;
        live(&world, van, 3, 25).await;
        world.tick().await;
        let now = seen(&world, van, known_at(world.clock.now())).await.expect("the van").horizon;
        let mut tx = world.clerk.store().reader(Reach::Fleet(world.fleet)).await.expect("a reader");
        let conn = &mut tx.conn();
        let filter = store::derived::ItemFilter { vehicle: Some(van), ..Default::default() };
        let stored = store::derived::due_items(conn, world.fleet, &filter, world.clock.now(), None, 99).await;
        let mut stored: Vec<_> = stored.expect("a page").into_iter().map(|row| row.item).collect();
        stored.sort_by(|one, other| one.key.cmp(&other.key));
        let mut judged = now.judgements;
        judged.sort_by_key(|judgement| judgement.reading);
        assert_eq!(stored, now.items);
        assert_eq!(store::derived::judgements(conn, world.fleet, van).await.expect("an answer"), judged);
    }

    async fn a_withdrawn_service_is_there_before_its_withdrawal_and_gone_after(store: Store) {
        let world = World::in_store(store).await;
        let van = world.van("Van 1").await;
        world.service(van, "2027-02-26", 20_000.0, "engine-oil").await;
        let recorded = world.clock.now();
        world.clock.pass(TimeDelta::hours(2));
        let service = seen(&world, van, View::default()).await.expect("the van").facts.services[0].id;
        let mut act = world.act().await;
        clerk::services::withdraw(&mut act, van, service).await.expect("withdrawn");
        act.commit().await.expect("committed");
        let withdrawn = world.clock.now();
        for (at, there) in [
            (recorded, 1),
            (withdrawn - TimeDelta::microseconds(1), 1),
            (withdrawn, 0),
        ] {
            let known = seen(&world, van, known_at(at)).await.expect("the van").facts;
            assert_eq!((known.services.len(), known.readings.len()), (there, there), "known at {at}");
        }
    }

    async fn a_vehicle_was_not_known_before_it_was_recorded(store: Store) {
        let world = World::in_store(store).await;
        let van = world.van("Van 1").await;
        let before = world.clock.now() - TimeDelta::microseconds(1);
        assert!(seen(&world, van, known_at(before)).await.is_none());
        assert!(seen(&world, van, known_at(world.clock.now())).await.is_some());
    }

    /// The vehicle moves from Dublin to Auckland on 1 March 2027: before that day its days were Dublin's.
    async fn as_of_a_day_before_it_moved_a_vehicle_stands_at_its_former_depot(store: Store) {
        let world = World::in_store(store).await;
        let van = world.van("Van 1").await;
        let mut act = world.act().await;
        let zone = chrono_tz::Pacific::Auckland;
        let new = clerk::organisation::NewDepot {
            name: "South".to_owned(),
            zone,
            jurisdiction: model::Jurisdiction::Uk,
            design_low: None,
        };
        let south = clerk::organisation::create_depot(&mut act, new).await.expect("a depot").id;
        let move_there = VehicleChange { depot: Some(south), ..VehicleChange::default() };
        clerk::vehicles::change(&mut act, van, 1, move_there).await.expect("moved");
        act.commit().await.expect("committed");
        for (as_of, zone, law) in [
            ("2027-02-20T12:00:00Z", chrono_tz::Europe::Dublin, model::Jurisdiction::Eu),
            ("2027-03-02T12:00:00Z", zone, model::Jurisdiction::Uk),
        ] {
            let view = View { as_of: Some(instant(as_of)), known_at: None };
            let vehicle = seen(&world, van, view).await.expect("the van").facts.vehicle;
            assert_eq!((vehicle.zone, vehicle.jurisdiction), (zone, law), "{as_of}");
        }
    }
}
