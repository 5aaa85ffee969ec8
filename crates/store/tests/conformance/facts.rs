//! Facts are loaded in sets and sorted to their vehicles; what was withdrawn is left out.

use crate::inspections::{finding, inspection, keep, row, tread};
use crate::off_road::{hour_reading, indicator, keep_hours, measured_anew, new_odometer, stay};
use crate::records::{
    bare_service, bare_window, decision, end, fitting, keep_reading, paper, reading, tyre, window,
};
use crate::rules::{answer, exception, plain_rule, rulebook};
use crate::world::{
    CAR, DEPOT, OURS, THEIR_VAN, VAN, WORKSHOP, attributes, day, furnished, id, keep_vehicle, morning, stamp,
    vehicle, workshop,
};
use model::{
    Attributes, BaselineChoice, CohortFit, Decision, Facts, FitId, FitLevel, Fitting, IndicatorLeft,
    Inspection, InspectionId, KappaFit, MeasurementChoice, MeterQuantity, PinnedFit, Place, ReadingId,
    RuleVersion, RulebookId, Vehicle, VehicleId, Zone,
};
use quantity::Distance;
use store::{
    Conn, answers, baselines, components, coverage, facts, findings, fits, fittings, indicators, inspections,
    meters, overrides, papers, readings, rulebooks, services, stays,
};
use testkit::on_both_engines;

const FIT: PinnedFit = PinnedFit {
    id: Some(FitId(uuid::Uuid::from_u128(800))),
    fit: CohortFit {
        a: 1.5,
        p: 4.0,
        q: 300.0,
        level: FitLevel::Fleet,
        vehicles: 9,
        kappa: Some(KappaFit { at_30: 0.1 + 0.2, at_90: 1.5, at_180: 20.0, cases: [50, 60, 0] }),
    },
};

/// A vehicle under the rulebook of [`rulebook`].
fn ruled() -> Vehicle {
    let versions =
        vec![Attributes { rulebook: Some(RulebookId(id(900))), ..attributes("2026-05-04", DEPOT, "Van 2") }];
    Vehicle { attributes: versions, ..vehicle(OURS, VehicleId(id(42)), DEPOT, "Van 2") }
}

/// The facts of a vehicle nothing is known of.
fn nothing(vehicle: Vehicle) -> Facts {
    Facts {
        hour_readings: Vec::new(),
        meter_replacements: Vec::new(),
        indicators: Vec::new(),
        stays: Vec::new(),
        running: model::PinnedFit {
            id: None,
            fit: CohortFit { a: 1.0, p: 6.0, q: 20.0, level: FitLevel::Shipped, vehicles: 0, kappa: None },
        },
        vehicle,
        readings: vec![],
        decisions: vec![],
        services: vec![],
        rules: vec![],
        overrides: vec![],
        baselines: vec![],
        papers: vec![],
        windows: vec![],
        inspections: vec![],
        findings: vec![],
        components: vec![],
        fittings: vec![],
        elsewhere: vec![],
        wear_rates: vec![],
        answers: vec![],
        acknowledgements: vec![],
        postponements: vec![],
        workshops: vec![workshop(WORKSHOP)],
        usage: PinnedFit {
            id: None,
            fit: CohortFit { a: 1.0, p: 6.0, q: 400.0, level: FitLevel::Shipped, vehicles: 0, kappa: None },
        },
    }
}

