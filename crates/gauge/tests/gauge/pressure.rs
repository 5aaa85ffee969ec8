//! Cold pressure: the gas law against a computed table, the grades against house settings (common practice, no source).

mod air;
mod leak;
mod noted;

use crate::world::{advises, car, check, kpa, pressure_of, psi, with_placard};
use gauge::{Air, SetPointError, gauge_at, set_point};
use model::Grade::{Attend, DoNotDrive, Good, Watch};
use model::{Jurisdiction, Place};
use quantity::{Entered, Pressure, Temperature, Unit};

fn celsius(value: f64) -> Temperature {
    Temperature::parse(Entered::new(value, Unit::Celsius)).expect("a temperature")
}

fn pressure(entered: Entered) -> Pressure {
    Pressure::parse(entered).expect("a pressure")
}

fn in_psi(pressure: Pressure) -> f64 {
    pressure.to(Unit::Psi).value
}

#[test]
fn gauge_pressures_follow_the_published_table_to_a_thousandth_of_a_psi() {
    // Source and standing at the head of the table.
    let rows: Vec<Vec<f64>> = include_str!("tyre_pressure.csv")
        .lines()
        .filter(|line| line.starts_with(|c: char| c.is_ascii_digit()))
        .map(|line| line.split(',').map(|cell| cell.parse().expect("a number")).collect())
        .collect();
    assert_eq!(rows.len(), 45);
    for row in rows {
        let air = |temperature| Air { temperature: celsius(temperature), ambient: pressure(kpa(row[3])) };
        let got = gauge_at(pressure(psi(row[0])), air(row[1]), air(row[2])).expect("a pressure");
        assert!((in_psi(got) - row[4]).abs() <= 0.001, "{row:?}: {}", in_psi(got));
        assert!((got.kpa() - row[5]).abs() <= 0.007, "{row:?}: {}", got.kpa());
    }
}

#[test]
fn a_sealed_tyre_taken_up_a_mile_shows_more() {
    // ISA 1976: 83.428 kPa at 1609.344 m; 36 psi becomes 38.596 psi (computed, tolerance 0.01).
    let mile_high = Air { temperature: celsius(20.0), ambient: pressure(kpa(83.428)) };
    let got = gauge_at(pressure(psi(36.0)), Air::at_sea_level(celsius(20.0)), mile_high).expect("a pressure");
    assert!((in_psi(got) - 38.596).abs() <= 0.01, "{}", in_psi(got));
}

#[test]
fn thirty_six_psi_set_at_twenty_degrees_meets_the_monitor_threshold_at_minus_32_degrees() {
    // 27.0 psi at -32.043 C (computed, tolerance 0.01 K); threshold of 49 CFR 571.138 S4.2(a) (verified).
    let at = |temperature| {
        let air = Air::at_sea_level(celsius(temperature));
        in_psi(gauge_at(pressure(psi(36.0)), Air::at_sea_level(celsius(20.0)), air).expect("a pressure"))
    };
    assert!(at(-32.033) > 27.0 && at(-32.053) < 27.0);
}

#[test]
fn a_tyre_in_a_warm_bay_is_set_higher_so_that_it_meets_the_placard_outside() {
    // The table read backwards: 45 psi at 20 C is 36.8546 psi at -20 C (computed).
    let set = set_point(pressure(psi(36.8546)), celsius(-20.0), celsius(20.0), None).expect("a pressure");
    assert!((in_psi(set) - 45.0).abs() <= 0.001, "{}", in_psi(set));
}

#[test]
fn the_marked_maximum_caps_the_set_point_and_a_colder_tyre_gets_the_placard() {
    let placard = pressure(psi(36.0));
    let capped = set_point(placard, celsius(-20.0), celsius(20.0), Some(pressure(psi(40.0))));
    let colder = set_point(placard, celsius(20.0), celsius(-20.0), None);
    assert_eq!((capped, colder), (Ok(pressure(psi(40.0))), Ok(placard)));
}

#[test]
fn a_tyre_marked_for_less_than_the_placard_gets_no_set_point() {
    let (placard, marked) = (pressure(psi(60.0)), pressure(psi(51.0)));
    let refused = set_point(placard, celsius(0.0), celsius(0.0), Some(marked));
    assert_eq!(refused, Err(SetPointError::MarkedBelowPlacard { marked, placard }));
}

#[test]
fn nothing_is_colder_than_nothing() {
    let (placard, nowhere) = (pressure(psi(36.0)), Temperature::from_mk(0));
    assert_eq!(gauge_at(placard, Air::at_sea_level(nowhere), Air::at_sea_level(celsius(0.0))), None);
    let refused = set_point(placard, nowhere, celsius(0.0), None);
    assert!(matches!(refused, Err(SetPointError::NoSuchAir { .. })), "{refused:?}");
}

