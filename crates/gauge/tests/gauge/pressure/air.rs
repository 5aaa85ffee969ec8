//! Heights, cold nights and hot tyres.

use super::{celsius, in_psi, pressure};
use crate::world::car;
use crate::world::{kpa, pressure_of, psi, with_placard};
use chrono::TimeDelta;
use gauge::{
    Air, Warmth, Yardstick, ambient_at, gauge_at, monitor_threshold, pressure_grade, temperature_showing,
};
use model::{Grade, Jurisdiction};
use proptest::prelude::*;
use quantity::{Distance, Entered, Pressure, Unit};

fn metres(value: f64) -> Distance {
    Distance::parse(Entered::new(value / 1000.0, Unit::Kilometre)).expect("a distance")
}

#[test]
fn the_air_thins_with_height_as_the_standard_atmosphere_says() {
    // International Standard Atmosphere 1976: 83.428 kPa at 1609.344 m (computed); 89.875, 54.020 and 22.632 kPa at 1, 5
    // and 11 km of geopotential height (its tables, from memory).
    let rows = [(0.0, 101.325), (1000.0, 89.875), (1609.344, 83.428), (5000.0, 54.020), (11_000.0, 22.632)];
    for (height, expected) in rows {
        let got = ambient_at(metres(height)).expect("a height of the table").kpa();
        assert!((got - expected).abs() <= 0.0006, "{height} m: {got} kPa");
    }
}

#[test]
fn no_pressure_is_told_for_a_height_outside_the_formula() {
    assert!(ambient_at(metres(-430.0)).is_some(), "the lowest road");
    assert_eq!([-501.0, 11_001.0].map(|height| ambient_at(metres(height))), [None, None]);
}

#[test]
fn a_sealed_tyre_taken_up_a_mile_shows_two_psi_and_a_half_more() {
    // 36 psi to 38.596 psi at 1609.344 m (computed, tolerance 0.01).
    let high = Air { temperature: celsius(20.0), ambient: ambient_at(metres(1609.344)).expect("a height") };
    let got = gauge_at(pressure(psi(36.0)), Air::at_sea_level(celsius(20.0)), high).expect("a pressure");
    assert!((in_psi(got) - 38.596).abs() <= 0.001, "{}", in_psi(got));
}

#[test]
fn the_monitor_must_warn_at_a_quarter_under_the_placard() {
    // 49 CFR 571.138 S4.2(a) (verified first-hand): placard 36 psi, 27.0 psi.
    assert!((in_psi(monitor_threshold(pressure(psi(36.0)))) - 27.0).abs() < 1e-6);
    let graded = pressure_of(psi(27.0), &with_placard(Some(psi(36.0)), None, car(Jurisdiction::Us)));
    assert_eq!(graded.source, "49 CFR 571.138 S4.2(a)");
}

#[test]
fn thirty_six_psi_of_a_mild_day_is_twenty_seven_at_minus_32_degrees() {
    // -32.043 C (computed, tolerance 0.01 K).
    let set = pressure(psi(36.0));
    let got = temperature_showing(monitor_threshold(set), set, Air::at_sea_level(celsius(20.0)));
    let got = got.expect("a temperature").to(Unit::Celsius).value;
    assert!((got - -32.043).abs() <= 0.001, "{got} C");
}

#[test]
fn no_temperature_empties_a_tyre_beyond_vacuum() {
    let air = Air::at_sea_level(celsius(20.0));
    assert_eq!(temperature_showing(pressure(kpa(-102.0)), pressure(psi(36.0)), air), None);
    assert_eq!(temperature_showing(pressure(psi(36.0)), pressure(kpa(-101.325)), air), None);
}

#[test]
fn a_tyre_is_hot_for_three_hours() {
    // Common practice, no source.
    let rows = [(-60, Warmth::Hot), (0, Warmth::Hot), (10_799, Warmth::Hot), (10_800, Warmth::Cold)];
    for (seconds, expected) in rows {
        assert_eq!(
            Warmth::after_standing(&Yardstick::shipped(&car(Jurisdiction::Us)), TimeDelta::seconds(seconds)),
            expected,
            "{seconds} s"
        );
    }
}

#[test]
fn a_hot_tyre_is_graded_for_being_low_and_never_for_being_high() {
    let vehicle = car(Jurisdiction::Us);
    let grade = |value, warmth| {
        pressure_grade(&Yardstick::shipped(&vehicle), pressure(psi(36.0)), pressure(psi(value)), warmth)
            .map(|(grade, _)| grade)
    };
    let rows = [
        (43.3, Grade::Watch, Grade::Good),
        (32.3, Grade::Attend, Grade::Attend),
        (17.9, Grade::DoNotDrive, Grade::DoNotDrive),
    ];
    for (value, cold, hot) in rows {
        assert_eq!([Warmth::Cold, Warmth::Hot].map(|warmth| grade(value, warmth)), [Some(cold), Some(hot)]);
    }
    let none =
        pressure_grade(&Yardstick::shipped(&vehicle), Pressure::ZERO, pressure(psi(36.0)), Warmth::Cold);
    assert_eq!(none, None);
}

proptest! {
    #[test]
    fn a_cold_tyre_is_graded_alike_by_itself_and_in_an_inspection(placard in 150.0..600.0_f64, share in 0.0..1.5_f64) {
        let vehicle = with_placard(Some(kpa(placard)), None, car(Jurisdiction::Us));
        let measured = kpa(placard * share);
        let alone = pressure_grade(&Yardstick::shipped(&vehicle), pressure(kpa(placard)), pressure(measured), Warmth::Cold);
        prop_assert_eq!(alone.map(|(grade, _)| grade), Some(pressure_of(measured, &vehicle).grade));
    }

    #[test]
    fn a_softer_tyre_never_grades_better_when_hot_and_never_worse_than_when_cold(
        placard in 150.0..600.0_f64,
        a in 0.0..1.5_f64,
        b in 0.0..1.5_f64,
    ) {
        let vehicle = car(Jurisdiction::Us);
        let yardstick = Yardstick::shipped(&vehicle);
        let grade = |share: f64, warmth| {
            pressure_grade(&yardstick, pressure(kpa(placard)), pressure(kpa(placard * share)), warmth).expect("a grade").0
        };
        prop_assert!(grade(a.min(b), Warmth::Hot) >= grade(a.max(b), Warmth::Hot));
        prop_assert!(grade(a, Warmth::Hot) <= grade(a, Warmth::Cold));
    }

    #[test]
    fn the_temperature_that_shows_a_pressure_does_show_it(
        gauge in 100.0..600.0_f64,
        falls_to in 50.0..600.0_f64,
        height in -400.0..4000.0_f64,
    ) {
        let air = Air { temperature: celsius(20.0), ambient: ambient_at(metres(height)).expect("a height") };
        let at = temperature_showing(pressure(kpa(falls_to)), pressure(kpa(gauge)), air).expect("a temperature");
        let shown = gauge_at(pressure(kpa(gauge)), air, Air { temperature: at, ..air }).expect("a pressure");
        // A millikelvin is what a temperature is kept to.
        prop_assert!((shown.kpa() - falls_to).abs() < 0.005, "{} {falls_to}", shown.kpa());
    }
}
