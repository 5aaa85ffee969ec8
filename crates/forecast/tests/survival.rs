//! Lives of parts, against worked examples and values of other libraries.

use forecast::survival::{KaplanMeier, Life, SurvivalError, Weibull};
use proptest::prelude::*;

fn lives(failed: &[f64], censored: &[f64]) -> Vec<Life> {
    let failed = failed.iter().map(|length| Life::Failed(*length));
    failed.chain(censored.iter().map(|length| Life::Censored(*length))).collect()
}

fn near(ours: f64, theirs: f64, relative: f64) -> bool {
    (ours - theirs).abs() <= relative * theirs.abs()
}

/// NIST/SEMATECH e-Handbook of Statistical Methods 8.2.1.5: six failures, four units removed, ten left at 200 (verified).
fn life_test() -> Vec<Life> {
    let mut censored = vec![50.0, 100.0, 125.0, 150.0];
    censored.extend([200.0; 10]);
    lives(&[10.0, 32.0, 56.0, 98.0, 122.0, 181.0], &censored)
}

/// Weeks of remission under 6-MP: Freireich 1963 (data from memory).
fn remissions() -> Vec<Life> {
    lives(
        &[6.0, 6.0, 6.0, 7.0, 10.0, 13.0, 16.0, 22.0, 23.0],
        &[6.0, 9.0, 10.0, 11.0, 17.0, 19.0, 20.0, 25.0, 32.0, 32.0, 34.0, 35.0],
    )
}

/// NIST/SEMATECH e-Handbook 8.4.1.3: ten failures, ten left at 500 hours (verified).
fn weibull_test() -> Vec<Life> {
    lives(&[54.0, 187.0, 216.0, 240.0, 244.0, 335.0, 361.0, 373.0, 375.0, 386.0], &[500.0; 10])
}

#[test]
fn the_product_limit_is_that_of_the_handbook() {
    let estimate = KaplanMeier::new(&life_test()).expect("six failures");
    let expected = [0.95, 0.9, 0.847_059, 0.794_118, 0.737_395, 0.670_359];
    let ours: Vec<f64> = estimate.steps().iter().map(|step| step.survival).collect();
    assert_eq!(ours.len(), expected.len());
    for (ours, expected) in ours.iter().zip(expected) {
        assert!((ours - expected).abs() < 1e-6, "{ours} against {expected}");
    }
    assert_eq!(estimate.median(), None, "more than half were never seen to fail");
}

#[test]
fn failures_that_tie_with_censored_parts_come_first() {
    // lifelines 0.30.3, KaplanMeierFitter (computed); median 23 weeks, as is usually printed with these data.
    let estimate = KaplanMeier::new(&remissions()).expect("nine failures");
    let expected = [
        (6.0, 0.857_143),
        (7.0, 0.806_723),
        (10.0, 0.752_941),
        (13.0, 0.690_196),
        (16.0, 0.627_451),
        (22.0, 0.537_815),
        (23.0, 0.448_179),
    ];
    assert_eq!(estimate.steps().len(), expected.len());
    for (step, (length, survival)) in estimate.steps().iter().zip(expected) {
        assert!((step.length - length).abs() < 1e-12 && (step.survival - survival).abs() < 1e-6, "{step:?}");
    }
    assert_eq!(estimate.median(), Some(23.0));
    let [first, second] = [estimate.steps()[0], estimate.steps()[1]];
    assert_eq!((first.at_risk, first.failures, second.at_risk), (21, 3, 17));
}