#[test]
fn grades_change_at_the_shares_of_the_placard_that_the_house_set() {
    // Placard 36 psi in front. 27.0 psi is the monitor threshold: at or below (49 CFR 571.138 S4.2(a), verified).
    let rows = [
        (34.3, Good),
        (34.2, Good),
        (34.1, Watch),
        (32.4, Watch),
        (32.3, Attend),
        (27.0, Attend),
        (18.0, Attend),
        (17.9, DoNotDrive),
        (0.0, DoNotDrive),
        (36.0, Good),
        (43.2, Good),
        (43.3, Watch),
    ];
    for (value, expected) in rows {
        assert_eq!(pressure_of(psi(value), &car(Jurisdiction::Us)).grade, expected, "{value} psi");
    }
}

#[test]
fn from_the_monitor_threshold_down_the_law_is_named_and_the_leak_is_sought() {
    let vehicle = car(Jurisdiction::Us);
    let (above, at) = (pressure_of(psi(27.1), &vehicle), pressure_of(psi(27.0), &vehicle));
    assert_eq!((at.source.as_str(), at.standing.as_str()), ("49 CFR 571.138 S4.2(a)", "verified"));
    assert!(advises(&at, "find the leak") && !advises(&above, "find the leak"));
    assert_eq!(at.limit.map(|limit| limit.to_string()), Some("27 psi".to_owned()));
}

#[test]
fn a_tyre_a_fifth_under_is_to_be_looked_into_before_it_is_inflated() {
    let vehicle = car(Jurisdiction::Us);
    let (above, at) = (pressure_of(psi(28.9), &vehicle), pressure_of(psi(28.8), &vehicle));
    assert!(advises(&at, "look inside before inflating") && !advises(&above, "look inside"));
    assert!(at.caution.as_ref().is_some_and(|caution| caution.contains("burst")), "{:?}", at.caution);
}

#[test]
fn each_axle_has_its_own_placard() {
    let vehicle = car(Jurisdiction::Us);
    let round =
        check(1, "2027-03-01").pressure(Place::FrontLeft, psi(32.0)).pressure(Place::RearLeft, psi(32.0));
    let grades: Vec<_> = round.graded(&vehicle).iter().map(|graded| graded.grade).collect();
    assert_eq!(grades, [Attend, Good]);
}

#[test]
fn without_a_placard_nothing_is_judged_but_the_gap_is_told() {
    let front_only = with_placard(Some(psi(36.0)), None, car(Jurisdiction::Us));
    let graded =
        check(1, "2027-03-01").pressure(Place::RearLeft, psi(20.0)).graded_at(Place::RearLeft, &front_only);
    assert_eq!((graded.grade, graded.limit), (Watch, None));
    assert!(graded.reason.starts_with("No placard pressure recorded for the rear axle"), "{}", graded.reason);
}

#[test]
fn a_placard_that_is_no_pressure_counts_as_none() {
    for nonsense in [psi(0.0), psi(-3.0), Entered::new(36.0, Unit::Celsius), psi(f64::NAN)] {
        let vehicle = with_placard(Some(nonsense), None, car(Jurisdiction::Us));
        assert!(pressure_of(psi(36.0), &vehicle).reason.starts_with("No placard pressure recorded"));
    }
}

#[test]
fn the_spare_is_held_to_the_higher_axle_and_watched_at_worst() {
    let vehicle = car(Jurisdiction::Us);
    let spare =
        |value| check(1, "2027-03-01").pressure(Place::Spare, psi(value)).graded_at(Place::Spare, &vehicle);
    assert_eq!(
        [spare(34.1), spare(5.0), spare(34.2), spare(60.0)].map(|g| g.grade),
        [Watch, Watch, Good, Good]
    );
    assert!(spare(5.0).reason.contains("it is the spare"), "{}", spare(5.0).reason);
    assert!(advises(&spare(60.0), "compact spare"));
}

#[test]
fn the_pressure_to_set_is_told_in_the_unit_of_the_gauge_and_rounded_up() {
    let graded = pressure_of(kpa(200.0), &car(Jurisdiction::Us));
    assert!(advises(&graded, "Inflate to 248.3 kPa (36 psi), cold"), "{:?}", graded.advice);
    assert_eq!(
        graded.reason,
        "Cold pressure of 200 kPa is 19.4 % under the placard's 248.211 kPa (36 psi), more than 10 %."
    );
}
