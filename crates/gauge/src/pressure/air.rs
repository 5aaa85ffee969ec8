//! What temperature and the air around do to the pressure of a sealed tyre.

use quantity::{Entered, Pressure, Temperature, Unit};

/// The air a tyre is in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Air {
    /// Its temperature, which a cold tyre shares.
    pub temperature: Temperature,
    /// Its absolute pressure.
    pub ambient: Pressure,
}

impl Air {
    /// At sea level: 101.325 kPa, the standard atmosphere.
    pub const fn at_sea_level(temperature: Temperature) -> Self {
        Self { temperature, ambient: Pressure::from_mpa(101_325_000) }
    }
}

/// What a gauge will show in air `now` on a tyre that showed `gauge` in air `then`.
///
/// p2 = (p1 + pa1) T2 / T1 - pa2 with gauge pressures p, ambient pressures pa, kelvins T (ideal gas at constant volume;
/// the rubber's stretch is ignored: allow 0.5 psi against real gauges). `None` at or below absolute zero or beyond what
/// can be kept.
pub fn gauge_at(gauge: Pressure, then: Air, now: Air) -> Option<Pressure> {
    let (from, to) = (then.temperature.kelvin(), now.temperature.kelvin());
    if from <= 0.0 || to <= 0.0 {
        return None;
    }
    let absolute_kpa = (gauge.kpa() + then.ambient.kpa()) * (to / from);
    Pressure::parse(Entered::new(absolute_kpa - now.ambient.kpa(), Unit::Kilopascal)).ok()
}
