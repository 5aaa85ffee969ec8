//! When a wear limit is met: the distance with its uncertainty, and from that the date.

use super::Fit;
use crate::band::Reached;
use crate::cohort::count_of;
use crate::crossing::{Search, crossing as root};
use crate::{Band3, EARLY, LATE, LIKELY, Usage};

/// Standard normal quantiles of early, likely and late: 0.1, 0.5 and 0.9 (`scipy.stats.norm.ppf`).
pub const BAND_SCORES: [f64; 3] = [-1.281_551_565_544_600_4, 0.0, 1.281_551_565_544_600_4];
/// Standard normal quantiles at the middles of nine equal parts: 1/18, 3/18 to 17/18 (`scipy.stats.norm.ppf`).
pub(super) const MIDDLES: [f64; 9] = [
    -1.593_218_818_023_05,
    -0.967_421_566_101_701,
    -0.589_455_797_849_778_4,
    -0.282_216_147_062_508_2,
    0.0,
    0.282_216_147_062_508_2,
    0.589_455_797_849_778_4,
    0.967_421_566_101_701,
    1.593_218_818_023_05,
];
/// Logarithm of the fewest days worth telling apart.
const LEAST_LOG_DAYS: f64 = -20.0;
/// Steps of Newton's method before the slower search is asked.
const MOST_STEPS: u32 = 12;
/// Days are settled when a step is shorter than this.
const SETTLED_DAYS: f64 = 1e-3;
/// What the approximation may be off without being corrected.
const TOLERATED_DAYS: f64 = 0.02;

/// Distances at which a limit is met, each as likely as any other.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Crossing {
    /// Kilometres from now, at the middles of nine equal parts of probability; below zero where it has been passed,
    /// infinite where it may never be.
    pub km: [f64; 9],
}

/// A limit, and where a component stands on its way there.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Approach {
    /// Depth at which the limit is met, in millimetres.
    pub limit_mm: f64,
    /// Wear to be expected of what the component has been driven until now, in millimetres.
    pub wear_now_mm: f64,
    /// Wear to be expected of the product at the position where it is fitted now, in millimetres a kilometre; above
    /// zero.
    pub mm_per_km: f64,
}

impl Approach {
    /// Kilometres from now to the limit at a standard normal `score` (below 0 is earlier); `None` where it may never be
    /// met.
    pub fn km(&self, fit: &Fit, score: f64) -> Option<f64> {
        let wear_mm = fit.wear_at_limit(self.limit_mm, score)?;
        Some((wear_mm - self.wear_now_mm) / self.mm_per_km)
    }
}

/// Distances from now at which a component comes down to a limit; `None` where the readings cannot tell wear from none.
pub fn crossing(fit: &Fit, approach: &Approach) -> Option<Crossing> {
    approach.km(fit, 0.0)?;
    Some(Crossing { km: MIDDLES.map(|score| approach.km(fit, score).unwrap_or(f64::INFINITY)) })
}

impl Crossing {
    /// Probability that the limit is met within `days` of such `usage`: the mean over the nine distances D of
    /// P(X(days) >= D).
    pub fn probability_reached(&self, usage: &Usage, days: f64) -> f64 {
        self.km.iter().map(|km| usage.probability_reached(*km, days)).sum::<f64>() / 9.0
    }

    /// Operating days until the limit is met: early, likely and late, each `None` beyond `most_days`.
    ///
    /// Each is sought by Newton's method on the closed approximation. Where that could be off by more than 0.02 days it
    /// is corrected on the incomplete beta function; where neither settles, a slower search does.
    pub fn days_band(&self, usage: &Usage, most_days: f64) -> Band3 {
        let passed = count_of(self.km.iter().filter(|km| **km <= 0.0).count()) / 9.0;
        let mut start = usage.likely_days(self.km[4], most_days).unwrap_or(most_days).max(1.0);
        let mut days = |quantile: f64| {
            if passed >= quantile {
                return Some(0.0);
            }
            let quick = self.quick(usage, quantile, start);
            let days = quick.or_else(|| {
                let is_within = self.probability_reached(usage, most_days) >= quantile;
                is_within.then(|| self.days(usage, quantile, start, most_days))
            })?;
            start = days.min(most_days).max(1.0);
            (days <= most_days).then_some(days)
        };
        let likely = days(LIKELY);
        let early = days(EARLY).map(|early| early.min(likely.unwrap_or(early)));
        let late = days(LATE).map(|late| late.max(likely.unwrap_or(late)));
        Band3 { early, likely, late }
    }

