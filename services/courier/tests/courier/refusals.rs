//! R18: what becomes of letters, addresses and the channel where a relay refuses.

use crate::post::{courier, letters, notice_states, overdue, refusing, text, tick};
use crate::relay::{Act, Relay, Script};
use chrono::TimeDelta;
use clerk::organisation::PersonChange;
use clerk::post::{self, SealedLetter};
use clerk::unreachable::{self, Unreachable};
use courier::Ticked;
use model::{LetterKind, LetterState, NoticeState, PersonId};
use store::Reach;
use testkit::world::{World, instant, measured};

const UNKNOWN: &str = "550 5.1.1 <manager@example.com>: unknown";

async fn whom_nothing_reaches(world: &World) -> Vec<Unreachable> {
    let mut tx = world.clerk.store().reader(Reach::Fleet(world.fleet)).await.expect("a reader");
    unreachable::all(&mut tx.conn(), world.fleet).await.expect("an answer")
}

async fn change_address(world: &World, person: PersonId, address: &str) {
    let mut act = world.act().await;
    let found = store::people::find(&mut act.conn(), world.fleet, person).await.expect("an answer");
    let version = found.expect("the person").version;
    let change = PersonChange { email: Some(Some(address.to_owned())), ..PersonChange::default() };
    clerk::organisation::change_person(&mut act, person, version, change).await.expect("changed");
    act.commit().await.expect("committed");
}

async fn release(world: &World, person: PersonId) {
    let mut act = world.act().await;
    unreachable::release_address(&mut act, person, "mended".to_owned()).await.expect("released");
    act.commit().await.expect("committed");
}

/// Brings what fell due of another van to the slot.
async fn another_falls_due(world: &World) {
    let van = world.van("Van 2").await;
    world.reading(van, "2027-02-25T08:00:00Z", 28_000.0).await;
    world.tick().await;
    world.clock.pass(TimeDelta::days(1));
}

/// A letter of the manager's with a calendar attached, made of what waits.
async fn letter_with_attachment(world: &World) {
    let whom = post::waiting_addressees(&world.clerk, 9).await.expect("addressees");
    let gathering = post::open_gathering(&world.clerk, whom[0].0, whom[0].1)
        .await
        .expect("an answer")
        .expect("something");
    let message_id = format!("{}@fleet.example", gathering.letter_id());
    let text = format!(
        "Message-ID: <{message_id}>\r\nContent-Type: multipart/mixed;\r\n boundary=\"whole\"\r\n\r\n--whole\r\n\
         Content-Type: text/plain\r\n\r\nVan 1: oil.\r\n--whole\r\nContent-Type: text/calendar\r\n\r\nBEGIN:VCALENDAR\r\n\
         --whole--\r\n"
    );
    let (kind, subject, address) = (LetterKind::Notices, "Oil".to_owned(), "manager@example.com".to_owned());
    let sealed =
        SealedLetter { kind, subject, message_id, address, bytes: text.into_bytes(), days: Vec::new() };
    gathering.seal(sealed).await.expect("sealed");
}

