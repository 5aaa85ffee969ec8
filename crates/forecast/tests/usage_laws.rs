//! Laws that every usage forecast keeps, whatever the vehicle.

use forecast::{Cohort, EARLY, Gap, LATE, LIKELY, Usage};
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

fn distance() -> impl Strategy<Value = f64> {
    spread_over(1e-3, 1e6)
}

fn days() -> impl Strategy<Value = f64> {
    spread_over(1e-3, TEN_YEARS)
}

fn quantile() -> impl Strategy<Value = f64> {
    0.001..0.999
}

/// What no vehicle shows and no forecast may stumble over.
fn extreme() -> impl Strategy<Value = f64> {
    let edges = [0.0, f64::MIN_POSITIVE, 1e-300, 1e-9, 1.0, 3650.0, 1e9, 1e300, f64::MAX];
    prop_oneof![proptest::sample::select(edges.to_vec()), spread_over(1e-300, 1e300)]
}

/// The days of a date that may lie beyond the horizon, for comparing.
fn or_never(days: Option<f64>) -> f64 {
    days.unwrap_or(f64::INFINITY)
}

fn gaps() -> impl Strategy<Value = Vec<Gap>> {
    let gap = (0.0..40.0, 0.0..3000.0).prop_map(|(days, km)| Gap { days, km });
    proptest::collection::vec(gap, 0..20)
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(5000) })]

    #[test]
    fn more_time_never_makes_a_distance_less_likely(usage in vehicle(), km in distance(), sooner in days(), more in 1.0..3.0) {
        let (before, after) = (usage.probability_reached(km, sooner), usage.probability_reached(km, sooner * more));
        prop_assert!((0.0..=1.0).contains(&before) && (0.0..=1.0).contains(&after));
        prop_assert!(before <= after + 1e-11, "{before} then {after}");
    }

    #[test]
    fn a_longer_distance_is_never_more_likely(usage in vehicle(), nearer in distance(), more in 1.0..3.0, h in days()) {
        let (near, far) = (usage.probability_reached(nearer, h), usage.probability_reached(nearer * more, h));
        prop_assert!((0.0..=1.0).contains(&near) && (0.0..=1.0).contains(&far));
        prop_assert!(far <= near + 1e-11, "{near} near, {far} far");
    }

    #[test]
    fn early_comes_before_likely_and_likely_before_late(usage in vehicle(), km in distance()) {
        let [early, likely, late] =
            [EARLY, LIKELY, LATE].map(|quantile| or_never(usage.days_until(km, quantile, TEN_YEARS)));
        prop_assert!(0.0 < early && early <= likely && likely <= late, "{early}, {likely}, {late}");
    }

    #[test]
    fn a_higher_limit_is_never_met_sooner(usage in vehicle(), nearer in distance(), more in 1.0..3.0, q in quantile()) {
        let near = or_never(usage.days_until(nearer, q, TEN_YEARS));
        let far = or_never(usage.days_until(nearer * more, q, TEN_YEARS));
        prop_assert!(near <= far * (1.0 + 1e-9), "{near} near, {far} far");
    }

    #[test]
    fn a_vehicle_that_has_gone_further_has_less_time_left(usage in vehicle(), limit in distance(), gone in 0.0..1.0, q in quantile()) {
        let from_start = or_never(usage.days_until(limit, q, TEN_YEARS));
        let from_here = or_never(usage.days_until(limit * (1.0 - gone), q, TEN_YEARS));
        prop_assert!(from_here <= from_start * (1.0 + 1e-9), "{from_here} after {from_start}");
    }

    #[test]
    fn the_date_found_for_a_probability_has_that_probability(usage in vehicle(), km in distance(), q in quantile()) {
        match usage.days_until(km, q, TEN_YEARS) {
            Some(found) => prop_assert!((usage.probability_reached(km, found) - q).abs() < 1e-9, "at {found} days"),
            None => prop_assert!(usage.probability_reached(km, TEN_YEARS) < q),
        }
    }

    #[test]
    fn the_distance_found_for_a_probability_has_that_probability(usage in vehicle(), h in days(), q in quantile()) {
        let km = usage.distance_after(h, q);
        let at_most = 1.0 - usage.probability_reached(km, h);
        // So little time that the distance is below the smallest number: then nearly all lies there.
        prop_assert!((at_most - q).abs() < 1e-9 || (km < 1e-300 && usage.probability_reached(1e-300, h) <= 1.0 - q));
    }

    #[test]
    fn dates_and_distances_are_each_others_inverse(usage in vehicle(), km in distance(), q in 0.05..0.95) {
        if let Some(found) = usage.days_until(km, q, TEN_YEARS) {
            let back = usage.distance_after(found, 1.0 - q);
            prop_assert!((back - km).abs() < 1e-7 * km, "{back} for {km} after {found} days");
        }
    }

    #[test]
    fn nothing_extreme_gives_a_nonsensical_answer(
        (a, shape, scale) in (extreme(), extreme(), extreme()),
        (km, h, q) in (extreme(), extreme(), 0.0..=1.0),
    ) {
        let usage = Usage { a, shape, scale };
        prop_assert!((0.0..=1.0).contains(&usage.probability_reached(km, h)));
        prop_assert!(usage.days_until(km, q, h).is_none_or(|found| (0.0..=h).contains(&found)));
        prop_assert!(usage.distance_after(h, q) >= 0.0);
    }

    #[test]
    fn readings_however_extreme_leave_a_usable_state(days in extreme(), km in extreme(), half_life in proptest::option::of(extreme())) {
        let usage = Usage::from_gaps(&Cohort::SHIPPED, &[Gap { days, km }, Gap { days: 7.0, km: 500.0 }], half_life, 1.0);
        prop_assert!(usage.shape >= Cohort::SHIPPED.p && usage.scale >= Cohort::SHIPPED.q, "{usage:?}");
        prop_assert!((0.0..=1.0).contains(&usage.probability_reached(1000.0, 14.0)));
    }

    #[test]
    fn widening_keeps_the_mean_of_the_cohort(kappa in 0.5..20.0) {
        let widened = Usage::from_gaps(&Cohort::SHIPPED, &[], None, kappa);
        prop_assert!((widened.mean_km_per_day() - 80.0).abs() < 1e-9);
    }

    #[test]
    fn widening_spreads_the_dates(readings in gaps(), kappa in 1.05..20.0) {
        let band = |kappa| {
            let usage = Usage::from_gaps(&Cohort::SHIPPED, &readings, Some(120.0), kappa);
            let [early, late] = [EARLY, LATE].map(|quantile| or_never(usage.days_until(5000.0, quantile, 1e6)));
            late / early
        };
        prop_assert!(band(kappa) > band(1.0), "{} against {}", band(kappa), band(1.0));
    }

    #[test]
    fn an_extra_reading_on_the_way_changes_nothing_when_nothing_fades(readings in gaps(), part in 0.01..0.99) {
        let split: Vec<Gap> = readings.iter().flat_map(|gap| [part, 1.0 - part].map(|part| Gap { days: gap.days * part, km: gap.km * part })).collect();
        let [whole, halves] = [&readings, &split].map(|gaps| Usage::from_gaps(&Cohort::SHIPPED, gaps, None, 1.0));
        prop_assert!((whole.shape - halves.shape).abs() < 1e-9 * whole.shape && (whole.scale - halves.scale).abs() < 1e-9 * whole.scale);
    }

    #[test]
    fn what_is_remembered_never_exceeds_the_half_life_over_ln_two(readings in gaps(), half_life in 1.0..400.0) {
        let usage = Usage::from_gaps(&Cohort::SHIPPED, &readings, Some(half_life), 1.0);
        let days_remembered = (usage.shape - Cohort::SHIPPED.p) / usage.a;
        prop_assert!(days_remembered <= half_life / std::f64::consts::LN_2 + 1e-9, "{days_remembered} days");
    }
}

