//! Derived rows are replaced where they differ and listed across the fleet.

use crate::records::{bare_window, keep_reading, reading};
use crate::world::{CAR, DEPOT, OURS, THEIRS, VAN, at, day, depot, furnished, id, km, morning, stamp};
use chrono::{DateTime, Utc};
use model::horizon::{
    Band, Basis, Cycle, DueItem, Graded, Horizon, ItemKey, ItemKind, Mark, Moment, Timeline, UsageOutlook,
    WindowOutlook,
};
use model::{
    CohortFit, DepotId, Doubt, FitLevel, Grade, HourDoubt, HourJudgement, HourVerdict, InspectionId,
    Judgement, MeasurementId, PinnedFit, Place, ReadingId, VehicleId, Verdict, WindowId,
};
use quantity::{Distance, Entered, Unit};
use store::derived::{self, ItemFilter, SubjectKind, WindowFilter};
use store::{Conn, coverage, depots};
use testkit::on_both_engines;

fn moment(text: &str) -> Moment {
    Moment { at: at(text), basis: Basis::Forecast }
}

/// Approaching on the 1st, due on the 15th, overdue on the 22nd of a month of 2027.
pub fn item(key: &str, month: u32) -> DueItem {
    let on = |day: u32| Some(moment(&format!("2027-{month:02}-{day:02}T00:00:00Z")));
    DueItem {
        hours_limit_seconds: None,
        key: ItemKey(key.to_owned()),
        cycle: Cycle("in-service".to_owned()),
        kind: ItemKind::Rule,
        title: "Engine oil".to_owned(),
        timeline: Timeline { approaching: on(1), due: on(15), overdue: on(22) },
        do_not_drive_from: None,
        date_limit: None,
        odometer_limit: Some(Distance::from_km(60_000)),
        crossing: Some(Band { early: Some(day("2027-04-01")), likely: None, late: None }),
        grade: None,
        covers: vec!["oil-filter".to_owned()],
        authority: None,
        caution: None,
        marks: vec![Mark { code: "due".to_owned(), rank: 2, at: at("2027-04-15T00:00:00Z") }],
    }
}

pub fn outlook(window: u128) -> WindowOutlook {
    WindowOutlook {
        reduced_by: Vec::new(),
        credits: Vec::new(),
        excess: None,
        act_by: None,
        capacity: None,
        window: WindowId(id(window)),
        key: ItemKey(format!("window:{}", id(window))),
        cycle: Cycle(id(window).to_string()),
        kind: model::WindowKind::Lease,
        title: "Lease".to_owned(),
        starts_on: day("2026-05-04"),
        start_proven: true,
        last_day: Some(day("2029-05-03")),
        odometer_limit: None,
        ends: Band { early: Some(day("2028-01-31")), likely: Some(day("2028-06-01")), late: None },
        distance_first: Some(0.1 + 0.2),
        ending: Some(moment("2027-11-01T00:00:00Z")),
        ended: None,
        findings: Vec::new(),
        marks: Vec::new(),
    }
}

fn graded(point: &str, place: Place, grade: Grade) -> Graded {
    Graded {
        inspection: InspectionId(id(400)),
        measurement: MeasurementId(id(410)),
        point: point.to_owned(),
        place,
        grade,
        measured: Entered::new(2.9, Unit::Millimetre),
        limit: Some(Entered::new(1.6, Unit::Millimetre)),
        margin: None,
        reason: "Above the limit.".to_owned(),
        seen: None,
        changes_when: "At or above 2.4 mm it would be better.".to_owned(),
        advice: vec!["Measure again.".to_owned()],
        source: "house limit".to_owned(),
        standing: "common practice".to_owned(),
        caution: None,
        measured_at: morning(),
    }
}

fn usage() -> UsageOutlook {
    let fit = CohortFit { a: 1.0, p: 6.0, q: 400.0, level: FitLevel::Shipped, vehicles: 0, kappa: None };
    UsageOutlook {
        earlier_meters: Distance::ZERO,
        anchor: ReadingId(id(101)),
        anchored_at: at("2027-02-01T00:00:00Z"),
        odometer: Distance::from_km(100),
        a: 0.1 + 0.2,
        shape: 6.1,
        scale_km: 401.7,
        km_per_day: 78.76,
        gaps: 3,
        prior: PinnedFit { id: None, fit },
    }
}

