//! The letter that looks ahead to a technician's working day: planned once, in time or not at all, and never empty.

use chrono::{DateTime, NaiveDate, TimeDelta, Utc};
use clerk::organisation::{NewDepot, NewPerson, PersonChange};
use clerk::post::{self, Ahead, Delivery};
use clerk::{Clerk, jobs};
use model::{
    Clock, DepotId, DigestKind, Ladder, LetterKind, LetterState, OptionalLetter, PersonId, Policy, Role,
    Rung, VehicleId,
};
use std::sync::Arc;
use store::digests::DigestRow;
use store::{Reach, Store};
use testkit::SeededChance;
use testkit::post::{gather_each, send};
use testkit::world::{World, day, instant, measured};

/// A world whose technicians are told what is due and overdue, as managers are.
async fn world(store: Store) -> World {
    let world = World::in_store(store).await;
    let rung = |reminder: &str| {
        let to = vec![Role::Manager, Role::Technician];
        Rung { of: Ladder::Duties, reminder: reminder.to_owned(), to }
    };
    let policy = Policy { told: vec![rung("due"), rung("overdue")], ..Policy::default() };
    let mut act = world.act().await;
    clerk::fleets::change_policy(&mut act, 1, &policy).await.expect("changed");
    act.commit().await.expect("committed");
    world
}

/// A van whose oil has been overdue since before the world began, and whose technicians have been told.
async fn overdue(world: &World, label: &str) -> VehicleId {
    let van = world.van(label).await;
    world.reading(van, "2027-02-25T08:00:00Z", 27_000.0).await;
    van
}

/// Tells everybody what there is to tell, so that afterwards only lists wait.
async fn tell_all(world: &World) {
    world.tick().await;
    for _ in 0..2 {
        world.pass_to_next_letter().await;
        gather(world).await;
        send(world).await;
    }
}

async fn change(world: &World, person: PersonId, change: PersonChange) {
    let mut act = world.act().await;
    let found = store::people::find(&mut act.conn(), world.fleet, person).await.expect("an answer");
    let version = found.expect("the person").version;
    clerk::organisation::change_person(&mut act, person, version, change).await.expect("changed");
    act.commit().await.expect("committed");
}

async fn depot(world: &World, name: &str) -> DepotId {
    let (zone, jurisdiction) = (chrono_tz::Europe::Dublin, model::Jurisdiction::Eu);
    let mut act = world.act().await;
    let new = NewDepot { name: name.to_owned(), zone, jurisdiction, design_low: None };
    let depot = clerk::organisation::create_depot(&mut act, new).await.expect("a depot").id;
    act.commit().await.expect("committed");
    depot
}

async fn technician_of(world: &World, depots: Vec<DepotId>) -> PersonId {
    let new = NewPerson {
        role: Role::Technician,
        depots,
        name: "Another".to_owned(),
        email: Some("another@example.com".to_owned()),
        language: "en".to_owned(),
        zone: chrono_tz::Europe::Dublin,
        quiet_hours: None,
        letter_days: None,
        letter_time: None,
        declined_letters: Vec::new(),
    };
    let mut act = world.act().await;
    let person = clerk::organisation::create_person(&mut act, new).await.expect("a person").id;
    act.commit().await.expect("committed");
    person
}

/// Makes the runs that have come due by then; the runs of the work that plans days.
async fn run_at(world: &World, at: &str) -> Vec<(String, String)> {
    world.clock.set(instant(at));
    jobs::run_due(&world.clerk).await.expect("runs");
    let mut tx = world.clerk.store().reader(Reach::Fleet(world.fleet)).await.expect("a reader");
    let runs = store::jobs::runs(&mut tx.conn(), world.fleet, "day-digest").await.expect("runs");
    runs.into_iter().map(|run| (run.due_at.format("%F %R").to_string(), run.outcome)).collect()
}

