//! Fleets, depots, people and workshops.

use crate::world::{DEPOT, MANAGER, OURS, WORKSHOP, at, depot, furnished, id, morning, person, workshop};
use model::{
    Depot, DepotId, Fleet, Jurisdiction, Person, PersonId, Policy, Role, Weekdays, Workshop, WorkshopId,
    WorkshopKind,
};
use quantity::Temperature;
use store::{depots, fleets, people, workshops};
use testkit::on_both_engines;

pub fn plain_person() -> Person {
    Person {
        id: PersonId(id(21)),
        role: Role::Driver,
        depots: Vec::new(),
        email: None,
        quiet_hours: None,
        ..person(MANAGER)
    }
}

on_both_engines! {
    async fn fleets_are_listed_by_name(store: Store) {
        let mut tx = furnished(&store).await;
        let names: Vec<Fleet> = fleets::all(&mut tx.conn()).await.expect("fleets");
        assert_eq!(names.iter().map(|fleet| fleet.name.as_str()).collect::<Vec<_>>(), ["Ours", "Theirs"]);
    }

    async fn of_two_editors_of_one_policy_one_wins(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        let policy = |days| Policy { baseline_days: days, window_marks_days: vec![], ..Policy::default() };
        let first = fleets::set_policy(conn, OURS, 1, &policy(7)).await.expect("an answer");
        let second = fleets::set_policy(conn, OURS, 1, &policy(8)).await.expect("an answer");
        let kept = fleets::versioned_policy(conn, OURS).await.expect("an answer");
        assert_eq!((first, second, kept), (true, false, Some((2, policy(7)))));
    }

    async fn depots_people_and_workshops_come_back_as_they_were(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        people::insert(conn, OURS, &plain_person(), morning()).await.expect("kept");
        let found = depots::find(conn, OURS, DEPOT).await.expect("an answer");
        assert_eq!(found, Some(depot(DEPOT)));
        for kept in [person(MANAGER), plain_person()] {
            assert_eq!(people::find(conn, OURS, kept.id).await.expect("an answer"), Some(kept));
        }
        let found = workshops::find(conn, OURS, WORKSHOP).await.expect("an answer");
        assert_eq!(found, Some(workshop(WORKSHOP)));
    }

    async fn of_two_editors_of_a_depot_one_wins(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        let named = |name: &str| Depot {
            name: name.to_owned(),
            zone: chrono_tz::America::Denver,
            jurisdiction: Jurisdiction::Us,
            design_low: Some(Temperature::from_mk(248_150)),
            ..depot(DEPOT)
        };
        let first = depots::update(conn, OURS, &named("First"), 1).await.expect("an answer");
        let second = depots::update(conn, OURS, &named("Second"), 1).await.expect("an answer");
        let kept = depots::find(conn, OURS, DEPOT).await.expect("an answer");
        assert_eq!((first, second, kept), (true, false, Some(Depot { version: 2, ..named("First") })));
    }

    async fn of_two_editors_of_a_person_one_wins(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        let named = |name: &str| Person { id: MANAGER, name: name.to_owned(), ..plain_person() };
        let first = people::update(conn, OURS, &named("First"), 1).await.expect("an answer");
        let second = people::update(conn, OURS, &named("Second"), 1).await.expect("an answer");
        let kept = people::find(conn, OURS, MANAGER).await.expect("an answer");
        assert_eq!((first, second, kept), (true, false, Some(Person { version: 2, ..named("First") })));
    }

    async fn of_two_editors_of_a_workshop_one_wins(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        let named = |name: &str| Workshop {
            name: name.to_owned(),
            kind: WorkshopKind::Mobile,
            lead_days: 0,
            warranty_work: true,
            working_weekdays: Weekdays::from_bits(0b10_0001).expect("Monday and Saturday"),
            ..workshop(WORKSHOP)
        };
        let first = workshops::update(conn, OURS, &named("First"), 1).await.expect("an answer");
        let second = workshops::update(conn, OURS, &named("Second"), 1).await.expect("an answer");
        let kept = workshops::find(conn, OURS, WORKSHOP).await.expect("an answer");
        assert_eq!((first, second, kept), (true, false, Some(Workshop { version: 2, ..named("First") })));
    }

    async fn an_erased_person_leaves_a_bare_id_and_is_concerned_with_nothing(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        let stale = people::erase(conn, OURS, MANAGER, 7, morning()).await.expect("an answer");
        let erased = people::erase(conn, OURS, MANAGER, 1, morning()).await.expect("an answer");
        let again = people::erase(conn, OURS, MANAGER, 2, at("2027-03-02T08:00:00Z")).await.expect("an answer");
        assert_eq!((stale, erased, again), (false, true, false));
        let left = people::find(conn, OURS, MANAGER).await.expect("an answer").expect("the id");
        assert_eq!((left.name.as_str(), &left.email, left.language.as_str()), ("", &None, "und"));
        assert_eq!((left.quiet_hours, left.role, left.version), (None, Role::Manager, 2));
        assert_eq!(people::managers(conn, OURS).await.expect("an answer"), []);
        assert_eq!(people::page(conn, OURS, None, 9).await.expect("an answer"), []);
        let renamed = people::update(conn, OURS, &person(MANAGER), 2).await.expect("an answer");
        assert!(!renamed, "who was erased stays erased");
    }

    async fn people_of_a_duty_are_concerned_with_their_depots_or_with_all(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        let elsewhere = DepotId(id(11));
        let (here, there) = (person(MANAGER), Person { id: PersonId(id(22)), depots: vec![elsewhere], ..person(MANAGER) });
        let (everywhere, driver) = (Person { id: PersonId(id(23)), depots: vec![], ..person(MANAGER) }, plain_person());
        for person in [&there, &everywhere, &driver] {
            people::insert(conn, OURS, person, morning()).await.expect("kept");
        }
        let told = people::concerned(conn, OURS, Some(DEPOT), &[Role::Manager, Role::Technician]).await;
        assert_eq!(told.expect("an answer"), [here.clone(), everywhere.clone()]);
        assert_eq!(people::managers(conn, OURS).await.expect("an answer"), [here, there, everywhere]);
    }

    async fn every_workshop_of_the_fleet_is_listed_and_no_other(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        let saturdays = Weekdays::from_bits(0b10_0000).expect("Saturday");
        let dealer = Workshop {
            kind: WorkshopKind::Dealer,
            warranty_work: true,
            working_weekdays: saturdays,
            ..workshop(WorkshopId(id(31)))
        };
        workshops::insert(conn, OURS, &dealer, morning()).await.expect("kept");
        let all = workshops::all(conn, OURS).await.expect("an answer");
        assert_eq!(all, [workshop(WORKSHOP), dealer]);
    }
}
