//! From a notice that waits to a letter that arrived, with the clerk and the store in between.

use crate::conversation::plain;
use crate::relay::{Act, Arrived, Relay, Script};
use chrono::TimeDelta;
use courier::{Courier, Mail, Settings, Ticked};
use model::{LetterState, NoticeState};
use store::letters::LetterCard;
use store::{Reach, Store};
use testkit::world::{World, measured};

pub fn courier(world: &World, relay: &Relay) -> Courier {
    let settings = Settings::new(Mail::Smtp(plain(relay)), "Ostler <ostler@fleet.example>");
    Courier::new(world.clerk.clone(), settings).expect("good settings")
}

/// A van whose oil is overdue, to be told to the manager in the slot that began ten seconds ago.
pub async fn overdue(store: Store) -> World {
    let world = World::in_store(store).await;
    let van = world.van("Van 1").await;
    world.reading(van, "2027-02-25T08:00:00Z", 27_000.0).await;
    world.tick().await;
    world.pass_to_next_letter().await;
    world
}

pub async fn letters(world: &World) -> Vec<LetterCard> {
    let mut tx = world.clerk.store().reader(Reach::Fleet(world.fleet)).await.expect("a reader");
    store::letters::page(&mut tx.conn(), world.fleet, None, 100).await.expect("a page")
}

pub async fn notice_states(world: &World) -> Vec<NoticeState> {
    let mut tx = world.clerk.store().reader(Reach::Fleet(world.fleet)).await.expect("a reader");
    let page = store::notices::page(&mut tx.conn(), world.fleet, None, 100).await.expect("a page");
    page.iter().map(|row| row.state).collect()
}

pub async fn tick(courier: &Courier) -> Ticked {
    courier.tick().await.expect("a tick")
}

pub fn text(arrived: &Arrived) -> String {
    String::from_utf8(arrived.bytes.clone()).expect("ASCII")
}

pub fn refusing(rcpt: &'static str) -> Script {
    Script { rcpt: Act::Say(rcpt), ..Script::default() }
}

