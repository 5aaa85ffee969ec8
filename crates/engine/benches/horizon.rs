//! What a horizon costs, beside the floor: the same vehicle's dates and distances merely compared.
//!
//! `cargo bench -p engine` prints the time of one vehicle with 12 rules, 3 windows and 24 readings: compared only, its
//! horizon, its horizon with every explanation, and the same in words.

use chrono::{DateTime, NaiveDate, TimeDelta, Utc};
use chrono_tz::Tz;
use criterion::{Criterion, criterion_group, criterion_main};
use engine::{explained, horizon, words};
use model::{
    Anchoring, AppliesTo, Attributes, BaselineDefault, Code, CohortFit, CoverageTerms, CoverageWindow,
    DistanceFrom, Duty, Every, Facts, FitLevel, IntervalRule, Jurisdiction, KappaFit, LastDay,
    OdometerReading, PinnedFit, Placard, Policy, Powertrain, Reach, ReadingSource, RuleVersion,
    ServiceRecord, Transfer, Trigger, Vehicle, Weekdays, WindowKind,
};
use quantity::{Distance, Entered, Unit};
use std::hint::black_box;
use std::str::FromStr;

fn id<T: FromStr<Err: std::fmt::Debug>>(number: u64) -> T {
    T::from_str(&format!("00000000-0000-7000-8000-{number:012x}")).expect("an id")
}

fn code(text: &str) -> Code {
    Code::new(text).expect("a code")
}

fn day(text: &str) -> NaiveDate {
    text.parse().expect("a day")
}

const fn km(value: f64) -> Entered {
    Entered::new(value, Unit::Kilometre)
}

fn exact(value: f64) -> Distance {
    Distance::parse(km(value)).expect("a distance")
}

/// Twelve intervals as a delivery van has them: title, kilometres, months.
const RULES: [(&str, f64, u32); 12] = [
    ("engine-oil", 15_000.0, 12),
    ("oil-filter", 15_000.0, 12),
    ("cabin-filter", 20_000.0, 12),
    ("air-filter", 40_000.0, 36),
    ("brake-fluid", 60_000.0, 24),
    ("coolant", 90_000.0, 60),
    ("spark-plugs", 60_000.0, 48),
    ("timing-belt", 120_000.0, 96),
    ("tyre-rotation", 10_000.0, 12),
    ("brake-check", 12_000.0, 6),
    ("yearly-check", 30_000.0, 12),
    ("gearbox-oil", 80_000.0, 72),
];

/// A van that runs Monday to Saturday in New York, read every other week for a year.
fn van() -> Facts {
    let fit = |a, p, q| CohortFit {
        a,
        p,
        q,
        level: FitLevel::Cohort,
        vehicles: 40,
        kappa: Some(KappaFit { at_30: 1.2, at_90: 2.0, at_180: 3.1, cases: [900, 600, 300] }),
    };
    let usage = PinnedFit { id: None, fit: fit(0.8, 9.0, 900.0) };
    let running = PinnedFit { id: None, fit: fit(1.0, 6.0, 20.0) };
    Facts {
        readings: (0..24).map(reading).collect(),
        services: services(),
        rules: RULES.iter().map(rule).collect(),
        windows: windows(),
        ..Facts::bare(vehicle(), usage, running)
    }
}

fn vehicle() -> Vehicle {
    let first = day("2025-01-06");
    let attributes = Attributes {
        from: first,
        depot: id(1),
        duty: Duty::Delivery,
        severe: true,
        label: "V1".to_owned(),
        plate: None,
        parked: false,
        operating_weekdays: Weekdays::from_bits(0x3f).expect("days"),
        rulebook: Some(id(1)),
    };
    Vehicle {
        id: id(7),
        fleet: id(1),
        vin: None,
        make: "Wren".to_owned(),
        model: "Porter".to_owned(),
        model_year: Some(2025),
        powertrain: Powertrain::Petrol,
        gross_mass_kg: Some(3_000),
        tags: vec![],
        in_service_on: Some(first),
        in_service_odometer: Distance::ZERO,
        history_unknown: false,
        acquired_on: first,
        odometer_unit: Unit::Kilometre,
        placard: Placard::default(),
        retired_on: None,
        attributes: vec![attributes],
        zone: Tz::America__New_York,
        jurisdiction: Jurisdiction::Us,
        design_low: None,
        version: 1,
    }
}

fn reading(number: u32) -> OdometerReading {
    let begun: DateTime<Utc> = "2025-01-13T13:00:00Z".parse().expect("an instant");
    let read_at = begun + TimeDelta::days(14 * i64::from(number));
    let entered = km(700.0 + f64::from(number) * 1_150.0 + f64::from(number * 37 % 11) * 20.0);
    OdometerReading {
        id: id(1_000 + u64::from(number)),
        entered,
        odometer: Distance::parse(entered).expect("a distance"),
        read_at,
        recorded_at: read_at,
        source: ReadingSource::Technician,
        clock_in_doubt: false,
    }
}

