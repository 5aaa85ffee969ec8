//! Slow leaks: the line against SciPy, the rules (fewest readings, refill, corrections) as common practice, no source.

use super::{celsius, pressure};
use crate::world::{car, kpa, psi};
use chrono::{Days, NaiveDate};
use gauge::{Air, LeakRate, LeakReading, Yardstick, gauge_at};
use model::{Grade, Jurisdiction};
use proptest::prelude::*;

fn first_day() -> NaiveDate {
    "2027-01-04".parse().expect("a day")
}

fn reading(day: u64, kilopascals: f64, degrees: Option<f64>) -> LeakReading {
    LeakReading {
        day: first_day() + Days::new(day),
        pressure: pressure(kpa(kilopascals)),
        temperature: degrees.map(celsius),
    }
}

fn at_twenty(readings: &[(u64, f64)]) -> Vec<LeakReading> {
    readings.iter().map(|(day, value)| reading(*day, *value, Some(20.0))).collect()
}

fn rate_of(readings: &[LeakReading]) -> Option<LeakRate> {
    gauge::leak_rate(&Yardstick::shipped(&car(Jurisdiction::Us)), readings)
}

fn rate(readings: &[LeakReading]) -> LeakRate {
    rate_of(readings).expect("a rate")
}

fn assert_near(found: f64, expected: f64) {
    assert!((found - expected).abs() < 0.001, "{found} instead of {expected}");
}

#[test]
fn the_line_and_its_band_are_those_of_least_squares() {
    // SciPy 1.17.1: stats.linregress, band of stderr x stats.t.ppf(0.9, 4), both times -30.
    let found =
        rate(&at_twenty(&[(0, 262.0), (9, 249.0), (21, 255.0), (30, 240.0), (44, 246.0), (60, 231.0)]));
    assert_near(found.likely_kpa, 12.790_196_607);
    assert_near(found.least_kpa, 7.149_584_961);
    assert_near(found.most_kpa, 18.430_808_252);
}

#[test]
fn a_clean_line_is_no_surer_than_the_gauge() {
    // 0.5 psi over the root of the days' squares about their mean, times 30 (SciPy 1.17.1 for the line).
    let found = rate(&at_twenty(&[(0, 250.0), (9, 248.5), (21, 246.0), (30, 245.2), (44, 242.1)]));
    assert_near(found.likely_kpa, 5.286_407_767);
    assert_near(found.most_kpa - found.likely_kpa, 2.992_007_205);
    assert!(found.is_losing());
    assert_eq!(
        found.grade(&Yardstick::shipped(&car(Jurisdiction::Us))).0,
        Grade::Good,
        "less than 2 psi in 30 days"
    );
}

#[test]
fn fewer_than_three_readings_say_nothing() {
    let readings = at_twenty(&[(0, 250.0), (20, 240.0), (40, 230.0)]);
    for count in 0..3 {
        assert_eq!(rate_of(&readings[..count]), None);
    }
    assert!(rate_of(&readings).is_some());
    assert_eq!(rate_of(&at_twenty(&[(3, 250.0), (3, 249.0), (3, 248.0)])), None, "one day only");
}

#[test]
fn a_refill_begins_anew() {
    let before = [(0, 250.0), (10, 240.0), (20, 230.0)];
    let after = [(21, 250.0), (31, 247.0)];
    let both: Vec<(u64, f64)> = before.into_iter().chain(after).collect();
    assert_eq!(rate_of(&at_twenty(&both)), None, "two readings since");
    let longer: Vec<(u64, f64)> = both.into_iter().chain([(41, 244.0)]).collect();
    let found = rate(&at_twenty(&longer));
    assert_near(found.likely_kpa, 9.0);
    assert_eq!((found.readings, found.since), (3, first_day() + Days::new(21)));
}

#[test]
fn weather_alone_is_no_leak_where_temperatures_are_known() {
    let cooling = |day, degrees| {
        let then = Air::at_sea_level(celsius(20.0));
        let now = Air::at_sea_level(celsius(degrees));
        let shown = gauge_at(pressure(psi(36.0)), then, now).expect("a pressure");
        LeakReading { pressure: shown, ..reading(day, 0.0, Some(degrees)) }
    };
    let autumn = [cooling(0, 25.0), cooling(30, 15.0), cooling(60, 5.0), cooling(90, -5.0)];
    let found = rate(&autumn);
    assert_near(found.likely_kpa, 0.0);
    assert!(found.at_one_temperature && !found.is_losing());
    let unknown = autumn.map(|reading| LeakReading { temperature: None, ..reading });
    assert!(!rate(&unknown).at_one_temperature && rate(&unknown).likely_kpa > 10.0);
}

#[test]
fn a_leak_is_seen_through_the_weather() {
    // 250 kPa at 20 C less 0.3 kPa a day.
    let shown = |day: u64, degrees: f64| {
        #[expect(clippy::cast_precision_loss, reason = "a few days")]
        let at_twenty = kpa(250.0 - 0.3 * day as f64);
        let then = Air::at_sea_level(celsius(20.0));
        let shown = gauge_at(pressure(at_twenty), then, Air::at_sea_level(celsius(degrees)));
        LeakReading { pressure: shown.expect("a pressure"), ..reading(day, 0.0, Some(degrees)) }
    };
    let warming = [shown(0, -10.0), shown(20, 0.0), shown(40, 8.0), shown(60, 22.0)];
    assert!(warming[3].pressure > warming[0].pressure, "the weather hides it");
    let found = rate(&warming);
    assert_near(found.likely_kpa, 9.0);
    assert!(found.is_losing());
}

#[test]
fn readings_at_unknown_temperatures_are_left_out_once_three_are_known() {
    let mut readings = at_twenty(&[(0, 250.0), (10, 249.0), (20, 248.0)]);
    readings.push(reading(15, 245.0, None));
    let found = rate(&readings);
    assert!(found.at_one_temperature);
    assert_eq!(found.readings, 3);
    assert_near(found.likely_kpa, 3.0);
    readings.remove(0);
    assert!(!rate(&readings).at_one_temperature);
}

#[test]
fn a_fast_and_certain_loss_is_watched() {
    let found = rate(&at_twenty(&[(0, 250.0), (14, 242.0), (28, 235.0), (42, 228.0)]));
    let (grade, limit) = found.grade(&Yardstick::shipped(&car(Jurisdiction::Us)));
    assert_eq!((grade, limit.bound.to_string()), (Grade::Watch, "above 2 psi".to_owned()));
}

proptest! {
    #[test]
    fn the_band_holds_the_line_and_the_order_of_readings_changes_nothing(
        (readings, shuffled) in prop::collection::btree_map(0..400_u64, (180.0..300.0_f64, -20.0..40.0_f64), 0..12)
            .prop_map(|found| {
                found.into_iter().map(|(day, (value, degrees))| reading(day, value, Some(degrees))).collect::<Vec<_>>()
            })
            .prop_flat_map(|readings| (Just(readings.clone()), Just(readings).prop_shuffle())),
    ) {
        let found = rate_of(&readings);
        prop_assert_eq!(found, rate_of(&shuffled));
        if let Some(found) = found {
            prop_assert!(found.readings >= 3 && found.since < found.until);
            prop_assert!(found.least_kpa < found.likely_kpa && found.likely_kpa < found.most_kpa);
        }
    }
}
