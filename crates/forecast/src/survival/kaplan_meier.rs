//! The share of parts that outlast a length, without an assumption about the shape of their lives.

use super::{Life, SurvivalError, count_failures};

/// The product-limit estimate of Kaplan and Meier: at each failure the share that survives is multiplied by the part of
/// those still watched that did not fail (NIST/SEMATECH e-Handbook 8.2.1.5).
#[derive(Clone, Debug, PartialEq)]
pub struct KaplanMeier {
    steps: Vec<Step>,
}

/// One length at which parts failed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Step {
    /// The length.
    pub length: f64,
    /// Parts watched up to it: those that failed or were censored there are among them.
    pub at_risk: usize,
    /// How many failed at it.
    pub failures: usize,
    /// Estimated share of parts that last longer, from 0 to 1.
    pub survival: f64,
    /// Greenwood's sum of d / (n (n - d)) so far: the variance of the logarithm of `survival`. Infinite once none is left.
    variance_of_log: f64,
}

impl Step {
    /// Standard error of `survival` (Greenwood 1926; NIST/SEMATECH e-Handbook 8.2.1.5); `None` once none is left.
    pub fn standard_error(&self) -> Option<f64> {
        self.variance_of_log.is_finite().then(|| self.survival * libm::sqrt(self.variance_of_log))
    }

    /// The share that lasts longer lies between these, where the logarithm of its cumulative hazard is taken as normal and
    /// `score` standard errors are allowed either way; `None` once none is left. On that scale no bound leaves 0 to 1
    /// (Kalbfleisch and Prentice 1980; from memory).
    pub fn survival_band(&self, score: f64) -> Option<[f64; 2]> {
        self.variance_of_log.is_finite().then(|| {
            let log = libm::log(self.survival);
            let width = libm::exp(score * libm::sqrt(self.variance_of_log) / log.abs());
            [libm::exp(log * width), libm::exp(log / width)]
        })
    }
}

impl KaplanMeier {
    /// From lives in any order. Where failures and censored parts have the same length, the failures come first: the
    /// others are known to have lasted that long.
    ///
    /// # Errors
    /// [`SurvivalError::NotALength`] and [`SurvivalError::NoFailures`].
    pub fn new(lives: &[Life]) -> Result<Self, SurvivalError> {
        count_failures(lives)?;
        let mut in_order = lives.to_vec();
        in_order.sort_by(|one, other| one.length().total_cmp(&other.length()));
        let (mut at_risk, mut survival, mut variance_of_log) = (in_order.len(), 1.0, 0.0);
        let mut steps = Vec::new();
        for alike in in_order.chunk_by(|one, other| one.length().total_cmp(&other.length()).is_eq()) {
            let failures = alike.iter().filter(|life| life.failed_at().is_some()).count();
            if failures > 0 {
                let left = at_risk - failures;
                survival *= share(left, at_risk);
                variance_of_log +=
                    if left == 0 { f64::INFINITY } else { share(failures, at_risk) / count(left) };
                steps.push(Step { length: alike[0].length(), at_risk, failures, survival, variance_of_log });
            }
            at_risk -= alike.len();
        }
        Ok(Self { steps })
    }

    /// The lengths at which parts failed, shortest first.
    pub fn steps(&self) -> &[Step] {
        &self.steps
    }

    /// Estimated share of parts that last longer than `length`, from 0 to 1. Beyond the longest life watched this is the
    /// last value, which then is an upper bound only.
    pub fn survival_at(&self, length: f64) -> f64 {
        self.steps.iter().take_while(|step| step.length <= length).last().map_or(1.0, |step| step.survival)
    }

    /// The shortest length that no more than half the parts outlast; `None` while more than half are known to.
    pub fn median(&self) -> Option<f64> {
        self.failed_by(0.5)
    }

    /// The shortest length by which at least this share of the parts has failed, for a share from 0 to 1; `None` while
    /// fewer are known to have.
    pub fn failed_by(&self, share: f64) -> Option<f64> {
        self.first_with(|step| Some(step.survival), share)
    }

    /// Between which lengths [`failed_by`](Self::failed_by) lies: those at which the bounds of the survival curve, `score`
    /// standard errors away, come down to it (Brookmeyer and Crowley 1982, on the scale of [`Step::survival_band`]; from
    /// memory). `None` on either side where no part was watched long enough to say.
    pub fn failed_by_band(&self, share: f64, score: f64) -> [Option<f64>; 2] {
        [0, 1].map(|bound| self.first_with(|step| step.survival_band(score).map(|band| band[bound]), share))
    }

    /// Where a curve that falls step by step has come down to what is left of a `share`.
    fn first_with(&self, curve: impl Fn(&Step) -> Option<f64>, share: f64) -> Option<f64> {
        // Half and half again need not multiply to one half exactly; a part in 10^12 is no part.
        let left = 1.0 - share + 1e-12;
        self.steps
            .iter()
            .find(|step| curve(step).is_some_and(|height| height <= left))
            .map(|step| step.length)
    }
}

fn share(part: usize, whole: usize) -> f64 {
    count(part) / count(whole)
}

#[expect(clippy::cast_precision_loss, reason = "counts of parts in memory are far below 2^53")]
const fn count(parts: usize) -> f64 {
    parts as f64
}
