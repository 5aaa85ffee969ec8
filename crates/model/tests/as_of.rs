//! What had not happened by an instant is left out of the facts as of it, to the day or the microsecond.

use chrono::{DateTime, Days, NaiveDate, TimeDelta, Utc};
use chrono_tz::Tz;
use model::horizon::{Cycle, ItemKey};
use model::*;
use proptest::prelude::*;
use quantity::{Distance, Entered, Unit};
use uuid::Uuid;

const ZONES: [Tz; 4] = [Tz::UTC, Tz::Pacific__Auckland, Tz::America__Denver, Tz::Europe__Dublin];

fn id(number: usize) -> Uuid {
    Uuid::from_u128(u128::try_from(number).expect("a number"))
}

fn code(text: &str) -> Code {
    Code::new(text).expect("a code")
}

fn first_of_march() -> DateTime<Utc> {
    "2027-03-01T08:00:00Z".parse().expect("an instant")
}

fn km(value: f64) -> Entered {
    Entered::new(value, Unit::Kilometre)
}

fn attributes(from: NaiveDate) -> Attributes {
    Attributes {
        from,
        depot: DepotId(id(10)),
        duty: Duty::Pool,
        severe: false,
        label: format!("Van since {from}"),
        plate: None,
        parked: false,
        operating_weekdays: Weekdays::ALL,
        rulebook: None,
    }
}

fn vehicle(zone: Tz) -> Vehicle {
    Vehicle {
        id: VehicleId(id(1)),
        fleet: FleetId(id(2)),
        vin: None,
        make: "Harrow".to_owned(),
        model: "Carter".to_owned(),
        model_year: None,
        powertrain: Powertrain::Diesel,
        gross_mass_kg: None,
        tags: Vec::new(),
        in_service_on: None,
        in_service_odometer: Distance::ZERO,
        history_unknown: false,
        acquired_on: local_day(first_of_march(), zone),
        odometer_unit: Unit::Kilometre,
        placard: Placard::default(),
        retired_on: None,
        attributes: Vec::new(),
        zone,
        jurisdiction: Jurisdiction::Eu,
        design_low: None,
        version: 1,
    }
}

fn pinned() -> PinnedFit {
    let fit = CohortFit { a: 1.0, p: 6.0, q: 400.0, level: FitLevel::Shipped, vehicles: 0, kappa: None };
    PinnedFit { id: None, fit }
}

fn nothing(zone: Tz) -> Facts {
    Facts {
        vehicle: vehicle(zone),
        readings: Vec::new(),
        hour_readings: Vec::new(),
        meter_replacements: Vec::new(),
        indicators: Vec::new(),
        decisions: Vec::new(),
        services: Vec::new(),
        stays: Vec::new(),
        rules: Vec::new(),
        overrides: Vec::new(),
        baselines: Vec::new(),
        papers: Vec::new(),
        windows: Vec::new(),
        inspections: Vec::new(),
        findings: Vec::new(),
        components: Vec::new(),
        fittings: Vec::new(),
        elsewhere: Vec::new(),
        wear_rates: Vec::new(),
        answers: Vec::new(),
        acknowledgements: Vec::new(),
        postponements: Vec::new(),
        workshops: Vec::new(),
        usage: pinned(),
        running: pinned(),
    }
}

