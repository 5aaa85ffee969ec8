//! How probable a loss of capacity is, against values of other libraries.

use forecast::capacity::{CapacityFit, CapacityOdds, CapacityReading, CoverEnd};
use proptest::prelude::*;

fn readings(rows: &[[f64; 3]]) -> Vec<CapacityReading> {
    rows.iter().map(|[years, km, loss]| reading(*years, *km, *loss)).collect()
}

const fn reading(years: f64, km: f64, loss_percent: f64) -> CapacityReading {
    CapacityReading { years, km, loss_percent }
}

fn odds(rows: &[[f64; 3]]) -> CapacityOdds {
    CapacityOdds::of(&readings(rows)).expect("five readings or more")
}

/// The worked example of the square-root law, and two invented batteries.
const WORKED: [[f64; 3]; 5] =
    [[0.5, 9e3, 2.0], [1.0, 18e3, 2.9], [2.0, 36e3, 4.2], [3.0, 54e3, 5.1], [4.0, 72e3, 5.8]];
const EVEN: [[f64; 3]; 6] = [
    [0.86, 43_219.0, 2.27],
    [2.54, 81_195.0, 4.26],
    [2.72, 104_746.0, 5.05],
    [4.46, 188_677.0, 6.63],
    [6.56, 319_257.0, 7.46],
    [7.91, 242_345.0, 7.65],
];
const WHOLE_PERCENT: [[f64; 3]; 6] = [
    [1.0, 20e3, 4.0],
    [2.0, 41e3, 4.0],
    [3.0, 60e3, 8.0],
    [4.0, 83e3, 7.0],
    [5.0, 99e3, 11.0],
    [6.0, 121e3, 10.0],
];

#[test]
fn the_square_root_law_is_that_of_numpy() {
    // numpy 2.4.6 least squares (computed): k = 2.922607, 8.2664 % after 8 years.
    let fit = CapacityFit::by_age(&readings(&WORKED)).expect("five readings");
    assert!((fit.percent_per_root_year - 2.922_607).abs() < 1e-6, "{fit:?}");
    assert!((fit.loss_percent_at(8.0, 0.0) - 8.2664).abs() < 1e-4);
}

#[test]
fn four_percent_after_a_year_is_eight_after_four_and_twenty_after_twenty_five() {
    // loss = k sqrt(t) (computed).
    let law = CapacityFit { percent_per_root_year: 4.0, percent_per_km: 0.0 };
    for (years, loss) in [(1.0, 4.0), (4.0, 8.0), (7.0, 10.583), (25.0, 20.0)] {
        assert!((law.loss_percent_at(years, 0.0) - loss).abs() < 1e-3, "{years}");
    }
}

#[test]
fn probabilities_are_those_of_the_prediction_interval() {
    // statsmodels 0.15.0, `OLS(loss, [sqrt(years), km]).fit().get_prediction(...)`: `predicted_mean` and `se_obs` into
    // `scipy.stats.t.sf` (scipy 1.17.1; computed). In the first the residuals' spread is replaced by 12^-1/2.
    let cases = [
        (odds(&WORKED), 20.0, 8.0, 144e3, 0.000_449_187_373_3),
        (odds(&WORKED), 20.0, 20.0, 300e3, 0.027_610_428_86),
        (odds(&EVEN), 10.0, 8.0, 160e3, 0.013_018_422_94),
        (odds(&EVEN), 10.0, 9.0, 300e3, 0.033_358_986_96),
        (odds(&EVEN), 10.0, 14.0, 480e3, 0.882_606_275_3),
        (odds(&WHOLE_PERCENT), 20.0, 8.0, 160e3, 0.018_849_159_76),
        (odds(&WHOLE_PERCENT), 20.0, 10.0, 200e3, 0.090_342_316_78),
        (odds(&WHOLE_PERCENT), 20.0, 15.0, 300e3, 0.471_493_931_1),
    ];
    for (odds, allowed, years, km, expected) in cases {
        let ours = odds.probability_lost(allowed, years, km);
        assert!((ours - expected).abs() < 1e-8, "{ours} against {expected}");
    }
}

