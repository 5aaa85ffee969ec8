//! Whether a new fit of a group is worth adopting in place of the one that stands.

use forecast::{Cohort, EARLY, Kappa, LATE, LIKELY, Usage};
use model::{CohortFit, FitLevel};

/// What is compared: how far a newcomer will have gone after so many operating days.
const DAYS: f64 = 90.0;
/// A quantile that moves by no more than this share is left where it was: dates must not tremble every month (chosen; no
/// source).
const LEAST_MOVE: f64 = 0.05;

/// Whether one of the quantiles called early, likely and late moves by more than 5 %.
pub(super) fn is_worth_it(old: &CohortFit, new: &CohortFit) -> bool {
    let pairs = distances(old).into_iter().zip(distances(new));
    pairs.into_iter().any(|(old, new)| (new - old).abs() > LEAST_MOVE * old)
}

/// Whether a fit is but the shipped default, by which vehicles are judged without any fit.
pub(super) const fn says_nothing(fit: &CohortFit) -> bool {
    matches!(fit.level, FitLevel::Shipped) && fit.kappa.is_none()
}

/// The quantiles of a newcomer's distance, km.
fn distances(fit: &CohortFit) -> [f64; 3] {
    let cohort = Cohort { a: fit.a, p: fit.p, q: fit.q };
    let width = fit.kappa.map_or(Kappa::UNMEASURED.at_90, |kappa| kappa.at_90);
    let newcomer = Usage::from_gaps(&cohort, &[], None, width);
    [EARLY, LIKELY, LATE].map(|quantile| newcomer.distance_after(DAYS, quantile))
}

#[cfg(test)]
mod tests {
    use super::*;
    use model::KappaFit;

    fn fit(a: f64, p: f64, q: f64) -> CohortFit {
        CohortFit { a, p, q, level: FitLevel::Cohort, vehicles: 9, kappa: None }
    }

    fn with_width(at_90: f64) -> CohortFit {
        let kappa = KappaFit { at_30: 1.0, at_90, at_180: 3.0, cases: [60; 3] };
        CohortFit { kappa: Some(kappa), ..fit(1.0, 6.0, 400.0) }
    }

    /// SciPy 1.17: `betaprime.ppf([.1, .5, .9], 90*a/k, p) * k*q` for (a, p, q) = (1, 6, 400), k = 1.5 and 3.
    #[test]
    fn the_distances_are_those_of_the_beta_prime_distribution() {
        for (fit, expected) in [
            (fit(1.0, 6.0, 400.0), [3_747.180_936_084, 6_313.635_803_081, 11_593.670_893_038]),
            (with_width(3.0), [3_620.065_249_708, 6_278.371_265_573, 11_758.392_084_191]),
        ] {
            for (ours, expected) in distances(&fit).into_iter().zip(expected) {
                assert!((ours / expected - 1.0).abs() < 1e-9, "{ours} is not {expected}");
            }
        }
    }

    /// Distances grow with q, all in the same proportion: 5 % more is not adopted, a little beyond is, and so downwards.
    #[test]
    fn a_move_of_five_percent_is_left_and_more_is_adopted() {
        let old = fit(1.0, 6.0, 400.0);
        for (q, worth_it) in [(400.0, false), (419.9, false), (420.1, true), (380.1, false), (379.9, true)] {
            assert_eq!(is_worth_it(&old, &fit(1.0, 6.0, q)), worth_it, "{q}");
        }
    }

    /// By SciPy as above a width of 3 in place of 1.5 moves the early distance by 3.4 % and the late one by 1.4 %; where
    /// a day is little like another (a = 0.05), by 44 % and 12 %.
    #[test]
    fn a_width_alone_is_adopted_only_where_it_moves_a_quantile_enough() {
        let day_by_day = |at_90| CohortFit { a: 0.05, ..with_width(at_90) };
        assert!(!is_worth_it(&with_width(1.5), &with_width(3.0)));
        assert!(is_worth_it(&day_by_day(1.5), &day_by_day(3.0)));
        assert!(!is_worth_it(&day_by_day(1.5), &day_by_day(1.5)));
    }
}
