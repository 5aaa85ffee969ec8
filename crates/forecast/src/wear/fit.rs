//! What gauge readings say about a component's pace of wear.

use serde::{Deserialize, Serialize};

/// Standard deviation of a tread gauge, in millimetres (chosen; no source).
pub const TREAD_GAUGE_SD_MM: f64 = 0.2;
/// Standard deviation of a brake pad gauge, in millimetres (chosen; no source).
pub const PAD_GAUGE_SD_MM: f64 = 0.3;

/// No gauge is taken to be better than a micrometre.
pub(super) const LEAST_SD_MM: f64 = 1e-3;

/// A distance driven at one position.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stretch {
    /// Kilometres driven there.
    pub km: f64,
    /// Wear to be expected of the product at that position, in millimetres a kilometre.
    pub mm_per_km: f64,
}

/// Wear to be expected of all that a component was driven, in millimetres: z = sum of b(product, position) dx.
pub fn expected_wear_mm(fittings: &[Stretch]) -> f64 {
    fittings.iter().map(|stretch| stretch.mm_per_km * stretch.km).sum()
}

/// One gauge reading.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct GaugeReading {
    /// Wear to be expected of what the component had been driven by then (`expected_wear_mm`).
    pub expected_wear_mm: f64,
    /// Depth or thickness read, in millimetres.
    pub depth_mm: f64,
}

/// What is known of the depth before any wear.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Start {
    /// Known, in millimetres.
    Depth(f64),
    /// Not known: the readings must tell it too.
    Unknown,
}

/// What is known beforehand.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Setting {
    /// Spread (standard deviation) tau of the components' pace around 1, without unit; above zero.
    pub tau: f64,
    /// Standard deviation of a gauge reading, in millimetres; at least a micrometre is taken.
    pub gauge_sd_mm: f64,
}

/// What is known of a component: a point on its line of wear, and the slope of the line.
///
/// The errors of the two are independent, which is why the point is the mean of the readings.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Fit {
    /// Expected wear at the point, in millimetres.
    pub wear_mm: f64,
    /// Depth at the point, in millimetres.
    pub depth_mm: f64,
    /// Variance of that depth, in square millimetres.
    pub depth_variance: f64,
    /// The component's own pace c, without unit: 1 is as expected.
    pub pace: f64,
    /// Variance of the pace.
    pub pace_variance: f64,
}

impl Fit {
    /// What `readings` and the fleet say together; `None` without a depth to begin at.
    ///
    /// With a known depth d0 the pace is updated as in Bayesian linear regression through d0; with an unknown one the
    /// depth has a flat prior and the pace is told by the differences between readings (both: Gelman et al., "Bayesian
    /// Data Analysis", chapter on regression; from memory).
    pub fn new(start: Start, readings: &[GaugeReading], setting: &Setting) -> Option<Self> {
        let sd = setting.gauge_sd_mm.max(LEAST_SD_MM);
        let noise = sd * sd;
        let (wear_mm, depth_mm, depth_variance) = match start {
            Start::Depth(depth_mm) => (0.0, depth_mm, 0.0),
            Start::Unknown if readings.is_empty() => return None,
            Start::Unknown => {
                let count = crate::cohort::count_of(readings.len());
                let wear = readings.iter().map(|reading| reading.expected_wear_mm).sum::<f64>() / count;
                let depth = readings.iter().map(|reading| reading.depth_mm).sum::<f64>() / count;
                (wear, depth, noise / count)
            }
        };
        let (mut squares, mut products) = (0.0, 0.0);
        for reading in readings {
            let wear = reading.expected_wear_mm - wear_mm;
            squares += wear * wear;
            products += wear * (depth_mm - reading.depth_mm);
        }
        let prior_precision = 1.0 / (setting.tau * setting.tau);
        let precision = prior_precision + squares / noise;
        let pace = (prior_precision + products / noise) / precision;
        Some(Self { wear_mm, depth_mm, depth_variance, pace, pace_variance: 1.0 / precision })
    }

    /// Depth to be expected at an expected wear of `wear_mm`, in millimetres.
    pub fn depth_at(&self, wear_mm: f64) -> f64 {
        self.depth_mm - self.pace * (wear_mm - self.wear_mm)
    }

    /// Standard deviation of the true depth at an expected wear of `wear_mm`, in millimetres; a reading's own error
    /// comes on top.
    pub fn depth_sd_at(&self, wear_mm: f64) -> f64 {
        let away = wear_mm - self.wear_mm;
        libm::sqrt(self.depth_variance + away * away * self.pace_variance)
    }

