//! Ticks of the scheduler, on both engines.

use chrono::TimeDelta;
use model::NoticeState;
use scheduler::{Scheduler, Ticked};
use std::time::Duration;
use store::Reach;
use store::notices::NoticeRow;
use testkit::world::World;
use tokio::sync::oneshot;

async fn notices(world: &World) -> Vec<NoticeRow> {
    let mut tx = world.clerk.store().reader(Reach::Fleet(world.fleet)).await.expect("a reader");
    store::notices::page(&mut tx.conn(), world.fleet, None, 1000).await.expect("a page")
}

async fn overdue_vans(world: &World, count: usize) {
    for number in 1..=count {
        let van = world.van(&format!("Van {number}")).await;
        world.reading(van, "2027-02-25T08:00:00Z", 27_000.0).await;
    }
}

testkit::on_both_engines! {
    async fn r10_one_tick_works_off_more_vehicles_than_one_slice_holds(store: Store) {
        let world = World::in_store(store).await;
        overdue_vans(&world, 70).await;
        let scheduler = Scheduler::new(world.clerk.clone());

        let ticked = scheduler.tick().await.expect("a tick");

        assert_eq!((ticked.vehicles, ticked.lost, ticked.faulty), (70, 0, 0));
        let oil = notices(&world).await.iter().filter(|row| row.notice.key.item_key == "rule:engine-oil").count();
        assert_eq!(oil, 70);
    }

    async fn r11_a_second_tick_at_the_same_instant_does_nothing(store: Store) {
        let world = World::in_store(store).await;
        overdue_vans(&world, 3).await;
        let scheduler = Scheduler::new(world.clerk.clone());
        scheduler.tick().await.expect("a tick");
        let before = notices(&world).await;

        assert_eq!(scheduler.tick().await.expect("a tick"), Ticked::default());
        assert_eq!(notices(&world).await.len(), before.len());
    }

    async fn r08_two_schedulers_at_once_tell_everything_once(store: Store) {
        let world = World::in_store(store).await;
        overdue_vans(&world, 10).await;
        let (one, other) = (Scheduler::new(world.clerk.clone()), Scheduler::new(world.clerk.clone()));

        let (first, second) = tokio::join!(one.tick(), other.tick());

        let (first, second) = (first.expect("a tick"), second.expect("a tick"));
        assert_eq!((first.vehicles + second.vehicles, first.lost + second.lost), (10, 0));
        let oil = notices(&world).await.iter().filter(|row| row.notice.key.item_key == "rule:engine-oil").count();
        assert_eq!(oil, 10);
    }

    async fn a_mark_is_told_when_its_moment_has_come_and_not_before(store: Store) {
        let world = World::in_store(store).await;
        world.van("Van 1").await;
        let scheduler = Scheduler::new(world.clerk.clone());
        scheduler.tick().await.expect("a tick");
        let before = notices(&world).await.len();
        let wakes = clerk::watch::next_wake(&world.clerk).await.expect("a time").expect("something ahead");

        world.clock.set(wakes - TimeDelta::seconds(1));
        assert_eq!(scheduler.tick().await.expect("a tick"), Ticked::default());
        world.clock.set(wakes);
        assert!(scheduler.tick().await.expect("a tick").fired > 0);

        assert!(notices(&world).await.len() > before);
    }

    async fn r01_after_four_hundred_days_of_downtime_no_mark_waits(store: Store) {
        let world = World::in_store(store).await;
        overdue_vans(&world, 2).await;
        world.clock.pass(TimeDelta::days(400));

        Scheduler::new(world.clerk.clone()).tick().await.expect("a tick");

        let vehicles: Vec<_> = notices(&world).await.iter().map(|row| row.notice.vehicle).collect();
        let mut tx = world.clerk.store().reader(Reach::Fleet(world.fleet)).await.expect("a reader");
        assert!(!vehicles.is_empty());
        for vehicle in vehicles {
            let marks = store::marks::of_vehicle(&mut tx.conn(), world.fleet, vehicle).await.expect("marks");
            let now = world.clerk.now();
            assert!(marks.iter().all(|mark| mark.fires_at > now || mark.outcome != model::MarkOutcome::Waiting));
        }
    }

    async fn a_running_scheduler_wakes_for_a_change_and_stops_when_told(store: Store) {
        let world = World::in_store(store).await;
        let scheduler = Scheduler::new(world.clerk.clone());
        let (stop, stopped) = oneshot::channel::<()>();
        let telling = async {
            overdue_vans(&world, 1).await;
            world.clerk.wake();
            while notices(&world).await.iter().all(|row| row.state != NoticeState::Waiting) {
                tokio::time::sleep(Duration::from_millis(5)).await;
            }
            stop.send(()).expect("the scheduler runs");
        };

        tokio::join!(scheduler.run(async { stopped.await.expect("told to stop") }), telling);

        assert!(notices(&world).await.iter().any(|row| row.notice.key.item_key == "rule:engine-oil"));
    }
}