    /// The days at which `quantile` is met; `None` where the approximation does not hold or does not settle.
    fn quick(&self, usage: &Usage, quantile: f64, start: f64) -> Option<f64> {
        let mut days = start;
        for _ in 0..MOST_STEPS {
            let reached = self.nearly_reached(usage, days)?;
            let moved = stepped(days, quantile, &reached);
            let is_near = (moved - days).abs() < SETTLED_DAYS;
            days = moved;
            if is_near {
                let doubt = usage.doubt_of_nearly_reached(days) / reached.per_day;
                let is_sure = doubt < TOLERATED_DAYS;
                return if is_sure {
                    Some(days)
                } else {
                    self.corrected(usage, quantile, days, reached.per_day)
                };
            }
        }
        None
    }

    /// The days at which the incomplete beta function meets `quantile`, from some near it.
    fn corrected(&self, usage: &Usage, quantile: f64, near: f64, per_day: f64) -> Option<f64> {
        let mut days = near;
        for _ in 0..MOST_STEPS {
            let reached = Reached { probability: self.probability_reached(usage, days), per_day };
            let moved = stepped(days, quantile, &reached);
            let is_settled = (moved - days).abs() < SETTLED_DAYS;
            days = moved;
            if is_settled {
                return Some(days);
            }
        }
        None
    }

    fn nearly_reached(&self, usage: &Usage, days: f64) -> Option<Reached> {
        let mut mean = Reached { probability: 0.0, per_day: 0.0 };
        for km in self.km.iter().filter(|km| km.is_finite()) {
            if *km <= 0.0 {
                mean.probability += 1.0 / 9.0;
                continue;
            }
            let reached = usage.nearly_reached(*km, days)?;
            mean.probability += reached.probability / 9.0;
            mean.per_day += reached.per_day / 9.0;
        }
        Some(mean)
    }

    fn days(&self, usage: &Usage, quantile: f64, start: f64, most_days: f64) -> f64 {
        let most = libm::log(most_days).clamp(LEAST_LOG_DAYS, -LEAST_LOG_DAYS);
        let search = Search { start: libm::log(start), least: LEAST_LOG_DAYS, most };
        let log_days = root(|log| self.probability_reached(usage, libm::exp(log)) - quantile, &search);
        libm::exp(log_days).min(most_days)
    }
}

/// One step of Newton's method, no further than to half or double the days.
fn stepped(days: f64, quantile: f64, reached: &Reached) -> f64 {
    let step = (quantile - reached.probability) / reached.per_day;
    if step.is_nan() { days } else { (days + step).clamp(0.5 * days, 2.0 * days) }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Invented: spread narrowly or widely, some passed, some never.
    fn crossings() -> impl Iterator<Item = Crossing> {
        let widths = [0.02, 0.2, 0.5];
        let from_middle = widths.into_iter().flat_map(|width| {
            [300.0, 4000.0, 60_000.0].map(|middle| MIDDLES.map(|score| middle * libm::exp(width * score)))
        });
        let odd = [-500.0, -20.0, 1.0, 800.0, 2000.0, 5000.0, 20_000.0, f64::INFINITY, f64::INFINITY];
        from_middle.chain([odd]).map(|km| Crossing { km })
    }

    #[test]
    fn the_quick_days_are_those_of_the_slow_search() {
        for (a, shape, scale) in
            [(0.8, 30.0, 4000.0), (0.05, 6.0, 400.0), (12.0, 1500.0, 9000.0), (0.6, 2.1, 90.0)]
        {
            let usage = Usage { a, shape, scale };
            for crossing in crossings() {
                let band = crossing.days_band(&usage, 1e5);
                for (found, quantile) in [(band.early, EARLY), (band.likely, LIKELY), (band.late, LATE)] {
                    let Some(found) = found.filter(|days| *days > 0.0) else { continue };
                    let slow = crossing.days(&usage, quantile, 100.0, 1e5);
                    assert!((found - slow).abs() < 0.05, "{found} against {slow}: {usage:?}, {crossing:?}");
                }
            }
        }
    }

    #[test]
    fn what_has_been_passed_is_met_at_once_and_what_never_comes_not_at_all() {
        let usage = Usage { a: 0.8, shape: 30.0, scale: 4000.0 };
        let mut km = [f64::INFINITY; 9];
        km[0] = -1.0;
        let band = Crossing { km }.days_band(&usage, 1e5);
        assert_eq!(band, Band3 { early: Some(0.0), likely: None, late: None });
    }
}