#[test]
fn a_distance_already_driven_is_reached_at_once() {
    let usage = Usage::from_gaps(&Cohort::SHIPPED, &[], None, 1.0);
    for left in [0.0, -12.0] {
        assert!((usage.probability_reached(left, 0.0) - 1.0).abs() < f64::EPSILON);
        assert_eq!(usage.days_until(left, LATE, TEN_YEARS), Some(0.0));
    }
}

#[test]
fn without_time_no_distance_is_reached() {
    let usage = Usage::from_gaps(&Cohort::SHIPPED, &[], None, 1.0);
    for days in [0.0, -3.0] {
        assert!(usage.probability_reached(1e-9, days) <= 0.0);
        assert!(usage.distance_after(days, LATE) <= 0.0);
    }
}

#[test]
fn a_date_beyond_the_horizon_is_none_and_on_it_is_some() {
    let usage = Usage::from_gaps(&Cohort::SHIPPED, &[], None, 1.0);
    let likely = usage.days_until(5000.0, LIKELY, TEN_YEARS).expect("within ten years");
    assert!(usage.days_until(5000.0, LIKELY, likely * 1.000_001).is_some());
    assert_eq!(usage.days_until(5000.0, LIKELY, likely * 0.999_999), None);
}

#[test]
fn the_shipped_cohort_drives_eighty_kilometres_a_day() {
    let usage = Usage::from_gaps(&Cohort::SHIPPED, &[], None, 1.0);
    assert!((usage.mean_km_per_day() - 80.0).abs() < 1e-12);
}

#[test]
fn a_shape_of_one_or_less_has_no_finite_mean() {
    let usage = Usage { a: 1.0, shape: 1.0, scale: 400.0 };
    assert!(usage.mean_km_per_day().is_infinite());
}

#[test]
fn sources_that_disagree_never_take_distance_away() {
    let gaps = [Gap { days: 1.0, km: 20.0 }, Gap { days: 0.5, km: -35.0 }];
    let usage = Usage::from_gaps(&Cohort::SHIPPED, &gaps, None, 1.0);
    assert!((usage.scale - Cohort::SHIPPED.q).abs() < 1e-12, "{usage:?}");
}