/// Standard errors as printed with these data in textbooks (Kleinbaum and Klein; from memory), to four digits by Greenwood's
/// formula by hand. Bounds: scipy 1.17.1, `ecdf(CensoredData.right_censored(...)).sf.confidence_interval(0.95, "log-log")`
/// (computed);
/// lifelines 0.30.3 gives the same, and the lengths in the test below.
#[test]
fn the_curve_has_the_standard_errors_and_bounds_of_other_libraries() {
    let estimate = KaplanMeier::new(&remissions()).expect("nine failures");
    let expected = [
        (0.0764, 0.619_718, 0.951_552),
        (0.0869, 0.563_147, 0.922_809),
        (0.0963, 0.503_200, 0.889_362),
        (0.1068, 0.431_610, 0.849_066),
        (0.1141, 0.367_511, 0.804_912),
        (0.1282, 0.267_779, 0.746_791),
        (0.1346, 0.188_052, 0.680_143),
    ];
    assert_eq!(estimate.steps().len(), expected.len());
    for (step, (error, low, high)) in estimate.steps().iter().zip(expected) {
        let ours = step.standard_error().expect("some are left");
        assert!((ours - error).abs() < 5e-5, "{ours} against {error}");
        let [lower, upper] = step.survival_band(1.959_963_984_54).expect("some are left");
        assert!(
            (lower - low).abs() < 1e-6 && (upper - high).abs() < 1e-6,
            "{lower} {upper} against {low} {high}"
        );
    }
}

/// Where the bounds above come down to a half, and to three quarters.
#[test]
fn the_median_lies_where_the_bounds_of_the_curve_cross_a_half() {
    let estimate = KaplanMeier::new(&remissions()).expect("nine failures");
    assert_eq!(estimate.failed_by_band(0.5, 1.959_963_984_54), [Some(13.0), None]);
    assert_eq!((estimate.failed_by(0.25), estimate.failed_by(0.9)), (Some(13.0), None));
    assert_eq!(estimate.failed_by_band(0.25, 1.959_963_984_54), [Some(6.0), Some(22.0)]);
}

#[test]
fn once_no_part_is_left_the_curve_has_no_spread_to_tell() {
    let estimate = KaplanMeier::new(&lives(&[100.0, 200.0], &[])).expect("two failures");
    let [first, last] = [estimate.steps()[0], estimate.steps()[1]];
    assert!(first.standard_error().is_some() && last.survival < 1e-12);
    assert_eq!((last.standard_error(), last.survival_band(1.0)), (None, None));
}

#[test]
fn survival_falls_at_a_failure_and_not_between_two() {
    let estimate = KaplanMeier::new(&remissions()).expect("nine failures");
    let at = |length: f64| estimate.survival_at(length);
    assert!((at(5.9) - 1.0).abs() < 1e-12 && (at(6.0) - 0.857_143).abs() < 1e-6, "the day itself counts");
    assert!((at(21.9) - at(16.0)).abs() < 1e-12 && at(22.0) < at(21.9));
    assert!((at(1000.0) - at(23.0)).abs() < 1e-12, "beyond the last life nothing more is known");
}

#[test]
fn the_weibull_law_is_that_of_the_handbook() {
    let lives = weibull_test();
    let law = Weibull::fit(&lives).expect("ten failures");
    for (name, ours, theirs) in [
        ("shape", law.shape, 1.7208),
        ("scale", law.scale, 606.5280),
        ("log-likelihood", law.log_likelihood(&lives), -75.135),
        ("mean", law.mean(), 540.737),
        ("standard deviation", law.standard_deviation(), 323.806),
    ] {
        assert!(near(ours, theirs, 3e-5), "{name}: {ours} against {theirs}");
    }
}

#[test]
fn quantiles_and_what_is_left_follow_from_the_law() {
    // Closed forms on the fit above (computed).
    let law = Weibull::fit(&weibull_test()).expect("ten failures");
    assert!(near(law.failed_by(0.1), 164.022, 1e-5), "B10 {}", law.failed_by(0.1));
    assert!(near(law.failed_by(0.5), 490.174, 1e-5), "median {}", law.failed_by(0.5));
    assert!(near(law.survival_after(500.0, 600.0), 0.767_726, 1e-5), "{}", law.survival_after(500.0, 600.0));
}

/// Failures, censored lives, shape, scale, log-likelihood and mean.
type Case = (&'static [f64], &'static [f64], [f64; 4]);

