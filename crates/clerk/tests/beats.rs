//! Beats of programs side by side: who turned last, who has fallen silent, and what one hears of another.

use chrono::TimeDelta;
use clerk::Clerk;
use clerk::beats::{Beat, Silence, Worker, heard};
use std::sync::Arc;
use std::time::Duration;
use store::{Engine, Reach};
use testkit::SeededChance;
use testkit::postgres::Database;
use testkit::world::World;

/// Another program on the same store.
fn another(world: &World, seed: u64) -> Clerk {
    let chance = Arc::new(SeededChance::from_seed(seed));
    Clerk::new(world.clerk.store().clone(), world.clock.clone(), chance)
}

testkit::on_both_engines! {
    async fn a_beat_tells_when_each_worker_turned_last_and_how_the_clock_stands(store: Store) {
        let world = World::in_store(store).await;
        let mut beat = Beat::new(world.clerk.clone(), "1.2.3");
        let began = world.clerk.now();
        world.clerk.note_turn(Worker::Scheduler);
        world.clock.pass(TimeDelta::seconds(7));
        world.clerk.note_turn(Worker::Courier);
        beat.beat().await.expect("a beat");
        world.clock.pass(TimeDelta::seconds(10));
        beat.beat().await.expect("a beat");

        let all = heard(&world.clerk).await.expect("heard");
        let [one] = all.as_slice() else { panic!("{all:?}") };
        let replica = &one.replica;
        let after = |seconds| began + TimeDelta::seconds(seconds);
        assert_eq!((replica.version.as_str(), replica.started_at, replica.beat_at), ("1.2.3", after(7), after(17)));
        assert_eq!((replica.scheduler_at, replica.courier_at, replica.read_at), (Some(began), Some(after(7)), Some(after(7))));
        assert_eq!((replica.clock.as_str(), replica.ahead_seconds, &one.silences), ("agreed", 0, &vec![]));

        world.clock.jump(TimeDelta::days(730));
        beat.beat().await.expect("a beat");
        let all = heard(&world.clerk).await.expect("heard");
        assert_eq!((all[0].replica.clock.as_str(), all[0].replica.ahead_seconds), ("ahead", 730 * 86_400));
    }

    async fn a_worker_that_turns_no_more_is_named_once(store: Store) {
        let world = World::in_store(store).await;
        let mut beat = Beat::new(world.clerk.clone(), "1");
        let mut said = Vec::new();
        for (minutes, turns) in [(0, true), (2, false), (1, false), (1, false), (1, true), (14, true), (3, false)] {
            world.clock.pass(TimeDelta::minutes(minutes));
            if turns {
                world.clerk.note_turn(Worker::Scheduler);
            }
            said.push(beat.beat().await.expect("a beat").into_iter().map(|(_, silence)| silence).collect::<Vec<_>>());
        }
        let none = Vec::new;
        let expected =
            [none(), none(), vec![Silence::Scheduler], none(), none(), vec![Silence::Courier], vec![Silence::Scheduler]];
        assert_eq!(said, expected, "the courier never turned: it has as long as its lease");
    }

    async fn who_takes_leave_is_not_silent(store: Store) {
        let world = World::in_store(store).await;
        let mut beat = Beat::new(world.clerk.clone(), "1");
        beat.beat().await.expect("a beat");
        beat.end().await.expect("gone");
        assert_eq!(heard(&world.clerk).await.expect("heard"), vec![]);
    }

    async fn one_that_falls_silent_is_named_by_the_other_and_forgotten_after_a_week(store: Store) {
        let world = World::in_store(store).await;
        let mut dead = Beat::new(another(&world, 2), "1");
        dead.beat().await.expect("a beat");
        let mut living = Beat::new(world.clerk.clone(), "1");
        let mut said = Vec::new();
        for span in [TimeDelta::seconds(120), TimeDelta::seconds(1), TimeDelta::minutes(1), TimeDelta::days(7)] {
            world.clock.pass(span);
            world.clerk.note_turn(Worker::Scheduler);
            world.clerk.note_turn(Worker::Courier);
            let named = living.beat().await.expect("a beat");
            said.push((named.len(), heard(&world.clerk).await.expect("heard").len()));
        }
        match world.clerk.store().engine() {
            Engine::Sqlite => assert_eq!(said, [(0, 1); 4], "one file, one process: the other has gone"),
            Engine::Postgres => assert_eq!(said, [(0, 2), (1, 2), (0, 2), (0, 1)]),
        }
    }

    async fn r11_a_beat_touches_one_row_and_nothing_that_is_derived(store: Store) {
        let world = World::in_store(store).await;
        let van = world.van("Van 1").await;
        world.tick().await;
        let mut beat = Beat::new(world.clerk.clone(), "1");
        for _ in 0..3 {
            world.clock.pass(TimeDelta::seconds(10));
            beat.beat().await.expect("a beat");
        }
        assert_eq!(heard(&world.clerk).await.expect("heard").len(), 1);
        let outlook = clerk::horizons::of(&world.clerk, world.fleet, van).await.expect("read").expect("a vehicle");
        let mut tx = world.clerk.store().writer(Reach::Fleet(world.fleet)).await.expect("a writer");
        let touched = store::derived::replace(&mut tx.conn(), world.fleet, world.depot, &outlook.horizon).await;
        tx.commit().await.expect("committed");
        assert_eq!((touched.expect("replaced"), world.tick().await.written), (0, 0));
    }
}

/// Long enough for any machine; what is waited for comes at once or never.
const FOREVER: Duration = Duration::from_mins(2);

/// Nothing but the other's word can ring this program's bell here: nobody polls, and its own store changes nothing.
#[test]
fn an_act_at_one_replica_is_heard_at_another() {
    let database = Database::fresh();
    testkit::tell(async {
        let world = World::in_store(database.open().await).await;
        let store = database.open().await.with_clock(world.clock.never_set());
        let other = Clerk::new(store, world.clock.clone(), Arc::new(SeededChance::from_seed(2)));
        let mut changes = other.store().changes();
        changes.wait_for_change().await.expect("it listens");

        world.van("Van 1").await;
        tokio::time::timeout(FOREVER, changes.wait_for_change())
            .await
            .expect("it is heard")
            .expect("a change");
        drop(changes);

        let (stop, stopped) = tokio::sync::oneshot::channel::<()>();
        let acting = async {
            // It has begun to listen.
            tokio::time::timeout(FOREVER, other.woken()).await.expect("woken");
            world.van("Van 2").await;
            tokio::time::timeout(FOREVER, other.woken()).await.expect("woken by the other's act");
            stop.send(()).expect("it listens still");
        };
        tokio::join!(other.hear_others(async { stopped.await.expect("told to stop") }), acting);
    });
}
