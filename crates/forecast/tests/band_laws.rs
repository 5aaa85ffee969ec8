//! The three days at once against the same days sought one by one.

use forecast::{Band3, EARLY, LATE, LIKELY, Usage};
use proptest::prelude::*;

const TEN_YEARS: f64 = 3650.0;

/// Numbers from `least` to `most`, as many between 1 and 10 as between 10 and 100.
fn spread_over(least: f64, most: f64) -> impl Strategy<Value = f64> {
    (libm::log(least)..libm::log(most)).prop_map(libm::exp)
}

fn vehicle() -> impl Strategy<Value = Usage> {
    (spread_over(0.01, 40.0), spread_over(2.05, 7000.0), spread_over(1.0, 1e6))
        .prop_map(|(a, shape, scale)| Usage { a, shape, scale })
}

/// What vehicles of a fleet look like: from 10 to 500 km a day.
fn ordinary() -> impl Strategy<Value = Usage> {
    (spread_over(0.2, 5.0), spread_over(3.0, 600.0), spread_over(10.0, 500.0))
        .prop_map(|(a, shape, daily)| Usage { a, shape, scale: daily * (shape - 1.0) / a })
}

fn extreme() -> impl Strategy<Value = f64> {
    let edges = [0.0, f64::MIN_POSITIVE, 1e-300, 1e-9, 1.0, 3650.0, 1e9, 1e300, f64::MAX];
    prop_oneof![proptest::sample::select(edges.to_vec()), spread_over(1e-300, 1e300)]
}

fn both(usage: &Usage, km: f64) -> [(Option<f64>, Option<f64>); 3] {
    let Band3 { early, likely, late } = usage.days_band(km, TEN_YEARS);
    let one_by_one = [EARLY, LIKELY, LATE].map(|quantile| usage.days_until(km, quantile, TEN_YEARS));
    [(early, one_by_one[0]), (likely, one_by_one[1]), (late, one_by_one[2])]
}

/// Within a tenth of a day, or one of them just beyond the horizon and the other just within.
fn agree((at_once, one_by_one): (Option<f64>, Option<f64>)) -> bool {
    let [at_once, one_by_one] = [at_once, one_by_one].map(|days| days.unwrap_or(TEN_YEARS));
    (at_once - one_by_one).abs() < 0.1
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(20_000) })]

    #[test]
    fn the_band_is_that_of_the_slow_search(usage in vehicle(), km in spread_over(1e-3, 1e6)) {
        let days = both(&usage, km);
        prop_assert!(days.into_iter().all(agree), "{days:?}");
    }

    #[test]
    fn the_band_of_an_ordinary_vehicle_is_that_of_the_slow_search(usage in ordinary(), km in spread_over(1.0, 2e5)) {
        let days = both(&usage, km);
        prop_assert!(days.into_iter().all(agree), "{days:?}");
    }

    #[test]
    fn early_comes_before_likely_and_likely_before_late(usage in vehicle(), km in spread_over(1e-3, 1e6)) {
        let Band3 { early, likely, late } = usage.days_band(km, TEN_YEARS);
        let [early, likely, late] = [early, likely, late].map(|days| days.unwrap_or(f64::INFINITY));
        prop_assert!(0.0 < early && early <= likely && likely <= late, "{early}, {likely}, {late}");
    }

    #[test]
    fn nothing_extreme_gives_a_nonsensical_band((a, shape, scale) in (extreme(), extreme(), extreme()), km in extreme(), most in extreme()) {
        let band = Usage { a, shape, scale }.days_band(km, most);
        for days in [band.early, band.likely, band.late] {
            prop_assert!(days.is_none_or(|days| (0.0..=most).contains(&days)), "{band:?}");
        }
    }
}

#[test]
fn no_distance_left_is_met_at_once() {
    let usage = Usage { a: 1.0, shape: 6.0, scale: 400.0 };
    let band = usage.days_band(-3.0, TEN_YEARS);
    assert_eq!(band, Band3 { early: Some(0.0), likely: Some(0.0), late: Some(0.0) });
}
