//! How probable it is that a battery will have lost so much by then.

use super::{CapacityFit, CapacityReading, Sums};
use crate::beta::beta_prime_at_least;
use crate::crossing::{Search, crossing};

/// Standard deviation of a reading that errs by its rounding to whole per cent alone: one over the root of twelve. Five
/// readings that lie on a line by chance do not make the next one surer than that.
const ROUNDING_SD_PERCENT: f64 = 0.288_675_134_594_812_9;

/// Age and distance at which cover may end. Whichever of its limits comes first ends it, so one of the two is at its limit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CoverEnd {
    /// Age of the battery then, in years.
    pub years: f64,
    /// Kilometres it will have been driven.
    pub km: f64,
}

/// A fit of capacity loss with what its readings tell of its own uncertainty.
///
/// What is forecast is a *reading* at that time: the doubt about the curve and the scatter of readings around it together,
/// by the prediction interval of least squares with Student's t. Ageing that leaves the law, as by a weak cell, is not in it.
#[derive(Clone, Copy, Debug)]
pub struct CapacityOdds {
    fit: CapacityFit,
    sums: Sums,
    /// Standard deviation of a reading around the curve, in per cent.
    reading_sd_percent: f64,
    /// Readings less the parts fitted.
    freedom: f64,
}

impl CapacityOdds {
    /// From readings: with age and distance where they can be told apart, else with age alone. `None` from fewer than five
    /// readings, or when all are of a new battery.
    pub fn of(readings: &[CapacityReading]) -> Option<Self> {
        let sums = Sums::of(readings)?;
        let fit = CapacityFit::by_age_and_distance(readings).or_else(|| CapacityFit::by_age(readings))?;
        let squares: f64 = readings
            .iter()
            .map(|reading| reading.loss_percent - fit.loss_percent_at(reading.years, reading.km))
            .map(|off| off * off)
            .sum();
        let parts = if fit.percent_per_root_year > 0.0 && fit.percent_per_km > 0.0 { 2 } else { 1 };
        #[expect(clippy::cast_precision_loss, reason = "counts of readings in memory are far below 2^53")]
        let freedom = (readings.len() - parts) as f64;
        let reading_sd_percent = libm::sqrt(squares / freedom).max(ROUNDING_SD_PERCENT);
        let odds = Self { fit, sums, reading_sd_percent, freedom };
        odds.spread_at(1.0, 1.0).is_finite().then_some(odds)
    }

    /// The fit itself.
    pub const fn fit(&self) -> &CapacityFit {
        &self.fit
    }

    /// Standard deviation of a reading around the curve, in per cent.
    pub const fn reading_sd_percent(&self) -> f64 {
        self.reading_sd_percent
    }

    /// Degrees of freedom of Student's t: readings less the parts fitted.
    pub const fn freedom(&self) -> f64 {
        self.freedom
    }

    /// Probability that a reading shows more than `allowed_percent` lost at an age of `years` after `km`.
    pub fn probability_lost(&self, allowed_percent: f64, years: f64, km: f64) -> f64 {
        let over = allowed_percent - self.fit.loss_percent_at(years, km);
        student_above(over / self.spread_at(years, km), self.freedom)
    }

    /// Probability that a reading at the end of cover shows more than `allowed_percent` lost: the mean over ends that are
    /// equally likely, since nobody knows next year's driving. Loss is taken only to grow, so that what is not lost at the
    /// end was not lost before. `None` without an end.
    pub fn probability_lost_under_cover(&self, allowed_percent: f64, ends: &[CoverEnd]) -> Option<f64> {
        let sum: f64 = ends.iter().map(|end| self.probability_lost(allowed_percent, end.years, end.km)).sum();
        #[expect(clippy::cast_precision_loss, reason = "counts of ends in memory are far below 2^53")]
        let count = ends.len() as f64;
        (!ends.is_empty()).then(|| sum / count)
    }

    /// Age in years at which a reading shows more than `allowed_percent` lost with probability `quantile`, driven at
    /// `km_per_year` from the first day; `None` if not within `most_years`.
    pub fn years_until_lost(
        &self,
        allowed_percent: f64,
        quantile: f64,
        km_per_year: f64,
        most_years: f64,
    ) -> Option<f64> {
        let excess = |log_years: f64| {
            let years = libm::exp(log_years);
            self.probability_lost(allowed_percent, years, km_per_year * years) - quantile
        };
        let most = libm::log(most_years);
        let is_met = excess(most) >= 0.0;
        let search = Search { start: most - 1.0, least: most - 20.0, most };
        is_met.then(|| libm::exp(crossing(excess, &search)))
    }

    /// Standard deviation of a reading at an age and a distance, the doubt about the curve included, in per cent: s sqrt(1 + x' (X'X)^-1 x).
    pub fn spread_at(&self, years: f64, km: f64) -> f64 {
        let Sums { age, distance, both, .. } = self.sums;
        let (root, distance_is_fitted) = (libm::sqrt(years), self.fit.percent_per_km > 0.0);
        let leverage = if distance_is_fitted && self.fit.percent_per_root_year > 0.0 {
            (years * distance - 2.0 * root * km * both + km * km * age) / (age * distance - both * both)
        } else if distance_is_fitted {
            km * km / distance
        } else {
            years / age
        };
        self.reading_sd_percent * libm::sqrt(1.0 + leverage.max(0.0))
    }
}

/// Probability that Student's t with this many degrees of freedom is above `score`: its square over the freedom follows the
/// beta-prime law of shapes 1/2 and half the freedom.
fn student_above(score: f64, freedom: f64) -> f64 {
    let outside = beta_prime_at_least(score * score / freedom, 0.5, 0.5 * freedom);
    if score >= 0.0 { 0.5 * outside } else { 1.0 - 0.5 * outside }
}
