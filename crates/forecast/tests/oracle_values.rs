//! The forecast against values computed by other libraries; the files name them and the calls.
//!
//! The files are written by `tests/oracles/usage_betaprime.py`.

use forecast::{Cohort, Gap, History, Usage, fit, regularity};

/// One line of a table, by the names in its heading.
struct Row {
    cells: Vec<(&'static str, &'static str)>,
}

impl Row {
    fn text(&self, column: &str) -> &'static str {
        self.cells.iter().find(|(name, _)| *name == column).expect("a column of the table").1
    }

    fn number(&self, column: &str) -> f64 {
        self.optional(column).expect("a number in every row")
    }

    fn optional(&self, column: &str) -> Option<f64> {
        let text = self.text(column);
        (!text.is_empty()).then(|| text.parse().expect("a number"))
    }

    fn gaps(&self) -> Vec<Gap> {
        let gaps = self.text("gaps").split(';').filter(|gap| !gap.is_empty());
        gaps.map(|gap| {
            let (days, km) = gap.split_once(':').expect("days:km");
            Gap { days: days.parse().expect("days"), km: km.parse().expect("km") }
        })
        .collect()
    }
}

fn rows(table: &'static str) -> Vec<Row> {
    let mut lines = table.lines().filter(|line| !line.starts_with('#'));
    let names: Vec<&str> = lines.next().expect("a heading").split(',').collect();
    lines.map(|line| Row { cells: names.iter().copied().zip(line.split(',')).collect() }).collect()
}

fn relative_difference(ours: f64, theirs: f64) -> f64 {
    (ours - theirs).abs() / theirs.abs()
}

fn probabilities() -> Vec<Row> {
    rows(include_str!("usage_betaprime.csv"))
}

fn usage_of(row: &Row) -> Usage {
    let cohort = Cohort { a: row.number("a"), p: row.number("p"), q: row.number("q") };
    Usage::from_gaps(&cohort, &row.gaps(), row.optional("half_life"), row.number("kappa"))
}

#[test]
fn readings_move_the_cohort_as_computed_by_numpy() {
    for row in probabilities() {
        let usage = usage_of(&row);
        for (ours, theirs) in [(usage.a, "a_after"), (usage.shape, "shape"), (usage.scale, "scale")] {
            let difference = relative_difference(ours, row.number(theirs));
            assert!(difference < 1e-12, "{theirs} {ours} in {:?}", row.cells);
        }
    }
}

#[test]
fn the_probability_of_reaching_a_distance_is_that_of_the_beta_prime_law() {
    let mut worst = 0.0_f64;
    for row in probabilities() {
        let ours = usage_of(&row).probability_reached(row.number("distance_left"), row.number("days"));
        let difference = (ours - row.number("probability")).abs();
        assert!(difference < 1e-9, "{ours} in {:?}", row.cells);
        worst = worst.max(difference);
    }
    println!("largest difference of a probability: {worst:.1e}");
}

#[test]
fn dates_and_distances_are_the_quantiles_found_by_scipy() {
    let mut worst = 0.0_f64;
    for row in rows(include_str!("usage_quantiles.csv")) {
        let usage = Usage { a: row.number("a"), shape: row.number("shape"), scale: row.number("scale") };
        let (given, quantile) = (row.number("given"), row.number("quantile"));
        let ours = match row.text("asked") {
            "days_until" => usage.days_until(given, quantile, 3650.0),
            _ => Some(usage.distance_after(given, quantile)),
        };
        assert_eq!(ours.is_some(), row.optional("answer").is_some(), "in {:?}", row.cells);
        let difference = ours.map_or(0.0, |ours| relative_difference(ours, row.number("answer")));
        assert!(difference < 1e-8, "{ours:?} in {:?}", row.cells);
        worst = worst.max(difference);
    }
    println!("largest relative difference of a quantile: {worst:.1e}");
}

/// The invented vehicles of the set that `estimate` names.
fn histories_of(estimate: &Row) -> Vec<History> {
    let all = rows(include_str!("cohort_histories.csv"));
    let of_set = all.iter().filter(|row| row.text("set") == estimate.text("set"));
    of_set.map(|row| History { gaps: row.gaps() }).collect()
}

fn same(ours: Option<f64>, theirs: Option<f64>) -> bool {
    match (ours, theirs) {
        (Some(ours), Some(theirs)) => relative_difference(ours, theirs) < 1e-10,
        (None, None) => true,
        _ => false,
    }
}

#[test]
fn regularity_is_the_root_found_by_scipy() {
    for estimate in rows(include_str!("cohort_estimates.csv")) {
        let ours = regularity(&histories_of(&estimate));
        assert!(same(ours, estimate.optional("regularity")), "{ours:?} in {:?}", estimate.cells);
    }
}

#[test]
fn a_cohort_is_fitted_as_computed_by_numpy() {
    for estimate in rows(include_str!("cohort_estimates.csv")) {
        let fitted = fit(&histories_of(&estimate), estimate.optional("regularity").unwrap_or(1.0));
        assert!(
            same(fitted.map(|cohort| cohort.p), estimate.optional("p")),
            "{fitted:?} in {:?}",
            estimate.cells
        );
        assert!(
            same(fitted.map(|cohort| cohort.q), estimate.optional("q")),
            "{fitted:?} in {:?}",
            estimate.cells
        );
    }
}
