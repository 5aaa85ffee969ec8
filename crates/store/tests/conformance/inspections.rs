//! Inspections with measurements, findings, and the batches and entries they came in.

use crate::records::{keep_reading, reading};
use crate::rules::sheet;
use crate::world::{CAR, MANAGER, OURS, VAN, at, code, furnished, id, morning, stamp};
use model::{
    Finding, FindingId, FindingWeight, Inspection, InspectionId, Measurement, MeasurementId, Place,
    ReadingId, ServiceId, VehicleId, Zone,
};
use quantity::{Entered, Unit};
use store::findings::{Closure, ClosureKind};
use store::inspections::{BatchRow, EntryRow, InspectionRow, RejectedRow};
use store::{Conn, findings, inspections, sheets};
use testkit::on_both_engines;

pub fn tread(number: u128, place: Place, zone: Zone, value: f64) -> Measurement {
    let entered = Entered::new(value, Unit::Millimetre);
    Measurement {
        id: MeasurementId(id(number)),
        point: code("tread"),
        place,
        zone,
        entered,
        exact: entered.exact().expect("a depth"),
    }
}

pub fn inspection(number: u128, measurements: Vec<Measurement>) -> Inspection {
    Inspection {
        id: InspectionId(id(number)),
        sheet: code("walk-round"),
        sheet_version: 1,
        performed_at: at("2027-02-27T07:15:00.000001Z"),
        recorded_at: morning(),
        clock_in_doubt: false,
        reading: None,
        measurements,
        note: None,
    }
}

pub fn row(vehicle: VehicleId, inspection: Inspection) -> InspectionRow {
    InspectionRow {
        vehicle,
        inspection,
        sent_at: at("2027-02-27T07:15:00Z"),
        clock_offset_seconds: 0,
        clock_corrected: false,
        unknown_members: Vec::new(),
        supersedes: None,
    }
}

pub fn finding(number: u128, inspection: Option<u128>) -> Finding {
    Finding {
        id: FindingId(id(number)),
        inspection: inspection.map(|number| InspectionId(id(number))),
        code: code("suspension-noise"),
        component: None,
        place: Place::Vehicle,
        weight: FindingWeight::Note,
        note: String::new(),
        found_at: at("2027-02-27T07:15:00Z"),
        closed_at: None,
    }
}

fn closure() -> Closure {
    Closure {
        kind: ClosureKind::Fixed,
        reason: "Bush replaced.".to_owned(),
        service: Some(ServiceId(id(200))),
        closed_at: at("2027-02-28T16:00:00Z"),
    }
}

pub async fn keep(conn: &mut Conn<'_>, rows: &[InspectionRow]) {
    if sheets::find(conn, OURS, &code("walk-round"), 1).await.expect("an answer").is_none() {
        sheets::insert(conn, OURS, &sheet(1), &stamp(OURS)).await.expect("a sheet");
    }
    inspections::insert_many(conn, OURS, rows, &stamp(OURS)).await.expect("kept");
}

fn entry(number: u128, held: bool) -> EntryRow {
    EntryRow {
        id: id(number),
        content_hash: vec![7; 32],
        inspection: InspectionId(id(number)),
        batch_id: held.then(|| id(1)),
        held,
    }
}

