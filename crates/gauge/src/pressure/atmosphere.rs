//! The pressure of the air at a height.

use quantity::{Distance, Entered, Pressure, Unit};

/// The formula's range, metres above sea level: the lowest layer, and no road is lower than this.
const LEAST_M: f64 = -500.0;
const MOST_M: f64 = 11_000.0;

/// Kelvins lost a metre.
const LAPSE: f64 = 0.0065;
const EXPONENT: f64 = 9.806_65 * 0.028_964_4 / (8.314_32 * LAPSE);

/// Absolute pressure of the standard atmosphere at a height above sea level; `None` outside -500 to 11 000 m.
///
/// p = 101.325 kPa (1 - L h / T0)^(g0 M / (R L)) with L = 6.5 K/km, T0 = 288.15 K, g0 = 9.80665 m/s2,
/// M = 28.9644 g/mol, R = 8.31432 J/(mol K): International Standard Atmosphere 1976, troposphere. The weather moves it by
/// some percent, which a tyre's gauge does not show.
pub fn ambient_at(height: Distance) -> Option<Pressure> {
    let metres = height.km() * 1000.0;
    if !(LEAST_M..=MOST_M).contains(&metres) {
        return None;
    }
    let kpa = 101.325 * libm::pow(1.0 - LAPSE * metres / 288.15, EXPONENT);
    Pressure::parse(Entered::new(kpa, Unit::Kilopascal)).ok()
}