/// One fact of every kind that has a time, each at `at` or on the day of it in the zone.
fn add_at(facts: &mut Facts, at: DateTime<Utc>, n: usize) {
    let day = local_day(at, facts.vehicle.zone);
    let recorded_at = first_of_march();
    add_read(facts, at, n);
    facts.vehicle.attributes.push(attributes(day));
    facts.vehicle.attributes.sort_by_key(|version| version.from);
    facts.services.push(ServiceRecord {
        id: ServiceId(id(n)),
        done_on: day,
        odometer_entered: km(1.0),
        odometer: Distance::from_km(1),
        reading: ReadingId(id(n)),
        rules: Vec::new(),
        workshop: None,
        parts: Vec::new(),
        cost_minor: None,
        currency: None,
        evidence: None,
        note: None,
        recorded_at,
    });
    let choice = BaselineChoice::DoNow { on: day };
    facts.baselines.push(BaselineAnswer { id: BaselineId(id(n)), rule: code("oil"), choice, recorded_at });
    let (kind, reference, expires_on) = (PaperKind::AnnualTest, None, LAST_DAY);
    let issued_on = Some(day);
    facts.papers.push(Paper { id: PaperId(id(n)), kind, reference, issued_on, expires_on, recorded_at });
    let (workshop, out_at, reason, waiting_for) = (None, Some(at), String::new(), None);
    let in_at = at - TimeDelta::days(400);
    facts.stays.push(Stay { id: StayId(id(n)), workshop, in_at, out_at, reason, waiting_for, recorded_at });
    facts.findings.push(Finding {
        id: FindingId(id(n)),
        inspection: None,
        code: code("noise"),
        component: None,
        place: Place::Vehicle,
        weight: FindingWeight::Note,
        note: String::new(),
        found_at: at,
        closed_at: None,
    });
    add_measured(facts, at, n);
    add_fitted(facts, day, n);
    add_said(facts, at);
}

/// What was said to a reminder has no other time than that of its record.
fn add_said(facts: &mut Facts, at: DateTime<Utc>) {
    let (item, cycle) = (ItemKey("rule:oil".to_owned()), Cycle("service:1".to_owned()));
    facts.postponements.push(Postponement {
        item: item.clone(),
        cycle: cycle.clone(),
        until: LAST_DAY,
        reason: String::new(),
        by: None,
        recorded_at: at,
    });
    facts.acknowledgements.push(Acknowledgement { item, cycle, by: None, note: None, recorded_at: at });
}

fn add_read(facts: &mut Facts, at: DateTime<Utc>, n: usize) {
    let (entered, source, clock_in_doubt) = (km(1.0), ReadingSource::Driver, false);
    let (reading, recorded_at, read_at) = (ReadingId(id(n)), first_of_march(), at);
    let odometer = Distance::from_km(1);
    facts.readings.push(OdometerReading {
        id: reading,
        entered,
        odometer,
        read_at,
        recorded_at,
        source,
        clock_in_doubt,
    });
    let (decision, reason) = (Decision::Release, String::new());
    facts.decisions.push(ReadingDecision { id: DecisionId(id(n)), reading, decision, reason, recorded_at });
    let (rule, left) = (code("oil"), IndicatorLeft::Days { days: 9 });
    let reading = None;
    facts.indicators.push(IndicatorReading {
        id: IndicatorId(id(n)),
        rule,
        left,
        reading,
        read_at,
        recorded_at,
    });
    facts.meter_replacements.push(MeterReplacement {
        id: ReplacementId(id(n)),
        quantity: MeterQuantity::Distance,
        replaced_at: at,
        old_shows: km(5.0),
        new_shows: km(0.0),
        reason: String::new(),
        recorded_at,
    });
}

/// An inspection with one measurement, and an answer about it.
fn add_measured(facts: &mut Facts, at: DateTime<Utc>, n: usize) {
    let measurement = MeasurementId(id(n));
    let of_tread = Measurement {
        id: measurement,
        point: code("tread-depth"),
        place: Place::FrontLeft,
        zone: Zone::Lowest,
        entered: Entered::new(5.0, Unit::Millimetre),
        exact: 5_000_000,
    };
    facts.inspections.push(Inspection {
        id: InspectionId(id(n)),
        sheet: code("walk"),
        sheet_version: 1,
        performed_at: at,
        recorded_at: first_of_march(),
        clock_in_doubt: false,
        reading: None,
        measurements: vec![of_tread],
        note: None,
    });
    let choice = MeasurementChoice::New;
    facts.answers.push(MeasurementAnswer { measurement, choice, recorded_at: first_of_march() });
}

