//! Clocks that jump: what is told, what waits again, and what goes on, on both engines.

use chrono::{DateTime, TimeDelta, Utc};
use clerk::Clerk;
use model::{MarkOutcome, NoticeState, VehicleId};
use scheduler::{Scheduler, Ticked};
use std::collections::BTreeSet;
use std::sync::Arc;
use store::marks::MarkRow;
use store::notices::NoticeRow;
use store::{Engine, Reach};
use testkit::SeededChance;
use testkit::world::World;

const TWO_YEARS: TimeDelta = TimeDelta::days(730);

async fn notices(world: &World) -> Vec<NoticeRow> {
    let mut tx = world.clerk.store().reader(Reach::Fleet(world.fleet)).await.expect("a reader");
    store::notices::page(&mut tx.conn(), world.fleet, None, 1000).await.expect("a page")
}

async fn marks(world: &World, van: VehicleId) -> Vec<MarkRow> {
    let mut tx = world.clerk.store().reader(Reach::Fleet(world.fleet)).await.expect("a reader");
    store::marks::of_vehicle(&mut tx.conn(), world.fleet, van).await.expect("marks")
}

async fn settled(world: &World, van: VehicleId) -> Vec<MarkRow> {
    let all = marks(world, van).await;
    all.into_iter().filter(|mark| mark.outcome != MarkOutcome::Waiting).collect()
}

async fn next_runs(world: &World) -> Vec<DateTime<Utc>> {
    let mut tx = world.clerk.store().reader(Reach::Fleet(world.fleet)).await.expect("a reader");
    let jobs = store::jobs::of_fleet(&mut tx.conn(), world.fleet).await.expect("jobs");
    jobs.into_iter().map(|job| job.next_due_at).collect()
}

async fn tick(scheduler: &Scheduler) -> Ticked {
    scheduler.tick().await.expect("a tick")
}

/// A van with something ahead, all of whose past is told, and the moment of its next mark.
async fn van_at_rest(world: &World, scheduler: &Scheduler) -> (VehicleId, DateTime<Utc>) {
    let van = world.van("Van 1").await;
    tick(scheduler).await;
    let next = clerk::watch::next_wake(&world.clerk).await.expect("a time").expect("something ahead");
    (van, next)
}

/// The program on the same store, started anew.
fn started_anew(world: &World) -> Scheduler {
    let chance = Arc::new(SeededChance::from_seed(7));
    Scheduler::new(Clerk::new(world.clerk.store().clone(), world.clock.clone(), chance))
}