on_both_engines! {
    async fn an_inspection_comes_back_with_its_measurements_in_order(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        keep_reading(conn, VAN, &reading(101, 100.0, "2027-02-27T07:15:00Z")).await;
        let measured = vec![
            tread(411, Place::RearRight, Zone::Outer, 3.3),
            tread(410, Place::FrontLeft, Zone::Inner, 0.1 + 0.2),
        ];
        let full = Inspection {
            clock_in_doubt: true,
            reading: Some(ReadingId(id(101))),
            note: Some("Wet yard".to_owned()),
            ..inspection(400, measured)
        };
        let full_row = InspectionRow {
            clock_corrected: true,
            clock_offset_seconds: 3_600,
            unknown_members: vec!["mood".to_owned()],
            supersedes: Some(InspectionId(id(399))),
            ..row(VAN, full.clone())
        };
        keep(conn, &[full_row, row(VAN, inspection(401, vec![]))]).await;
        for kept in [full.clone(), inspection(401, vec![])] {
            assert_eq!(inspections::find(conn, OURS, VAN, kept.id).await.expect("an answer"), Some(kept));
        }
        let authored = inspections::find_with_author(conn, OURS, full.id).await.expect("an answer");
        assert_eq!(authored, Some((VAN, full.clone(), Some(MANAGER.0))));
        let listed = inspections::page(conn, OURS, VAN, None, 9).await.expect("a page");
        assert_eq!(listed, [full, inspection(401, vec![])]);
    }

    /// More rows than fit in one statement: SQLite takes 32,766 parameters (`SQLITE_MAX_VARIABLE_NUMBER`,
    /// <https://www.sqlite.org/limits.html>), and a measurement has eleven.
    async fn a_batch_larger_than_a_statement_is_kept_whole(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        let rows: Vec<InspectionRow> = (0..1_500_u128)
            .map(|n| {
                let measured = [(0, Place::FrontLeft), (1, Place::FrontRight), (2, Place::Spare)];
                let measured = measured.map(|(k, place)| tread(100_000 + 3 * n + k, place, Zone::Lowest, 4.0));
                row(VAN, inspection(10_000 + n, measured.to_vec()))
            })
            .collect();
        keep(conn, &rows).await;
        let listed = inspections::page(conn, OURS, VAN, None, 2_000).await.expect("a page");
        let expected: Vec<Inspection> = rows.into_iter().map(|row| row.inspection).collect();
        assert!(listed == expected, "{} of {}", listed.len(), expected.len());
    }

    async fn two_measurements_of_one_spot_are_refused(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        sheets::insert(conn, OURS, &sheet(1), &stamp(OURS)).await.expect("a sheet");
        let twice = [410, 411].map(|number| tread(number, Place::FrontLeft, Zone::Inner, 3.0));
        let rows = [row(VAN, inspection(400, twice.to_vec()))];
        let refusal = inspections::insert_many(conn, OURS, &rows, &stamp(OURS)).await.expect_err("twice");
        assert!(refusal.is_unique(), "{refusal:?}");
    }

    async fn a_withdrawn_inspection_takes_its_findings_along(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        keep(conn, &[row(VAN, inspection(400, vec![]))]).await;
        let both = [(VAN, finding(420, Some(400))), (VAN, finding(421, None))];
        findings::insert_many(conn, OURS, &both, &stamp(OURS)).await.expect("kept");
        let first = inspections::withdraw(conn, OURS, InspectionId(id(400)), morning()).await.expect("an answer");
        let second = inspections::withdraw(conn, OURS, InspectionId(id(400)), morning()).await.expect("an answer");
        assert_eq!((first, second), (true, false));
        let gone = inspections::find(conn, OURS, VAN, InspectionId(id(400))).await.expect("an answer");
        let with_it = findings::find(conn, OURS, VAN, FindingId(id(420))).await.expect("an answer");
        assert_eq!((gone, with_it), (None, None));
        let left = findings::page(conn, OURS, findings::Filter::default(), None, 9).await.expect("a page");
        assert_eq!(left, [(VAN, finding(421, None))]);
    }

    async fn findings_come_back_as_they_were_and_close_once(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        let heavy = Finding {
            component: Some(code("suspension")),
            place: Place::RearLeft,
            weight: FindingWeight::DoNotDrive,
            note: "Knocks".to_owned(),
            ..finding(420, None)
        };
        let both = [(VAN, heavy.clone()), (CAR, finding(421, None))];
        findings::insert_many(conn, OURS, &both, &stamp(OURS)).await.expect("kept");
        assert_eq!(findings::find(conn, OURS, VAN, heavy.id).await.expect("an answer"), Some(heavy.clone()));
        let again = Closure { kind: ClosureKind::Dismissed, service: None, ..closure() };
        let first = findings::close(conn, OURS, heavy.id, &closure(), &stamp(OURS)).await.expect("an answer");
        let second = findings::close(conn, OURS, heavy.id, &again, &stamp(OURS)).await.expect("an answer");
        let kept = findings::closure(conn, OURS, heavy.id).await.expect("an answer");
        assert_eq!((first, second, kept), (true, false, Some(closure())));
        let closed = Finding { closed_at: Some(closure().closed_at), ..heavy };
        let all = findings::Filter { vehicle: None, with_closed: true };
        let of_van = findings::Filter { vehicle: Some(VAN), with_closed: true };
        let open_of_van = findings::Filter { vehicle: Some(VAN), with_closed: false };
        for (filter, expected) in [
            (findings::Filter::default(), vec![(CAR, finding(421, None))]),
            (all, vec![(VAN, closed.clone()), (CAR, finding(421, None))]),
            (of_van, vec![(VAN, closed)]),
            (open_of_van, vec![]),
        ] {
            let page = findings::page(conn, OURS, filter, None, 9).await.expect("a page");
            assert_eq!(page, expected, "{filter:?}");
        }
    }

    async fn an_entry_id_is_used_once(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        let entries = [entry(400, false), entry(401, true)];
        inspections::insert_entries(conn, OURS, &entries, &stamp(OURS)).await.expect("kept");
        let used = inspections::entries_by_ids(conn, OURS, &[id(401), id(400), id(404)]).await;
        assert_eq!(used.expect("an answer"), entries);
        let again = [entry(402, false), entry(401, false)];
        let refusal = inspections::insert_entries(conn, OURS, &again, &stamp(OURS)).await.expect_err("used");
        assert!(refusal.is_unique(), "{refusal:?}");
    }

    async fn a_batch_comes_back_as_it_came_in_and_once(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        let batch = BatchRow {
            id: id(1),
            device_id: "phone-7".to_owned(),
            device_seq: Some(12),
            device_sent_at: at("2027-02-27T18:00:00Z"),
            received_at: morning(),
            clock_offset_seconds: 136_800,
            entries: 2,
            raw: "{\"entries\": [ ]}\n".to_owned(),
        };
        let unnumbered = BatchRow { id: id(2), device_seq: None, ..batch.clone() };
        for kept in [&batch, &unnumbered] {
            inspections::insert_batch(conn, OURS, kept, &stamp(OURS)).await.expect("kept");
            let found = inspections::find_batch(conn, OURS, kept.id).await.expect("an answer");
            assert_eq!(found.as_ref(), Some(kept));
        }
        let refusal = inspections::insert_batch(conn, OURS, &batch, &stamp(OURS)).await.expect_err("there");
        assert!(refusal.is_unique(), "{refusal:?}");
    }

    async fn refused_entries_are_listed_as_received(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        let refused = |ordinal, entry_id: Option<&str>| RejectedRow {
            batch_id: id(1),
            ordinal,
            entry_id: entry_id.map(str::to_owned),
            raw: "{\"odometer\": \"many\"}".to_owned(),
            problem: "{}".to_owned(),
        };
        let rows = [refused(0, None), refused(3, Some("not-an-id"))];
        inspections::insert_rejected(conn, OURS, &rows, &stamp(OURS)).await.expect("kept");
        let act = stamp(OURS).act;
        let listed = inspections::page_rejected(conn, OURS, None, 9).await.expect("a page");
        assert_eq!(listed, rows.clone().map(|row| (act, morning(), row)));
        let rest = inspections::page_rejected(conn, OURS, Some((act, 0)), 9).await.expect("a page");
        assert_eq!(rest, [(act, morning(), rows[1].clone())]);
    }
}
