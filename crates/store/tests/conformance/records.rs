//! Readings, services, papers, coverage, components, fittings and fits: each comes back as it was.

use crate::world::{CAR, OURS, VAN, WORKSHOP, at, code, day, furnished, id, km, morning, stamp};
use model::{
    CohortFit, Component, ComponentId, CoverageTerms, CoverageWindow, Decision, DecisionId, DistanceFrom,
    ExcessPrice, FitId, FitLevel, Fitting, FittingId, InspectionId, LastDay, MeterQuantity, OdometerReading,
    Paper, PaperId, PaperKind, Part, PinnedFit, Place, ProRataStep, ReadingDecision, ReadingId,
    ReadingSource, Reduction, ReductionCause, ServiceId, ServiceRecord, Transfer, VehicleId, WindowId,
    WindowKind,
};
use quantity::{Distance, Entered, Unit};
use store::readings::ReadingLinks;
use store::{Conn, components, coverage, fits, fittings, papers, readings, services};
use testkit::on_both_engines;

pub fn reading(number: u128, value: f64, read_at: &str) -> OdometerReading {
    OdometerReading {
        id: ReadingId(id(number)),
        entered: km(value),
        odometer: Distance::parse(km(value)).expect("a distance"),
        read_at: at(read_at),
        recorded_at: morning(),
        source: ReadingSource::Driver,
        clock_in_doubt: false,
    }
}

pub async fn keep_reading(conn: &mut Conn<'_>, vehicle: VehicleId, reading: &OdometerReading) {
    let links = ReadingLinks::default();
    readings::insert(conn, OURS, vehicle, reading, &links, &stamp(OURS)).await.expect("kept");
}

pub fn decision(number: u128, reading: u128, decision: Decision) -> ReadingDecision {
    ReadingDecision {
        id: DecisionId(id(number)),
        reading: ReadingId(id(reading)),
        decision,
        reason: "Looked at the dash.".to_owned(),
        recorded_at: morning(),
    }
}

pub fn bare_service(number: u128, reading: u128, done_on: &str) -> ServiceRecord {
    ServiceRecord {
        id: ServiceId(id(number)),
        done_on: day(done_on),
        odometer_entered: km(48_210.0),
        odometer: Distance::from_km(48_210),
        reading: ReadingId(id(reading)),
        rules: Vec::new(),
        workshop: None,
        parts: Vec::new(),
        cost_minor: None,
        currency: None,
        evidence: None,
        note: None,
        recorded_at: morning(),
    }
}

fn full_service() -> ServiceRecord {
    ServiceRecord {
        odometer_entered: Entered::new(30_000.4, Unit::Mile),
        rules: vec![code("engine-oil"), code("oil-filter")],
        workshop: Some(WORKSHOP),
        parts: vec![
            Part { name: "Oil 5W-30".to_owned(), number: Some("OL-530".to_owned()), quantity: 4.7 },
            Part { name: "Washer".to_owned(), number: None, quantity: 1.0 },
        ],
        cost_minor: Some(-12_345),
        currency: Some("EUR".to_owned()),
        evidence: Some("INV 7/2".to_owned()),
        note: Some("Drain plug \u{2013} \"tight\"\n".to_owned()),
        ..bare_service(201, 102, "2026-12-31")
    }
}

pub fn paper(number: u128, expires_on: &str) -> Paper {
    Paper {
        id: PaperId(id(number)),
        kind: PaperKind::AnnualTest,
        reference: None,
        issued_on: None,
        expires_on: day(expires_on),
        recorded_at: morning(),
    }
}

pub fn window(number: u128) -> CoverageWindow {
    let terms = CoverageTerms {
        reduced_if: vec![Reduction {
            when: ReductionCause::CommercialUse,
            months: Some(36),
            distance: Some(Entered::new(36_000.5, Unit::Mile)),
        }],
        pro_rata: vec![
            ProRataStep { months: Some(24), distance: None, credit_percent: 100.0 },
            ProRataStep { months: None, distance: Some(km(80_000.0)), credit_percent: 33.3 },
        ],
        transfer: Transfer::OnNotice,
        transfer_within_days: Some(30),
        transferred_on: Some(day("2026-05-20")),
        excess: None,
        kind: WindowKind::Warranty,
        title: "Powertrain warranty".to_owned(),
        scope: vec![code("engine"), code("gearbox")],
        starts_on: Some(day("2026-05-04")),
        start_odometer: Some(km(12.5)),
        opened_by: Some(ServiceId(id(200))),
        months: Some(60),
        distance: Some(Entered::new(60_000.0, Unit::Mile)),
        distance_from: DistanceFrom::StartOdometer,
        last_day: LastDay::Anniversary,
        capacity_floor_percent: Some(70.1),
        voided_by: Some("Towing".to_owned()),
    };
    CoverageWindow { id: WindowId(id(number)), terms, recorded_at: morning() }
}