testkit::on_both_engines! {
    async fn r18_a_refused_address_gets_no_letter_any_more(store: Store) {
        let world = overdue(store).await;
        let relay = Relay::start(vec![refusing(UNKNOWN)]).await;
        let courier = courier(&world, &relay);

        assert_eq!(tick(&courier).await.undeliverable, 1);
        another_falls_due(&world).await;
        tick(&courier).await;

        assert_eq!((relay.connections(), letters(&world).await.len()), (1, 1));
        assert_eq!(letters(&world).await[0].state, LetterState::Undeliverable);
        let states = notice_states(&world).await;
        assert!(states.len() >= 2 && states.iter().all(|state| *state == NoticeState::ListOnly), "{states:?}");
        let unreached = whom_nothing_reaches(&world).await;
        assert_eq!((unreached.len(), unreached[0].person), (1, world.manager));
        assert_eq!(unreached[0].reply, "550 5.1.1 <the address>: unknown", "the address itself is kept nowhere else");
    }

    async fn r18_a_letter_to_an_address_refused_meanwhile_is_not_tried(store: Store) {
        let world = overdue(store).await;
        // Both live under one address, and what the technician gets cannot wait.
        change_address(&world, world.technician, "Manager@Example.com").await;
        let relay = Relay::start(vec![refusing("450 4.2.0 later"), refusing(UNKNOWN)]).await;
        let courier = courier(&world, &relay);
        assert_eq!(tick(&courier).await.retried, 1);
        let mut entry = world.entry("Van 1");
        entry.measurements = vec![measured("tread-depth", "front_left", "outer", 0.9, "mm")];
        world.post(&[entry]).await;
        world.tick().await;

        let ticked = tick(&courier).await;

        assert_eq!((ticked.undeliverable, ticked.sent, relay.connections()), (1, 0, 2), "{ticked:?}");
        let all = letters(&world).await;
        let replies = all.iter().filter_map(|one| one.last_reply.clone());
        let untried = replies.into_iter().find(|reply| reply.starts_with("not tried")).expect("a letter not tried");
        let said = "not tried: its address takes no mail since 2027-03-02: 550 5.1.1 <the address>: unknown";
        assert_eq!(untried, said);
        // What is told for want of an answer waits for its time.
        let states = notice_states(&world).await;
        assert!(states.iter().all(|state| matches!(state, NoticeState::ListOnly | NoticeState::Waiting)), "{states:?}");
        assert_eq!(whom_nothing_reaches(&world).await.len(), 2);
    }

    async fn r18_after_a_release_what_is_still_true_is_told(store: Store) {
        let world = overdue(store).await;
        let relay = Relay::start(vec![refusing(UNKNOWN), Script::default()]).await;
        let courier = courier(&world, &relay);
        tick(&courier).await;
        another_falls_due(&world).await;
        tick(&courier).await;

        release(&world, world.manager).await;

        assert_eq!(whom_nothing_reaches(&world).await, vec![]);
        assert_eq!(tick(&courier).await, Ticked { gathered: 1, sent: 1, ..Ticked::default() });
        let said = text(&relay.arrived()[0]);
        assert!(said.contains("Van 1") && said.contains("Van 2"), "{said}");
        assert!(notice_states(&world).await.iter().all(|state| *state == NoticeState::Told));
    }

    async fn r18_what_is_no_longer_true_after_a_release_is_not_told(store: Store) {
        let world = overdue(store).await;
        let relay = Relay::start(vec![refusing(UNKNOWN), Script::default()]).await;
        let courier = courier(&world, &relay);
        tick(&courier).await;
        let van = crate::post::clerk_vans(&world).await[0];
        world.service(van, "2027-03-01", 27_500.0, "engine-oil").await;
        world.tick().await;

        release(&world, world.manager).await;
        tick(&courier).await;

        // What was true besides is told.
        let said = text(&relay.arrived()[0]);
        assert!(said.contains("annual test") && !said.contains("Engine oil"), "{said}");
    }

    async fn r18_a_changed_address_is_not_refused_and_gets_what_the_old_one_did_not(store: Store) {
        let world = overdue(store).await;
        let relay = Relay::start(vec![refusing(UNKNOWN), Script::default()]).await;
        let courier = courier(&world, &relay);
        tick(&courier).await;

        change_address(&world, world.manager, "morag@example.com").await;

        assert_eq!(whom_nothing_reaches(&world).await, vec![]);
        assert_eq!(tick(&courier).await.sent, 1);
        assert_eq!(relay.arrived()[0].to, "morag@example.com");
        change_address(&world, world.manager, "manager@example.com").await;
        assert_eq!(whom_nothing_reaches(&world).await.len(), 1, "the old one is what it was");
    }

    async fn r18_a_manager_learns_on_monday_whom_no_letter_reaches(store: Store) {
        let world = World::in_store(store).await;
        world.van("Van 1").await;
        change_address(&world, world.technician, "tim@example.com").await;
        let mut entry = world.entry("Van 1");
        entry.measurements = vec![measured("tread-depth", "front_left", "outer", 0.9, "mm")];
        world.post(&[entry]).await;
        world.tick().await;
        let relay = Relay::start(vec![refusing("550 5.2.1 <tim@example.com> is disabled")]).await;
        let courier = courier(&world, &relay);
        // Both are refused; the manager comes back.
        assert_eq!(tick(&courier).await.undeliverable, 2);
        release(&world, world.manager).await;
        let taking = Relay::start(vec![Script::default()]).await;
        let courier = crate::post::courier(&world, &taking);
        tick(&courier).await;
        // What nobody answers is told once more before.
        world.clock.pass(TimeDelta::minutes(31));
        tick(&courier).await;

        world.clock.set(instant("2027-03-07T10:00:00Z"));
        clerk::jobs::run_due(&world.clerk).await.expect("run");
        world.clock.set(instant("2027-03-08T12:00:00Z"));
        tick(&courier).await;

        let arrived = taking.arrived();
        let mut weekly = arrived.iter().map(text).filter(|said| said.contains("No letter reaches"));
        let weekly = weekly.next().expect("a list of the week");
        let said = weekly.replace("=\r\n", "").replace("\r\n", " ");
        assert!(said.contains("No letter reaches technician: since 1 Mar 2027"), "{said}");
        assert!(said.contains("550 5.2.1 <the address> is disabled"), "{said}");
    }

    async fn r18_a_relay_that_refuses_us_holds_all_letters_and_suppresses_nobody(store: Store) {
        let world = overdue(store).await;
        let closed = Script { mail: Act::Say("530 5.7.0 sign in first"), ..Script::default() };
        let mut scripts = vec![closed; 12];
        scripts.push(Script::default());
        let relay = Relay::start(scripts).await;
        let courier = courier(&world, &relay);

        assert_eq!(tick(&courier).await, Ticked { gathered: 1, held: 1, ..Ticked::default() });
        assert_eq!(tick(&courier).await, Ticked::default(), "not within the minute");
        for _ in 0..10 {
            // Longer than the longest wait between two trials.
            world.clock.pass(TimeDelta::minutes(17));
            let ticked = tick(&courier).await;
            assert_eq!(ticked, Ticked { held: 1, ..Ticked::default() });
        }
        let letter = letters(&world).await.remove(0);
        assert_eq!((letter.state, letter.attempts), (LetterState::Retry, 0));
        assert_eq!(letter.last_reply.as_deref(), Some("530 5.7.0 sign in first"));
        assert_eq!(whom_nothing_reaches(&world).await, vec![]);

        world.clock.pass(TimeDelta::minutes(17));
        tick(&courier).await;
        world.clock.pass(TimeDelta::minutes(17));
        tick(&courier).await;
        let letter = letters(&world).await.remove(0);
        assert_eq!((letter.state, letter.attempts, relay.arrived().len()), (LetterState::Sent, 1, 1));
    }

    async fn r18_a_letter_too_large_goes_once_more_without_its_attachment(store: Store) {
        let world = overdue(store).await;
        letter_with_attachment(&world).await;
        let too_big = Script { end: Act::Say("552 5.3.4 too big"), ..Script::default() };
        let relay = Relay::start(vec![too_big, Script::default()]).await;
        let courier = courier(&world, &relay);

        let ticked = tick(&courier).await;

        assert_eq!((ticked.retried, ticked.sent), (1, 1), "{ticked:?}");
        let (whole, lighter) = (text(&relay.arrived()[0]), text(&relay.arrived()[1]));
        assert!(whole.contains("BEGIN:VCALENDAR") && !lighter.contains("BEGIN:VCALENDAR"), "{lighter}");
        assert!(lighter.contains("Van 1: oil.") && lighter.lines().next() == whole.lines().next(), "{lighter}");
        let letter = letters(&world).await.remove(0);
        assert_eq!((letter.state, letter.without_attachment), (LetterState::Sent, true));
    }

    async fn r18_a_letter_too_large_without_attachment_is_given_up(store: Store) {
        let world = overdue(store).await;
        letter_with_attachment(&world).await;
        let relay = Relay::start(vec![Script { mail: Act::Say("552 too big"), ..Script::default() }]).await;

        let ticked = tick(&courier(&world, &relay)).await;

        assert_eq!((ticked.retried, ticked.undeliverable, relay.connections()), (1, 1, 2), "{ticked:?}");
        let letter = letters(&world).await.remove(0);
        assert_eq!((letter.state, letter.last_reply.as_deref()), (LetterState::Undeliverable, Some("552 too big")));
        assert_eq!(whom_nothing_reaches(&world).await, vec![]);
    }

    async fn r17_a_letter_uncertain_is_never_changed(store: Store) {
        let world = overdue(store).await;
        letter_with_attachment(&world).await;
        let cut = Script { end: Act::Cut, ..Script::default() };
        let too_big = Script { end: Act::Say("552 5.3.4 too big"), ..Script::default() };
        let relay = Relay::start(vec![cut, too_big]).await;
        let courier = courier(&world, &relay);
        assert_eq!(tick(&courier).await.uncertain, 1);
        world.clock.pass(TimeDelta::minutes(16));

        assert_eq!(tick(&courier).await.undeliverable, 1);

        let letter = letters(&world).await.remove(0);
        assert_eq!((letter.state, letter.without_attachment), (LetterState::Undeliverable, false));
        assert_eq!(relay.arrived()[0], relay.arrived()[1]);
    }

    async fn r17_an_uncertain_letter_to_a_refused_address_keeps_what_it_may_have_told(store: Store) {
        let world = overdue(store).await;
        let cut = Script { end: Act::Cut, ..Script::default() };
        let relay = Relay::start(vec![cut, refusing(UNKNOWN), Script::default()]).await;
        let courier = courier(&world, &relay);
        tick(&courier).await;
        world.clock.pass(TimeDelta::minutes(16));
        assert_eq!(tick(&courier).await.undeliverable, 1);

        release(&world, world.manager).await;
        tick(&courier).await;

        assert_eq!(relay.arrived().len(), 1, "it may have been told");
    }

    async fn r17_a_courier_that_died_before_it_kept_the_answer_sends_once_more(store: Store) {
        let world = overdue(store).await;
        let relay = Relay::start(vec![Script::default()]).await;
        letter_with_attachment(&world).await;
        // It read the answer, perhaps, and died.
        let claimed = post::claim_letters(&world.clerk, 1).await.expect("letters").remove(0);
        assert!(post::start_sending(&world.clerk, &claimed).await.expect("started"));
        let courier = courier(&world, &relay);

        world.clock.pass(TimeDelta::minutes(16));
        tick(&courier).await;
        assert_eq!((letters(&world).await[0].state, relay.arrived().len()), (LetterState::Uncertain, 0));
        world.clock.pass(TimeDelta::minutes(16));
        assert_eq!(tick(&courier).await.sent, 1);
        world.clock.pass(TimeDelta::days(1));
        tick(&courier).await;

        assert_eq!((letters(&world).await[0].state, relay.arrived().len()), (LetterState::Sent, 1));
    }

    async fn r19_a_letter_is_given_up_after_two_days_where_it_is_told_again_before_the_four_are_over(store: Store) {
        let world = World::in_store(store).await;
        // The test ends on the 5th: from 30 days before it is due, and once more on its last day.
        let van = world.van("Van 1").await;
        let mut act = world.act().await;
        let paper = clerk::papers::NewPaper {
            kind: model::PaperKind::AnnualTest,
            reference: None,
            issued_on: None,
            expires_on: testkit::world::day("2027-03-05"),
        };
        clerk::papers::record(&mut act, van, paper).await.expect("a paper");
        act.commit().await.expect("committed");
        world.tick().await;
        world.pass_to_next_letter().await;
        let relay = Relay::start(vec![refusing("450 4.7.1 greylisted")]).await;
        let courier = courier(&world, &relay);
        let start = world.clerk.now();

        // Nobody looks at the vehicle meanwhile, so that no other letter takes this one's place.
        let mut given_up = 0;
        while given_up == 0 {
            given_up = tick(&courier).await.undeliverable;
            let next = post::next_letter_time(&world.clerk).await.expect("a time");
            world.clock.set(next.unwrap_or(world.clerk.now()));
        }

        let took = world.clerk.now() - start;
        assert!(took > TimeDelta::hours(40) && took <= TimeDelta::hours(60), "{took}");
    }

    async fn r20_a_letter_that_cannot_be_written_is_tried_three_times_and_then_once_an_hour(store: Store) {
        let world = overdue(store).await;
        // A name of more than 64 octets (RFC 5321, 4.5.3.1.1).
        change_address(&world, world.manager, &format!("{}@example.com", "a".repeat(65))).await;
        let relay = Relay::start(vec![Script::default()]).await;
        let courier = courier(&world, &relay);
        let mut minutes = Vec::new();

        for minute in 0..124 {
            if tick(&courier).await.unwritable > 0 {
                minutes.push(minute);
            }
            world.clock.pass(TimeDelta::minutes(1));
        }

        assert_eq!(minutes, [0, 1, 2, 62, 122]);
    }

    async fn r21_attempts_at_a_barred_way_do_not_count(store: Store) {
        let world = overdue(store).await;
        let closed = Script { mail: Act::Say("451 4.3.0 out of order"), ..Script::default() };
        let relay = Relay::start(vec![closed]).await;
        let courier = courier(&world, &relay);
        while letters(&world).await.first().is_none_or(|letter| letter.attempts < 5) {
            tick(&courier).await;
            let next = post::next_letter_time(&world.clerk).await.expect("a time");
            world.clock.set(next.expect("a next attempt"));
        }

        // Five days: longer than a letter is tried.
        for _ in 0..5 * 24 {
            world.clock.pass(TimeDelta::hours(1));
            tick(&courier).await;
        }

        let letter = letters(&world).await.remove(0);
        assert_eq!((letter.state, letter.attempts), (LetterState::Retry, 5));
        assert!(relay.connections() > 100, "it is tried all the time: {}", relay.connections());
    }
}