testkit::on_both_engines! {
    async fn r07_by_a_clock_two_years_ahead_nothing_is_told_and_horizons_are_renewed(store: Store) {
        let world = World::in_store(store).await;
        let scheduler = Scheduler::new(world.clerk.clone());
        let (van, _) = van_at_rest(&world, &scheduler).await;
        let (before, told, runs) = (marks(&world, van).await, notices(&world).await, next_runs(&world).await);
        world.clock.jump(TWO_YEARS);
        world.clock.pass(TimeDelta::seconds(20));
        let mut tx = world.clerk.store().writer(Reach::Fleet(world.fleet)).await.expect("a writer");
        store::states::raise_needed(&mut tx.conn(), world.fleet, &[van]).await.expect("raised");
        tx.commit().await.expect("committed");

        let held = tick(&scheduler).await;
        assert_eq!((held.renewed, held.fired, held.notices, held.jobs), (1, 0, 0, 0));
        assert_eq!(tick(&scheduler).await, Ticked::default());
        assert_eq!((marks(&world, van).await, notices(&world).await), (before.clone(), told.clone()));

        world.clock.jump(-TWO_YEARS);
        assert_eq!(tick(&scheduler).await, Ticked::default());
        assert_eq!((marks(&world, van).await, notices(&world).await), (before, told));
        assert_eq!(next_runs(&world).await, runs);
    }

    async fn r07_marks_fired_under_a_clock_a_day_ahead_wait_again_and_are_told_once_when_they_come(store: Store) {
        let world = World::in_store(store).await;
        let scheduler = Scheduler::new(world.clerk.clone());
        let (van, next) = van_at_rest(&world, &scheduler).await;
        world.clock.set(next - TimeDelta::hours(12));
        tick(&scheduler).await;
        let (before, told) = (marks(&world, van).await, notices(&world).await.len());

        world.clock.jump(TimeDelta::days(1));
        assert!(tick(&scheduler).await.fired > 0, "a day is not enough not to be believed");
        let early: Vec<_> = notices(&world).await.split_off(told);
        assert!(!early.is_empty() && early.iter().all(|one| one.state == NoticeState::Waiting));

        world.clock.jump(TimeDelta::days(-1));
        tick(&scheduler).await;
        assert_eq!(marks(&world, van).await, before);
        let taken_back = notices(&world).await;
        let is_withdrawn = |id| taken_back.iter().any(|one| one.notice.id == id && one.state == NoticeState::Withdrawn);
        assert!(early.iter().all(|one| is_withdrawn(one.notice.id)), "{taken_back:?}");

        world.clock.set(next);
        assert!(tick(&scheduler).await.fired > 0);
        let again = notices(&world).await;
        assert_eq!(again.len(), told + early.len(), "the same decisions, under the same keys");
        let is_told = |id| again.iter().any(|one| one.notice.id == id && one.state == NoticeState::Waiting);
        assert!(early.iter().all(|one| is_told(one.notice.id)), "{again:?}");
        let of_slots = again.iter().filter(|one| one.state == NoticeState::Waiting && !one.notice.urgent);
        for one in of_slots {
            assert!(one.not_before - next <= TimeDelta::days(8), "{one:?}");
        }
    }

    /// Alone it cannot know; PostgreSQL's clock tells it.
    async fn r07_what_a_program_did_that_began_two_years_ahead_is_mended_when_it_starts_again(store: Store) {
        let world = World::in_store(store).await;
        let (van, _) = van_at_rest(&world, &Scheduler::new(world.clerk.clone())).await;
        let (before, told, runs) = (settled(&world, van).await, notices(&world).await, next_runs(&world).await);
        world.clock.jump(TWO_YEARS);
        let wrong = tick(&started_anew(&world)).await;
        match world.clerk.store().engine() {
            Engine::Sqlite => assert!(wrong.fired > 0 && wrong.notices > 0 && wrong.jobs > 0, "{wrong:?}"),
            Engine::Postgres => assert_eq!(wrong, Ticked::default()),
        }

        world.clock.jump(-TWO_YEARS);
        let anew = started_anew(&world);
        tick(&anew).await;

        assert_eq!(settled(&world, van).await, before);
        let now = notices(&world).await;
        let stands: Vec<_> = now.iter().filter(|one| one.state != NoticeState::Withdrawn).collect();
        assert_eq!(stands, told.iter().filter(|one| one.state != NoticeState::Withdrawn).collect::<Vec<_>>());
        assert_eq!(next_runs(&world).await, runs, "recurring work comes as it would have come");
        assert_eq!(tick(&anew).await, Ticked::default());
    }

    async fn r07_a_clock_that_was_set_back_is_worked_by_and_nothing_is_told_twice(store: Store) {
        let world = World::in_store(store).await;
        let scheduler = Scheduler::new(world.clerk.clone());
        let van = world.van("Van 1").await;
        world.reading(van, "2027-02-25T08:00:00Z", 27_000.0).await;
        world.clock.pass(TimeDelta::days(3));
        tick(&scheduler).await;
        let told = notices(&world).await;

        world.clock.jump(TimeDelta::days(-1));
        tick(&scheduler).await;
        let late = world.van("Van 2").await;
        world.reading(late, "2027-02-25T08:00:00Z", 27_000.0).await;
        let behind = tick(&scheduler).await;
        world.clock.jump(TimeDelta::days(1));
        tick(&scheduler).await;

        let all = notices(&world).await;
        assert!(behind.fired > 0 && behind.notices > 0, "{behind:?}");
        let of_first: Vec<_> = all.iter().filter(|one| one.notice.vehicle == van).collect();
        assert_eq!(of_first.len(), told.len());
        assert!(of_first.iter().all(|one| one.state == NoticeState::Waiting), "{of_first:?}");
    }

    async fn r13_recurring_work_runs_when_its_outlook_said(store: Store) {
        let world = World::in_store(store).await;
        let scheduler = Scheduler::new(world.clerk.clone());
        tick(&scheduler).await;
        let mut tx = world.clerk.store().reader(Reach::Fleet(world.fleet)).await.expect("a reader");
        let foretold = clerk::jobs::outlook(&mut tx.conn(), world.fleet).await.expect("an outlook");
        drop(tx);
        assert_eq!(foretold.len(), clerk::jobs::JOBS.len());
        // All of them in the order they come, each looked for a second too early as well.
        let moments: BTreeSet<_> = foretold.iter().flat_map(|one| one.next.iter().copied()).collect();
        for due_at in moments {
            world.clock.set(due_at - TimeDelta::seconds(1));
            tick(&scheduler).await;
            world.clock.set(due_at);
            tick(&scheduler).await;
        }
        for one in foretold {
            assert_eq!(one.next.len(), 5);
            let mut tx = world.clerk.store().reader(Reach::Fleet(world.fleet)).await.expect("a reader");
            let runs = store::jobs::runs(&mut tx.conn(), world.fleet, &one.job.code).await.expect("runs");
            let made: Vec<_> =
                runs.iter().filter(|run| run.outcome == "done").map(|run| run.due_at).take(5).collect();
            assert_eq!(made, one.next, "{}", one.job.code);
            let began: Vec<_> = runs.iter().filter_map(|run| run.started_at).take(5).collect();
            assert_eq!(began, one.next, "{} began when it was due", one.job.code);
        }
    }
}