    /// Expected wear at which the depth is `limit_mm`, at the given standard normal `score`: 0 is as likely earlier as
    /// later, below 0 earlier. `None` where it may never be: a component that does not wear has no likely crossing, and
    /// one that hardly can be told from such has no late one.
    ///
    /// One bound of Fieller's interval (E. C. Fieller, Journal of the Royal Statistical Society B 16, 1954; from
    /// memory): the w at which `(A - c w)^2 = score^2 (V_depth + w^2 V_pace)`, A being the depth left at the point.
    pub fn wear_at_limit(&self, limit_mm: f64, score: f64) -> Option<f64> {
        let left = self.depth_mm - limit_mm;
        if self.pace <= 0.0 {
            // Nothing tells when; whether is told by the readings' mean.
            return (left <= 0.0).then_some(self.wear_mm);
        }
        let likely = self.wear_mm + left / self.pace;
        let bound = self.bound(left, score)?;
        // Where the two meet, rounding must not put them out of order.
        Some(if score < 0.0 { bound.min(likely) } else { bound.max(likely) })
    }

    /// The bound itself, of a component that wears and has `left` above the limit at the point.
    fn bound(&self, left: f64, score: f64) -> Option<f64> {
        let resolved = self.pace * self.pace - score * score * self.pace_variance;
        if resolved <= 0.0 {
            return self.wear_unresolved(left, score, resolved);
        }
        let spread = libm::sqrt(self.pace_variance * left * left + self.depth_variance * resolved);
        Some(self.wear_mm + (left * self.pace + score * spread) / resolved)
    }

    /// The same where, at that score, wear cannot be told from none: one of the two bounds is then lost.
    ///
    /// The other is the same root, from the product of both, which does not divide by what has come to nothing. A late
    /// one that is lost never comes; an early one was passed before the readings could tell, and no later than the
    /// likely one.
    fn wear_unresolved(&self, left: f64, score: f64, resolved: f64) -> Option<f64> {
        let product = left * left - score * score * self.depth_variance;
        if left * score < 0.0 && product > 0.0 {
            let spread =
                libm::sqrt((self.pace_variance * left * left + self.depth_variance * resolved).max(0.0));
            return Some(self.wear_mm + product / (left * self.pace - score * spread));
        }
        (score < 0.0).then(|| self.wear_mm + left.min(0.0) / self.pace)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const SETTING: Setting = Setting { tau: 0.2, gauge_sd_mm: TREAD_GAUGE_SD_MM };

    #[test]
    fn a_component_without_readings_wears_as_the_fleet_does() {
        let fit = Fit::new(Start::Depth(8.0), &[], &SETTING).expect("a depth to begin at");
        assert!(
            (fit.depth_at(2.5) - 5.5).abs() < 1e-12 && (fit.depth_sd_at(2.5) - 0.5).abs() < 1e-12,
            "{fit:?}"
        );
    }

    #[test]
    fn neither_depth_nor_reading_gives_no_fit() {
        assert_eq!(Fit::new(Start::Unknown, &[], &SETTING), None);
    }

    #[test]
    fn a_move_to_another_position_adds_what_is_expected_there() {
        let fittings =
            [Stretch { km: 10_000.0, mm_per_km: 1.5e-4 }, Stretch { km: 20_000.0, mm_per_km: 0.5e-4 }];
        assert!((expected_wear_mm(&fittings) - 2.5).abs() < 1e-12);
    }

    #[test]
    fn a_component_that_seems_to_grow_has_no_crossing() {
        let growing = [(0.0, 5.0), (3.0, 6.0)];
        let readings =
            growing.map(|(expected_wear_mm, depth_mm)| GaugeReading { expected_wear_mm, depth_mm });
        let fit =
            Fit::new(Start::Unknown, &readings, &Setting { tau: 1e6, ..SETTING }).expect("two readings");
        assert_eq!(fit.wear_at_limit(1.6, 0.0), None);
    }

    /// Where wear can hardly be told from none, the chance that the limit is met by w is the chance that the depth at w
    /// is below it, and that is what the early bound must say.
    #[test]
    fn the_early_bound_stays_when_the_late_one_is_lost() {
        let fit = Fit { wear_mm: 1.0, depth_mm: 5.0, depth_variance: 0.02, pace: 0.3, pace_variance: 0.09 };
        let score = -1.281_551_565_544_600_4;
        assert_eq!(fit.wear_at_limit(1.6, -score), None);
        let early = fit.wear_at_limit(1.6, score).expect("an early bound");
        let reached = (1.6 - fit.depth_at(early)) / fit.depth_sd_at(early);
        assert!((reached - score).abs() < 1e-12, "{reached} at {early}");
    }

    /// Numbers at which `left * pace / pace^2` and `left / pace` differ in their last digit.
    #[test]
    fn an_early_bound_that_meets_the_likely_one_is_no_later() {
        let fit = Fit {
            wear_mm: 1.850_468_192_561_798,
            depth_mm: 1.934_121_079_519_561_8,
            depth_variance: 0.013_333_333_333_333_336,
            pace: 0.086_996_954_921_202_2,
            pace_variance: 0.009_133_146_131_592_895,
        };
        let [early, likely] =
            [-1.281_551_565_544_600_4, 0.0].map(|score| fit.wear_at_limit(3.172_454_740_501_989, score));
        assert!(likely.is_some() && early <= likely, "{early:?}, {likely:?}");
    }
}
