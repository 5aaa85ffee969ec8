//! What people's calendars were told: revisions, and whether their letters arrived.

use crate::derived::{item as item_of, nothing};
use crate::organisation::plain_person;
use crate::world::{CAR, DEPOT, MANAGER, OURS, THEIRS, VAN, at, day, furnished, id, morning};
use model::horizon::Horizon;
use model::{Arrival, CalendarMethod, LetterId, LetterState, PersonId, VehicleId};
use store::calendar_days::{DayKey, Revision};
use store::letters::{NewLetter, Settled};
use store::{Conn, Lease, calendar_days, letters, people};
use testkit::on_both_engines;

fn key(vehicle: VehicleId) -> DayKey {
    DayKey { vehicle, item_key: "rule:engine-oil".to_owned(), cycle: "service:1".to_owned() }
}

/// Put in on that day.
pub fn revision(vehicle: VehicleId, sequence: u32, on: &str) -> Revision {
    Revision {
        key: key(vehicle),
        sequence,
        uid: format!("uid of {vehicle}"),
        method: CalendarMethod::Publish,
        day: day(on),
        label: "Van 1, \u{201e}Bäumli\u{201c}".to_owned(),
        what: "Engine oil due".to_owned(),
    }
}

/// A letter to that person, not yet sent.
pub async fn letter(conn: &mut Conn<'_>, person: PersonId, number: u128) -> LetterId {
    let letter = NewLetter {
        id: LetterId(id(number)),
        person,
        kind: "notices".to_owned(),
        subject: "Van 1".to_owned(),
        message_id: format!("{number}@ostler.example"),
        address: "ada@quill.example".to_owned(),
        bytes: vec![13, 10],
        created_at: morning(),
        attempts: 0,
        first_attempt_at: morning(),
    };
    letters::insert(conn, OURS, &letter).await.expect("kept");
    letter.id
}

async fn keep(conn: &mut Conn<'_>, person: PersonId, revision: &Revision, letter: LetterId) {
    calendar_days::insert(conn, OURS, person, revision, letter, morning()).await.expect("kept");
}

/// The sequences that the manager's calendar was told from a day on, and of the named vehicles.
async fn sequences(conn: &mut Conn<'_>, from: &str, vehicles: &[VehicleId]) -> Vec<(VehicleId, u32)> {
    let told = calendar_days::told(conn, OURS, MANAGER, day(from), vehicles).await.expect("rows");
    told.iter().map(|told| (told.revision.key.vehicle, told.revision.sequence)).collect()
}

/// Attempts the letter, with that end.
async fn attempt(conn: &mut Conn<'_>, attempt: i64, state: LetterState) {
    let (now, until) = (at("2027-03-01T09:00:00Z"), at("2027-03-01T09:15:00Z"));
    let token = id(90);
    letters::claim(conn, now, Lease { at: now, until }, token, 9).await.expect("a claim");
    let letter = LetterId(id(70));
    assert!(letters::start_attempt(conn, OURS, letter, token, attempt, now, now).await.expect("an answer"));
    letters::end_attempt(conn, OURS, letter, attempt, state, None, now).await.expect("ended");
    let waits = matches!(state, LetterState::Retry | LetterState::Uncertain);
    let settled = Settled { state, reply: None, next_attempt_at: waits.then_some(now), sent_at: None };
    assert!(letters::settle(conn, OURS, letter, token, &settled).await.expect("an answer"));
}

