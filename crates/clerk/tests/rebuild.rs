//! Derived rows can be thrown away: they are what the facts give, a tampered one is named, and rebuilding mends it.

use clerk::meters::NewHours;
use clerk::rebuild::{Proof, prove, rebuild};
use clerk::vehicles::VehicleChange;
use model::horizon::DueItem;
use model::{CoverageTerms, ReadingSource, VehicleId};
use quantity::{Entered, Unit};
use std::collections::BTreeSet;
use store::Reach;
use store::derived::{ItemFilter, WindowFilter};
use store::marks::MarkRow;
use store::notices::NoticeRow;
use testkit::spoilt::{self, Spoiling};
use testkit::world::{World, measured};

fn terms() -> CoverageTerms {
    serde_json::from_value(serde_json::json!({
        "kind": "warranty", "title": "Powertrain", "scope": [], "starts_on": null, "start_odometer": null,
        "opened_by": null, "months": 36, "distance": {"value": 100_000.0, "unit": "km"}, "distance_from": "zero",
        "last_day": "day_before", "capacity_floor_percent": null, "voided_by": null,
    }))
    .expect("terms")
}

/// Two vans with something in every derived table, all worked off.
async fn lived_in(world: &World) -> VehicleId {
    let van = world.van("Van 1").await;
    world.service(van, "2026-09-01", 12_000.0, "engine-oil").await;
    for (at, value) in [("02-05", 20_000.0), ("02-12", 21_000.0), ("02-19", 22_100.0), ("02-26", 23_000.0)] {
        world.reading(van, &format!("2027-{at}T08:00:00Z"), value).await;
    }
    let mut act = world.act().await;
    clerk::coverage::open(&mut act, van, terms()).await.expect("a window");
    let hours =
        NewHours { value: Entered::new(812.5, Unit::Hour), read_at: act.at(), source: ReadingSource::Driver };
    clerk::meters::record_hours(&mut act, van, hours).await.expect("hours");
    act.commit().await.expect("committed");
    let mut entry = world.entry("Van 1");
    entry.measurements = vec![measured("tread-depth", "front_left", "lowest", 2.4, "mm")];
    world.post(&[entry]).await;
    world.van("Van 2").await;
    world.tick().await;
    van
}

async fn proof(world: &World) -> Proof {
    prove(&world.clerk, world.fleet, None).await.expect("a proof")
}

async fn spoil(world: &World, spoiling: Spoiling) -> usize {
    usize::try_from(spoiling.done_to(world.clerk.store()).await).expect("a few rows")
}

/// Everything that is derived or decided about the fleet, as lists show it.
#[derive(Debug, PartialEq)]
struct Shown {
    items: Vec<DueItem>,
    windows: usize,
    marks: Vec<MarkRow>,
    notices: Vec<NoticeRow>,
    wakes: Vec<Option<chrono::DateTime<chrono::Utc>>>,
}

async fn shown(world: &World) -> Shown {
    let (fleet, now) = (world.fleet, world.clerk.now());
    let mut tx = world.clerk.store().reader(Reach::Fleet(fleet)).await.expect("a reader");
    let conn = &mut tx.conn();
    let items = store::derived::due_items(conn, fleet, &ItemFilter::default(), now, None, 200).await;
    let windows = store::derived::windows(conn, fleet, &WindowFilter::default(), now, None, 200).await;
    let states = store::states::page(conn, fleet, None, 99).await.expect("states");
    let mut marks = Vec::new();
    for state in &states {
        marks.extend(store::marks::of_vehicle(conn, fleet, state.vehicle).await.expect("marks"));
    }
    Shown {
        items: items.expect("items").into_iter().map(|row| row.item).collect(),
        windows: windows.expect("windows").len(),
        marks,
        notices: store::notices::page(conn, fleet, None, 999).await.expect("notices"),
        wakes: states.into_iter().map(|state| state.wakes_at).collect(),
    }
}

