//! How far one vehicle will have gone, and when: a gamma process whose rate is itself gamma-distributed.

use crate::beta::beta_prime_at_least;
use crate::crossing::{Search, crossing};
use serde::{Deserialize, Serialize};

/// One gap between two counted readings.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Gap {
    /// Operating days from the earlier reading to the later.
    pub days: f64,
    /// Kilometres between them. May be slightly below zero where two sources disagree; only sums are used.
    pub km: f64,
}

/// What a group of like vehicles says about one of them before its own readings are known.
///
/// All three are above zero. The distance of h days is Gamma(shape a h, rate r), and r is Gamma(shape p, rate q).
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Cohort {
    /// Regularity per operating day: the larger, the more one day is like another.
    pub a: f64,
    /// Shape of the rate's distribution, without unit: the larger, the more one vehicle is like another.
    pub p: f64,
    /// Its rate, in kilometres; the mean day is a q / (p - 1).
    pub q: f64,
}

impl Cohort {
    /// For a fleet that has nothing to go by yet: 80 km a day. Chosen; no source.
    pub const SHIPPED: Self = Self { a: 1.0, p: 6.0, q: 400.0 };
}

/// What is known of one vehicle's usage after its readings.
///
/// It speaks of the time from the last counted reading on; `probability_reached` and its inverses count days and
/// distance from there.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Usage {
    /// Regularity per operating day, after widening: a' = a / kappa.
    pub a: f64,
    /// P = p + a' sum(omega dt), without unit.
    pub shape: f64,
    /// Q = kappa q + sum(omega dx), in kilometres.
    pub scale: f64,
}

impl Usage {
    /// What `gaps` (oldest first, the last one ending at the last counted reading) add to the `cohort`.
    ///
    /// A gap fades by half every `half_life_days`, counted back from the last reading and averaged over the gap;
    /// `None` keeps all for ever. `kappa` (1: as computed; above: the readings weigh less) widens the forecast and
    /// keeps the cohort's mean; it must be above zero. Gaps without time between their readings are skipped.
    pub fn from_gaps(cohort: &Cohort, gaps: &[Gap], half_life_days: Option<f64>, kappa: f64) -> Self {
        let a = cohort.a / kappa;
        let (mut age, mut days, mut km) = (0.0, 0.0, 0.0);
        for gap in gaps.iter().rev().filter(|gap| gap.days > 0.0) {
            let weight = half_life_days.map_or(1.0, |half_life| mean_weight(age, gap.days, half_life));
            days += weight * gap.days;
            km += weight * gap.km;
            age += gap.days;
        }
        Self { a, shape: cohort.p + a * days, scale: kappa * cohort.q + km.max(0.0) }
    }

    /// Probability that `distance_left_km` are driven within `days`: 1 - I of L/(L + Q) with shapes a h and P.
    ///
    /// X(h) given r is Gamma(a h, rate r) and r is Gamma(P, rate Q), hence X/Q is BetaPrime(a h, P); since distance
    /// never decreases, "reached within h" is "X(h) at least L". No distance left gives 1, else no time gives 0.
    pub fn probability_reached(&self, distance_left_km: f64, days: f64) -> f64 {
        if distance_left_km <= 0.0 {
            return 1.0;
        }
        let shape_of_days = self.a * days;
        if shape_of_days <= 0.0 {
            return 0.0;
        }
        beta_prime_at_least(distance_left_km / self.scale, shape_of_days, self.shape)
    }

    /// Operating days until `distance_left_km` are driven with probability `quantile`; `None` beyond `most_days`.
    ///
    /// Settled to one part in 10^12. A `quantile` of 0 or less is met at once, one of 1 or more never.
    pub fn days_until(&self, distance_left_km: f64, quantile: f64, most_days: f64) -> Option<f64> {
        if distance_left_km <= 0.0 || quantile <= 0.0 {
            return Some(0.0);
        }
        if quantile >= 1.0 || self.probability_reached(distance_left_km, most_days) < quantile {
            return None;
        }
        let most = libm::log(most_days).clamp(SMALLEST_LOG, LARGEST_LOG);
        let start = libm::log(distance_left_km / self.typical_km_per_day());
        let search = Search { start, least: SMALLEST_LOG, most };
        let log_days =
            crossing(|log| self.probability_reached(distance_left_km, libm::exp(log)) - quantile, &search);
        Some(libm::exp(log_days).min(most_days))
    }

    /// Kilometres that are not exceeded within `days` with probability `quantile`.
    ///
    /// Infinite for a quantile of 1 or more, 0 where the quantile is below the smallest number.
    pub fn distance_after(&self, days: f64, quantile: f64) -> f64 {
        if days <= 0.0 || quantile <= 0.0 {
            return 0.0;
        }
        if quantile >= 1.0 {
            return f64::INFINITY;
        }
        let start = libm::log(days * self.typical_km_per_day());
        let search = Search { start, least: SMALLEST_LOG, most: LARGEST_LOG };
        let log_km = crossing(|log| 1.0 - self.probability_reached(libm::exp(log), days) - quantile, &search);
        if log_km <= SMALLEST_LOG { 0.0 } else { libm::exp(log_km) }
    }

    /// Mean distance of an operating day, in kilometres: a Q / (P - 1).
    ///
    /// Given r a day has the mean a / r, and 1 / r of a Gamma(P, rate Q) has the mean Q / (P - 1), which exists above
    /// P = 1 only: infinite at or below it. A fitted or shipped cohort has P above 2.
    pub fn mean_km_per_day(&self) -> f64 {
        if self.shape <= 1.0 { f64::INFINITY } else { self.a * self.scale / (self.shape - 1.0) }
    }

    /// A day at the mean rate: finite whatever the shape, and near enough to begin a search at.
    fn typical_km_per_day(&self) -> f64 {
        self.a * self.scale / self.shape
    }
}

/// Logarithms of numbers that are neither lost below nor above what a number can hold.
const SMALLEST_LOG: f64 = -700.0;
const LARGEST_LOG: f64 = 700.0;

/// Mean of `2^(-t / half_life)` over a gap of `days` that ended `age` days before the last reading.
///
/// A half-life that is not above zero remembers nothing, an infinite one all.
fn mean_weight(age: f64, days: f64, half_life: f64) -> f64 {
    let decay = core::f64::consts::LN_2 / half_life;
    let decays = decay * days;
    if half_life <= 0.0 || decays.is_infinite() {
        return 0.0;
    }
    if decays <= 0.0 {
        return 1.0;
    }
    // By expm1 a short gap keeps its digits: 1 - 2^(-days/half_life) would lose them.
    libm::exp(-decay * age) * -libm::expm1(-decays) / decays
}