fn rule(&(name, distance, months): &(&str, f64, u32)) -> RuleVersion {
    let every = Every { distance: Some(km(distance)), months: Some(months), ..Every::default() };
    let severe = Every { distance: Some(km(0.7 * distance)), ..every };
    let rule = IntervalRule {
        code: code(name),
        title: name.replace('-', " "),
        trigger: Trigger::Every(every),
        first: None,
        anchor: Anchoring::LastDone,
        indicator: false,
        severe: Some(severe),
        lead: Reach { days: Some(14), distance: Some(km(800.0)) },
        grace: Reach { days: Some(7), distance: Some(km(500.0)) },
        satisfies: if name == "yearly-check" { vec![code("brake-check")] } else { vec![] },
        renews: Vec::new(),
        applies_to: AppliesTo::default(),
        authority: Some("Maintenance manual".to_owned()),
        caution: None,
        baseline: BaselineDefault::Ask,
    };
    RuleVersion { rulebook: id(1), version: 3, since: DateTime::UNIX_EPOCH, rule }
}

fn services() -> Vec<ServiceRecord> {
    let service = |number: u64, on: &str, odometer: f64, rules: &[&str]| ServiceRecord {
        id: id(2_000 + number),
        done_on: day(on),
        odometer_entered: km(odometer),
        odometer: exact(odometer),
        reading: id(9_000 + number),
        rules: rules.iter().map(|rule| code(rule)).collect(),
        workshop: None,
        parts: vec![],
        cost_minor: None,
        currency: None,
        evidence: None,
        note: None,
        recorded_at: day(on).and_hms_opt(18, 0, 0).expect("a time").and_utc(),
    };
    vec![
        service(1, "2025-05-20", 10_200.0, &["engine-oil", "oil-filter", "tyre-rotation"]),
        service(2, "2025-09-16", 20_300.0, &["engine-oil", "oil-filter", "tyre-rotation", "brake-check"]),
    ]
}

fn windows() -> Vec<CoverageWindow> {
    let window = |number: u64, title: &str, months: u32, distance: f64| CoverageWindow {
        id: id(3_000 + number),
        terms: CoverageTerms {
            kind: WindowKind::Warranty,
            title: title.to_owned(),
            scope: vec![code("engine"), code("gearbox")],
            starts_on: None,
            start_odometer: None,
            opened_by: None,
            months: Some(months),
            distance: Some(km(distance)),
            distance_from: DistanceFrom::Zero,
            last_day: LastDay::DayBefore,
            capacity_floor_percent: None,
            reduced_if: vec![],
            pro_rata: vec![],
            transfer: Transfer::Automatic,
            transfer_within_days: None,
            transferred_on: None,
            excess: None,
            voided_by: None,
        },
        recorded_at: day("2025-01-06").and_hms_opt(9, 0, 0).expect("a time").and_utc(),
    };
    vec![
        window(1, "Bumper to bumper", 36, 60_000.0),
        window(2, "Powertrain", 60, 100_000.0),
        window(3, "Corrosion", 144, 200_000.0),
    ]
}

/// Twelve limits in days and distance, as plain numbers.
fn limits() -> Vec<(i32, i64)> {
    (100..).step_by(31).zip(RULES).map(|(day, rule)| (day, exact(rule.1).mm())).collect()
}

fn compared(limits: &[(i32, i64)], today: i32, odometer: i64) -> usize {
    limits.iter().filter(|(day, distance)| today >= *day || odometer >= *distance).count()
}

/// The number of sentences that all explanations come to.
fn told(facts: &Facts, policy: &Policy) -> usize {
    let found = explained(facts, policy);
    found.explanations.values().map(|why| words::because(why, Unit::Kilometre).len()).sum()
}

fn benches(criterion: &mut Criterion) {
    let (facts, policy, limits) = (van(), Policy::default(), limits());
    let found = horizon(&facts, &policy);
    assert!(
        found.items.len() >= 12 && found.windows.len() == 3,
        "the vehicle is not the one that was asked for"
    );
    criterion.bench_function("compare 12 dates and distances", |bencher| {
        bencher.iter(|| compared(black_box(&limits), black_box(200), black_box(12_000_000_000)));
    });
    criterion.bench_function("horizon", |bencher| bencher.iter(|| horizon(black_box(&facts), &policy)));
    criterion.bench_function("horizon and explanations", |bencher| {
        bencher.iter(|| explained(black_box(&facts), &policy));
    });
    criterion.bench_function("horizon and explanations in words", |bencher| {
        bencher.iter(|| told(black_box(&facts), &policy));
    });
}

criterion_group!(all, benches);
criterion_main!(all);
