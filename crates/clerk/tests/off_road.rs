//! Vehicles off the road: one stay at a time, and no nagging while it lasts.

use chrono::{DateTime, TimeDelta, Utc};
use clerk::ActError;
use clerk::stays::{self, NewStay};
use model::{MarkOutcome, NoticeState, Stay, VehicleId};
use store::Reach;
use store::marks::MarkRow;
use testkit::post::notices;
use testkit::world::{World, instant, measured};

fn new_stay(in_at: &str, out_at: Option<&str>) -> NewStay {
    NewStay {
        workshop: None,
        in_at: instant(in_at),
        out_at: out_at.map(instant),
        reason: "Gearbox".to_owned(),
        waiting_for: Some("A bearing".to_owned()),
    }
}

async fn open(world: &World, van: VehicleId, new: NewStay) -> Result<Stay, ActError> {
    let mut act = world.act().await;
    let stay = stays::open(&mut act, van, new).await?;
    act.commit().await?;
    Ok(stay)
}

async fn close(world: &World, van: VehicleId, stay: &Stay, out_at: DateTime<Utc>) -> Result<Stay, ActError> {
    let mut act = world.act().await;
    let closed = stays::close(&mut act, van, stay.id, out_at).await?;
    act.commit().await?;
    Ok(closed)
}

/// A van whose oil is overdue, as nobody has been told yet.
async fn overdue_van(world: &World) -> VehicleId {
    let van = world.van("Van 1").await;
    world.reading(van, "2027-02-25T08:00:00Z", 27_000.0).await;
    van
}

async fn oil_mark(world: &World, van: VehicleId) -> Option<MarkRow> {
    let mut tx = world.clerk.store().reader(Reach::Fleet(world.fleet)).await.expect("a reader");
    let marks = store::marks::of_vehicle(&mut tx.conn(), world.fleet, van).await.expect("marks");
    marks.into_iter().find(|row| row.key.item_key == "rule:engine-oil" && row.key.mark == "overdue")
}

/// Codes and pointers of what was refused.
fn refused<T: std::fmt::Debug>(told: Result<T, ActError>) -> Vec<(String, String)> {
    match told {
        Err(ActError::Faults(faults)) => faults.into_iter().map(|one| (one.pointer, one.code)).collect(),
        Err(ActError::Conflict { code, .. }) => vec![(String::new(), code.to_owned())],
        other => panic!("not refused: {other:?}"),
    }
}

fn fault(pointer: &str, code: &str) -> Vec<(String, String)> {
    vec![(pointer.to_owned(), code.to_owned())]
}