/// One fact of every kind.
fn everything() -> Facts {
    let rules = [plain_rule("engine-oil"), plain_rule("brake-fluid")];
    let ended = Fitting {
        to: Some(day("2027-01-01")),
        to_odometer: Some(Distance::from_mm(9_999_999)),
        ..fitting(700, 600, ruled().id)
    };
    Facts {
        hour_readings: vec![hour_reading(103, 812.5, "2027-02-01T00:00:00Z")],
        meter_replacements: vec![new_odometer(50)],
        indicators: vec![indicator(60, IndicatorLeft::Percent { percent: 15.0 }, "2027-02-01T00:00:00Z")],
        stays: vec![stay(40, "2027-02-01T06:30:00Z", None)],
        readings: vec![
            reading(101, 100.0, "2027-01-01T00:00:00Z"),
            reading(102, 200.0, "2027-02-01T00:00:00Z"),
        ],
        decisions: vec![decision(111, 101, Decision::Release)],
        services: vec![bare_service(200, 102, "2027-02-01")],
        rules: rules
            .map(|rule| RuleVersion {
                rulebook: RulebookId(id(900)),
                version: 2,
                since: stamp(OURS).recorded_at,
                rule,
            })
            .to_vec(),
        overrides: vec![exception(920)],
        baselines: vec![answer(930, BaselineChoice::DoNow { on: day("2027-03-01") })],
        papers: vec![paper(300, "2027-05-01")],
        windows: vec![window(501), bare_window(502)],
        inspections: vec![Inspection {
            reading: Some(ReadingId(id(102))),
            ..inspection(400, vec![tread(410, Place::FrontLeft, Zone::Inner, 5.5)])
        }],
        findings: vec![finding(420, Some(400)), finding(421, None)],
        components: vec![tyre(600)],
        answers: vec![measured_anew(410, MeasurementChoice::New)],
        acknowledgements: vec![crate::telling::seen("2027-02-01T06:30:00Z")],
        postponements: vec![crate::telling::later("2027-02-02T06:30:00Z")],
        fittings: vec![ended, Fitting { from: day("2027-01-02"), ..fitting(701, 600, ruled().id) }],
        usage: FIT,
        ..nothing(ruled())
    }
}

async fn keep_rules(conn: &mut Conn<'_>, facts: &Facts) {
    let older = rulebook(1, vec![plain_rule("old-rule")]);
    rulebooks::insert(conn, OURS, &older, &stamp(OURS)).await.expect("kept");
    let newest = rulebook(2, facts.rules.iter().map(|version| version.rule.clone()).collect());
    assert!(rulebooks::revise(conn, OURS, &newest, 1, &stamp(OURS)).await.expect("revised"));
}

async fn keep_all(conn: &mut Conn<'_>, facts: &Facts) {
    let (vehicle, by) = (facts.vehicle.id, &stamp(OURS));
    keep_rules(conn, facts).await;
    keep_vehicle(conn, &facts.vehicle).await;
    for reading in &facts.readings {
        keep_reading(conn, vehicle, reading).await;
    }
    for decided in &facts.decisions {
        readings::insert_decision(conn, OURS, vehicle, decided, by).await.expect("kept");
    }
    for service in &facts.services {
        services::insert(conn, OURS, vehicle, service, by).await.expect("kept");
    }
    for exception in &facts.overrides {
        overrides::insert(conn, OURS, vehicle, exception, by).await.expect("kept");
    }
    baselines::insert(conn, OURS, vehicle, &facts.baselines, by).await.expect("kept");
    for paper in &facts.papers {
        papers::insert(conn, OURS, vehicle, paper, by).await.expect("kept");
    }
    for window in &facts.windows {
        coverage::insert(conn, OURS, vehicle, window, by).await.expect("kept");
    }
    let rows: Vec<_> = facts.inspections.iter().map(|inspection| row(vehicle, inspection.clone())).collect();
    keep(conn, &rows).await;
    let found: Vec<_> = facts.findings.iter().map(|finding| (vehicle, finding.clone())).collect();
    findings::insert_many(conn, OURS, &found, by).await.expect("kept");
    keep_fitted(conn, facts).await;
    keep_off_road(conn, facts).await;
    crate::telling::keep_replies(conn, facts).await;
}

async fn keep_off_road(conn: &mut Conn<'_>, facts: &Facts) {
    let (vehicle, by) = (facts.vehicle.id, &stamp(OURS));
    for reading in &facts.hour_readings {
        keep_hours(conn, vehicle, reading).await;
    }
    for replacement in &facts.meter_replacements {
        meters::insert(conn, OURS, vehicle, replacement, by).await.expect("kept");
    }
    for reading in &facts.indicators {
        indicators::insert(conn, OURS, vehicle, reading, by).await.expect("kept");
    }
    for stay in &facts.stays {
        stays::insert(conn, OURS, vehicle, stay, by).await.expect("kept");
    }
    for (number, answer) in (70..).zip(&facts.answers) {
        answers::insert(conn, OURS, vehicle, id(number), answer, by).await.expect("kept");
    }
}