/// Invented lives. Shape and scale: `scipy.optimize.brentq` of the likelihood equation, with which
/// `scipy.stats.weibull_min.fit(CensoredData.right_censored(...), floc=0)` agrees to 3e-6; log-likelihood and mean:
/// `weibull_min.logpdf`, `.logsf` and `.mean` there (scipy 1.17.1, numpy 2.4.6; computed).
const CASES: [Case; 4] = [
    (
        &[15.0, 8.2, 3.9, 3.4, 4.3, 10.9],
        &[23.5, 15.9, 35.2, 26.0, 30.2, 34.8, 17.8, 17.8, 16.9, 25.6, 47.2, 12.1],
        [0.818_539_082_823, 71.536_109_255_4, -30.213_773_437_3, 79.765_340_275],
    ),
    (
        &[33.8, 40.9, 17.7, 32.9, 54.3, 13.3, 35.2, 16.6, 35.7, 4.4, 34.4],
        &[23.3, 18.8, 70.2, 41.2, 27.7, 32.7, 66.1],
        [1.724_311_725_66, 48.246_588_122_1, -53.074_025_494_2, 43.007_678_730_8],
    ),
    (
        &[49.0, 35.0, 63.4, 28.5, 36.6, 36.0, 33.8, 52.4, 25.9, 51.9, 41.1, 17.0],
        &[27.1, 21.4, 15.9, 54.5, 40.7, 40.2],
        [3.610_177_006_74, 47.496_897_211_3, -50.663_941_341_8, 42.806_264_888_7],
    ),
    (
        &[45.0, 44.3, 48.4, 47.5, 29.8, 50.1, 44.3, 55.7, 39.3, 40.9, 47.7],
        &[32.6, 32.3, 16.7, 16.2, 32.4, 21.1, 39.2],
        [8.844_039_536_36, 47.675_891_443, -35.838_326_377_8, 45.111_466_567_8],
    ),
];

#[test]
fn invented_lives_are_fitted_as_by_scipy() {
    for (failed, censored, theirs) in CASES {
        let lives = lives(failed, censored);
        let law = Weibull::fit(&lives).expect("failures");
        let ours = [law.shape, law.scale, law.log_likelihood(&lives), law.mean()];
        for (ours, theirs) in ours.into_iter().zip(theirs) {
            assert!(near(ours, theirs, 1e-9), "{ours} against {theirs} from {failed:?}");
        }
    }
}

#[test]
fn lives_that_say_nothing_are_refused_by_name() {
    let none_failed = lives(&[], &[300.0, 400.0]);
    let none = Err(SurvivalError::NoFailures { lives: 2 });
    assert_eq!(KaplanMeier::new(&none_failed).map(|_| ()), none);
    assert_eq!(Weibull::fit(&none_failed).map(|_| ()), none);
    assert_eq!(Weibull::fit(&[]), Err(SurvivalError::NoFailures { lives: 0 }));
    for wrong in [0.0, -1.0, f64::INFINITY] {
        let lives = lives(&[100.0, wrong], &[200.0]);
        let refused = Err(SurvivalError::NotALength { length: wrong });
        assert_eq!(KaplanMeier::new(&lives).map(|_| ()), refused);
        assert_eq!(Weibull::fit(&lives).map(|_| ()), refused);
    }
    assert!(matches!(Weibull::fit(&lives(&[f64::NAN], &[])), Err(SurvivalError::NotALength { .. })));
}

#[test]
fn failures_at_one_length_have_no_spread_until_a_part_outlives_them() {
    let alike = lives(&[120.0, 120.0], &[80.0]);
    assert_eq!(Weibull::fit(&alike), Err(SurvivalError::NoSpread { failures: 2, length: 120.0 }));
    assert!(Weibull::fit(&lives(&[120.0, 120.0], &[80.0, 121.0])).is_ok());
}