fn add_fitted(facts: &mut Facts, day: NaiveDate, n: usize) {
    facts.fittings.push(Fitting {
        id: FittingId(id(n)),
        component: ComponentId(id(n)),
        vehicle: facts.vehicle.id,
        place: Place::FrontLeft,
        from: day,
        from_odometer: Distance::ZERO,
        to: Some(day + Days::new(10)),
        to_odometer: Some(Distance::from_km(9)),
    });
    let (kind, product, depth_new) = (code("tyre"), String::new(), None);
    let component = ComponentId(id(n));
    let recorded_at = first_of_march();
    facts.components.push(Component {
        id: component,
        kind,
        product,
        depth_new,
        came_used: false,
        recorded_at,
    });
    let (fitting, place, driven) = (FittingId(id(n + 500)), Place::RearLeft, Distance::from_km(5000));
    let (from, to, measurements) = (day - Days::new(90), day, Vec::new());
    let spells = vec![SpellElsewhere { fitting, place, from, to, driven, measurements }];
    facts.elsewhere.push(ComponentHistory { component, spells });
}

/// How many facts there are of each kind that has a time, but for attributes.
fn counts(facts: &Facts) -> [usize; 15] {
    [
        facts.readings.len(),
        facts.decisions.len(),
        facts.indicators.len(),
        facts.meter_replacements.len(),
        facts.services.len(),
        facts.baselines.len(),
        facts.papers.len(),
        facts.findings.len(),
        facts.fittings.len(),
        facts.components.len(),
        facts.inspections.len(),
        facts.answers.len(),
        facts.elsewhere.len(),
        facts.acknowledgements.len(),
        facts.postponements.len(),
    ]
}

#[test]
fn what_happens_at_the_instant_has_happened_and_a_microsecond_before_it_has_not() {
    for zone in ZONES {
        let mut facts = nothing(zone);
        // The first instant of a day in the zone, so that the day has not begun a microsecond before.
        let at = day_start(local_day(first_of_march(), zone), zone);
        add_at(&mut facts, at, 7);
        assert_eq!(counts(&facts.as_of(at)), [1; 15], "{zone}");
        assert_eq!(counts(&facts.as_of(at - TimeDelta::microseconds(1))), [0; 15], "{zone}");
    }
}

#[test]
fn work_of_the_day_is_done_from_the_days_first_instant_on() {
    for zone in ZONES {
        let mut facts = nothing(zone);
        add_at(&mut facts, first_of_march(), 7);
        let day = local_day(first_of_march(), zone);
        let first = facts.as_of(day_start(day, zone));
        assert_eq!((first.services.len(), first.papers.len(), first.fittings.len()), (1, 1, 1), "{zone}");
    }
}

#[test]
fn what_ends_later_has_not_ended() {
    let mut facts = nothing(Tz::UTC);
    add_at(&mut facts, first_of_march(), 7);
    facts.findings[0].closed_at = Some(first_of_march() + TimeDelta::days(5));
    facts.vehicle.retired_on = Some(local_day(first_of_march(), Tz::UTC) + Days::new(5));
    let ends = |days: i64| {
        let then = facts.as_of(first_of_march() + TimeDelta::days(days));
        let fitting = &then.fittings[0];
        (
            then.findings[0].closed_at.is_some(),
            then.vehicle.retired_on.is_some(),
            fitting.to.is_some() && fitting.to_odometer.is_some(),
        )
    };
    assert_eq!(
        (ends(4), ends(5), ends(10)),
        ((false, false, false), (true, true, false), (true, true, true))
    );
    let before_it_came_out = facts.as_of(first_of_march() - TimeDelta::seconds(1)).stays;
    assert_eq!(before_it_came_out[0].out_at, None);
}