pub fn bare_window(number: u128) -> CoverageWindow {
    let terms = CoverageTerms {
        reduced_if: Vec::new(),
        pro_rata: Vec::new(),
        transfer: Transfer::Automatic,
        transfer_within_days: None,
        transferred_on: None,
        excess: Some(ExcessPrice { per: km(1.0), minor: 8.25, currency: "EUR".to_owned() }),
        kind: WindowKind::Lease,
        title: "Lease".to_owned(),
        scope: Vec::new(),
        starts_on: None,
        start_odometer: None,
        opened_by: None,
        months: None,
        distance: None,
        distance_from: DistanceFrom::Zero,
        last_day: LastDay::DayBefore,
        capacity_floor_percent: None,
        voided_by: None,
    };
    CoverageWindow { id: WindowId(id(number)), terms, recorded_at: morning() }
}

pub fn tyre(number: u128) -> Component {
    Component {
        id: ComponentId(id(number)),
        kind: code("tyre"),
        product: "Wayfarer 225/65".to_owned(),
        depth_new: Some(Entered::new(10.5, Unit::ThirtySecondInch)),
        came_used: false,
        recorded_at: morning(),
    }
}

pub fn fitting(number: u128, component: u128, vehicle: VehicleId) -> Fitting {
    Fitting {
        id: FittingId(id(number)),
        component: ComponentId(id(component)),
        vehicle,
        place: Place::FrontLeft,
        from: day("2026-06-01"),
        from_odometer: Distance::from_km(1_000),
        to: None,
        to_odometer: None,
    }
}

pub fn end(to: &str) -> fittings::End {
    fittings::End { to: day(to), odometer: Distance::from_mm(9_999_999), reason: "worn".to_owned() }
}

const FIT: CohortFit =
    CohortFit { a: 0.1 + 0.2, p: 2.05, q: 1e-7, level: FitLevel::Parent, kappa: None, vehicles: 8 };