/// The person's lists of days that wait, whenever they come.
async fn waiting(world: &World, person: PersonId) -> Vec<NaiveDate> {
    let mut tx = world.clerk.store().writer(Reach::Fleet(world.fleet)).await.expect("a writer");
    let far = world.clock.now() + TimeDelta::days(30);
    let rows = store::digests::waiting_for(&mut tx.conn(), world.fleet, person, far).await.expect("rows");
    let of_days = rows.iter().filter(|row: &&DigestRow| row.kind == DigestKind::Round.word());
    of_days.map(|row| row.day).collect()
}

/// What was made of a list: for whom, for which day, and which vehicles it lists with what, in order.
#[derive(Debug, PartialEq, Eq)]
struct Made {
    person: PersonId,
    day: NaiveDate,
    listed: Vec<String>,
}

/// Gathers what waits for everybody by now; the lists of days that came of it.
async fn gather(world: &World) -> Vec<Made> {
    let made = gather_each(world, |gathering| {
        let person = gathering.addressee.person.id;
        let day = match gathering.digest.ahead() {
            Some(Ahead::Day(day)) => Some(day),
            _ => None,
        };
        let named = |listed: &post::Listed| match &listed.subject {
            post::Subject::Item(item) => format!("{} {}", listed.vehicle.label, item.title),
            post::Subject::Window(window) => format!("{} {}", listed.vehicle.label, window.title),
        };
        let mut listed: Vec<String> = gathering.digest.listed.iter().map(named).collect();
        listed.sort_unstable();
        (LetterKind::DayAhead, day.map(|day| Made { person, day, listed }))
    });
    made.await.into_iter().flatten().collect()
}

async fn states(world: &World, person: PersonId) -> Vec<LetterState> {
    let mut tx = world.clerk.store().reader(Reach::Fleet(world.fleet)).await.expect("a reader");
    let all = store::letters::page(&mut tx.conn(), world.fleet, None, 100).await.expect("a page");
    all.iter().filter(|letter| letter.person == person).map(|letter| letter.state).collect()
}

async fn next(world: &World) -> Option<DateTime<Utc>> {
    post::next_letter_time(&world.clerk).await.expect("a time")
}

