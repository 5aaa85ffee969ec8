//! When people are told, who is told next, what is put off, and the list of the week.

use chrono::{DateTime, TimeDelta, Utc};
use clerk::organisation::{NewDepot, NewPerson, PersonChange};
use clerk::post::{self, Delivery};
use clerk::{Act, jobs, replies};
use model::{Clock, LetterKind, LetterState, NoticeState, PersonId, VehicleId};
use store::Reach;
use store::letters::LetterCard;
use store::notices::NoticeRow;
use testkit::post::{gather_each, notices, send};
use testkit::world::{World, day, instant, measured};

/// The notices under a mark, as person and state.
async fn told(world: &World, mark: &str) -> Vec<(PersonId, NoticeState)> {
    let all = notices(world).await;
    all.iter().filter(|row| row.notice.key.mark == mark).map(|row| (row.person, row.state)).collect()
}

async fn one(world: &World, mark: &str) -> NoticeRow {
    let all = notices(world).await;
    all.into_iter().find(|row| row.notice.key.mark == mark).expect("a notice")
}

async fn change(world: &World, person: PersonId, change: PersonChange) {
    let mut act = world.act().await;
    let found = store::people::find(&mut act.conn(), world.fleet, person).await.expect("an answer");
    let version = found.expect("the person").version;
    clerk::organisation::change_person(&mut act, person, version, change).await.expect("changed");
    act.commit().await.expect("committed");
}

/// A van whose oil has been overdue since before the world began.
async fn overdue(world: &World, label: &str) -> VehicleId {
    let van = world.van(label).await;
    world.reading(van, "2027-02-25T08:00:00Z", 27_000.0).await;
    van
}

/// A manager of another depot, who hears of this one's vehicles only when nobody sees to them.
async fn chief_of_another_depot(world: &World) -> PersonId {
    let mut act = world.act().await;
    let zone = chrono_tz::Europe::Dublin;
    let jurisdiction = model::Jurisdiction::Eu;
    let north = NewDepot { name: "North".to_owned(), zone, jurisdiction, design_low: None };
    let north = clerk::organisation::create_depot(&mut act, north).await.expect("a depot").id;
    let new = NewPerson {
        role: model::Role::Manager,
        depots: vec![north],
        name: "Chief".to_owned(),
        email: Some("chief@example.com".to_owned()),
        language: "en".to_owned(),
        zone,
        quiet_hours: None,
        letter_days: None,
        letter_time: None,
        declined_letters: Vec::new(),
    };
    let chief = clerk::organisation::create_person(&mut act, new).await.expect("a person").id;
    commit(act).await;
    chief
}

/// A van with a tyre below every legal limit.
async fn bald(world: &World) -> VehicleId {
    let van = world.van("Van 1").await;
    let mut entry = world.entry("Van 1");
    entry.measurements = vec![measured("tread-depth", "front_left", "outer", 0.9, "mm")];
    world.post(&[entry]).await;
    van
}

/// Gathers what waits for everybody by now; whose letters those are, and how many notices and listed things each carries.
async fn gather(world: &World) -> Vec<(PersonId, usize, usize)> {
    gather_each(world, |gathering| {
        let is_urgent = gathering.notices.iter().any(|notice| notice.urgent);
        let kind = if is_urgent { LetterKind::AtOnce } else { LetterKind::Notices };
        (kind, (gathering.addressee.person.id, gathering.notices.len(), gathering.digest.listed.len()))
    })
    .await
}

async fn letters(world: &World) -> Vec<LetterCard> {
    let mut tx = world.clerk.store().reader(Reach::Fleet(world.fleet)).await.expect("a reader");
    store::letters::page(&mut tx.conn(), world.fleet, None, 200).await.expect("a page")
}

/// Whether the bytes of each letter are still there.
async fn bodies(world: &World, letters: &[LetterCard]) -> Vec<bool> {
    let mut tx = world.clerk.store().reader(Reach::Fleet(world.fleet)).await.expect("a reader");
    let mut kept = Vec::new();
    for letter in letters {
        let body = store::letters::body(&mut tx.conn(), world.fleet, letter.id).await.expect("an answer");
        kept.push(body.is_some());
    }
    kept
}

async fn commit(act: Act) {
    act.commit().await.expect("committed");
}

fn is_morning(at: DateTime<Utc>) -> bool {
    let morning = at.date_naive().and_hms_opt(7, 0, 0).expect("a time").and_utc();
    (morning..morning + TimeDelta::minutes(15)).contains(&at)
}

