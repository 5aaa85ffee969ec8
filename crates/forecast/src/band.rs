//! The three days of one distance at once, for fleets that are forecast every night.

use crate::beta::{beta_prime_at_least, deviance};
use crate::{EARLY, LATE, LIKELY, Usage};

/// The days at which a distance is met: early, likely and late.
///
/// Each is `None` where it lies beyond the days that were asked about.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Band3 {
    /// Operating days until the distance is met with a probability of one in ten.
    pub early: Option<f64>,
    /// Operating days until it is as likely met as not.
    pub likely: Option<f64>,
    /// Operating days until it is met with a probability of nine in ten.
    pub late: Option<f64>,
}

impl Usage {
    /// Operating days until `distance_left_km` are driven: early, likely and late, each `None` beyond `most_days`.
    ///
    /// The same days as `days_until` gives, to a tenth of a day, at a fraction of the work: the quantiles are sought
    /// on a closed approximation, likely first and the others from there, and the incomplete beta function itself is
    /// asked only where the approximation could be further off than that.
    pub fn days_band(&self, distance_left_km: f64, most_days: f64) -> Band3 {
        if distance_left_km <= 0.0 {
            return Band3 { early: Some(0.0), likely: Some(0.0), late: Some(0.0) };
        }
        let search = Search::new(self, distance_left_km);
        let exact = |quantile| self.days_until(distance_left_km, quantile, f64::MAX).unwrap_or(f64::INFINITY);
        let middle = search.guess();
        let likely = search.days(middle, &LIKELY_MARK);
        let centre = likely.map_or(middle, |days| days * self.a);
        let likely = likely.unwrap_or_else(|| exact(LIKELY));
        let early = search.days(search.beside(centre, &EARLY_MARK), &EARLY_MARK);
        let late = search.days(search.beside(centre, &LATE_MARK), &LATE_MARK);
        // A tenth of a day may not put them out of order.
        let early = early.unwrap_or_else(|| exact(EARLY)).min(likely);
        let late = late.unwrap_or_else(|| exact(LATE)).max(likely);
        let [early, likely, late] = [early, likely, late].map(|days| (days <= most_days).then_some(days));
        Band3 { early, likely, late }
    }
}

impl Usage {
    /// Operating days until `distance_left_km` are as likely driven as not, `None` beyond `most_days`: the middle one
    /// of `days_band`, and the same number.
    pub fn likely_days(&self, distance_left_km: f64, most_days: f64) -> Option<f64> {
        if distance_left_km <= 0.0 {
            return Some(0.0);
        }
        let search = Search::new(self, distance_left_km);
        let days = search
            .days(search.guess(), &LIKELY_MARK)
            .or_else(|| self.days_until(distance_left_km, LIKELY, f64::MAX))?;
        (days <= most_days).then_some(days)
    }
}

/// About how likely a distance has been driven by some day, and how fast that grows with the days.
pub(crate) struct Reached {
    pub probability: f64,
    pub per_day: f64,
}

impl Usage {
    /// The closed approximation where it holds (at the normal scale off by at most 0.02, the less the more the days).
    /// `None` where the smaller shape is below 1.
    pub(crate) fn nearly_reached(&self, distance_left_km: f64, days: f64) -> Option<Reached> {
        let shape = self.a * days;
        if shape.min(self.shape) < 1.0 {
            return None;
        }
        let Standing { score, slope } = Search::new(self, distance_left_km).standing(shape);
        let density = DENSITY_AT_ZERO * libm::exp(-0.5 * score * score);
        let probability = 0.5 * libm::erfc(-score * core::f64::consts::FRAC_1_SQRT_2);
        Some(Reached { probability, per_day: density * slope * self.a })
    }

    /// What `nearly_reached` may be off at most.
    pub(crate) fn doubt_of_nearly_reached(&self, days: f64) -> f64 {
        let smaller = (self.a * days).min(self.shape);
        DENSITY_AT_ZERO * LARGEST_ERROR / (smaller * libm::sqrt(smaller))
    }
}

/// The standard normal density at zero: 1 over the root of 2 pi.
const DENSITY_AT_ZERO: f64 = 0.398_942_280_401_432_7;

/// A quantile with its place and density on the standard normal scale.
struct Mark {
    quantile: f64,
    score: f64,
    density: f64,
}

/// Standard normal quantile and density of 0.1: R 4 `qnorm(0.1)`, `dnorm(qnorm(0.1))` (from memory; tested against
/// the exact solver).
const EARLY_MARK: Mark =
    Mark { quantile: EARLY, score: -1.281_551_565_544_600_4, density: 0.175_498_331_932_486_85 };
const LIKELY_MARK: Mark = Mark { quantile: LIKELY, score: 0.0, density: DENSITY_AT_ZERO };
const LATE_MARK: Mark = Mark { quantile: LATE, score: 1.281_551_565_544_600_4, ..EARLY_MARK };

