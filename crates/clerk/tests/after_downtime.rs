//! What is told when no program ran for days: of each thing once, in the words of today.

use chrono::TimeDelta;
use clerk::post::{self, Delivery};
use model::{Clock, LetterKind, LetterState, NoticeState, VehicleId};
use std::collections::BTreeSet;
use store::Reach;
use store::notices::NoticeRow;
use testkit::post::{gather_each, notices, send};
use testkit::world::{World, instant};

/// A van whose oil falls due on 2027-03-20: near from the 6th, a Saturday, and overdue from the 28th.
async fn due_in_march(world: &World) -> VehicleId {
    let van = world.van("Van 1").await;
    world.service(van, "2026-03-20", 5_000.0, "engine-oil").await;
    world.reading(van, "2027-02-25T08:00:00Z", 9_000.0).await;
    van
}

async fn gather(world: &World) -> usize {
    gather_each(world, |_| (LetterKind::Notices, ())).await.len()
}

/// The manager's notices of the van's oil under a mark.
async fn of_oil(world: &World, mark: &str) -> NoticeRow {
    let all = notices(world).await;
    let is_it = |row: &NoticeRow| {
        row.notice.key.item_key == "rule:engine-oil"
            && row.notice.key.mark == mark
            && row.person == world.manager
    };
    all.into_iter().find(is_it).unwrap_or_else(|| panic!("no notice under {mark}"))
}

/// In how many letters the manager read of the oil.
async fn letters_of_oil(world: &World) -> usize {
    let all = notices(world).await;
    let told = all.iter().filter(|row| {
        row.notice.key.item_key == "rule:engine-oil"
            && row.person == world.manager
            && row.state == NoticeState::Told
    });
    told.map(|row| row.letter).collect::<BTreeSet<_>>().len()
}

/// Lives on for a week of mornings.
async fn live_on(world: &World) {
    for _ in 0..7 {
        world.clock.pass(TimeDelta::hours(24));
        world.tick().await;
        gather(world).await;
        send(world).await;
    }
}

testkit::on_both_engines! {
    async fn a_courier_that_is_first_leaves_what_the_scheduler_is_about_to_tell_anew(store: Store) {
        let world = World::in_store(store).await;
        due_in_march(&world).await;
        world.clock.set(instant("2027-03-06T01:00:00Z"));
        world.tick().await;
        assert_eq!(of_oil(&world, "approaching").await.state, NoticeState::Waiting);

        world.clock.set(instant("2027-03-31T07:30:00Z"));
        gather(&world).await;
        assert_eq!(of_oil(&world, "approaching").await.state, NoticeState::Waiting, "left for the scheduler");
        world.tick().await;
        let later = of_oil(&world, "overdue").await;
        assert!(later.not_before > world.clock.now(), "alone it would come on another morning");
        gather(&world).await;
        let (near, overdue) = (of_oil(&world, "approaching").await, of_oil(&world, "overdue").await);
        assert_eq!([near.state, overdue.state], [NoticeState::Gathered; 2]);
        assert_eq!(near.letter, overdue.letter);
        send(&world).await;
        assert_eq!(letters_of_oil(&world).await, 1);
    }

    async fn a_scheduler_that_is_first_has_both_told_in_one_letter(store: Store) {
        let world = World::in_store(store).await;
        due_in_march(&world).await;
        world.clock.set(instant("2027-03-06T01:00:00Z"));
        world.tick().await;
        world.clock.set(instant("2027-03-31T07:30:00Z"));
        world.tick().await;
        gather(&world).await;
        send(&world).await;
        assert_eq!(letters_of_oil(&world).await, 1);
        live_on(&world).await;
        assert_eq!(letters_of_oil(&world).await, 1);
    }

    async fn a_letter_that_was_written_before_is_written_anew(store: Store) {
        let world = World::in_store(store).await;
        due_in_march(&world).await;
        world.clock.set(instant("2027-03-06T01:00:00Z"));
        world.tick().await;
        world.pass_to_next_letter().await;
        assert_eq!(gather(&world).await, 1);
        let claimed = post::claim_letters(&world.clerk, 10).await.expect("letters");
        assert!(post::start_sending(&world.clerk, &claimed[0]).await.expect("started"));
        let at = world.clock.now() + TimeDelta::minutes(5);
        let later = Delivery::Retry { reply: "connection refused".to_owned(), at };
        assert!(post::settle(&world.clerk, &claimed[0], later).await.expect("settled"));

        world.clock.set(instant("2027-03-31T07:30:00Z"));
        assert_eq!(send(&world).await, 0, "its words are three weeks old");
        let mut tx = world.clerk.store().reader(Reach::Fleet(world.fleet)).await.expect("a reader");
        let kept = store::letters::page(&mut tx.conn(), world.fleet, None, 10).await.expect("a page");
        drop(tx);
        assert_eq!(kept.iter().map(|letter| letter.state).collect::<Vec<_>>(), [LetterState::Withdrawn]);
        world.tick().await;
        gather(&world).await;
        assert_eq!(send(&world).await, 1);
        assert_eq!(of_oil(&world, "approaching").await.letter, of_oil(&world, "overdue").await.letter);
    }
}
