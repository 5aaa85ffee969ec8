//! A technician's batch: four kinds of result, nothing measured lost, the same state however often and in what order
//! it comes.

use clerk::inspections::{EntryOutcome, EntryResult, HeldReason};
use model::horizon::Horizon;
use model::{Doubt, Grade};
use quantity::{Entered, Unit};
use store::Reach;
use testkit::world::{World, code, instant, km, measured};

fn kinds(results: &[EntryResult]) -> Vec<&'static str> {
    let kind = |result: &EntryResult| match result.outcome {
        EntryOutcome::Accepted(_) => "accepted",
        EntryOutcome::Duplicate { .. } => "duplicate",
        EntryOutcome::Held { .. } => "held",
        EntryOutcome::Rejected { .. } => "rejected",
    };
    results.iter().map(kind).collect()
}

async fn horizon(world: &World, vehicle: model::VehicleId) -> Horizon {
    clerk::horizons::of(&world.clerk, world.fleet, vehicle).await.expect("read").expect("a vehicle").horizon
}

testkit::on_both_engines! {
    async fn five_entries_get_five_results_and_only_the_refused_one_is_not_stored(store: Store) {
        let world = World::in_store(store).await;
        for label in ["Van 1", "Van 2", "Van 3", "Van 4"] {
            let van = world.van(label).await;
            world.reading(van, "2027-02-10T08:00:00Z", 19_000.0).await;
            world.reading(van, "2027-02-20T08:00:00Z", 20_000.0).await;
        }
        let mut good = world.entry("Van 1");
        good.measurements = vec![measured("tread-depth", "front_left", "lowest", 1.2, "mm")];
        world.post(&[good.clone()]).await;
        let mut backwards = world.entry("Van 2");
        backwards.odometer = Some(km(12_000.0));
        backwards.measurements = vec![measured("cold-pressure", "front_left", "whole", 300.0, "kPa")];
        let mut unknown = world.entry("Van 3");
        unknown.check_sheet.code = code("shoe-fitting");
        let plain = world.entry("Van 4");
        let nobody = world.entry("Van 99");

        let results = world.post(&[plain, good, backwards, unknown.clone(), nobody]).await;

        assert_eq!(kinds(&results), ["accepted", "duplicate", "held", "rejected", "rejected"]);
        let EntryOutcome::Held { taken, parts } = &results[2].outcome else { panic!("held") };
        assert_eq!(parts[0].pointer, "/odometer");
        assert!(matches!(parts[0].reason, HeldReason::Doubt(Doubt::RunsBackwards { .. })));
        assert_eq!(taken.grades[0].grade, Grade::Good);
        let EntryOutcome::Rejected { status, faults, .. } = &results[3].outcome else { panic!("rejected") };
        assert_eq!((*status, faults[0].pointer.as_str()), (422, "/check_sheet"));
        let mut tx = world.clerk.store().reader(Reach::Fleet(world.fleet)).await.expect("a reader");
        let kept = store::inspections::page_rejected(&mut tx.conn(), world.fleet, None, 10).await.expect("a page");
        assert!(kept.iter().any(|(_, _, row)| row.raw.contains("shoe-fitting")), "the refused entry is kept raw");
    }

    async fn a_tyre_below_the_law_says_do_not_drive_on_the_spot(store: Store) {
        let world = World::in_store(store).await;
        world.van("Van 1").await;
        let mut entry = world.entry("Van 1");
        entry.measurements = vec![measured("tread-depth", "front_left", "lowest", 1.2, "mm")];

        let results = world.post(&[entry]).await;

        let EntryOutcome::Accepted(taken) = &results[0].outcome else { panic!("accepted") };
        assert!(taken.do_not_drive);
        assert_eq!(taken.grades[0].grade, Grade::DoNotDrive);
        assert!(taken.grades[0].caution.is_some());
    }

    async fn a_mile_typed_for_a_kilometre_is_held_with_what_was_probably_meant(store: Store) {
        let world = World::in_store(store).await;
        let van = world.van("Van 1").await;
        world.reading(van, "2027-02-10T08:00:00Z", 31_000.0).await;
        world.reading(van, "2027-02-20T08:00:00Z", 32_000.0).await;
        let mut entry = world.entry("Van 1");
        entry.odometer = Some(km(20_100.0));

        let results = world.post(&[entry]).await;

        let EntryOutcome::Held { parts, .. } = &results[0].outcome else { panic!("held") };
        let suggested = parts[0].suggested.expect("a suggestion");
        let kilometres = Entered::from_exact(suggested.exact().expect("exact"), Unit::Kilometre).value;
        assert!((kilometres - 20_100.0 * 1.609_344).abs() < 1.0, "{kilometres}");
    }

    async fn an_entry_id_with_other_content_clashes_and_leaves_the_first_alone(store: Store) {
        let world = World::in_store(store).await;
        let van = world.van("Van 1").await;
        let mut entry = world.entry("Van 1");
        entry.odometer = Some(km(30_000.0));
        world.post(&[entry.clone()]).await;
        let before = horizon(&world, van).await;
        entry.odometer = Some(km(30_500.0));

        let results = world.post(&[entry]).await;

        let EntryOutcome::Rejected { status, .. } = results[0].outcome else { panic!("rejected") };
        assert_eq!(status, 409);
        assert_eq!(horizon(&world, van).await, before);
    }

    async fn one_entry_twice_in_a_batch_is_stored_once(store: Store) {
        let world = World::in_store(store).await;
        world.van("Van 1").await;
        let entry = world.entry("Van 1");
        assert_eq!(kinds(&world.post(&[entry.clone(), entry]).await), ["accepted", "duplicate"]);
    }

    async fn a_phone_a_day_and_an_hour_off_is_held_and_never_set_to_now(store: Store) {
        let world = World::in_store(store).await;
        world.van("Van 1").await;
        let mut entry = world.entry("Van 1");
        entry.performed_at = instant("2024-03-01T07:00:00Z");
        let mut batch = world.batch(world.clerk.new_id(), &[entry]);
        batch.device_sent_at = instant("2024-03-01T08:00:00Z");
        let mut act = world.act().await;

        let results = clerk::inspections::take_in(&mut act, batch).await.expect("a batch");
        act.commit().await.expect("committed");

        let EntryOutcome::Held { taken, parts } = &results[0].outcome else { panic!("held") };
        assert_eq!(parts[0].reason, HeldReason::Clock);
        let mut tx = world.clerk.store().reader(Reach::Fleet(world.fleet)).await.expect("a reader");
        let kept = store::inspections::find(&mut tx.conn(), world.fleet, taken.vehicle, taken.inspection).await;
        assert_eq!(kept.expect("read").expect("kept").performed_at, instant("2024-03-01T07:00:00Z"));
    }
}