/// Steps of Newton's method before the slower solver is asked.
const MOST_STEPS: u32 = 8;
/// Over this share of the root its scale is so nearly straight that what a step leaves is a hundred-thousandth.
const STRAIGHT: f64 = 2e-3;
/// A step of so many days leaves an error far below a tenth of a day.
const SETTLED_DAYS: f64 = 0.02;
/// Share of a day that the approximation may be off without being checked.
const TOLERATED_DAYS: f64 = 0.02;
/// The approximation is off by less than this over m^1.5 on the normal scale, m being the smaller shape, from m = 1 on
/// (measured against scipy: at most 0.0103).
const LARGEST_ERROR: f64 = 0.02;

/// One distance, prepared for seeking the shape `s = a h` of the days at which it is met.
struct Search<'a> {
    usage: &'a Usage,
    /// L / Q.
    ratio: f64,
    /// L / (L + Q) and its complement.
    here: f64,
    there: f64,
}

/// Where a shape stands on the normal scale, and how fast it moves there.
struct Standing {
    score: f64,
    /// Change of the score with the shape.
    slope: f64,
}

impl<'a> Search<'a> {
    fn new(usage: &'a Usage, distance_left_km: f64) -> Self {
        let ratio = distance_left_km / usage.scale;
        Self { usage, ratio, here: ratio / (1.0 + ratio), there: 1.0 / (1.0 + ratio) }
    }

    /// A shape near the median: that of a gamma variate lies about a third below its shape.
    fn guess(&self) -> f64 {
        self.ratio * (self.usage.shape - 1.0 / 3.0).max(0.5) + 1.0 / 3.0
    }

    /// A shape near that of `mark`, from one near the median, by the scale on which the spread is even.
    fn beside(&self, centre: f64, mark: &Mark) -> f64 {
        let root = libm::sqrt(centre);
        let step = 0.5 * mark.score * libm::sqrt(1.0 + centre / self.usage.shape);
        let moved = (root + step).max(0.25 * root);
        moved * moved
    }

    /// Operating days at `mark`, or `None` where the search from `start` does not settle.
    fn days(&self, start: f64, mark: &Mark) -> Option<f64> {
        let (shape, slope) = self.approximate(start, mark)?;
        let smaller = shape.min(self.usage.shape);
        let doubt = LARGEST_ERROR / (smaller * libm::sqrt(smaller)) / slope / self.usage.a;
        if smaller >= 1.0 && doubt < TOLERATED_DAYS {
            return Some(shape / self.usage.a);
        }
        self.corrected(shape, slope, mark)
    }

    /// The shape at which the approximation meets `mark`, and the slope there.
    fn approximate(&self, start: f64, mark: &Mark) -> Option<(f64, f64)> {
        let mut root = libm::sqrt(start);
        for _ in 0..MOST_STEPS {
            let standing = self.standing(root * root);
            // On the scale of the root the score is nearly a straight line.
            let step = (mark.score - standing.score) / (2.0 * root * standing.slope);
            let moved = (root + step).max(0.25 * root);
            let days = (moved - root).abs() * (moved + root) / self.usage.a;
            let is_straight = (moved - root).abs() < STRAIGHT * moved;
            root = moved;
            if days < SETTLED_DAYS || is_straight {
                return Some((root * root, standing.slope));
            }
        }
        None
    }

    /// The shape at which the incomplete beta function meets `mark`, as days, from one very near it.
    fn corrected(&self, near: f64, slope: f64, mark: &Mark) -> Option<f64> {
        let mut shape = near;
        for _ in 0..MOST_STEPS {
            let excess = beta_prime_at_least(self.ratio, shape, self.usage.shape) - mark.quantile;
            let moved = (shape - excess / (mark.density * slope)).max(0.25 * shape);
            let days = (moved - shape).abs() / self.usage.a;
            shape = moved;
            if days < SETTLED_DAYS {
                return Some(shape / self.usage.a);
            }
        }
        None
    }

    /// The normal score of the probability that the distance is met at `shape`, without an incomplete beta function.
    ///
    /// r* = r - ln(g)/r with r the signed root of twice the deviance and g its ratio to the standardised distance from
    /// the mean (Barndorff-Nielsen 1986, after Temme's expansion of the incomplete beta function; from memory).
    fn standing(&self, shape: f64) -> Standing {
        let second = self.usage.shape;
        let sum = shape + second;
        let away = shape - sum * self.here;
        let both = deviance(shape, sum * self.here) + deviance(second, sum * self.there);
        let root = libm::copysign(libm::sqrt(2.0 * both), away);
        let spread = libm::sqrt(shape * second / sum);
        if root.abs() < 1e-3 {
            // Both the root and the distance vanish here; what is left of ln(g)/r is a third of the skewness.
            let skew = (second - shape) / (3.0 * sum * spread);
            return Standing { score: root - skew, slope: spread / shape };
        }
        let score = root - libm::log(root / away * spread) / root;
        Standing { score, slope: libm::log(shape / (sum * self.here)) / root }
    }
}