async fn keep_fitted(conn: &mut Conn<'_>, facts: &Facts) {
    let (vehicle, by) = (facts.vehicle.id, &stamp(OURS));
    for component in &facts.components {
        components::insert(conn, OURS, component, by).await.expect("kept");
    }
    for fitting in &facts.fittings {
        fittings::insert(conn, OURS, fitting, by).await.expect("kept");
        if fitting.to.is_some() {
            fittings::end(conn, OURS, fitting.id, &end("2027-01-01"), by).await.expect("ended");
        }
    }
    let fit = facts.usage.id.expect("a fit");
    fits::insert(conn, OURS, fit, "fleet", &facts.usage.fit, by).await.expect("kept");
    fits::pin(conn, OURS, MeterQuantity::Distance, &[(vehicle, fit)], by).await.expect("pinned");
}

async fn load(conn: &mut Conn<'_>, vehicles: &[VehicleId]) -> Vec<Facts> {
    facts::load(conn, OURS, vehicles).await.expect("facts")
}

on_both_engines! {
    async fn everything_kept_about_a_vehicle_is_loaded(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        keep_all(conn, &everything()).await;
        let loaded = load(conn, &[ruled().id]).await;
        assert_eq!(loaded, [everything()]);
    }

    async fn each_vehicle_gets_its_own_facts_in_order_of_ids(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        keep_all(conn, &everything()).await;
        papers::insert(conn, OURS, CAR, &paper(310, "2027-06-01"), &stamp(OURS)).await.expect("kept");
        let van = nothing(vehicle(OURS, VAN, DEPOT, "Van 1"));
        let car = Facts { papers: vec![paper(310, "2027-06-01")], ..nothing(vehicle(OURS, CAR, DEPOT, "Car 1")) };
        let loaded = load(conn, &[ruled().id, CAR, VAN, CAR]).await;
        assert_eq!(loaded, [van, car, everything()]);
    }

    async fn what_was_withdrawn_is_left_out(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        let (vehicle, at) = (ruled().id, morning());
        keep_all(conn, &everything()).await;
        let gone = [
            services::withdraw(conn, OURS, vehicle, everything().services[0].id, at).await.expect("an answer"),
            readings::withdraw(conn, OURS, vehicle, ReadingId(id(101)), at).await.expect("an answer"),
            overrides::withdraw(conn, OURS, vehicle, exception(920).id, at).await.expect("an answer"),
            papers::withdraw(conn, OURS, vehicle, paper(300, "2027-05-01").id, at).await.expect("an answer"),
            coverage::withdraw(conn, OURS, vehicle, window(501).id, at).await.expect("an answer"),
            inspections::withdraw(conn, OURS, InspectionId(id(400)), at).await.expect("an answer"),
            meters::withdraw(conn, OURS, vehicle, new_odometer(50).id, at).await.expect("an answer"),
            indicators::withdraw(conn, OURS, vehicle, everything().indicators[0].id, at).await.expect("an answer"),
            stays::withdraw(conn, OURS, vehicle, everything().stays[0].id, at).await.expect("an answer"),
        ];
        assert_eq!(gone, [true; 9]);
        let left = Facts {
            meter_replacements: vec![],
            indicators: vec![],
            stays: vec![],
            answers: vec![],
            readings: vec![everything().readings[1].clone()],
            decisions: vec![],
            services: vec![],
            overrides: vec![],
            papers: vec![],
            windows: vec![bare_window(502)],
            inspections: vec![],
            findings: vec![finding(421, None)],
            ..everything()
        };
        assert_eq!(load(conn, &[vehicle]).await, [left]);
    }

    async fn a_vehicle_of_another_fleet_or_of_none_is_not_loaded(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        assert_eq!(load(conn, &[THEIR_VAN, VehicleId(id(404))]).await, []);
        assert_eq!(load(conn, &[]).await, []);
    }
}