on_both_engines! {
    async fn a_reading_comes_back_as_it_was(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        let doubted = OdometerReading {
            entered: Entered::new(30_000.4, Unit::Mile),
            odometer: Distance::from_mm(48_281_049_650),
            clock_in_doubt: true,
            source: ReadingSource::Technician,
            ..reading(101, 0.0, "2027-02-28T23:59:59.999999Z")
        };
        let links = ReadingLinks {
            inspection: Some(InspectionId(id(400))),
            service: Some(ServiceId(id(200))),
            sent_at: Some(at("2027-02-28T20:00:00Z")),
            clock_offset_seconds: -14_400,
        };
        let plain = (VAN, reading(102, 48_210.0, "2027-02-01T00:00:00Z"), ReadingLinks::default());
        let both = [(VAN, doubted.clone(), links), plain.clone()];
        readings::insert_many(conn, OURS, &both, &stamp(OURS)).await.expect("kept");
        for kept in [doubted, plain.1] {
            assert_eq!(readings::find(conn, OURS, VAN, kept.id).await.expect("an answer"), Some(kept));
        }
    }

    /// Numbers that are easily bent: the sum that is not 0.3, the ends of the range of a double (IEEE 754-2019,
    /// binary64), the largest subnormal, and a number whose shortest form has 17 digits.
    async fn a_number_comes_back_to_the_last_bit(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        let hard = [0.1 + 0.2, f64::MIN_POSITIVE, f64::MAX, 5e-324, 2.225_073_858_507_201e-308, 123_456_789.123_456_79];
        for (number, value) in (110..).zip(hard) {
            let kept = OdometerReading { entered: km(value), ..reading(number, 0.0, "2027-01-01T00:00:00Z") };
            keep_reading(conn, VAN, &kept).await;
            let found = readings::find(conn, OURS, VAN, kept.id).await.expect("an answer").expect("the reading");
            assert_eq!(found.entered.value.to_bits(), value.to_bits(), "{value:e} in a column");
            let mut window = window(number);
            window.terms.capacity_floor_percent = Some(value);
            coverage::insert(conn, OURS, VAN, &window, &stamp(OURS)).await.expect("kept");
            let found = coverage::find(conn, OURS, VAN, window.id).await.expect("an answer").expect("the window");
            let floor = found.terms.capacity_floor_percent.map(f64::to_bits);
            assert_eq!(floor, Some(value.to_bits()), "{value:e} in JSON");
        }
    }

    async fn a_withdrawn_reading_is_found_no_more(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        let kept = reading(101, 100.0, "2027-01-01T00:00:00Z");
        keep_reading(conn, VAN, &kept).await;
        let elsewhere = readings::withdraw(conn, OURS, CAR, kept.id, morning()).await.expect("an answer");
        let first = readings::withdraw(conn, OURS, VAN, kept.id, morning()).await.expect("an answer");
        let second = readings::withdraw(conn, OURS, VAN, kept.id, morning()).await.expect("an answer");
        assert_eq!((elsewhere, first, second), (false, true, false));
        assert_eq!(readings::find(conn, OURS, VAN, kept.id).await.expect("an answer"), None);
        assert_eq!(readings::page(conn, OURS, VAN, None, 9).await.expect("a page"), []);
    }

    async fn decisions_come_back_as_they_were(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        keep_reading(conn, VAN, &reading(101, 100.0, "2027-01-01T00:00:00Z")).await;
        let corrected = Decision::Correct { value: Entered::new(62.1, Unit::Mile) };
        let kept = [
            decision(111, 101, Decision::Release),
            decision(112, 101, corrected),
            decision(113, 101, Decision::Withdraw),
        ];
        for decided in &kept {
            readings::insert_decision(conn, OURS, VAN, decided, &stamp(OURS)).await.expect("kept");
        }
        assert_eq!(readings::decisions_page(conn, OURS, VAN, None, 9).await.expect("a page"), kept);
    }

    async fn a_decision_about_no_reading_is_refused(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        let decided = decision(111, 404, Decision::Release);
        let refusal = readings::insert_decision(conn, OURS, VAN, &decided, &stamp(OURS)).await;
        assert!(refusal.as_ref().is_err_and(store::StoreError::is_foreign_key), "{refusal:?}");
    }

    async fn a_service_comes_back_as_it_was_until_withdrawn(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        keep_reading(conn, VAN, &reading(102, 48_210.0, "2026-12-31T12:00:00Z")).await;
        for kept in [bare_service(200, 102, "2026-12-31"), full_service()] {
            services::insert(conn, OURS, VAN, &kept, &stamp(OURS)).await.expect("kept");
            let found = services::find(conn, OURS, VAN, kept.id).await.expect("an answer");
            assert_eq!(found, Some(kept));
        }
        let gone = services::withdraw(conn, OURS, VAN, full_service().id, morning()).await.expect("an answer");
        let found = services::find(conn, OURS, VAN, full_service().id).await.expect("an answer");
        let listed = services::page(conn, OURS, VAN, None, 9).await.expect("a page");
        assert_eq!((gone, found, listed), (true, None, vec![bare_service(200, 102, "2026-12-31")]));
    }

    async fn a_paper_comes_back_as_it_was_until_withdrawn(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        let full = Paper {
            kind: PaperKind::HireLicence,
            reference: Some("HL-9".to_owned()),
            issued_on: Some(day("1900-01-01")),
            ..paper(301, "2200-12-31")
        };
        for kept in [paper(300, "2027-05-01"), full.clone()] {
            papers::insert(conn, OURS, VAN, &kept, &stamp(OURS)).await.expect("kept");
            assert_eq!(papers::find(conn, OURS, VAN, kept.id).await.expect("an answer"), Some(kept));
        }
        let gone = papers::withdraw(conn, OURS, VAN, full.id, morning()).await.expect("an answer");
        let again = papers::withdraw(conn, OURS, VAN, full.id, morning()).await.expect("an answer");
        let listed = papers::page(conn, OURS, VAN, None, 9).await.expect("a page");
        assert_eq!((gone, again, listed), (true, false, vec![paper(300, "2027-05-01")]));
    }

    async fn a_coverage_window_comes_back_as_it_was_until_withdrawn(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        for kept in [window(501), bare_window(502)] {
            coverage::insert(conn, OURS, VAN, &kept, &stamp(OURS)).await.expect("kept");
            assert_eq!(coverage::find(conn, OURS, VAN, kept.id).await.expect("an answer"), Some(kept));
        }
        let gone = coverage::withdraw(conn, OURS, VAN, window(501).id, morning()).await.expect("an answer");
        let listed = coverage::page(conn, OURS, VAN, None, 9).await.expect("a page");
        assert_eq!((gone, listed), (true, vec![bare_window(502)]));
    }

    async fn what_a_service_record_opened_is_found_by_it(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        keep_reading(conn, VAN, &reading(101, 100.0, "2027-02-01T00:00:00Z")).await;
        services::insert(conn, OURS, VAN, &bare_service(200, 101, "2027-02-01"), &stamp(OURS)).await.expect("kept");
        let mut opened = bare_window(501);
        opened.terms.opened_by = Some(ServiceId(id(200)));
        for window in [&opened, &bare_window(502)] {
            coverage::insert(conn, OURS, VAN, window, &stamp(OURS)).await.expect("kept");
        }
        let by = coverage::opened_by(conn, OURS, VAN, ServiceId(id(200))).await.expect("an answer");
        assert_eq!(by, std::slice::from_ref(&opened));
        coverage::withdraw(conn, OURS, VAN, opened.id, morning()).await.expect("withdrawn");
        assert_eq!(coverage::opened_by(conn, OURS, VAN, ServiceId(id(200))).await.expect("an answer"), []);
    }

    async fn a_component_comes_back_as_it_was(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        for kept in [tyre(600), Component { depth_new: None, came_used: true, ..tyre(601) }] {
            components::insert(conn, OURS, &kept, &stamp(OURS)).await.expect("kept");
            assert_eq!(components::find(conn, OURS, kept.id).await.expect("an answer"), Some(kept));
        }
    }

    async fn a_fitting_is_open_until_it_ends_once(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        components::insert(conn, OURS, &tyre(600), &stamp(OURS)).await.expect("kept");
        let fitted = fitting(700, 600, VAN);
        fittings::insert(conn, OURS, &fitted, &stamp(OURS)).await.expect("kept");
        let of = fittings::open_of(conn, OURS, tyre(600).id).await.expect("an answer");
        let there = fittings::open_at(conn, OURS, VAN, Place::FrontLeft).await.expect("an answer");
        let beside = fittings::open_at(conn, OURS, VAN, Place::FrontRight).await.expect("an answer");
        assert_eq!((of, there, beside), (Some(fitted.clone()), vec![fitted.clone()], vec![]));
        let first = fittings::end(conn, OURS, fitted.id, &end("2027-01-01"), &stamp(OURS)).await;
        let second = fittings::end(conn, OURS, fitted.id, &end("2027-02-02"), &stamp(OURS)).await;
        assert_eq!((first.expect("an answer"), second.expect("an answer")), (true, false));
        let ended = Fitting {
            to: Some(day("2027-01-01")),
            to_odometer: Some(Distance::from_mm(9_999_999)),
            ..fitted.clone()
        };
        assert_eq!(fittings::find(conn, OURS, fitted.id).await.expect("an answer"), Some(ended));
        assert_eq!(fittings::open_of(conn, OURS, tyre(600).id).await.expect("an answer"), None);
        assert_eq!(fittings::open_at(conn, OURS, VAN, Place::FrontLeft).await.expect("an answer"), []);
    }

    async fn fittings_are_listed_by_vehicle_and_by_component(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        for number in [600, 601] {
            components::insert(conn, OURS, &tyre(number), &stamp(OURS)).await.expect("kept");
        }
        let all = [fitting(700, 600, VAN), fitting(701, 601, VAN), fitting(702, 601, CAR)];
        for fitted in &all {
            fittings::insert(conn, OURS, fitted, &stamp(OURS)).await.expect("kept");
        }
        let filters = [
            (fittings::Filter::default(), &all[..]),
            (fittings::Filter { vehicle: Some(VAN), component: None }, &all[..2]),
            (fittings::Filter { vehicle: None, component: Some(tyre(601).id) }, &all[1..]),
            (fittings::Filter { vehicle: Some(CAR), component: Some(tyre(600).id) }, &[]),
        ];
        for (filter, expected) in filters {
            let page = fittings::page(conn, OURS, filter, None, 9).await.expect("a page");
            assert_eq!(page, expected, "{filter:?}");
        }
    }

    async fn the_newest_pin_of_a_vehicle_holds(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        let (old, new) = (FitId(id(800)), FitId(id(801)));
        let other = CohortFit { level: FitLevel::Cohort, ..FIT };
        fits::insert(conn, OURS, old, "north/carrier/delivery", &other, &stamp(OURS)).await.expect("kept");
        fits::insert(conn, OURS, new, "delivery", &FIT, &stamp(OURS)).await.expect("kept");
        fits::pin(conn, OURS, MeterQuantity::Distance, &[(VAN, old), (CAR, old)], &stamp(OURS)).await.expect("pinned");
        fits::pin(conn, OURS, MeterQuantity::Distance, &[(VAN, new)], &stamp(OURS)).await.expect("pinned");
        let pinned = fits::pinned(conn, OURS, MeterQuantity::Distance, &[VAN, CAR]).await.expect("an answer");
        let (newest, first) = (PinnedFit { id: Some(new), fit: FIT }, PinnedFit { id: Some(old), fit: other });
        assert_eq!(pinned, [(VAN, newest), (CAR, first)]);
    }
}