#[test]
fn a_part_warranty_goes_with_the_service_that_opened_it_and_a_later_start_is_no_cover_yet() {
    let mut facts = nothing(Tz::UTC);
    add_at(&mut facts, first_of_march(), 7);
    let terms = |number: usize, starts_on, opened_by| {
        CoverageWindow {
        id: WindowId(id(number)),
        terms: serde_json::from_value(serde_json::json!({
            "kind": "warranty", "title": "Cover", "scope": [], "starts_on": starts_on, "start_odometer": null,
            "opened_by": opened_by, "months": 12, "distance": null, "distance_from": "zero", "last_day": "day_before",
            "capacity_floor_percent": null, "voided_by": null,
        }))
        .expect("terms"),
        recorded_at: first_of_march(),
    }
    };
    facts.windows =
        vec![terms(1, None, Some(id(7))), terms(2, Some("2027-03-02"), None), terms(3, None, None)];
    let seen = |days: i64| {
        let then = facts.as_of(first_of_march() + TimeDelta::days(days));
        then.windows.iter().map(|window| window.id.0.as_u128()).collect::<Vec<_>>()
    };
    assert_eq!((seen(-1), seen(0), seen(1)), (vec![3], vec![1, 3], vec![1, 2, 3]));
}

#[test]
fn a_paper_without_a_day_of_issue_counts_on_any_day() {
    let mut facts = nothing(Tz::UTC);
    add_at(&mut facts, first_of_march(), 7);
    facts.papers[0].issued_on = None;
    assert_eq!(facts.as_of(DateTime::UNIX_EPOCH).papers.len(), 1);
}

#[test]
fn before_its_first_attributes_a_vehicle_is_what_those_say() {
    let mut facts = nothing(Tz::UTC);
    let days: [NaiveDate; 2] = ["2027-01-01", "2027-06-01"].map(|day| day.parse().expect("a day"));
    facts.vehicle.attributes = days.map(attributes).to_vec();
    let label = |at: &str| {
        facts.as_of(at.parse().expect("an instant")).vehicle.attributes_now().map(|now| now.label.clone())
    };
    for (at, since) in [
        ("2026-07-01T00:00:00Z", "2027-01-01"),
        ("2027-05-31T23:59:59Z", "2027-01-01"),
        ("2027-06-01T00:00:00Z", "2027-06-01"),
    ] {
        assert_eq!(label(at), Some(format!("Van since {since}")), "{at}");
    }
}

fn any_facts() -> impl Strategy<Value = Facts> {
    let hours = prop::collection::vec(-9000_i64..9000, 1..12);
    (prop::sample::select(ZONES.to_vec()), hours).prop_map(|(zone, hours)| {
        let mut facts = nothing(zone);
        for (number, hour) in hours.into_iter().enumerate() {
            add_at(&mut facts, first_of_march() + TimeDelta::hours(hour), number);
        }
        facts
    })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(2000))]

    #[test]
    fn as_of_the_far_future_everything_has_happened(facts in any_facts()) {
        prop_assert_eq!(facts.as_of(day_start(LAST_DAY, Tz::UTC)), facts);
    }

    #[test]
    fn looking_back_twice_is_looking_back_to_the_earlier_instant(
        facts in any_facts(), one in -9000_i64..9000, other in -9000_i64..9000,
    ) {
        let (earlier, later) = (one.min(other), one.max(other));
        let at = |hours: i64| first_of_march() + TimeDelta::hours(hours);
        prop_assert_eq!(facts.as_of(at(later)).as_of(at(earlier)), facts.as_of(at(earlier)));
    }

    #[test]
    fn more_time_never_takes_a_fact_away(facts in any_facts(), hours in -9000_i64..9000, more in 0_i64..9000) {
        let at = |hours: i64| first_of_march() + TimeDelta::hours(hours);
        let (fewer, more) = (counts(&facts.as_of(at(hours))), counts(&facts.as_of(at(hours + more))));
        prop_assert!(fewer.iter().zip(more).all(|(fewer, more)| *fewer <= more), "{fewer:?} {more:?}");
    }
}