fn some_lives() -> impl Strategy<Value = Vec<Life>> {
    let life = (0.1..2000.0_f64, any::<bool>())
        .prop_map(|(length, failed)| if failed { Life::Failed(length) } else { Life::Censored(length) });
    (prop::collection::vec(life, 1..40), 0.1..2000.0_f64).prop_map(|(mut lives, length)| {
        lives.push(Life::Failed(length));
        lives
    })
}

proptest! {
    #[test]
    fn survival_never_rises(lives in some_lives()) {
        let estimate = KaplanMeier::new(&lives).expect("a failure");
        let mut last = 1.0;
        for step in estimate.steps() {
            prop_assert!((0.0..last).contains(&step.survival), "{:?}", step);
            last = step.survival;
        }
    }

    #[test]
    fn without_censoring_survival_is_the_share_still_there(lengths in prop::collection::vec(1..50_u32, 1..40)) {
        let lives: Vec<Life> = lengths.iter().map(|length| Life::Failed(f64::from(*length))).collect();
        let estimate = KaplanMeier::new(&lives).expect("failures");
        for length in 1..50_u32 {
            let left = lengths.iter().filter(|other| **other > length).count();
            let share = f64::from(u32::try_from(left).expect("few"))
                / f64::from(u32::try_from(lengths.len()).expect("few"));
            prop_assert!((estimate.survival_at(f64::from(length)) - share).abs() < 1e-12);
        }
    }

    #[test]
    fn a_part_censored_later_never_lowers_survival(lives in some_lives(), longer in 1.0..500.0_f64) {
        let short = KaplanMeier::new(&lives).expect("a failure");
        let longer: Vec<Life> = lives.iter().map(|life| match life {
            Life::Failed(length) => Life::Failed(*length),
            Life::Censored(length) => Life::Censored(length + longer),
        }).collect();
        let long = KaplanMeier::new(&longer).expect("a failure");
        for step in short.steps() {
            prop_assert!(long.survival_at(step.length) >= step.survival - 1e-12);
        }
    }

    #[test]
    fn no_neighbouring_law_is_more_likely(lives in some_lives()) {
        let Ok(law) = Weibull::fit(&lives) else { return Ok(()) };
        let best = law.log_likelihood(&lives);
        for (shape, scale) in [(1.01, 1.0), (0.99, 1.0), (1.0, 1.01), (1.0, 0.99), (1.01, 1.01), (0.99, 0.99)] {
            let other = Weibull { shape: law.shape * shape, scale: law.scale * scale };
            prop_assert!(other.log_likelihood(&lives) <= best + 1e-9 * best.abs(), "{law:?} {other:?}");
        }
    }

    #[test]
    fn a_law_counted_in_miles_is_the_law_counted_in_kilometres(lives in some_lives()) {
        let in_miles: Vec<Life> = lives.iter().map(|life| match life {
            Life::Failed(length) => Life::Failed(length / 1.609_344),
            Life::Censored(length) => Life::Censored(length / 1.609_344),
        }).collect();
        if let (Ok(km), Ok(mi)) = (Weibull::fit(&lives), Weibull::fit(&in_miles)) {
            prop_assert!(near(km.shape, mi.shape, 1e-8), "{km:?} {mi:?}");
            prop_assert!(near(km.failed_by(0.1), mi.failed_by(0.1) * 1.609_344, 1e-7), "{km:?} {mi:?}");
        }
    }

    #[test]
    fn an_old_part_lasts_on_less_surely_where_age_wears(age in 1.0..400.0_f64, more in 1.0..400.0_f64) {
        let worn = Weibull { shape: 2.5, scale: 300.0 };
        prop_assert!(worn.survival_after(age, age + more) <= worn.survival_at(more));
        let ageless = Weibull { shape: 1.0, scale: 300.0 };
        prop_assert!(near(ageless.survival_after(age, age + more), ageless.survival_at(more), 1e-12));
        prop_assert!(near(worn.survival_at(worn.failed_by(0.37)), 0.63, 1e-12));
    }
}
