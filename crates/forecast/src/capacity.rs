//! Capacity that a traction battery has lost: with the root of its age, and with distance.
//!
//! Nothing is said from fewer than five readings: until then the last value stands against its floor by itself.

mod odds;

pub use odds::{CapacityOdds, CoverEnd};

/// Fewer readings than this give no fit.
pub const LEAST_READINGS: usize = 5;

/// The two parts count as one where their angle is so small that a rounded reading would decide between them.
const LEAST_INDEPENDENCE: f64 = 1e-9;

/// One reading of a battery's state of health.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CapacityReading {
    /// Age of the battery, in years.
    pub years: f64,
    /// Kilometres it has been driven.
    pub km: f64,
    /// Capacity lost, in per cent of the first.
    pub loss_percent: f64,
}

/// Loss as k sqrt(age) + m distance, by least squares.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CapacityFit {
    /// k: per cent lost with the root of a year.
    pub percent_per_root_year: f64,
    /// m: per cent lost with a kilometre.
    pub percent_per_km: f64,
}

impl CapacityFit {
    /// Loss with the root of the age alone: k = sum(loss sqrt t) / sum(t). `None` from fewer than five readings, or
    /// when all are of a new battery.
    pub fn by_age(readings: &[CapacityReading]) -> Option<Self> {
        let sums = Sums::of(readings)?;
        (sums.age > 0.0).then(|| sums.by_age())
    }

    /// Loss with the root of the age and with distance, neither part below zero: where least squares would have one
    /// part gain capacity, the other is fitted alone. `None` from fewer than five readings, or when distance and the
    /// root of the age grow so alike that they cannot be told apart.
    pub fn by_age_and_distance(readings: &[CapacityReading]) -> Option<Self> {
        let sums = Sums::of(readings)?;
        let determinant = sums.age * sums.distance - sums.both * sums.both;
        if determinant <= LEAST_INDEPENDENCE * sums.age * sums.distance {
            return None;
        }
        let percent_per_root_year =
            (sums.loss_by_age * sums.distance - sums.loss_by_distance * sums.both) / determinant;
        let percent_per_km = (sums.loss_by_distance * sums.age - sums.loss_by_age * sums.both) / determinant;
        if percent_per_km < 0.0 {
            return Some(sums.by_age());
        }
        if percent_per_root_year < 0.0 {
            return Some(sums.by_distance());
        }
        Some(Self { percent_per_root_year, percent_per_km })
    }

    /// Loss to be expected at an age of `years` after `km`, in per cent.
    pub fn loss_percent_at(&self, years: f64, km: f64) -> f64 {
        self.percent_per_root_year * libm::sqrt(years) + self.percent_per_km * km
    }
}

/// Sums of the normal equations.
#[derive(Clone, Copy, Debug)]
struct Sums {
    age: f64,
    distance: f64,
    both: f64,
    loss_by_age: f64,
    loss_by_distance: f64,
}

impl Sums {
    fn of(readings: &[CapacityReading]) -> Option<Self> {
        if readings.len() < LEAST_READINGS {
            return None;
        }
        let sum = |part: fn(&CapacityReading) -> f64| readings.iter().map(part).sum::<f64>();
        Some(Self {
            age: sum(|reading| reading.years),
            distance: sum(|reading| reading.km * reading.km),
            both: sum(|reading| libm::sqrt(reading.years) * reading.km),
            loss_by_age: sum(|reading| libm::sqrt(reading.years) * reading.loss_percent),
            loss_by_distance: sum(|reading| reading.km * reading.loss_percent),
        })
    }

    fn by_age(&self) -> CapacityFit {
        CapacityFit { percent_per_root_year: (self.loss_by_age / self.age).max(0.0), percent_per_km: 0.0 }
    }

    fn by_distance(&self) -> CapacityFit {
        CapacityFit {
            percent_per_root_year: 0.0,
            percent_per_km: (self.loss_by_distance / self.distance).max(0.0),
        }
    }
}
