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
        let (mut at_risk, mut survival) = (in_order.len(), 1.0);
        let mut steps = Vec::new();
        for alike in in_order.chunk_by(|one, other| one.length().total_cmp(&other.length()).is_eq()) {
            let failures = alike.iter().filter(|life| life.failed_at().is_some()).count();
            if failures > 0 {
                survival *= share(at_risk - failures, at_risk);
                steps.push(Step { length: alike[0].length(), at_risk, failures, survival });
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
        // Half and half again need not multiply to one half exactly; a part in 10^12 is no part.
        self.steps.iter().find(|step| step.survival <= 0.5 + 1e-12).map(|step| step.length)
    }
}

fn share(part: usize, whole: usize) -> f64 {
    #[expect(clippy::cast_precision_loss, reason = "counts of parts in memory are far below 2^53")]
    let share = part as f64 / whole as f64;
    share
}