testkit::on_both_engines! {
    async fn what_fell_due_arrives_in_one_letter_and_is_told(store: Store) {
        let world = overdue(store).await;
        let relay = Relay::start(vec![Script::default()]).await;
        let courier = courier(&world, &relay);

        assert_eq!(tick(&courier).await, Ticked { gathered: 1, sent: 1, ..Ticked::default() });

        let arrived = relay.arrived();
        assert_eq!((arrived.len(), arrived[0].to.as_str()), (1, "manager@example.com"));
        let said = text(&arrived[0]);
        assert!(said.contains("Subject: Van 1: "), "{said}");
        assert!(said.contains("Engine oil and filter: overdue (limit"), "{said}");
        let kept = letters(&world).await;
        assert_eq!((kept[0].state, kept[0].attempts), (LetterState::Sent, 1));
        assert!(said.contains(&format!("Message-ID: <{}>", kept[0].message_id)), "{said}");
        assert!(notice_states(&world).await.iter().all(|state| *state == NoticeState::Told));
        assert_eq!(tick(&courier).await, Ticked::default());
    }

    async fn what_must_not_be_driven_is_told_at_once_to_manager_and_technician(store: Store) {
        let world = World::in_store(store).await;
        world.van("Van 1").await;
        let mut entry = world.entry("Van 1");
        entry.measurements = vec![measured("tread-depth", "front_left", "outer", 0.9, "mm")];
        world.post(&[entry]).await;
        world.tick().await;
        let relay = Relay::start(vec![Script::default()]).await;

        tick(&courier(&world, &relay)).await;

        let arrived = relay.arrived();
        let mut to: Vec<&str> = arrived.iter().map(|letter| letter.to.as_str()).collect();
        to.sort_unstable();
        assert_eq!(to, ["manager@example.com", "technician@example.com"]);
        assert!(arrived.iter().all(|letter| text(letter).contains("Take the key, tag the wheel")));
        assert!(arrived.iter().all(|letter| text(letter).contains("Subject: Do not drive Van 1")));
    }

    async fn everybody_is_written_to_in_the_language_they_read(store: Store) {
        let world = World::in_store(store).await;
        world.van("Van 1").await;
        let mut act = world.act().await;
        let change =
            clerk::organisation::PersonChange { language: Some("en-US".to_owned()), ..Default::default() };
        clerk::organisation::change_person(&mut act, world.manager, 1, change).await.expect("changed");
        act.commit().await.expect("committed");
        let mut entry = world.entry("Van 1");
        entry.measurements = vec![measured("tread-depth", "front_left", "outer", 0.9, "mm")];
        world.post(&[entry]).await;
        world.tick().await;
        let relay = Relay::start(vec![Script::default()]).await;

        tick(&courier(&world, &relay)).await;

        let said = |to: &str| {
            let arrived = relay.arrived();
            text(arrived.iter().find(|letter| letter.to == to).expect("a letter"))
        };
        let (american, british) = (said("manager@example.com"), said("technician@example.com"));
        assert!(american.contains("You are the one to call about it."), "{american}");
        assert!(british.contains("Take the key, tag the wheel, ring manager."), "{british}");
    }

    async fn r17_a_letter_without_an_answer_is_sent_once_more_with_the_same_bytes(store: Store) {
        let world = overdue(store).await;
        let cut = Script { end: Act::Cut, ..Script::default() };
        let relay = Relay::start(vec![cut, Script::default()]).await;
        let courier = courier(&world, &relay);

        assert_eq!(tick(&courier).await.uncertain, 1);
        assert_eq!(letters(&world).await[0].state, LetterState::Uncertain);
        world.clock.pass(TimeDelta::minutes(14));
        assert_eq!(tick(&courier).await, Ticked::default(), "not before a quarter of an hour");
        world.clock.pass(TimeDelta::minutes(2));
        assert_eq!(tick(&courier).await.sent, 1);

        let arrived = relay.arrived();
        assert_eq!(arrived.len(), 2);
        assert_eq!(arrived[0], arrived[1], "the same bytes with the same Message-ID");
    }

    async fn r17_a_letter_twice_without_an_answer_is_set_aside(store: Store) {
        let world = overdue(store).await;
        let relay = Relay::start(vec![Script { end: Act::Hang, ..Script::default() }]).await;
        let courier = courier(&world, &relay);
        tick(&courier).await;
        world.clock.pass(TimeDelta::minutes(16));
        tick(&courier).await;
        world.clock.pass(TimeDelta::days(10));

        assert_eq!(tick(&courier).await, Ticked::default());
        assert_eq!((relay.arrived().len(), letters(&world).await[0].state), (2, LetterState::Parked));
    }

    async fn r19_a_letter_put_off_is_tried_again_on_time(store: Store) {
        let world = overdue(store).await;
        let relay = Relay::start(vec![refusing("450 4.7.1 greylisted"), Script::default()]).await;
        let courier = courier(&world, &relay);

        assert_eq!(tick(&courier).await.retried, 1);
        world.clock.pass(TimeDelta::seconds(53));
        assert_eq!(tick(&courier).await, Ticked::default());
        world.clock.pass(TimeDelta::seconds(14));
        assert_eq!(tick(&courier).await.sent, 1);
    }

    async fn r19_a_letter_put_off_for_good_is_given_up_after_four_days_with_the_last_reply(store: Store) {
        let world = overdue(store).await;
        let relay = Relay::start(vec![refusing("450 4.7.1 greylisted")]).await;
        let courier = courier(&world, &relay);
        let start = world.clerk.now();

        let mut given_up = 0;
        while given_up == 0 {
            given_up = tick(&courier).await.undeliverable;
            let next = clerk::post::next_letter_time(&world.clerk).await.expect("a time");
            world.clock.set(next.unwrap_or(world.clerk.now()));
        }

        let took = world.clerk.now() - start;
        assert!(took > TimeDelta::hours(80) && took <= TimeDelta::hours(106), "{took}");
        let letter = &letters(&world).await[0];
        assert_eq!(letter.state, LetterState::Undeliverable);
        assert_eq!(letter.last_reply.as_deref(), Some("450 4.7.1 greylisted"));
    }

    async fn r18_a_refused_address_ends_the_matter(store: Store) {
        let world = overdue(store).await;
        let relay = Relay::start(vec![refusing("550 5.1.1 unknown")]).await;
        let courier = courier(&world, &relay);

        assert_eq!(tick(&courier).await.undeliverable, 1);
        world.clock.pass(TimeDelta::days(1));
        assert_eq!((tick(&courier).await, relay.connections()), (Ticked::default(), 1));
        assert_eq!(letters(&world).await[0].last_reply.as_deref(), Some("550 5.1.1 unknown"));
    }

    async fn r18_a_letter_refused_for_its_content_is_given_up_alone(store: Store) {
        let world = overdue(store).await;
        let relay = Relay::start(vec![Script { end: Act::Say("554 5.6.0 malformed"), ..Script::default() }]).await;

        assert_eq!(tick(&courier(&world, &relay)).await.undeliverable, 1);
        assert_eq!(letters(&world).await[0].state, LetterState::Undeliverable);
        let mut tx = world.clerk.store().reader(Reach::Fleet(world.fleet)).await.expect("a reader");
        assert_eq!(store::suppressions::all(&mut tx.conn(), world.fleet).await.expect("an answer"), vec![]);
    }

    async fn r21_while_the_way_is_barred_no_attempt_is_wasted(store: Store) {
        let world = overdue(store).await;
        let closed = Script { greeting: Act::Say("554 no service"), ..Script::default() };
        let mut scripts = vec![closed; 7];
        scripts.push(Script::default());
        let relay = Relay::start(scripts).await;
        let courier = courier(&world, &relay);
        for _ in 0..5 {
            assert_eq!(tick(&courier).await.retried, 1);
            let next = clerk::post::next_letter_time(&world.clerk).await.expect("a time");
            world.clock.set(next.expect("a next attempt"));
        }

        for _ in 0..2 {
            assert_eq!(tick(&courier).await, Ticked::default(), "probes only");
            world.clock.pass(TimeDelta::minutes(1));
        }
        assert_eq!(tick(&courier).await.sent, 1);

        assert_eq!((relay.connections(), letters(&world).await[0].attempts), (8, 6));
    }

    async fn p4_a_letter_none_of_which_is_true_any_more_is_not_sent(store: Store) {
        let world = overdue(store).await;
        let relay = Relay::start(vec![refusing("450 later"), Script::default()]).await;
        let courier = courier(&world, &relay);
        tick(&courier).await;
        let vans = clerk_vans(&world).await;
        let mut act = world.act().await;
        clerk::vehicles::retire(&mut act, vans[0], 1, testkit::world::day("2027-03-01")).await.expect("retired");
        act.commit().await.expect("committed");
        world.clock.pass(TimeDelta::minutes(2));

        let ticked = tick(&courier).await;

        assert_eq!((ticked.sent, relay.arrived().len()), (0, 0), "{ticked:?}");
        assert_eq!(letters(&world).await[0].state, LetterState::Withdrawn);
    }

    async fn p7_two_couriers_at_once_send_one_letter(store: Store) {
        let world = overdue(store).await;
        let relay = Relay::start(vec![Script::default()]).await;
        let (one, other) = (courier(&world, &relay), courier(&world, &relay));

        let (first, second) = tokio::join!(one.tick(), other.tick());

        let sent = first.expect("a tick").sent + second.expect("a tick").sent;
        let later = tick(&one).await.sent;
        assert_eq!((sent + later, relay.arrived().len(), letters(&world).await.len()), (1, 1, 1));
    }

    async fn r20_an_address_no_relay_takes_holds_nobody_else_up(store: Store) {
        let world = World::in_store(store).await;
        world.van("Van 1").await;
        let mut entry = world.entry("Van 1");
        entry.measurements = vec![measured("tread-depth", "front_left", "outer", 0.9, "mm")];
        world.post(&[entry]).await;
        let mut act = world.act().await;
        // A name of more than 64 octets (RFC 5321, 4.5.3.1.1).
        let email = Some(Some(format!("{}@example.com", "a".repeat(65))));
        let change = clerk::organisation::PersonChange { email, ..Default::default() };
        clerk::organisation::change_person(&mut act, world.manager, 1, change).await.expect("changed");
        act.commit().await.expect("committed");
        world.tick().await;
        let relay = Relay::start(vec![Script::default()]).await;
        let courier = courier(&world, &relay);

        let ticked = tick(&courier).await;

        assert_eq!((ticked.unwritable, ticked.sent), (1, 1));
        assert_eq!(relay.arrived()[0].to, "technician@example.com");
        assert_eq!(tick(&courier).await, Ticked::default(), "it is set aside for a minute");
        world.clock.pass(TimeDelta::minutes(1));
        assert_eq!(tick(&courier).await.unwritable, 1);
    }
}

pub async fn clerk_vans(world: &World) -> Vec<model::VehicleId> {
    let mut tx = world.clerk.store().reader(Reach::Fleet(world.fleet)).await.expect("a reader");
    let page = store::notices::page(&mut tx.conn(), world.fleet, None, 100).await.expect("a page");
    page.iter().map(|row| row.notice.vehicle).collect()
}
