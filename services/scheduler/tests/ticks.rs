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

async fn refits(world: &World) -> Vec<(String, String)> {
    let mut tx = world.clerk.store().reader(Reach::Fleet(world.fleet)).await.expect("a reader");
    let runs = store::jobs::runs(&mut tx.conn(), world.fleet, "refit").await.expect("runs");
    runs.into_iter().map(|run| (run.due_at.format("%F %H:%M").to_string(), run.outcome)).collect()
}

fn runs(expected: &[(&str, &str)]) -> Vec<(String, String)> {
    expected.iter().map(|(at, outcome)| (format!("{at} 03:00"), (*outcome).to_owned())).collect()
}

testkit::on_both_engines! {
    async fn the_refit_runs_once_on_the_first_of_each_month(store: Store) {
        let world = World::in_store(store).await;
        overdue_vans(&world, 1).await;
        let scheduler = Scheduler::new(world.clerk.clone());
        let mut made = Vec::new();
        for at in ["2027-03-31T23:00:00Z", "2027-04-01T02:59:59Z", "2027-04-01T03:00:00Z", "2027-04-01T03:00:20Z",
            "2027-04-30T12:00:00Z", "2027-05-01T03:00:05Z"] {
            world.clock.set(testkit::world::instant(at));
            scheduler.tick().await.expect("a tick");
            made.push(refits(&world).await.len());
        }
        assert_eq!(made, [0, 0, 1, 1, 1, 2]);
        assert_eq!(refits(&world).await, runs(&[("2027-04-01", "done"), ("2027-05-01", "done")]));
    }

    async fn r02_of_missed_refits_the_last_is_made_and_the_others_are_recorded(store: Store) {
        let world = World::in_store(store).await;
        overdue_vans(&world, 1).await;
        world.clock.set(testkit::world::instant("2027-07-14T10:00:00Z"));
        let scheduler = Scheduler::new(world.clerk.clone());
        assert_eq!(scheduler.tick().await.expect("a tick").jobs, 4, "the refit, the lists of the week and of the day, and what is cleared out");
        assert_eq!(scheduler.tick().await.expect("a tick").jobs, 0);
        let expected =
            [("2027-04-01", "missed"), ("2027-05-01", "missed"), ("2027-06-01", "missed"), ("2027-07-01", "done")];
        assert_eq!(refits(&world).await, runs(&expected));
    }

    async fn two_schedulers_at_once_make_one_refit(store: Store) {
        let world = World::in_store(store).await;
        overdue_vans(&world, 2).await;
        world.clock.set(testkit::world::instant("2027-04-01T03:00:00Z"));
        let (one, other) = (Scheduler::new(world.clerk.clone()), Scheduler::new(world.clerk.clone()));
        let (first, second) = tokio::join!(one.tick(), other.tick());
        assert_eq!(first.expect("a tick").jobs + second.expect("a tick").jobs, 4, "the refit, the lists of the week and of the day, and what is cleared out");
        assert_eq!(refits(&world).await, runs(&[("2027-04-01", "done")]));
    }

    async fn a_refit_left_by_a_program_that_died_is_made_an_hour_later(store: Store) {
        let world = World::in_store(store).await;
        let due_at = testkit::world::instant("2027-04-01T03:00:00Z");
        let mut tx = world.clerk.store().writer(Reach::Fleet(world.fleet)).await.expect("a writer");
        let begun = store::jobs::begin(&mut tx.conn(), world.fleet, "refit", due_at, due_at, due_at).await;
        tx.commit().await.expect("committed");
        let scheduler = Scheduler::new(world.clerk.clone());
        let mut made = Vec::new();
        world.clock.set(due_at);
        scheduler.tick().await.expect("a tick");
        for minutes in [1, 60, 61, 62] {
            world.clock.set(due_at + TimeDelta::minutes(minutes));
            made.push(scheduler.tick().await.expect("a tick").jobs);
        }
        assert_eq!((begun.expect("an answer"), made), (true, vec![0, 0, 1, 0]));
        let mut tx = world.clerk.store().writer(Reach::Fleet(world.fleet)).await.expect("a writer");
        let now = world.clerk.now();
        let late = store::jobs::end(&mut tx.conn(), world.fleet, "refit", due_at, due_at, now, "late").await;
        assert!(!late.expect("an answer"), "whoever comes back late changes nothing");
    }

    async fn a_fleet_of_an_older_program_is_refitted_at_once(store: Store) {
        let world = World::in_store(store).await;
        testkit::spoilt::NO_JOBS.done_to(world.clerk.store()).await;
        let scheduler = Scheduler::new(world.clerk.clone());
        assert_eq!(scheduler.tick().await.expect("a tick").jobs, 1);
        assert_eq!(refits(&world).await, runs(&[("2027-03-01", "done")]));
    }

    async fn what_another_engine_made_is_made_anew_when_a_scheduler_starts(store: Store) {
        let world = World::in_store(store).await;
        overdue_vans(&world, 3).await;
        Scheduler::new(world.clerk.clone()).tick().await.expect("a tick");
        testkit::spoilt::ENGINES.done_to(world.clerk.store()).await;
        let started = Scheduler::new(world.clerk.clone());
        let (first, second) = (started.tick().await.expect("a tick"), started.tick().await.expect("a tick"));
        assert_eq!((first.vehicles, first.renewed, second), (3, 3, Ticked::default()));
    }

    async fn r10_one_tick_works_off_more_vehicles_than_one_slice_holds_in_slices_of_8_at_most(store: Store) {
        let world = World::in_store(store).await;
        overdue_vans(&world, 70).await;
        let scheduler = Scheduler::new(world.clerk.clone());

        let ticked = scheduler.tick().await.expect("a tick");

        assert_eq!((ticked.slices, ticked.vehicles, ticked.lost, ticked.faulty), (9, 70, 0, 0));
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
        assert_eq!(scheduler.tick().await.expect("a tick").fired, 0);
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