fn held(reading: u128) -> Judgement {
    let doubt =
        Doubt::RunsBackwards { before: Distance::from_km(100), before_at: at("2027-02-01T00:00:00Z") };
    let verdict = Verdict::Held { doubt, suggested: Some(km(120.0)) };
    Judgement { reading: ReadingId(id(reading)), verdict }
}

fn running_hours() -> Vec<HourJudgement> {
    let doubt = HourDoubt::RunsBackwards { before: 3_600_000, before_at: at("2027-02-01T00:00:00Z") };
    let verdicts = [
        HourVerdict::Counted { seconds: 3_600_000 },
        HourVerdict::Held { doubt, suggested: Some(Entered::new(1000.5, Unit::Hour)) },
        HourVerdict::Withdrawn,
    ];
    let numbered = (111..).zip(verdicts);
    numbered.map(|(number, verdict)| HourJudgement { reading: ReadingId(id(number)), verdict }).collect()
}

fn horizon(vehicle: VehicleId) -> Horizon {
    let counted = Verdict::Counted { odometer: Distance::from_km(100) };
    let judgements = vec![
        Judgement { reading: ReadingId(id(101)), verdict: counted },
        held(102),
        Judgement { reading: ReadingId(id(103)), verdict: Verdict::Withdrawn },
    ];
    Horizon {
        hour_judgements: running_hours(),
        running: None,
        wear: Vec::new(),
        questions: Vec::new(),
        vehicle,
        judgements,
        usage: Some(usage()),
        grades: vec![
            graded("pad", Place::FrontLeft, Grade::Good),
            graded("tread", Place::FrontLeft, Grade::Watch),
        ],
        items: vec![item("rule:brake-fluid", 5), item("rule:engine-oil", 4)],
        windows: vec![outlook(502)],
    }
}

pub fn nothing(vehicle: VehicleId) -> Horizon {
    let usage = None;
    let (judgements, hour_judgements) = (vec![], vec![]);
    let (grades, items, windows) = (vec![], vec![], vec![]);
    let (running, wear, questions) = (None, vec![], vec![]);
    Horizon { vehicle, judgements, hour_judgements, usage, running, wear, questions, grades, items, windows }
}

/// How many rows had to change.
async fn replace(conn: &mut Conn<'_>, horizon: &Horizon) -> u64 {
    derived::replace(conn, OURS, DEPOT, horizon).await.expect("replaced")
}

async fn with_window(conn: &mut Conn<'_>) {
    coverage::insert(conn, OURS, VAN, &bare_window(502), &stamp(OURS)).await.expect("kept");
}

async fn items(conn: &mut Conn<'_>, filter: &ItemFilter, now: DateTime<Utc>) -> Vec<DueItem> {
    let rows = derived::due_items(conn, OURS, filter, now, None, 99).await.expect("a page");
    rows.into_iter().map(|row| row.item).collect()
}

