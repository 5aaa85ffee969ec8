//! The Weibull law that makes the lives seen most likely.

use super::{Life, SurvivalError, count_failures};
use crate::crossing::{Search, crossing};

/// Logarithms of the shapes that are sought: from a millionth to a million. Lives as even as the upper end asks for
/// have no spread that a workshop could measure.
const LEAST_LOG_SHAPE: f64 = -13.8;
const MOST_LOG_SHAPE: f64 = 13.8;

/// A Weibull law: the share that outlasts t is exp(-(t / scale)^shape).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Weibull {
    /// How wear shows: below 1 the old fail less, at 1 age does not matter, above 1 the old fail more.
    pub shape: f64,
    /// The length that 36.8 % (1/e) outlast.
    pub scale: f64,
}

impl Weibull {
    /// By maximum likelihood from failures and censored lives in any order (NIST/SEMATECH e-Handbook 8.4.1.3).
    ///
    /// With r failures the shape k solves sum(t^k ln t) / sum(t^k) - 1/k = mean of ln t over the failures, where both
    /// sums go over all lives; then scale^k = sum(t^k) / r. The left side grows with k, so there is one root at most.
    ///
    /// # Errors
    /// [`SurvivalError`]: all three.
    pub fn fit(lives: &[Life]) -> Result<Self, SurvivalError> {
        let failures = count_failures(lives)?;
        let longest = lives.iter().map(|life| life.length()).fold(0.0, f64::max);
        let seen = Seen::new(lives, failures, longest);
        let search = Search { start: 0.0, least: LEAST_LOG_SHAPE, most: MOST_LOG_SHAPE };
        let log_shape = crossing(|log_shape| seen.score(libm::exp(log_shape)), &search);
        if log_shape >= MOST_LOG_SHAPE {
            return Err(SurvivalError::NoSpread { failures, length: longest });
        }
        let shape = libm::exp(log_shape);
        Ok(Self { shape, scale: longest * libm::pow(seen.power_sum(shape) / seen.failures, 1.0 / shape) })
    }

    /// Logarithm of how likely this law makes the lives: densities of those that failed, survival of the others.
    pub fn log_likelihood(&self, lives: &[Life]) -> f64 {
        let of_failure =
            |t: f64| libm::log(self.shape / self.scale) + (self.shape - 1.0) * libm::log(t / self.scale);
        lives
            .iter()
            .map(|life| life.failed_at().map_or(0.0, of_failure) - self.hazard_until(life.length()))
            .sum()
    }

    /// Mean life: scale times Gamma(1 + 1 / shape). Infinite where the shape is so small that no number holds it.
    pub fn mean(&self) -> f64 {
        self.scale * libm::tgamma(1.0 + 1.0 / self.shape)
    }

    /// Standard deviation of the lives: scale times the root of Gamma(1 + 2 / shape) - Gamma(1 + 1 / shape)^2. Infinite
    /// where the mean of the squares is.
    pub fn standard_deviation(&self) -> f64 {
        let [first, second] = [1.0, 2.0].map(|order| libm::tgamma(1.0 + order / self.shape));
        if second.is_infinite() {
            return f64::INFINITY;
        }
        self.scale * libm::sqrt((second - first * first).max(0.0))
    }

    /// The length by which this share of the parts has failed, for a share from 0 to 1: 0.1 gives what the trade calls
    /// B10, 0.5 the median. Infinite at 1 and above, 0 at 0 and below.
    pub fn failed_by(&self, share: f64) -> f64 {
        if share <= 0.0 {
            return 0.0;
        }
        if share >= 1.0 {
            return f64::INFINITY;
        }
        self.scale * libm::pow(-libm::log1p(-share), 1.0 / self.shape)
    }

    /// Probability that a new part outlasts `length`.
    pub fn survival_at(&self, length: f64) -> f64 {
        libm::exp(-self.hazard_until(length))
    }

    /// Probability that a part outlasts `length` when it has lasted for `already`: P(T > length | T > already).
    pub fn survival_after(&self, already: f64, length: f64) -> f64 {
        // Two hazards beyond all numbers leave no difference: such a part is as good as gone.
        let difference = self.hazard_until(already) - self.hazard_until(length);
        if length <= already {
            1.0
        } else if difference.is_nan() {
            0.0
        } else {
            libm::exp(difference.min(0.0))
        }
    }

    /// The hazard gathered until a length: (t / scale)^shape.
    fn hazard_until(&self, length: f64) -> f64 {
        if length <= 0.0 { 0.0 } else { libm::pow(length / self.scale, self.shape) }
    }
}

/// The lives as shares of the longest, so that no power of them overflows.
struct Seen {
    /// ln(t / longest), zero or less.
    logs: Vec<f64>,
    failures: f64,
    mean_log_of_failures: f64,
}

impl Seen {
    fn new(lives: &[Life], failures: usize, longest: f64) -> Self {
        let log = |length: f64| libm::log(length / longest).max(libm::log(f64::MIN_POSITIVE));
        #[expect(clippy::cast_precision_loss, reason = "counts of parts in memory are far below 2^53")]
        let failures = failures as f64;
        let of_failures: f64 = lives.iter().filter_map(|life| life.failed_at()).map(log).sum();
        Self {
            logs: lives.iter().map(|life| log(life.length())).collect(),
            failures,
            mean_log_of_failures: of_failures / failures,
        }
    }

    fn power_sum(&self, shape: f64) -> f64 {
        self.logs.iter().map(|log| libm::exp(shape * log)).sum()
    }

    /// Below zero for a shape that is too small, above for one too large.
    fn score(&self, shape: f64) -> f64 {
        let weighted: f64 = self.logs.iter().map(|log| libm::exp(shape * log) * log).sum();
        weighted / self.power_sum(shape) - 1.0 / shape - self.mean_log_of_failures
    }
}
