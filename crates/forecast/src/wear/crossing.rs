//! When a wear limit is met: the distance with its uncertainty, and from that the date.

use super::Fit;
use crate::crossing::{Search, crossing as root};
use crate::{Band3, EARLY, LATE, LIKELY, Usage};

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

/// Distances at which a limit is met, each as likely as any other.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Crossing {
    /// Kilometres from now, at the middles of nine equal parts of probability; below zero where it has been passed.
    pub km: [f64; 9],
}

/// Distances from now at which a component comes down to `limit_mm`.
///
/// `wear_now_mm` is the wear to be expected of what it has been driven, `mm_per_km` (above zero) that of the product
/// at the position where it is fitted now. `None` where the readings cannot tell wear from none.
pub fn crossing(fit: &Fit, limit_mm: f64, wear_now_mm: f64, mm_per_km: f64) -> Option<Crossing> {
    let mut km = [0.0; 9];
    for (km, score) in km.iter_mut().zip(MIDDLES) {
        *km = (fit.wear_at_limit(limit_mm, score)? - wear_now_mm) / mm_per_km;
    }
    Some(Crossing { km })
}

impl Crossing {
    /// Probability that the limit is met within `days` of such `usage`: the mean over the nine distances D of
    /// P(X(days) >= D).
    pub fn probability_reached(&self, usage: &Usage, days: f64) -> f64 {
        self.km.iter().map(|km| usage.probability_reached(*km, days)).sum::<f64>() / 9.0
    }

    /// Operating days until the limit is met: early, likely and late, each `None` beyond `most_days`.
    pub fn days_band(&self, usage: &Usage, most_days: f64) -> Band3 {
        let within = self.probability_reached(usage, most_days);
        let start = usage.days_band(self.km[4], most_days).likely.unwrap_or(most_days).max(1.0);
        let days = |quantile: f64| (within >= quantile).then(|| self.days(usage, quantile, start, most_days));
        Band3 { early: days(EARLY), likely: days(LIKELY), late: days(LATE) }
    }

    fn days(&self, usage: &Usage, quantile: f64, start: f64, most_days: f64) -> f64 {
        if self.probability_reached(usage, 0.0) >= quantile {
            return 0.0;
        }
        let most = libm::log(most_days).clamp(LEAST_LOG_DAYS, -LEAST_LOG_DAYS);
        let search = Search { start: libm::log(start), least: LEAST_LOG_DAYS, most };
        let log_days = root(|log| self.probability_reached(usage, libm::exp(log)) - quantile, &search);
        libm::exp(log_days).min(most_days)
    }
}
