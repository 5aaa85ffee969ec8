//! What must be true of wear whatever the readings.

use forecast::Usage;
use forecast::wear::{Approach, BAND_SCORES, Crossing, Fit, GaugeReading, Setting, Start, crossing};
use proptest::prelude::*;

const SETTING: Setting = Setting { tau: 0.3, gauge_sd_mm: 0.2 };
const USAGE: Usage = Usage { a: 0.8, shape: 30.0, scale: 4000.0 };
const MOST_DAYS: f64 = 3650.0;

fn any_fit() -> impl Strategy<Value = Fit> {
    let readings = prop::collection::vec((0.0..6.0_f64, 1.0..9.0_f64), 1..7);
    (prop::option::of(5.0..10.0_f64), readings).prop_map(|(new, readings)| {
        let readings: Vec<GaugeReading> = readings
            .into_iter()
            .map(|(expected_wear_mm, depth_mm)| GaugeReading { expected_wear_mm, depth_mm })
            .collect();
        Fit::new(new.map_or(Start::Unknown, Start::Depth), &readings, &SETTING).expect("a reading")
    })
}

const fn approach(limit_mm: f64) -> Approach {
    Approach { limit_mm, wear_now_mm: 2.0, mm_per_km: 1.6e-4 }
}

/// Early, likely and late; what may never be is as far as can be.
fn km(fit: &Fit, limit_mm: f64) -> [f64; 3] {
    BAND_SCORES.map(|score| approach(limit_mm).km(fit, score).unwrap_or(f64::INFINITY))
}

fn days(fit: &Fit, limit_mm: f64) -> [f64; 3] {
    let band = crossing(fit, &approach(limit_mm)).map(|crossing| crossing.days_band(&USAGE, MOST_DAYS));
    band.map_or([f64::INFINITY; 3], |band| {
        [band.early, band.likely, band.late].map(|days| days.unwrap_or(f64::INFINITY))
    })
}

fn in_order(values: [f64; 3]) -> bool {
    values[0] <= values[1] && values[1] <= values[2]
}

proptest! {
    #[test]
    fn early_comes_before_likely_and_likely_before_late(fit in any_fit(), limit in 0.5..4.0_f64) {
        let (km, days) = (km(&fit, limit), days(&fit, limit));
        prop_assert!(in_order(km) && in_order(days), "{km:?}, {days:?}");
    }

    #[test]
    fn a_lower_limit_is_never_met_sooner(fit in any_fit(), limit in 0.5..4.0_f64, lower in 0.0..0.5_f64) {
        let (higher, lower) = (km(&fit, limit), km(&fit, limit - lower));
        prop_assert!(higher.iter().zip(&lower).all(|(high, low)| high <= &(low + 1e-9 * low.abs())), "{higher:?}, {lower:?}");
    }

    /// But for what the quick search may be off.
    #[test]
    fn the_days_of_a_lower_limit_are_never_sooner(fit in any_fit(), limit in 0.5..4.0_f64, lower in 0.0..0.5_f64) {
        let (higher, lower) = (days(&fit, limit), days(&fit, limit - lower));
        prop_assert!(higher.iter().zip(&lower).all(|(high, low)| high <= &(low + 0.05)), "{higher:?}, {lower:?}");
    }
}

#[test]
fn a_part_of_the_distances_that_may_never_be_driven_leaves_the_late_day_open() {
    let mut km = [10_000.0; 9];
    km[7] = f64::INFINITY;
    km[8] = f64::INFINITY;
    let band = Crossing { km }.days_band(&USAGE, MOST_DAYS);
    assert!(band.early.is_some() && band.likely.is_some() && band.late.is_none(), "{band:?}");
}

#[test]
fn a_vehicle_that_does_not_run_meets_only_what_it_has_met() {
    let not_met = Crossing { km: [3000.0; 9] };
    let mostly_met = Crossing { km: [-1.0, -1.0, -1.0, -1.0, -1.0, 10.0, 20.0, 30.0, 40.0] };
    for most_days in [0.0, 0.4] {
        let band = not_met.days_band(&USAGE, most_days);
        assert_eq!([band.early, band.likely, band.late], [None; 3], "within {most_days} days");
        let band = mostly_met.days_band(&USAGE, most_days);
        assert_eq!([band.early, band.likely], [Some(0.0); 2], "within {most_days} days");
    }
}