on_both_engines! {
    async fn a_revision_is_kept_whole_and_no_sequence_is_used_twice(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        let letter = letter(conn, MANAGER, 70).await;
        let put_in = revision(VAN, 0, "2027-03-12");
        let out = Revision { method: CalendarMethod::Cancel, ..revision(VAN, u32::MAX, "2027-03-12") };
        keep(conn, MANAGER, &put_in, letter).await;
        keep(conn, MANAGER, &out, letter).await;
        let told = calendar_days::told(conn, OURS, MANAGER, day("2027-03-12"), &[]).await.expect("rows");
        assert_eq!(told.iter().map(|told| &told.revision).collect::<Vec<_>>(), [&put_in, &out]);
        assert!(told.iter().all(|told| (told.letter, told.arrival) == (letter, Arrival::Perhaps)));
        assert_eq!(calendar_days::told(conn, THEIRS, MANAGER, day("2027-03-12"), &[VAN]).await.expect("rows"), []);
        let again = calendar_days::insert(conn, OURS, MANAGER, &out, letter, morning()).await.expect_err("used");
        assert!(again.is_unique(), "{again:?}");
    }

    async fn all_revisions_of_a_day_are_found_if_one_is_ahead_or_the_vehicle_is_named(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        let letter = letter(conn, MANAGER, 70).await;
        for (vehicle, sequence, on) in [(VAN, 0, "2027-03-20"), (VAN, 1, "2027-03-05"), (CAR, 0, "2027-03-09")] {
            keep(conn, MANAGER, &revision(vehicle, sequence, on), letter).await;
        }
        let (van, car) = ([(VAN, 0), (VAN, 1)], (CAR, 0));
        assert_eq!(sequences(conn, "2027-03-10", &[]).await, van);
        assert_eq!(sequences(conn, "2027-03-09", &[]).await, [van[0], van[1], car]);
        assert_eq!(sequences(conn, "2027-03-10", &[CAR]).await, [van[0], van[1], car]);
        assert_eq!(sequences(conn, "2027-03-21", &[]).await, []);
    }

    async fn a_letter_that_ended_without_an_answer_may_have_told(store: Store) {
        let perhaps = Arrival::Perhaps;
        let cases: [(&[LetterState], Arrival); 9] = [
            (&[], perhaps),
            (&[LetterState::Sent], Arrival::Arrived),
            (&[LetterState::Retry], perhaps),
            (&[LetterState::Undeliverable], Arrival::Never),
            (&[LetterState::Retry, LetterState::Undeliverable], Arrival::Never),
            (&[LetterState::Parked], Arrival::Never),
            (&[LetterState::Uncertain], perhaps),
            (&[LetterState::Uncertain, LetterState::Undeliverable], perhaps),
            (&[LetterState::Uncertain, LetterState::Sent], Arrival::Arrived),
        ];
        for (attempts, expected) in cases {
            let mut tx = furnished(&store).await;
            let conn = &mut tx.conn();
            let letter = letter(conn, MANAGER, 70).await;
            keep(conn, MANAGER, &revision(VAN, 0, "2027-03-12"), letter).await;
            for (number, state) in (1..).zip(attempts) {
                attempt(conn, number, *state).await;
            }
            let told = calendar_days::told(conn, OURS, MANAGER, day("2027-03-12"), &[]).await.expect("rows");
            assert_eq!(told[0].arrival, expected, "{attempts:?}");
        }
    }

    async fn a_letter_that_another_stands_for_told_nothing(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        let letter = letter(conn, MANAGER, 70).await;
        keep(conn, MANAGER, &revision(VAN, 0, "2027-03-12"), letter).await;
        letters::replace(conn, OURS, &[letter]).await.expect("replaced");
        let told = calendar_days::told(conn, OURS, MANAGER, day("2027-03-12"), &[]).await.expect("rows");
        assert_eq!(told[0].arrival, Arrival::Never);
    }

    async fn lower_revisions_of_one_day_and_person_are_forgotten(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        people::insert(conn, OURS, &plain_person(), morning()).await.expect("kept");
        let other = plain_person().id;
        let (mine, theirs) = (letter(conn, MANAGER, 70).await, letter(conn, other, 71).await);
        for sequence in 0..3 {
            keep(conn, MANAGER, &revision(VAN, sequence, "2027-03-12"), mine).await;
        }
        keep(conn, MANAGER, &revision(CAR, 0, "2027-03-12"), mine).await;
        keep(conn, other, &revision(VAN, 0, "2027-03-12"), theirs).await;
        assert_eq!(calendar_days::forget_below(conn, OURS, MANAGER, &key(VAN), 2).await.expect("an answer"), 2);
        assert_eq!(sequences(conn, "2027-03-12", &[]).await, [(VAN, 2), (CAR, 0)]);
        let others = calendar_days::told(conn, OURS, other, day("2027-03-12"), &[]).await.expect("rows");
        assert_eq!(others.len(), 1);
    }

    async fn r56_an_erased_persons_calendar_is_forgotten(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        people::insert(conn, OURS, &plain_person(), morning()).await.expect("kept");
        let other = plain_person().id;
        let (mine, theirs) = (letter(conn, MANAGER, 70).await, letter(conn, other, 71).await);
        keep(conn, MANAGER, &revision(VAN, 0, "2027-03-12"), mine).await;
        keep(conn, other, &revision(VAN, 0, "2027-03-12"), theirs).await;
        assert!(people::erase(conn, OURS, MANAGER, 1, morning()).await.expect("an answer"));
        assert_eq!(sequences(conn, "2027-01-01", &[VAN]).await, []);
        let others = calendar_days::told(conn, OURS, other, day("2027-03-12"), &[]).await.expect("rows");
        assert_eq!(others.len(), 1);
    }

    /// As long as the item is derived in the cycle that the calendar was told of.
    async fn what_is_still_derived_of_a_calendars_days_is_found_with_its_depot(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        let item = item_of("rule:engine-oil", 4);
        let horizon = Horizon { items: vec![item.clone(), item_of("rule:brake-fluid", 5)], ..nothing(VAN) };
        store::derived::replace(conn, OURS, DEPOT, &horizon).await.expect("kept");
        let letter = letter(conn, MANAGER, 70).await;
        let of = |cycle: &str| DayKey { vehicle: VAN, item_key: item.key.0.clone(), cycle: cycle.to_owned() };
        for cycle in [item.cycle.0.as_str(), "another"] {
            let told = Revision { key: of(cycle), ..revision(VAN, 0, "2027-03-12") };
            keep(conn, MANAGER, &told, letter).await;
        }
        let found = calendar_days::items(conn, OURS, MANAGER, day("2027-03-12")).await.expect("items");
        assert_eq!(found, [(VAN, DEPOT, item)]);
        assert_eq!(calendar_days::items(conn, OURS, MANAGER, day("2027-03-13")).await.expect("items"), []);
    }
}