#[test]
fn where_distance_cannot_be_told_from_age_the_root_of_age_stands_alone() {
    // As above, `OLS(loss, sqrt(years))` (computed). Distance grows with the root of age here, so the two are one.
    let rows = WORKED.map(|[years, _, loss]| [years, 20_000.0 * years.sqrt(), loss]);
    for (years, expected) in [(8.0, 3.387_771_845e-6), (20.0, 7.373_356_143e-5)] {
        let ours = odds(&rows).probability_lost(20.0, years, 0.0);
        assert!((ours - expected).abs() < 1e-6 * expected, "{ours} against {expected}");
    }
}

#[test]
fn over_several_ends_of_cover_the_mean_counts() {
    let odds = odds(&WHOLE_PERCENT);
    let ends = [CoverEnd { years: 8.0, km: 120e3 }, CoverEnd { years: 6.0, km: 160e3 }];
    let [one, other] = ends.map(|end| odds.probability_lost(15.0, end.years, end.km));
    let both = odds.probability_lost_under_cover(15.0, &ends).expect("two ends");
    assert!((both - 0.5 * (one + other)).abs() < 1e-15);
    assert_eq!(odds.probability_lost_under_cover(15.0, &[]), None);
}

#[test]
fn four_readings_give_no_odds_nor_do_those_of_a_new_battery() {
    assert!(CapacityOdds::of(&readings(&WORKED[..4])).is_none());
    assert!(CapacityOdds::of(&[reading(0.0, 0.0, 0.0); 6]).is_none());
}

#[test]
fn the_year_of_a_loss_is_where_its_probability_is_the_quantile() {
    let odds = odds(&EVEN);
    let years = |quantile| odds.years_until_lost(10.0, quantile, 30e3, 40.0);
    let band = [0.1, 0.5, 0.9].map(|quantile| years(quantile).expect("within forty years"));
    assert!(band[0] < band[1] && band[1] < band[2], "{band:?}");
    for (quantile, years) in [0.1, 0.5, 0.9].into_iter().zip(band) {
        let probability = odds.probability_lost(10.0, years, 30e3 * years);
        assert!((probability - quantile).abs() < 1e-9, "{probability} at {years}");
    }
    assert!((odds.fit().loss_percent_at(band[1], 30e3 * band[1]) - 10.0).abs() < 1e-9);
    assert_eq!(odds.years_until_lost(10.0, 0.5, 30e3, 0.9 * band[1]), None);
}

#[test]
fn readings_too_rough_to_tell_give_no_late_year() {
    let odds = odds(&WHOLE_PERCENT);
    assert!(odds.years_until_lost(20.0, 0.5, 20e3, 50.0).is_some());
    assert_eq!(odds.years_until_lost(20.0, 0.999, 20e3, 50.0), None);
}

fn some_readings() -> impl Strategy<Value = Vec<CapacityReading>> {
    let one = (0.1..9.0_f64, 5e3..40e3_f64, -1.0..1.0_f64);
    (prop::collection::vec(one, 5..12), 1.0..5.0_f64).prop_map(|(rows, pace)| {
        rows.into_iter()
            .map(|(years, km_per_year, off)| {
                reading(years, years * km_per_year, pace * libm::sqrt(years) + off)
            })
            .collect()
    })
}

proptest! {
    #[test]
    fn a_lower_floor_is_never_met_more_probably(
        readings in some_readings(), allowed in 1.0..30.0_f64, more in 0.0..20.0_f64, years in 1.0..15.0_f64,
    ) {
        let odds = CapacityOdds::of(&readings).expect("readings");
        let km = 15e3 * years;
        prop_assert!(odds.probability_lost(allowed + more, years, km) <= odds.probability_lost(allowed, years, km));
    }

    #[test]
    fn a_probability_is_one(readings in some_readings(), allowed in 0.0..100.0_f64, years in 0.0..50.0_f64) {
        let odds = CapacityOdds::of(&readings).expect("readings");
        prop_assert!((0.0..=1.0).contains(&odds.probability_lost(allowed, years, 10e3 * years)));
    }
}
