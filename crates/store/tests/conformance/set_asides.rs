//! Measurements set aside, how they are settled, and when what was taken of them is known.

use crate::inspections::{inspection, keep, row, tread};
use crate::world::{CAR, OURS, THEIRS, VAN, at, furnished, id, morning, stamp};
use model::{
    Facts, Inspection, InspectionId, Measurement, Place, SetAside, SetAsideId, SetAsideReason, Settled,
    Settlement, VehicleId, Zone,
};
use store::acts::Stamp;
use store::{AsKnown, Conn, facts, inspections, set_asides};
use testkit::on_both_engines;

pub fn set_aside(number: u128, ordinal: i64) -> SetAside {
    SetAside {
        id: SetAsideId(id(number)),
        inspection: InspectionId(id(400)),
        ordinal,
        pointer: format!("/measurements/{ordinal}/point"),
        written: r#"{"point":"shoe-size","value":42}"#.to_owned(),
        reason: SetAsideReason::PointUnknown,
        detail: "there is no check point \"shoe-size\"".to_owned(),
        recorded_at: morning(),
        settlement: None,
    }
}

pub async fn keep_set_aside(conn: &mut Conn<'_>, rows: &[(VehicleId, SetAside)]) {
    set_asides::insert_many(conn, OURS, rows, &stamp(OURS)).await.expect("kept");
}

/// An inspection that measured one tyre, with two measurements set aside.
async fn with_two(conn: &mut Conn<'_>) -> Inspection {
    let measured = inspection(400, vec![tread(410, Place::FrontLeft, Zone::Lowest, 4.0)]);
    keep(conn, &[row(VAN, measured.clone())]).await;
    keep_set_aside(conn, &[(VAN, set_aside(431, 2)), (VAN, set_aside(430, 0))]).await;
    measured
}

fn settled(outcome: Settled, recorded_at: &str) -> Settlement {
    Settlement { outcome, reason: "Looked again.".to_owned(), recorded_at: at(recorded_at) }
}

fn later(instant: &str) -> Stamp {
    Stamp { recorded_at: at(instant), ..stamp(OURS) }
}

async fn known(conn: &mut Conn<'_>, known: AsKnown) -> Facts {
    facts::load_as_known(conn, OURS, &[VAN], known).await.expect("facts").pop().expect("the van")
}

fn depths(inspection: &Inspection) -> Vec<&Measurement> {
    inspection.measurements.iter().collect()
}

on_both_engines! {
    async fn what_is_set_aside_comes_back_as_it_was_and_waits_in_order(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        with_two(conn).await;
        let found = set_asides::find(conn, OURS, set_aside(430, 0).id).await.expect("an answer");
        assert_eq!(found, Some((VAN, set_aside(430, 0))));
        let page = set_asides::waiting(conn, OURS, None, 9).await.expect("a page");
        assert_eq!(page, [(VAN, set_aside(430, 0)), (VAN, set_aside(431, 2))]);
        let rest = set_asides::waiting(conn, OURS, Some((morning(), id(430))), 9).await.expect("a page");
        assert_eq!(rest, [(VAN, set_aside(431, 2))]);
        let of_van = set_asides::waiting_of(conn, OURS, VAN, AsKnown::NOW).await.expect("a list");
        assert_eq!(of_van, [set_aside(430, 0), set_aside(431, 2)]);
        let of_car = set_asides::waiting_of(conn, OURS, CAR, AsKnown::NOW).await.expect("a list");
        assert_eq!(of_car, []);
        let theirs = set_asides::waiting(conn, THEIRS, None, 9).await.expect("a page");
        assert_eq!(theirs, []);
    }

    async fn one_is_settled_once_and_waits_no_more(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        with_two(conn).await;
        let (one, dismissed) = (set_aside(430, 0), settled(Settled::Dismissed, "2027-03-02T08:00:00Z"));
        let by = &later("2027-03-02T08:00:00Z");
        let first = set_asides::settle(conn, OURS, one.id, &dismissed, by).await.expect("an answer");
        let second = set_asides::settle(conn, OURS, one.id, &dismissed, by).await.expect("an answer");
        assert_eq!((first, second), (true, false));
        let waiting = set_asides::waiting(conn, OURS, None, 9).await.expect("a page");
        assert_eq!(waiting, [(VAN, set_aside(431, 2))]);
        let found = set_asides::find(conn, OURS, one.id).await.expect("an answer");
        assert_eq!(found, Some((VAN, SetAside { settlement: Some(dismissed), ..one })));
    }

    async fn what_is_taken_later_is_known_later_and_stands_behind_what_was_there(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        let before = with_two(conn).await;
        let taken = tread(412, Place::FrontRight, Zone::Lowest, 5.0);
        let by = &later("2027-03-02T08:00:00Z");
        inspections::insert_measurement(conn, OURS, VAN, before.id, &taken, by).await.expect("kept");
        let settlement = settled(Settled::Taken { measurement: taken.id }, "2027-03-02T08:00:00Z");
        set_asides::settle(conn, OURS, set_aside(430, 0).id, &settlement, by).await.expect("settled");

        let found = inspections::find(conn, OURS, VAN, before.id).await.expect("an answer").expect("kept");
        assert_eq!(depths(&found), [&before.measurements[0], &taken]);
        for (when, measured, waiting) in [
            ("2027-03-02T07:59:59Z", 1, 2),
            ("2027-03-02T08:00:00Z", 2, 1),
        ] {
            let then = AsKnown::at(at(when));
            let facts = known(conn, then).await;
            let held = set_asides::waiting_of(conn, OURS, VAN, then).await.expect("a list");
            assert_eq!((facts.inspections[0].measurements.len(), held.len()), (measured, waiting), "{when}");
        }
        assert_eq!(known(conn, AsKnown::NOW).await.inspections, [found]);
    }

    async fn a_spot_measured_already_is_not_measured_again_later(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        let before = with_two(conn).await;
        let again = tread(412, Place::FrontLeft, Zone::Lowest, 5.0);
        let by = &stamp(OURS);
        let refusal = inspections::insert_measurement(conn, OURS, VAN, before.id, &again, by).await;
        assert!(refusal.expect_err("twice").is_unique());
    }

    async fn a_withdrawn_inspection_takes_what_it_set_aside_along(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        let kept = with_two(conn).await;
        let withdrawn = "2027-03-02T08:00:00Z";
        inspections::withdraw(conn, OURS, kept.id, at(withdrawn)).await.expect("withdrawn");
        assert_eq!(set_asides::find(conn, OURS, set_aside(430, 0).id).await.expect("an answer"), None);
        assert_eq!(set_asides::waiting(conn, OURS, None, 9).await.expect("a page"), []);
        for (when, waiting) in [("2027-03-02T07:59:59Z", 2), (withdrawn, 0)] {
            let then = AsKnown::at(at(when));
            let held = set_asides::waiting_of(conn, OURS, VAN, then).await.expect("a list");
            assert_eq!(held.len(), waiting, "{when}");
        }
    }

    async fn nothing_is_set_aside_of_an_inspection_that_is_not_there(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        let refusal = set_asides::insert_many(conn, OURS, &[(VAN, set_aside(430, 0))], &stamp(OURS)).await;
        assert!(refusal.expect_err("no inspection").is_foreign_key());
    }
}