testkit::on_both_engines! {
    async fn two_stays_of_one_vehicle_never_overlap(store: Store) {
        let world = World::in_store(store).await;
        let (van, other) = (world.van("Van 1").await, world.van("Van 2").await);
        open(&world, van, new_stay("2027-02-10T08:00:00Z", Some("2027-02-12T08:00:00Z"))).await.expect("a stay");

        let overlapping = [
            ("2027-02-11T08:00:00Z", None),
            ("2027-02-01T08:00:00Z", None),
            ("2027-02-09T08:00:00Z", Some("2027-02-10T08:00:01Z")),
            ("2027-02-10T09:00:00Z", Some("2027-02-10T10:00:00Z")),
        ];
        for (from, to) in overlapping {
            let told = refused(open(&world, van, new_stay(from, to)).await);
            assert_eq!(told, fault("", "stays-overlap"), "{from}");
        }

        for (from, to) in [("2027-02-12T08:00:00Z", None), ("2027-02-09T08:00:00Z", Some("2027-02-10T08:00:00Z"))] {
            open(&world, van, new_stay(from, to)).await.expect("they only touch");
        }
        open(&world, other, new_stay("2027-02-10T08:00:00Z", None)).await.expect("another vehicle");
    }

    async fn a_stay_is_closed_once_after_it_began_and_not_ahead_of_time(store: Store) {
        let world = World::in_store(store).await;
        let van = world.van("Van 1").await;
        let stay = open(&world, van, new_stay("2027-02-10T08:00:00Z", None)).await.expect("a stay");

        let early = close(&world, van, &stay, instant("2027-02-10T08:00:00Z")).await;
        let ahead = close(&world, van, &stay, instant("2027-03-02T08:00:00Z")).await;
        assert_eq!(refused(early), fault("/out_at", "order"));
        assert_eq!(refused(ahead), fault("/out_at", "future"));
        let out = instant("2027-02-28T08:00:00Z");
        let closed = close(&world, van, &stay, out).await.expect("closed");
        assert_eq!(closed, Stay { out_at: Some(out), ..stay.clone() });
        assert_eq!(refused(close(&world, van, &stay, out).await), fault("", "already-closed"));
    }

    async fn what_falls_due_while_off_the_road_is_folded_with_the_reason(store: Store) {
        let world = World::in_store(store).await;
        let van = overdue_van(&world).await;
        open(&world, van, new_stay("2027-02-26T08:00:00Z", None)).await.expect("a stay");

        world.tick().await;

        let mark = oil_mark(&world, van).await.expect("a mark");
        assert_eq!(mark.outcome, MarkOutcome::Folded);
        assert!(mark.reason.as_ref().is_some_and(|why| why.contains("2027-02-26")), "{:?}", mark.reason);
        assert!(notices(&world).await.iter().all(|row| row.notice.key.item_key != "rule:engine-oil"));
    }

    async fn what_must_not_be_driven_is_told_at_once_all_the_same(store: Store) {
        let world = World::in_store(store).await;
        let van = world.van("Van 1").await;
        open(&world, van, new_stay("2027-02-26T08:00:00Z", None)).await.expect("a stay");
        let mut entry = world.entry("Van 1");
        entry.measurements = vec![measured("tread-depth", "front_left", "lowest", 1.2, "mm")];
        world.post(&[entry]).await;

        world.tick().await;

        let all = notices(&world).await;
        let told: Vec<_> = all.iter().filter(|row| row.notice.key.mark == "do_not_drive").collect();
        assert!(!told.is_empty() && told.iter().all(|row| row.notice.urgent && row.state == NoticeState::Waiting));
    }

    async fn what_waited_to_be_told_when_it_went_off_the_road_is_taken_back(store: Store) {
        let world = World::in_store(store).await;
        let van = overdue_van(&world).await;
        world.tick().await;
        assert!(notices(&world).await.iter().any(|row| row.notice.key.item_key == "rule:engine-oil"));

        open(&world, van, new_stay("2027-02-26T08:00:00Z", None)).await.expect("a stay");
        world.tick().await;

        let all = notices(&world).await;
        let oil: Vec<_> = all.iter().filter(|row| row.notice.key.item_key == "rule:engine-oil").collect();
        assert!(oil.iter().all(|row| row.state == NoticeState::Withdrawn), "{oil:?}");
        assert_eq!(oil_mark(&world, van).await.map(|mark| mark.outcome), Some(MarkOutcome::Folded));
    }

    async fn marks_that_come_after_it_came_out_are_told_again(store: Store) {
        let world = World::in_store(store).await;
        let van = world.van("Van 1").await;
        // Some way to go yet: 20,000 km at the 80 km a day that a newcomer is taken to drive.
        world.service(van, "2026-09-01", 1_000.0, "engine-oil").await;
        let stay = open(&world, van, new_stay("2027-02-26T08:00:00Z", None)).await.expect("a stay");
        world.tick().await;
        assert_eq!(oil_mark(&world, van).await.map(|mark| mark.outcome), Some(MarkOutcome::Waiting));

        close(&world, van, &stay, instant("2027-03-01T07:00:00Z")).await.expect("closed");
        world.clock.pass(TimeDelta::days(120));
        world.tick().await;

        assert_eq!(oil_mark(&world, van).await.map(|mark| mark.outcome), Some(MarkOutcome::Told));
    }

    async fn a_withdrawn_stay_leaves_the_vehicle_on_the_road(store: Store) {
        let world = World::in_store(store).await;
        let van = overdue_van(&world).await;
        let stay = open(&world, van, new_stay("2027-02-26T08:00:00Z", None)).await.expect("a stay");
        let mut act = world.act().await;
        stays::withdraw(&mut act, van, stay.id).await.expect("withdrawn");
        act.commit().await.expect("committed");

        world.tick().await;

        assert_eq!(oil_mark(&world, van).await.map(|mark| mark.outcome), Some(MarkOutcome::Told));
        let mut act = world.act().await;
        let again = stays::withdraw(&mut act, van, stay.id).await;
        assert!(matches!(again, Err(ActError::NotFound { kind: "stay" })), "{again:?}");
    }
}