testkit::on_both_engines! {
    async fn a_technician_gets_the_list_of_each_working_day_before_it_begins(store: Store) {
        let world = world(store).await;
        overdue(&world, "Van 1").await;
        tell_all(&world).await;

        run_at(&world, "2027-03-02T16:00:00Z").await;
        assert_eq!(waiting(&world, world.technician).await, [day("2027-03-03")]);
        assert!(gather(&world).await.is_empty(), "it waits for the morning");
        world.pass_to_next_letter().await;
        let slot = world.clock.now();
        assert!(slot > instant("2027-03-03T07:00:00Z") && slot < instant("2027-03-03T07:16:00Z"), "{slot}");
        let made = gather(&world).await;
        let expected = Made {
            person: world.technician,
            day: day("2027-03-03"),
            listed: vec!["Van 1 Engine oil and filter".to_owned()],
        };
        assert_eq!(made, [expected]);
        assert_eq!((send(&world).await, send(&world).await, gather(&world).await.len()), (1, 0, 0));
    }

    async fn of_two_runs_and_two_replicas_one_plans_a_day(store: Store) {
        let world = world(store).await;
        overdue(&world, "Van 1").await;
        // In the evening of each day, about the next: two runs see each slot.
        let evening = Some("17:30:00".parse().expect("a time"));
        change(&world, world.technician, PersonChange { letter_time: evening, ..PersonChange::default() }).await;
        tell_all(&world).await;
        let other = Clerk::new(
            world.clerk.store().clone(), world.clock.clone(), Arc::new(SeededChance::from_seed(2)));
        for at in ["2027-03-03T16:00:00Z", "2027-03-04T16:00:00Z"] {
            world.clock.set(instant(at));
            let (one, two) = tokio::join!(jobs::run_due(&world.clerk), jobs::run_due(&other));
            assert!(one.expect("runs") + two.expect("runs") >= 1, "{at}");
        }
        let days = ["2027-03-04", "2027-03-05", "2027-03-08"].map(day);
        assert_eq!(waiting(&world, world.technician).await, days, "Friday evening looks ahead to Monday");
    }

    async fn who_has_declined_it_or_has_no_address_or_another_duty_or_is_gone_gets_none(store: Store) {
        let world = world(store).await;
        overdue(&world, "Van 1").await;
        let declined = Some(vec![OptionalLetter::DayAhead]);
        let (no_address, gone) = (technician_of(&world, vec![]).await, technician_of(&world, vec![]).await);
        change(&world, no_address, PersonChange { email: Some(None), ..PersonChange::default() }).await;
        let mut act = world.act().await;
        clerk::organisation::erase_person(&mut act, gone, 1).await.expect("erased");
        act.commit().await.expect("committed");
        change(&world, world.technician, PersonChange { declined_letters: declined, ..PersonChange::default() }).await;
        tell_all(&world).await;
        run_at(&world, "2027-03-02T16:00:00Z").await;
        for person in [world.technician, world.manager, no_address, gone] {
            assert_eq!(waiting(&world, person).await, Vec::<NaiveDate>::new());
        }
        // Wanted again, planned, and declined before it came.
        let wanted = PersonChange { declined_letters: Some(Vec::new()), ..PersonChange::default() };
        change(&world, world.technician, wanted).await;
        run_at(&world, "2027-03-03T16:00:00Z").await;
        assert_eq!(waiting(&world, world.technician).await, [day("2027-03-04")]);
        let declined = Some(vec![OptionalLetter::DayAhead]);
        change(&world, world.technician, PersonChange { declined_letters: declined, ..PersonChange::default() }).await;
        world.pass_to_next_letter().await;
        assert!(gather(&world).await.is_empty());
        assert_eq!(waiting(&world, world.technician).await, Vec::<NaiveDate>::new());
    }

    async fn a_day_with_nothing_to_do_brings_no_letter(store: Store) {
        let world = world(store).await;
        run_at(&world, "2027-03-02T16:00:00Z").await;
        assert_eq!(waiting(&world, world.technician).await, [day("2027-03-03")]);
        world.pass_to_next_letter().await;
        assert!(gather(&world).await.is_empty());
        assert_eq!((states(&world, world.technician).await, next(&world).await), (vec![], None));
    }

    async fn a_technician_of_another_depot_is_not_told_and_one_of_all_depots_is(store: Store) {
        let world = world(store).await;
        overdue(&world, "Van 1").await;
        let north = depot(&world, "North").await;
        let (stranger, local) = (technician_of(&world, vec![north]).await, technician_of(&world, vec![world.depot, north]).await);
        tell_all(&world).await;
        run_at(&world, "2027-03-02T16:00:00Z").await;
        assert_eq!(waiting(&world, stranger).await, [day("2027-03-03")], "planned, as nobody knows yet");
        world.clock.set(instant("2027-03-03T07:30:00Z"));
        let made = gather(&world).await;
        let mut told: Vec<PersonId> = made.iter().map(|one| one.person).collect();
        told.sort_unstable();
        let mut expected = vec![world.technician, local];
        expected.sort_unstable();
        assert_eq!(told, expected);
    }

    async fn a_technician_is_told_of_what_people_of_that_duty_are_told(store: Store) {
        // With nothing said otherwise: what must not be driven, and readings wanted.
        let world = World::in_store(store).await;
        overdue(&world, "Van 1").await;
        world.van("Van 2").await;
        let mut entry = world.entry("Van 2");
        entry.measurements = vec![measured("tread-depth", "front_left", "outer", 0.9, "mm")];
        world.post(&[entry]).await;
        tell_all(&world).await;
        // What must not be driven goes at once to whoever has not answered; then it is on the list of each day.
        world.clock.pass(TimeDelta::hours(1));
        gather(&world).await;
        send(&world).await;
        run_at(&world, "2027-03-02T16:00:00Z").await;
        world.clock.set(instant("2027-03-03T07:30:00Z"));
        world.tick().await;
        let made = gather(&world).await;
        assert_eq!(made.len(), 1, "{made:?}");
        assert!(made[0].listed.iter().all(|listed| !listed.contains("oil")), "the manager's alone: {made:?}");
        let of_tyre = made[0].listed.iter().filter(|listed| listed.starts_with("Van 2 ") && listed.contains("read depth"));
        assert_eq!(of_tyre.count(), 1, "{made:?}");
    }

    async fn what_falls_due_on_the_day_is_on_its_list_and_what_comes_later_is_not(store: Store) {
        let world = world(store).await;
        // The oil lasts twelve months: until the end of 3 March and of 4 March 2027 (civil dates, a year later).
        for (label, done) in [("Van 1", "2026-03-03"), ("Van 2", "2026-03-06")] {
            let van = world.van(label).await;
            world.service(van, done, 4_000.0, "engine-oil").await;
            world.reading(van, "2027-02-25T08:00:00Z", 6_000.0).await;
        }
        tell_all(&world).await;
        let mut oil = Vec::new();
        for (at, morning) in [
            ("2027-03-02T16:00:00Z", "2027-03-03T07:30:00Z"), ("2027-03-03T16:00:00Z", "2027-03-04T07:30:00Z"),
            ("2027-03-04T16:00:00Z", "2027-03-05T07:30:00Z"), ("2027-03-07T16:00:00Z", "2027-03-08T07:30:00Z"),
        ] {
            run_at(&world, at).await;
            world.clock.set(instant(morning));
            let made = gather(&world).await;
            let listed = made.into_iter().flat_map(|one| one.listed);
            oil.push(listed.filter(|one| one.contains("oil")).collect::<Vec<_>>().join(", "));
            send(&world).await;
        }
        let (one, two) = ("Van 1 Engine oil and filter", "Van 1 Engine oil and filter, Van 2 Engine oil and filter");
        assert_eq!(oil, [one, one, one, two]);
    }

    async fn a_vehicle_off_the_road_is_left_out(store: Store) {
        let world = world(store).await;
        let (_, off) = (overdue(&world, "Van 1").await, overdue(&world, "Van 2").await);
        tell_all(&world).await;
        let mut act = world.act().await;
        let stay = clerk::stays::NewStay {
            workshop: None,
            in_at: instant("2027-03-01T12:00:00Z"),
            out_at: None,
            reason: "Gearbox".to_owned(),
            waiting_for: None,
        };
        world.clock.set(instant("2027-03-02T12:00:00Z"));
        clerk::stays::open(&mut act, off, stay).await.expect("a stay");
        act.commit().await.expect("committed");
        run_at(&world, "2027-03-02T16:00:00Z").await;
        world.pass_to_next_letter().await;
        let made = gather(&world).await;
        // What to see to before it goes out again is told of it, as in the list of the week.
        assert_eq!(made[0].listed, ["Van 1 Engine oil and filter", "Van 2 Before it goes out again"]);
    }

    async fn work_done_meanwhile_drops_its_line_and_the_last_line_its_letter(store: Store) {
        let world = world(store).await;
        let (one, other) = (overdue(&world, "Van 1").await, overdue(&world, "Van 2").await);
        tell_all(&world).await;
        run_at(&world, "2027-03-02T16:00:00Z").await;
        world.pass_to_next_letter().await;
        assert_eq!(gather(&world).await[0].listed.len(), 2);
        world.service(one, "2027-03-02", 27_100.0, "engine-oil").await;
        assert_eq!(send(&world).await, 0, "it would say what is not so");
        let made = gather(&world).await;
        assert_eq!(made[0].listed, ["Van 2 Engine oil and filter"]);
        for van in [one, other] {
            let mut act = world.act().await;
            let retired = clerk::vehicles::retire(&mut act, van, 1, day("2027-03-03")).await;
            retired.expect("retired");
            act.commit().await.expect("committed");
        }
        assert_eq!((send(&world).await, gather(&world).await.len()), (0, 0));
        let states = states(&world, world.technician).await;
        assert_eq!(states.iter().filter(|state| **state == LetterState::Withdrawn).count(), 2, "{states:?}");
        assert_eq!(waiting(&world, world.technician).await, Vec::<NaiveDate>::new());
    }

    async fn a_run_that_was_missed_is_made_up_for_but_not_for_a_day_that_has_begun(store: Store) {
        let world = world(store).await;
        overdue(&world, "Van 1").await;
        tell_all(&world).await;
        let pair = |at: &str, outcome: &str| (format!("{at} 16:00"), outcome.to_owned());
        // Nobody ran anything until Thursday; at eight its work has not begun, though its slot has passed.
        let runs = run_at(&world, "2027-03-04T08:00:00Z").await;
        let expected = [pair("2027-03-01", "missed"), pair("2027-03-02", "missed"), pair("2027-03-03", "done")];
        assert_eq!(runs, expected);
        assert_eq!(waiting(&world, world.technician).await, ["2027-03-04", "2027-03-05"].map(day));
        assert_eq!(gather(&world).await[0].day, day("2027-03-04"), "at once");
        assert_eq!(send(&world).await, 1);
        // Nor from Thursday to Tuesday: at ten its work has begun.
        run_at(&world, "2027-03-09T10:00:00Z").await;
        assert_eq!(waiting(&world, world.technician).await, ["2027-03-05", "2027-03-10"].map(day));
        assert!(gather(&world).await.is_empty());
        assert_eq!(waiting(&world, world.technician).await, [day("2027-03-10")], "Friday is over");
    }

    async fn a_letter_that_could_not_go_before_work_began_does_not_go(store: Store) {
        let world = world(store).await;
        overdue(&world, "Van 1").await;
        tell_all(&world).await;
        run_at(&world, "2027-03-02T16:00:00Z").await;
        world.pass_to_next_letter().await;
        let before = states(&world, world.technician).await.len();
        assert_eq!(gather(&world).await.len(), 1);
        let claimed = post::claim_letters(&world.clerk, 10).await.expect("letters");
        assert!(post::start_sending(&world.clerk, &claimed[0]).await.expect("started"));
        let later = Delivery::Retry { reply: "connection refused".to_owned(), at: instant("2027-03-03T08:59:59Z") };
        assert!(post::settle(&world.clerk, &claimed[0], later).await.expect("settled"));
        world.clock.set(instant("2027-03-03T09:00:00Z"));
        assert_eq!((send(&world).await, gather(&world).await.len()), (0, 0));
        let states = states(&world, world.technician).await;
        assert_eq!(states.len(), before + 1);
        assert_eq!(states.iter().filter(|state| **state == LetterState::Withdrawn).count(), 1, "{states:?}");
    }

    /// Clocks of Denver go forward on Sunday, 14 March 2027, and back on Sunday, 7 November 2027 (tz database).
    async fn it_comes_in_the_persons_morning_whatever_the_clocks_do(store: Store) {
        let world = world(store).await;
        overdue(&world, "Van 1").await;
        let (zone, letter_days) = (Some(chrono_tz::America::Denver), Some(model::Weekdays::ALL));
        change(&world, world.technician, PersonChange { zone, letter_days, ..PersonChange::default() }).await;
        let declined = Some(vec![OptionalLetter::WeekAhead]);
        change(&world, world.manager, PersonChange { declined_letters: declined, ..PersonChange::default() }).await;
        tell_all(&world).await;
        for (run, seven) in [
            ("2027-03-12T16:00:00Z", "2027-03-13T14:00:00Z"), ("2027-03-13T16:00:00Z", "2027-03-14T13:00:00Z"),
            ("2027-11-05T16:00:00Z", "2027-11-06T13:00:00Z"), ("2027-11-06T16:00:00Z", "2027-11-07T14:00:00Z"),
        ] {
            run_at(&world, run).await;
            let mut tx = world.clerk.store().reader(Reach::All).await.expect("a reader");
            let next = store::digests::next_time(&mut tx.conn()).await.expect("an answer").expect("one waits");
            drop(tx);
            let late = next - instant(seven);
            assert!(late >= TimeDelta::zero() && late < TimeDelta::minutes(15), "{run}: {next}");
            world.clock.set(next);
            gather(&world).await;
            send(&world).await;
        }
    }
}
