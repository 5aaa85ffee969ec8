//! Replies to reminders, and digests.

use crate::world::{MANAGER, OURS, THEIRS, at, day, furnished, id, morning, stamp};
use model::horizon::{Cycle, ItemKey};
use model::{Acknowledgement, Facts, LetterId, Postponement};
use store::acts::Stamp;
use store::digests::{self, DigestRow};
use store::{Conn, replies};
use testkit::on_both_engines;

const OIL: (&str, &str) = ("rule:engine-oil", "service:1");

pub fn seen(recorded_at: &str) -> Acknowledgement {
    Acknowledgement {
        item: ItemKey(OIL.0.to_owned()),
        cycle: Cycle(OIL.1.to_owned()),
        by: Some(MANAGER),
        note: Some("Booked in.".to_owned()),
        recorded_at: at(recorded_at),
    }
}

pub fn later(recorded_at: &str) -> Postponement {
    Postponement {
        item: ItemKey(OIL.0.to_owned()),
        cycle: Cycle(OIL.1.to_owned()),
        until: day("2027-03-15"),
        reason: "Parts come on the 14th.".to_owned(),
        by: None,
        recorded_at: at(recorded_at),
    }
}

pub async fn keep_replies(conn: &mut Conn<'_>, facts: &Facts) {
    let vehicle = facts.vehicle.id;
    for (number, said) in (950..).zip(&facts.acknowledgements) {
        let by = Stamp { recorded_at: said.recorded_at, ..stamp(OURS) };
        replies::acknowledge(conn, OURS, vehicle, id(number), said, &by).await.expect("kept");
    }
    for (number, said) in (960..).zip(&facts.postponements) {
        let by = Stamp { recorded_at: said.recorded_at, ..stamp(OURS) };
        replies::postpone(conn, OURS, vehicle, id(number), said, &by).await.expect("kept");
    }
}

fn week(number: u128, monday: &str) -> DigestRow {
    DigestRow { id: id(number), person_id: MANAGER.0, kind: "week".to_owned(), day: day(monday), told: None }
}

on_both_engines! {
    async fn a_reminder_is_acknowledged_from_the_moment_somebody_said_so(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        let van = crate::world::VAN;
        let said = seen("2027-02-01T06:30:00Z");
        let by = Stamp { recorded_at: said.recorded_at, ..stamp(OURS) };
        replies::acknowledge(conn, OURS, van, id(950), &said, &by).await.expect("kept");
        for (fleet, key, since, expected) in [
            (OURS, OIL, "2027-02-01T06:30:00Z", true),
            (OURS, OIL, "2027-02-01T06:30:00.000001Z", false),
            (OURS, (OIL.0, "service:2"), "2027-01-01T00:00:00Z", false),
            (THEIRS, OIL, "2027-01-01T00:00:00Z", false),
        ] {
            let found = replies::is_acknowledged(conn, fleet, van, key, at(since)).await.expect("an answer");
            assert_eq!(found, expected, "{fleet:?} {key:?} {since}");
        }
    }

    async fn there_is_one_digest_a_person_and_day_whatever_becomes_of_it(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        let slot = at("2027-03-01T07:00:00Z");
        assert!(digests::plan(conn, OURS, &week(970, "2027-03-01"), slot, morning()).await.expect("planned"));
        assert!(!digests::plan(conn, OURS, &week(971, "2027-03-01"), slot, morning()).await.expect("an answer"));
        assert!(digests::plan(conn, OURS, &week(972, "2027-03-08"), at("2027-03-08T07:00:00Z"), morning()).await.expect("planned"));
        let early = at("2027-03-01T06:59:59Z");
        assert!(digests::waiting_for(conn, OURS, MANAGER, early).await.expect("an answer").is_empty());
        let due = digests::waiting_for(conn, OURS, MANAGER, slot).await.expect("an answer");
        assert_eq!(due, [week(970, "2027-03-01")]);
        assert_eq!(digests::next_time(conn).await.expect("an answer"), Some(slot));
        digests::settle_empty(conn, OURS, &due, slot).await.expect("settled");
        assert!(!digests::plan(conn, OURS, &week(973, "2027-03-01"), slot, slot).await.expect("an answer"));
        assert_eq!(digests::next_time(conn).await.expect("an answer"), Some(at("2027-03-08T07:00:00Z")));
    }

    async fn a_digest_goes_with_its_letter_or_waits_for_another(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        let slot = at("2027-03-01T07:00:00Z");
        let (first, second) = (LetterId(id(980)), LetterId(id(981)));
        digests::plan(conn, OURS, &week(970, "2027-03-01"), slot, morning()).await.expect("planned");
        let due = digests::waiting_for(conn, OURS, MANAGER, slot).await.expect("an answer");
        assert_eq!(digests::put_into(conn, OURS, &due, first, "list one").await.expect("put in"), 1);
        assert!(digests::waiting_for(conn, OURS, MANAGER, slot).await.expect("an answer").is_empty());
        let carried = digests::carried_by(conn, OURS, first).await.expect("an answer");
        assert_eq!(carried.first().and_then(|one| one.told.as_deref()), Some("list one"));
        digests::take_out(conn, OURS, first, at("2027-03-01T09:00:00Z")).await.expect("taken out");
        assert!(digests::waiting_for(conn, OURS, MANAGER, slot).await.expect("an answer").is_empty());
        let again = digests::waiting_for(conn, OURS, MANAGER, at("2027-03-01T09:00:00Z")).await.expect("an answer");
        assert_eq!(again, [week(970, "2027-03-01")]);
        digests::put_into(conn, OURS, &again, second, "list two").await.expect("put in");
        assert_eq!(digests::settle_by_letter(conn, OURS, second, slot).await.expect("settled"), 1);
        assert_eq!(digests::take_out(conn, OURS, second, slot).await.expect("an answer"), 0, "it is told");
        assert_eq!(digests::next_time(conn).await.expect("an answer"), None);
    }
}