/// R32 in small: however a day's readings are ordered and split, judgements and due dates come out the same.
#[test]
fn r32_the_same_entries_in_any_order_give_the_same_state() {
    let orders = [[0, 1, 2, 3], [3, 2, 1, 0], [2, 0, 3, 1]];
    let states: Vec<_> = orders.iter().map(|order| testkit::tell(state_after(order))).collect();
    assert_eq!(states[0], states[1]);
    assert_eq!(states[0], states[2]);
}

/// Posts four readings in this order, each in a batch of its own; tells verdicts by value and the oil's due moments.
async fn state_after(order: &[usize; 4]) -> (Vec<String>, Vec<String>) {
    let world = World::in_store(testkit::sqlite::in_memory().await).await;
    let van = world.van("Van 1").await;
    let told = [
        ("2027-02-01T09:00:00Z", 20_000.0),
        ("2027-02-08T09:00:00Z", 21_000.0),
        ("2027-02-15T09:00:00Z", 12_000.0),
        ("2027-02-22T09:00:00Z", 22_500.0),
    ];
    for index in order {
        let (at, value) = told[*index];
        let mut entry = world.entry("Van 1");
        entry.performed_at = instant(at);
        entry.odometer = Some(km(value));
        world.post(&[entry]).await;
    }
    let horizon = horizon(&world, van).await;
    let verdicts = horizon.judgements.iter().map(|judgement| format!("{:?}", judgement.verdict)).collect();
    let oil = horizon.items.iter().filter(|item| item.key.0 == "rule:engine-oil");
    (verdicts, oil.map(|item| format!("{:?} {:?}", item.timeline, item.crossing)).collect())
}
