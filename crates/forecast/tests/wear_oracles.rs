//! Wear and capacity against values computed by other libraries; the files name them and the calls.
//!
//! The files are written by `tests/oracles/wear_capacity.py` and `wear_dates.py`.

use forecast::Usage;
use forecast::capacity::{CapacityFit, CapacityReading};
use forecast::wear::{Approach, BAND_SCORES, Fit, GaugeReading, Setting, Start, crossing};

fn lines(table: &'static str) -> impl Iterator<Item = Vec<&'static str>> {
    table.lines().filter(|line| !line.starts_with('#')).skip(1).map(|line| line.split(',').collect())
}

fn number(text: &str) -> f64 {
    text.parse().expect("a number")
}

/// Numbers written with colons between them, and groups with semicolons.
fn groups(text: &str) -> Vec<Vec<f64>> {
    let groups = text.split(';').filter(|group| !group.is_empty());
    groups.map(|group| group.split(':').map(number).collect()).collect()
}

fn near(ours: f64, theirs: f64) -> bool {
    (ours - theirs).abs() <= 1e-8 * theirs.abs()
}

/// A quantity that statsmodels 0.15.0 found for the tread series (standing: computed).
fn ols(quantity: &str) -> f64 {
    let found = lines(include_str!("wear_ols.csv")).find(|line| line[0] == quantity);
    number(found.expect("a quantity of the table")[1])
}

/// The tread series, in thousand miles and 32nds of an inch, with the residuals' spread as that of the gauge and no
/// opinion beforehand: ordinary least squares.
fn tread_series() -> Fit {
    let series = [(0.0, 10.0), (6.2, 9.1), (11.85, 8.4), (18.4, 7.4), (24.1, 6.7), (30.3, 5.7), (36.5, 4.9)];
    let readings = series.map(|(expected_wear_mm, depth_mm)| GaugeReading { expected_wear_mm, depth_mm });
    Fit::new(Start::Unknown, &readings, &Setting { tau: 1e9, gauge_sd_mm: ols("s") }).expect("seven readings")
}

#[test]
fn without_an_opinion_the_line_is_that_of_least_squares() {
    let fit = tread_series();
    let half_width = ols("t_95") * fit.depth_sd_at(45.0);
    for (ours, theirs) in [
        (-fit.pace, "slope"),
        (fit.depth_at(0.0), "intercept"),
        (fit.depth_at(45.0), "mean_at_45"),
        (fit.depth_at(45.0) - half_width, "mean_ci_lower_at_45"),
        (fit.depth_at(45.0) + half_width, "mean_ci_upper_at_45"),
    ] {
        assert!(near(ours, ols(theirs)), "{theirs}: {ours}");
    }
}

#[test]
fn the_crossing_is_where_the_confidence_bounds_cross() {
    let (fit, t) = (tread_series(), ols("t_95"));
    for (score, theirs) in [(-t, "at_limit_lower"), (0.0, "at_limit"), (t, "at_limit_upper")] {
        let ours = fit.wear_at_limit(4.0, score).expect("it wears");
        assert!(near(ours, ols(theirs)), "{theirs}: {ours}");
    }
}

/// Handed on with the series: 4/32 at 42 874 miles, Fieller 95 % 41 621 to 44 170 (computed, statsmodels 0.15.0).
#[test]
fn the_crossing_of_a_reading_is_fiellers_prediction_interval() {
    let (fit, t, s) = (tread_series(), ols("t_95"), ols("s"));
    let of_a_reading = Fit { depth_variance: fit.depth_variance + s * s, ..fit };
    for (score, theirs, miles) in [
        (-t, "reading_at_limit_lower", 41_621.0),
        (0.0, "at_limit", 42_874.0),
        (t, "reading_at_limit_upper", 44_170.0),
    ] {
        let ours = of_a_reading.wear_at_limit(4.0, score).expect("it wears");
        assert!(near(ours, ols(theirs)) && (1000.0 * ours - miles).abs() < 0.6, "{theirs}: {ours}");
    }
}

/// Handed on with the series (computed, statsmodels 0.15.0, to the digits told): parameters, the fit at 45,000 miles, the
/// 95 % intervals of its mean and of a reading.
#[test]
fn the_line_is_the_one_handed_on_with_the_series() {
    let (fit, t, s) = (tread_series(), ols("t_95"), ols("s"));
    let of_mean = t * fit.depth_sd_at(45.0);
    let of_reading = t * libm::hypot(fit.depth_sd_at(45.0), s);
    for (ours, told, within) in [
        (fit.depth_at(0.0), 10.005_508_46, 1e-7),
        (-fit.pace, -0.140_075_06, 1e-7),
        (s, 0.052_716_31, 1e-7),
        (fit.depth_at(45.0), 3.702_131, 1e-5),
        (fit.depth_at(45.0) - of_mean, 3.577_977, 1e-5),
        (fit.depth_at(45.0) + of_mean, 3.826_284, 1e-5),
        (fit.depth_at(45.0) - of_reading, 3.518_344, 1e-5),
        (fit.depth_at(45.0) + of_reading, 3.885_917, 1e-5),
    ] {
        assert!((ours - told).abs() <= within, "{ours} against {told}");
    }
}

/// Worked by hand on the line through two readings (computed): tyres at 4/32 and 2/32 in, pads at 3 mm, in miles.
#[test]
fn two_readings_without_an_opinion_are_a_straight_line() {
    for (first, second, limit, miles) in [
        (10.0, (20_000.0, 7.0), 4.0, 40_000.0),
        (10.0, (20_000.0, 7.0), 2.0, 53_333.0),
        (12.0, (24_000.0, 8.0), 3.0, 54_000.0),
    ] {
        let readings = [(0.0, first), second]
            .map(|(expected_wear_mm, depth_mm)| GaugeReading { expected_wear_mm, depth_mm });
        let fit = Fit::new(Start::Unknown, &readings, &Setting { tau: 1e9, gauge_sd_mm: 0.2 }).expect("two");
        let ours = fit.wear_at_limit(limit, 0.0).expect("it wears");
        assert!((ours - miles).abs() < 1.0, "{ours} against {miles}");
    }
}

#[test]
fn readings_and_the_fleet_together_give_the_crossings_found_by_numpy_and_scipy() {
    for line in lines(include_str!("wear_crossings.csv")) {
        let start = if line[0].is_empty() { Start::Unknown } else { Start::Depth(number(line[0])) };
        let setting = Setting { tau: number(line[1]), gauge_sd_mm: number(line[2]) };
        let readings: Vec<GaugeReading> = groups(line[4])
            .into_iter()
            .map(|pair| GaugeReading { expected_wear_mm: pair[0], depth_mm: pair[1] })
            .collect();
        let fit = Fit::new(start, &readings, &setting).expect("a depth to begin at");
        let approach = Approach { limit_mm: number(line[3]), wear_now_mm: 0.0, mm_per_km: 1.0 };
        let ours = crossing(&fit, &approach).expect("it wears");
        assert!(near(fit.pace, number(line[5])), "{} in {line:?}", fit.pace);
        assert!(near(libm::sqrt(fit.pace_variance), number(line[6])), "{fit:?} in {line:?}");
        assert!(
            ours.km.iter().zip(&line[7..]).all(|(ours, theirs)| near(*ours, number(theirs))),
            "{ours:?} in {line:?}"
        );
    }
}

/// The days on which limits are met, averaged over nine distances (numpy 2.4.6, scipy 1.17.1; computed).
#[test]
fn the_days_of_a_limit_are_those_found_by_scipy() {
    for line in lines(include_str!("wear_dates.csv")) {
        let start = if line[1].is_empty() { Start::Unknown } else { Start::Depth(number(line[1])) };
        let readings: Vec<GaugeReading> = groups(line[5])
            .into_iter()
            .map(|pair| GaugeReading { expected_wear_mm: pair[0], depth_mm: pair[1] })
            .collect();
        let setting = Setting { tau: number(line[2]), gauge_sd_mm: number(line[3]) };
        let fit = Fit::new(start, &readings, &setting).expect("a depth to begin at");
        let [limit_mm, wear_now_mm, mm_per_km] = [4, 6, 7].map(|column| number(line[column]));
        let approach = Approach { limit_mm, wear_now_mm, mm_per_km };
        let usage = Usage { a: number(line[8]), shape: number(line[9]), scale: number(line[10]) };
        let band = crossing(&fit, &approach).expect("it wears").days_band(&usage, 1e5);
        let km = BAND_SCORES.map(|score| approach.km(&fit, score));
        for (ours, theirs) in km.into_iter().zip(&line[11..14]) {
            let (ours, theirs) = (ours.expect("it wears"), number(theirs));
            assert!((ours - theirs).abs() <= 1e-7 * theirs.abs(), "{ours} against {theirs} in {line:?}");
        }
        for (ours, theirs) in [band.early, band.likely, band.late].into_iter().zip(&line[14..]) {
            let (ours, theirs) = (ours.expect("within centuries"), number(theirs));
            assert!((ours - theirs).abs() <= 0.05, "{ours} against {theirs} days in {line:?}");
        }
    }
}

/// The first row is a worked example with k = 2.922607 and 8.2664 % at eight years (numpy; computed).
#[test]
fn capacity_is_lost_as_found_by_numpy_and_scipy() {
    for line in lines(include_str!("capacity_loss.csv")) {
        let readings: Vec<CapacityReading> = groups(line[0])
            .into_iter()
            .map(|part| CapacityReading { years: part[0], km: part[1], loss_percent: part[2] })
            .collect();
        let alone = CapacityFit::by_age(&readings).expect("five readings");
        let both = CapacityFit::by_age_and_distance(&readings).expect("two parts that differ");
        assert!(near(alone.percent_per_root_year, number(line[1])), "{alone:?} in {line:?}");
        assert!(near(alone.loss_percent_at(8.0, 1e5), number(line[2])), "{alone:?} in {line:?}");
        assert!(near(both.percent_per_root_year, number(line[3])), "{both:?} in {line:?}");
        assert!(near(both.percent_per_km, number(line[4])), "{both:?} in {line:?}");
    }
}

#[test]
fn four_readings_say_nothing_of_capacity() {
    let four = [1.0, 2.0, 3.0, 4.0].map(|years| CapacityReading {
        years,
        km: 15_000.0 * years,
        loss_percent: years,
    });
    assert_eq!(CapacityFit::by_age(&four), None);
    assert_eq!(CapacityFit::by_age_and_distance(&four), None);
}

#[test]
fn distance_that_grows_as_the_root_of_age_cannot_be_told_from_it() {
    let alike = [1.0, 4.0, 9.0, 16.0, 25.0].map(|years| CapacityReading {
        years,
        km: 20_000.0 * libm::sqrt(years),
        loss_percent: libm::sqrt(years),
    });
    assert_eq!(CapacityFit::by_age_and_distance(&alike), None);
}