testkit::on_both_engines! {
    async fn what_is_kept_is_what_the_facts_give(store: Store) {
        let world = World::in_store(store).await;
        lived_in(&world).await;
        let proof = proof(&world).await;
        assert_eq!((proof.vehicles, &proof.behind, &proof.differences), (2, &vec![], &vec![]));
        assert!(proof.rows > 30, "{} rows", proof.rows);
    }

    async fn each_spoilt_row_is_named_and_rebuilding_mends_it(store: Store) {
        let world = World::in_store(store).await;
        let van = lived_in(&world).await;
        let before = shown(&world).await;
        for spoiling in spoilt::OF_DERIVED_TABLES {
            let (table, how) = (spoiling.table, spoiling.text);
            let touched = spoil(&world, spoiling).await;
            assert!(touched > 0, "nothing to spoil by {how}");
            let found = proof(&world).await.differences;
            let tables: BTreeSet<&str> = found.iter().map(|(_, one)| one.table).collect();
            assert_eq!((tables, found.len()), (BTreeSet::from([table]), touched), "{how}");
            assert!(found.iter().any(|(vehicle, _)| *vehicle == van), "{how}");
            assert!(found.iter().all(|(_, one)| one.stored != one.computed), "{how}");
            let rebuilt = rebuild(&world.clerk, world.fleet, None).await.expect("rebuilt");
            let written = if table == "vehicle_state" { 0 } else { u64::try_from(touched).expect("a few") };
            assert_eq!((rebuilt.vehicles, rebuilt.written, rebuilt.next), (2, written, None), "{how}");
            assert_eq!(proof(&world).await.differences, [], "{how}");
        }
        assert_eq!(shown(&world).await, before);
    }

    async fn a_row_too_many_is_named_and_a_told_mark_is_left_alone(store: Store) {
        let world = World::in_store(store).await;
        lived_in(&world).await;
        let before = shown(&world).await;
        let added = spoil(&world, spoilt::MARKS_TOO_MANY).await;
        let found = proof(&world).await.differences;
        let extra: Vec<_> = found.iter().filter(|(_, one)| one.computed.is_none() && one.table == "mark").collect();
        let settled = before.marks.iter().filter(|row| row.key.item_key == "rule:brake-fluid")
            .filter(|row| row.outcome != model::MarkOutcome::Waiting).count();
        assert_eq!((extra.len(), found.len()), (added - settled, extra.len()));
        assert!(extra.len() >= 2 && extra[0].1.key.starts_with("rule:nobody "), "{extra:?}");
    }

    async fn what_is_behind_is_reported_as_such_and_not_as_different(store: Store) {
        let world = World::in_store(store).await;
        let van = lived_in(&world).await;
        spoil(&world, spoilt::CYCLES).await;
        let mut tx = world.clerk.store().writer(Reach::Fleet(world.fleet)).await.expect("a writer");
        store::states::raise_needed(&mut tx.conn(), world.fleet, &[van]).await.expect("raised");
        tx.commit().await.expect("committed");
        let raised = proof(&world).await;
        assert_eq!((raised.vehicles, raised.behind), (1, vec![van]));
        assert!(raised.differences.iter().all(|(vehicle, _)| *vehicle != van));
        spoil(&world, spoilt::ENGINES).await;
        let older = proof(&world).await;
        assert_eq!((older.vehicles, older.behind.len(), older.differences), (0, 2, vec![]));
        rebuild(&world.clerk, world.fleet, None).await.expect("rebuilt");
        let mended = proof(&world).await;
        assert_eq!((mended.vehicles, mended.behind, mended.differences), (2, vec![], vec![]));
    }

    async fn a_large_fleet_is_proven_slice_by_slice_each_vehicle_once(store: Store) {
        let world = World::in_store(store).await;
        for number in 1..=66 {
            world.van(&format!("Van {number}")).await;
        }
        world.tick().await;
        let first = proof(&world).await;
        let second = prove(&world.clerk, world.fleet, first.next).await.expect("a proof");
        assert_eq!((first.vehicles, second.vehicles, second.next), (64, 2, None));
        assert_eq!((first.differences, second.differences), (vec![], vec![]));
    }

    async fn a_vehicle_that_left_the_fleet_is_proven_to_have_nothing_coming(store: Store) {
        let world = World::in_store(store).await;
        let van = lived_in(&world).await;
        let mut act = world.act().await;
        clerk::vehicles::retire(&mut act, van, 1, testkit::world::day("2027-03-01")).await.expect("retired");
        act.commit().await.expect("committed");
        let proof = proof(&world).await;
        assert_eq!((proof.vehicles, proof.differences), (2, vec![]));
        assert!(shown(&world).await.windows == 0);
    }

    /// Each round asks for new horizons of all and lets the scheduler work them off.
    async fn r11_an_unchanged_fleet_evaluated_a_thousand_times_changes_no_row(store: Store) {
        let world = World::in_store(store).await;
        lived_in(&world).await;
        let before = shown(&world).await;
        let (mut renewed, mut written) = (0, 0);
        for _ in 0..1000 {
            let mut tx = world.clerk.store().writer(Reach::Fleet(world.fleet)).await.expect("a writer");
            store::states::raise_needed_all(&mut tx.conn(), world.fleet).await.expect("raised");
            tx.commit().await.expect("committed");
            let done = world.tick().await;
            renewed += done.renewed;
            written += done.written;
        }
        assert_eq!((renewed, written), (2000, 0));
        assert_eq!(shown(&world).await, before);
    }

    async fn a_change_of_one_van_writes_rows_of_that_van_alone(store: Store) {
        let world = World::in_store(store).await;
        let van = lived_in(&world).await;
        let mut act = world.act().await;
        let change = VehicleChange { parked: Some(true), ..VehicleChange::default() };
        clerk::vehicles::change(&mut act, van, 1, change).await.expect("changed");
        act.commit().await.expect("committed");
        let rebuilt = rebuild(&world.clerk, world.fleet, None).await.expect("rebuilt");
        assert_eq!((rebuilt.vehicles, rebuilt.written), (2, 0), "the act has written all there was to write");
    }
}
