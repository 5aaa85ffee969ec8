//! When a wear limit is met: the distance with its uncertainty, and from that the date.

use super::Fit;
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