on_both_engines! {
    async fn a_horizon_is_kept_as_it_was(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        with_window(conn).await;
        let written = replace(conn, &horizon(VAN)).await;
        assert_eq!(written, 12, "three judgements of each meter, two grades, a usage, two items, a window");
        let kept = horizon(VAN);
        assert_eq!(derived::judgements(conn, OURS, VAN).await.expect("an answer"), kept.judgements);
        assert_eq!(derived::hour_judgements(conn, OURS, VAN).await.expect("an answer"), kept.hour_judgements);
        assert_eq!(derived::grades(conn, OURS, VAN).await.expect("an answer"), kept.grades);
        let by_urgency = [item("rule:engine-oil", 4), item("rule:brake-fluid", 5)];
        assert_eq!(items(conn, &ItemFilter::default(), morning()).await, by_urgency);
        let windows = derived::windows(conn, OURS, &WindowFilter::default(), morning(), None, 9).await;
        let windows: Vec<WindowOutlook> = windows.expect("a page").into_iter().map(|row| row.window).collect();
        assert_eq!(windows, kept.windows);
    }

    async fn an_unchanged_horizon_changes_no_row(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        with_window(conn).await;
        replace(conn, &horizon(VAN)).await;
        assert_eq!(replace(conn, &horizon(VAN)).await, 0);
        assert_eq!(replace(conn, &nothing(CAR)).await, 0);
    }

    async fn only_what_differs_is_written(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        with_window(conn).await;
        replace(conn, &horizon(VAN)).await;
        let mut moved = horizon(VAN);
        moved.items[1].timeline.due = Some(moment("2027-04-16T00:00:00Z"));
        moved.grades[0].grade = Grade::Attend;
        moved.judgements[1].verdict = Verdict::Counted { odometer: Distance::from_km(101) };
        moved.hour_judgements[0].verdict = HourVerdict::Withdrawn;
        moved.usage = Some(UsageOutlook { gaps: 4, ..usage() });
        moved.windows[0].ends.early = Some(day("2028-02-01"));
        assert_eq!((replace(conn, &moved).await, replace(conn, &moved).await), (6, 0));
        assert_eq!(derived::grades(conn, OURS, VAN).await.expect("an answer"), moved.grades);
        assert_eq!(derived::judgements(conn, OURS, VAN).await.expect("an answer"), moved.judgements);
        assert_eq!(derived::hour_judgements(conn, OURS, VAN).await.expect("an answer"), moved.hour_judgements);
    }

    async fn what_no_longer_follows_is_removed(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        with_window(conn).await;
        replace(conn, &horizon(VAN)).await;
        let left = Horizon { items: vec![item("rule:brake-fluid", 5)], ..horizon(VAN) };
        assert_eq!(replace(conn, &left).await, 1);
        assert_eq!(items(conn, &ItemFilter::default(), morning()).await, left.items);
        assert_eq!((replace(conn, &nothing(VAN)).await, replace(conn, &nothing(VAN)).await), (11, 0));
        assert_eq!(items(conn, &ItemFilter::default(), morning()).await, []);
    }

    async fn a_vehicle_that_moved_is_listed_at_its_new_depot(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        let far = DepotId(id(11));
        depots::insert(conn, OURS, &depot(far), morning()).await.expect("kept");
        with_window(conn).await;
        replace(conn, &horizon(VAN)).await;
        let moved = derived::replace(conn, OURS, far, &horizon(VAN)).await.expect("replaced");
        assert_eq!(moved, 3, "two items and a window are listed by depot");
        let here = ItemFilter { depot: Some(DEPOT), ..ItemFilter::default() };
        let there = ItemFilter { depot: Some(far), ..ItemFilter::default() };
        assert_eq!((items(conn, &here, morning()).await.len(), items(conn, &there, morning()).await.len()), (0, 2));
        let there = WindowFilter { depot: Some(far), ..WindowFilter::default() };
        let windows = derived::windows(conn, OURS, &there, morning(), None, 9).await.expect("a page");
        assert_eq!(windows.iter().map(|row| row.depot).collect::<Vec<_>>(), [far]);
    }

    async fn items_are_listed_by_the_stage_they_have_then(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        let never = DueItem { timeline: Timeline::default(), ..item("rule:never", 4) };
        let all = vec![item("rule:engine-oil", 4), never];
        replace(conn, &Horizon { items: all.clone(), ..nothing(VAN) }).await;
        let stages = ["clear", "approaching", "due", "overdue"];
        let moments = [
            ("2027-03-31T23:59:59.999999Z", [2, 0, 0, 0]),
            ("2027-04-01T00:00:00Z", [1, 1, 0, 0]),
            ("2027-04-15T00:00:00Z", [1, 0, 1, 0]),
            ("2027-04-22T00:00:00Z", [1, 0, 0, 1]),
        ];
        for (now, expected) in moments {
            for (stage, number) in stages.into_iter().zip(expected) {
                let filter = ItemFilter { stage: Some(stage), ..ItemFilter::default() };
                let listed = items(conn, &filter, at(now)).await;
                assert_eq!(listed.len(), number, "{stage} at {now}");
                let agrees = listed.iter().all(|item| item.timeline.stage_at(at(now)).0.word() == stage);
                assert!(agrees, "{stage} at {now} as the item itself says");
            }
        }
    }

    async fn what_must_not_be_driven_comes_first_and_what_never_falls_due_last(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        let never = DueItem { timeline: Timeline::default(), ..item("rule:never", 4) };
        let forbidden = DueItem { do_not_drive_from: Some(at("2027-02-01T00:00:00Z")), ..item("condition:tread", 6) };
        let of_van = vec![never.clone(), item("rule:engine-oil", 4)];
        replace(conn, &Horizon { items: of_van, ..nothing(VAN) }).await;
        replace(conn, &Horizon { items: vec![forbidden.clone()], ..nothing(CAR) }).await;
        let listed = items(conn, &ItemFilter::default(), morning()).await;
        assert_eq!(listed, [forbidden.clone(), item("rule:engine-oil", 4), never]);
        let soon = ItemFilter { before: Some(at("2027-04-15T00:00:00Z")), ..ItemFilter::default() };
        assert_eq!(items(conn, &soon, morning()).await, [forbidden]);
        let of_car = ItemFilter { vehicle: Some(CAR), ..ItemFilter::default() };
        assert_eq!(items(conn, &of_car, morning()).await.len(), 1);
    }

    async fn a_due_item_keeps_its_id_until_its_cycle_changes(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        replace(conn, &Horizon { items: vec![item("rule:engine-oil", 4)], ..nothing(VAN) }).await;
        let first = derived::due_items(conn, OURS, &ItemFilter::default(), morning(), None, 9).await.expect("a page");
        let next = DueItem { cycle: Cycle("service-1".to_owned()), ..item("rule:engine-oil", 9) };
        replace(conn, &Horizon { items: vec![next.clone()], ..nothing(VAN) }).await;
        let second = derived::due_items(conn, OURS, &ItemFilter::default(), morning(), None, 9).await.expect("a page");
        assert_eq!(first[0].id, derived::item_id(VAN, &item("rule:engine-oil", 12)));
        assert_eq!(second[0].id, derived::item_id(VAN, &next));
        assert_ne!(first[0].id, second[0].id);
    }

    async fn windows_are_listed_by_the_stage_they_have_then(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        with_window(conn).await;
        let ends = WindowOutlook { ended: Some(moment("2028-06-02T00:00:00Z")), ..outlook(502) };
        replace(conn, &Horizon { windows: vec![ends], ..nothing(VAN) }).await;
        for (now, stage) in [
            ("2027-10-31T23:59:59Z", "in_force"),
            ("2027-11-01T00:00:00Z", "ending"),
            ("2028-06-02T00:00:00Z", "ended"),
        ] {
            for asked in ["in_force", "ending", "ended"] {
                let filter = WindowFilter { stage: Some(asked), ..WindowFilter::default() };
                let listed = derived::windows(conn, OURS, &filter, at(now), None, 9).await.expect("a page");
                assert_eq!(listed.len(), usize::from(asked == stage), "{asked} at {now}");
            }
        }
    }

    async fn held_readings_are_listed_with_their_doubt(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        for number in [101, 102] {
            keep_reading(conn, VAN, &reading(number, 90.5, "2027-02-02T00:00:00Z")).await;
        }
        replace(conn, &Horizon { judgements: horizon(VAN).judgements, ..nothing(VAN) }).await;
        let listed = derived::held(conn, OURS, None, 9).await.expect("a page");
        let [row] = listed.as_slice() else { panic!("one is held: {listed:?}") };
        assert_eq!((row.vehicle, row.reading, row.entered), (VAN, ReadingId(id(102)), km(90.5)));
        assert_eq!(Verdict::Held { doubt: row.doubt, suggested: row.suggested }, held(102).verdict);
        assert_eq!((row.read_at, row.recorded_at), (at("2027-02-02T00:00:00Z"), morning()));
    }

    async fn a_notice_finds_its_item_or_window_by_key(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        with_window(conn).await;
        replace(conn, &horizon(VAN)).await;
        let item_key = "rule:engine-oil";
        let found = derived::subject(conn, OURS, VAN, item_key).await.expect("an answer").expect("the item");
        assert_eq!((found.depot, found.kind.clone()), (DEPOT, SubjectKind::Item(Box::new(item(item_key, 4)))));
        let window = derived::subject(conn, OURS, VAN, &outlook(502).key.0).await.expect("an answer").expect("the window");
        assert_eq!(window.kind, SubjectKind::Window(Box::new(outlook(502))));
        for (fleet, vehicle, key) in [
            (THEIRS, VAN, item_key),
            (OURS, CAR, item_key),
            (OURS, VAN, "rule:unknown"),
            (OURS, CAR, &outlook(502).key.0),
        ] {
            let none = derived::subject(conn, fleet, vehicle, key).await.expect("an answer");
            assert_eq!(none, None, "{fleet} {vehicle} {key}");
        }
    }

    async fn a_window_that_ended_before_it_was_recorded_says_so(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        with_window(conn).await;
        for (ended, late) in [
            (None, false),
            (Some(Moment { at: morning(), basis: Basis::Date }), true),
            (Some(moment("2027-03-01T08:00:00.123457Z")), false),
        ] {
            let windows = vec![WindowOutlook { ended, ..outlook(502) }];
            replace(conn, &Horizon { windows, ..nothing(VAN) }).await;
            let key = outlook(502).key.0;
            let found = derived::subject(conn, OURS, VAN, &key).await.expect("an answer").expect("the window");
            assert_eq!(found.ended_before_record(), late, "{ended:?}");
        }
    }
}