testkit::on_both_engines! {
    async fn what_can_wait_comes_on_the_next_letter_day_in_the_morning(store: Store) {
        let world = World::in_store(store).await;
        // Friday afternoon; letters come from Monday to Friday, and Dublin keeps UTC until the end of March.
        world.clock.set(instant("2027-03-05T15:00:00Z"));
        overdue(&world, "Van 1").await;
        world.tick().await;

        let due = one(&world, "overdue").await;
        assert!(is_morning(due.not_before), "{}", due.not_before);
        assert_eq!(due.not_before.date_naive(), day("2027-03-08"));
        assert!(gather(&world).await.is_empty());
        world.clock.set(due.not_before);
        assert_eq!(gather(&world).await.len(), 1);
        assert_eq!(send(&world).await, 1);
    }

    async fn r23_no_letter_goes_in_quiet_hours_but_what_cannot_wait(store: Store) {
        let world = World::in_store(store).await;
        let quiet = Some(Some(("20:00:00".parse().expect("a time"), "09:30:00".parse().expect("a time"))));
        change(&world, world.manager, PersonChange { quiet_hours: quiet, ..PersonChange::default() }).await;
        overdue(&world, "Van 2").await;
        world.tick().await;
        assert_eq!(one(&world, "overdue").await.not_before, instant("2027-03-01T09:30:00Z"));
        world.clock.set(instant("2027-03-01T09:30:00Z"));
        assert_eq!(gather(&world).await.len(), 1);
        // The courier stops; when it is back it is night.
        world.clock.set(instant("2027-03-01T23:00:00Z"));
        assert_eq!(send(&world).await, 0);
        bald(&world).await;
        world.tick().await;
        let made = gather(&world).await;
        assert!(made.iter().any(|(person, ..)| *person == world.manager), "{made:?}");
        assert_eq!(send(&world).await, 2, "to the manager and to the technician, at once");
        let oil = one(&world, "overdue").await;
        assert_eq!(oil.state, NoticeState::Told, "the letter that goes at once says the rest too");
    }

    async fn r24_nobody_answers_and_the_next_people_are_told_after_half_an_hour(store: Store) {
        let world = World::in_store(store).await;
        let chief = chief_of_another_depot(&world).await;
        bald(&world).await;
        world.tick().await;

        assert_eq!(told(&world, "do_not_drive").await.len(), 2, "the manager and the technician");
        assert_eq!(told(&world, "do_not_drive_next").await, [(chief, NoticeState::Waiting)]);
        assert_eq!(gather(&world).await.len(), 2);
        world.clock.pass(TimeDelta::minutes(29));
        assert!(gather(&world).await.is_empty());
        world.clock.pass(TimeDelta::minutes(1));
        assert_eq!(gather(&world).await, [(chief, 1, 0)]);
    }

    async fn r24_acknowledging_stops_the_next_people_from_being_told_in_the_same_act(store: Store) {
        let world = World::in_store(store).await;
        bald(&world).await;
        world.tick().await;
        gather(&world).await;
        let first = one(&world, "do_not_drive").await;
        // Both people of the fleet were told: they are the next, too.
        assert_eq!(told(&world, "do_not_drive_next").await.len(), 2);

        let mut act = world.act().await;
        let said = replies::acknowledge(&mut act, first.notice.id, Some("Key is in the safe.".to_owned())).await;
        assert_eq!(said.expect("said").cycle.0, first.notice.key.cycle);
        commit(act).await;

        let next = told(&world, "do_not_drive_next").await;
        assert!(next.iter().all(|(_, state)| *state == NoticeState::Withdrawn), "{next:?}");
        world.tick().await;
        world.clock.pass(TimeDelta::hours(1));
        assert!(gather(&world).await.is_empty());
        let still = clerk::horizons::of(&world.clerk, world.fleet, first.notice.vehicle).await.expect("read");
        let items = still.expect("a vehicle").horizon.items;
        let now = world.clock.now();
        assert!(items.iter().any(|item| item.do_not_drive_from.is_some_and(|from| from <= now)), "it stays so");
    }

    async fn what_stays_overdue_is_escalated_once_unless_somebody_has_seen_it(store: Store) {
        let world = World::in_store(store).await;
        let chief = chief_of_another_depot(&world).await;
        let (quiet, seen) = (overdue(&world, "Van 1").await, overdue(&world, "Van 2").await);
        world.tick().await;
        let of_seen = notices(&world).await.into_iter().find(|row| {
            row.notice.vehicle == seen && row.notice.key.mark == "overdue"
        });
        let mut act = world.act().await;
        replies::acknowledge(&mut act, of_seen.expect("a notice").notice.id, None).await.expect("said");
        commit(act).await;

        world.pass_to_next_letter().await;
        gather(&world).await;
        assert_eq!(send(&world).await, 1);
        world.clock.set(instant("2027-03-08T23:00:00Z"));
        world.tick().await;
        assert!(!gather(&world).await.iter().any(|(person, ..)| *person == chief));
        world.clock.set(instant("2027-03-09T12:00:00Z"));
        world.tick().await;
        let made = gather(&world).await;
        assert!(made.iter().any(|(person, ..)| *person == chief), "of the one nobody has seen: {made:?}");
        send(&world).await;
        let all = notices(&world).await;
        let escalated = all.iter().filter(|row| {
            row.notice.key.mark == "escalated" && row.notice.key.item_key == "rule:engine-oil"
        });
        let told: Vec<(VehicleId, NoticeState)> = escalated.map(|row| (row.notice.vehicle, row.state)).collect();
        assert_eq!(told.len(), 2);
        assert!(told.contains(&(quiet, NoticeState::Told)) && told.contains(&(seen, NoticeState::Withdrawn)), "{told:?}");
    }

    async fn what_is_put_off_is_told_again_on_that_day_and_not_before(store: Store) {
        let world = World::in_store(store).await;
        let van = overdue(&world, "Van 1").await;
        world.tick().await;
        let first = one(&world, "overdue").await;
        let mut act = world.act().await;
        let until = day("2027-03-15");
        replies::postpone(&mut act, first.notice.id, until, "Parts come on the 14th.".to_owned()).await.expect("said");
        commit(act).await;

        assert_eq!(one(&world, "overdue").await.state, NoticeState::Withdrawn, "it had not gone yet");
        world.clock.set(instant("2027-03-14T23:59:59Z"));
        world.tick().await;
        assert!(gather(&world).await.is_empty());
        world.clock.set(instant("2027-03-15T00:00:00Z"));
        world.tick().await;
        let again = one(&world, "postponed_2027-03-15").await;
        assert_eq!((again.state, again.notice.vehicle), (NoticeState::Waiting, van));
        world.clock.set(again.not_before);
        assert_eq!(gather(&world).await.len(), 1);
        assert_eq!(send(&world).await, 1);
        assert_eq!(one(&world, "postponed_2027-03-15").await.state, NoticeState::Told);
        world.tick().await;
        assert!(gather(&world).await.is_empty(), "once");
    }

    async fn neither_a_day_gone_by_nor_what_must_not_be_driven_can_be_waited_for(store: Store) {
        let world = World::in_store(store).await;
        bald(&world).await;
        overdue(&world, "Van 2").await;
        world.tick().await;
        let (bald, oil) = (one(&world, "do_not_drive").await, one(&world, "overdue").await);
        let why = || "Later.".to_owned();
        let mut act = world.act().await;
        let refused = replies::postpone(&mut act, bald.notice.id, day("2027-03-15"), why()).await;
        assert!(matches!(refused, Err(clerk::ActError::Conflict { code: "do-not-drive", .. })), "{refused:?}");
        for until in ["2027-03-01", "2026-12-01", "2028-03-05"] {
            let refused = replies::postpone(&mut act, oil.notice.id, day(until), why()).await;
            let Err(clerk::ActError::Faults(faults)) = refused else { panic!("{until}: {refused:?}") };
            assert_eq!((faults.len(), faults[0].pointer.as_str()), (1, "/until"), "{faults:?}");
        }
    }

    async fn a_manager_gets_the_list_of_the_week_on_monday_once_and_never_empty(store: Store) {
        let world = World::in_store(store).await;
        overdue(&world, "Van 1").await;
        overdue(&world, "Van 2").await;
        world.tick().await;
        world.pass_to_next_letter().await;
        gather(&world).await;
        send(&world).await;
        // Sunday at ten UTC, Monday begins where it begins first.
        world.clock.set(instant("2027-03-07T10:00:00Z"));
        assert!(clerk::jobs::run_due(&world.clerk).await.expect("run") >= 1);
        world.tick().await;
        assert!(gather(&world).await.is_empty());
        world.pass_to_next_letter().await;
        assert!(is_morning(world.clock.now()), "{}", world.clock.now());
        assert_eq!(world.clock.now().date_naive(), day("2027-03-08"));
        let made = gather(&world).await;
        assert_eq!(made.iter().map(|(person, ..)| *person).collect::<Vec<_>>(), [world.manager]);
        assert!(made[0].2 >= 2, "the oil of both vans is listed: {made:?}");
        assert_eq!(send(&world).await, 1);
        clerk::jobs::run_due(&world.clerk).await.expect("what is cleared out every night");
        assert_eq!(clerk::jobs::run_due(&world.clerk).await.expect("run"), 0);
        assert!(gather(&world).await.is_empty());
    }

    async fn a_fleet_with_nothing_to_do_gets_no_list(store: Store) {
        let world = World::in_store(store).await;
        world.clock.set(instant("2027-03-07T10:00:00Z"));
        clerk::jobs::run_due(&world.clerk).await.expect("run");
        // Neither the manager's list of the week nor the technician's of Monday.
        for _ in 0..2 {
            world.pass_to_next_letter().await;
            assert!(gather(&world).await.is_empty());
        }
        assert_eq!(post::next_letter_time(&world.clerk).await.expect("a time"), None);
    }

    async fn r22_after_days_without_a_relay_one_letter_a_person_says_what_is_still_true(store: Store) {
        let world = World::in_store(store).await;
        let first = overdue(&world, "Van 1").await;
        world.tick().await;
        world.pass_to_next_letter().await;
        assert_eq!(gather(&world).await.len(), 1);
        let claimed = post::claim_letters(&world.clerk, 10).await.expect("letters");
        assert!(post::start_sending(&world.clerk, &claimed[0]).await.expect("started"));
        let later = Delivery::Retry { reply: "connection refused".to_owned(), at: world.clock.now() + TimeDelta::hours(4) };
        assert!(post::settle(&world.clerk, &claimed[0], later).await.expect("settled"));
        for label in ["Van 2", "Van 3", "Van 4"] {
            world.clock.pass(TimeDelta::days(1));
            overdue(&world, label).await;
            world.tick().await;
            world.pass_to_next_letter().await;
            gather(&world).await;
        }
        world.service(first, "2027-03-04", 27_500.0, "engine-oil").await;
        world.tick().await;

        world.clock.set(instant("2027-03-08T09:00:00Z"));
        send(&world).await;
        gather(&world).await;
        assert_eq!(send(&world).await, 1, "one letter, once the untrue one was taken back");
        let oil: Vec<NoticeRow> =
            notices(&world).await.into_iter().filter(|row| row.notice.key.item_key == "rule:engine-oil").collect();
        let of_first = |row: &&NoticeRow| row.notice.vehicle == first && row.notice.key.mark == "overdue";
        assert_eq!(oil.iter().find(of_first).map(|row| row.state), Some(NoticeState::Withdrawn));
        let told = oil.iter().filter(|row| row.notice.key.mark == "overdue" && row.state == NoticeState::Told);
        let letters: std::collections::BTreeSet<_> = told.clone().map(|row| row.letter).collect();
        assert_eq!((told.count(), letters.len()), (3, 1));
    }

    async fn r16_nothing_is_told_again_once_the_bytes_of_letters_are_forgotten(store: Store) {
        let world = World::in_store(store).await;
        overdue(&world, "Van 1").await;
        world.tick().await;
        world.pass_to_next_letter().await;
        gather(&world).await;
        assert!(send(&world).await > 0);
        // Another one waits for its relay all the while.
        overdue(&world, "Van 2").await;
        world.tick().await;
        world.pass_to_next_letter().await;
        gather(&world).await;
        let (letters, decisions) = (letters(&world).await, notices(&world).await.len());

        world.clock.pass(TimeDelta::days(181));
        jobs::run_due(&world.clerk).await.expect("runs");
        let kept = bodies(&world, &letters).await;
        let is_under_way: Vec<bool> = letters.iter().map(|letter| letter.state == LetterState::Waiting).collect();
        assert_eq!(kept, is_under_way, "what may still be sent keeps its bytes");
        assert!(kept.contains(&true) && kept.contains(&false));

        let mut act = world.act().await;
        store::states::raise_needed_all(&mut act.conn(), world.fleet).await.expect("asked for");
        commit(act).await;
        world.tick().await;
        let of_then = |row: &&NoticeRow| row.created_at < instant("2027-03-20T00:00:00Z");
        let all = notices(&world).await;
        assert_eq!(all.iter().filter(of_then).count(), decisions, "the decisions are there");
        let key = |row: &NoticeRow| format!("{:?} {:?}", row.notice.key, row.person);
        let keys: std::collections::BTreeSet<String> = all.iter().map(key).collect();
        assert_eq!(keys.len(), all.len(), "and none is made twice");
    }

    async fn nobody_is_written_to_who_is_gone_and_the_address_goes_within_a_day(store: Store) {
        let world = World::in_store(store).await;
        overdue(&world, "Van 1").await;
        world.tick().await;
        world.pass_to_next_letter().await;
        gather(&world).await;
        let before = letters(&world).await;
        assert!(before.iter().all(|letter| letter.person == world.manager), "{before:?}");

        let mut act = world.act().await;
        let found = store::people::find(&mut act.conn(), world.fleet, world.manager).await.expect("an answer");
        let version = found.expect("the manager").version;
        clerk::organisation::erase_person(&mut act, world.manager, version).await.expect("erased");
        commit(act).await;
        assert_eq!(send(&world).await, 0);
        let after = letters(&world).await;
        let told: Vec<_> = after.iter().map(|letter| (letter.state, letter.last_reply.as_deref())).collect();
        assert_eq!(told, [(LetterState::Withdrawn, Some("its reader is gone"))]);

        world.clock.pass(TimeDelta::hours(24));
        jobs::run_due(&world.clerk).await.expect("runs");
        assert_eq!(bodies(&world, &after).await, [false]);
    }
}
