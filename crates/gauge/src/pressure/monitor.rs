//! The vehicle's own pressure monitor: where it must warn, and how cold it takes to get there.

use super::air::Air;
use super::{HUNDRED_PERCENT, MONITOR, share_of};
use quantity::{Entered, Pressure, Temperature, Unit};

/// The cold pressure at or below which a pressure monitor must warn within 20 minutes: 25 % under the placard
/// (49 CFR 571.138 S4.2(a), read first-hand).
///
/// The section names a floor that counts where it is higher (its table 1, which was not found), so this is the least
/// the law asks for.
pub fn monitor_threshold(placard: Pressure) -> Pressure {
    Pressure::from_mpa(share_of(placard.mpa(), HUNDRED_PERCENT - MONITOR.exact()))
}

/// The temperature at which a tyre that showed `gauge` in this air will show `falls_to`, the air's pressure unchanged:
/// T2 = T1 (p2 + pa) / (p1 + pa). `None` where no temperature does that.
pub fn temperature_showing(falls_to: Pressure, gauge: Pressure, air: Air) -> Option<Temperature> {
    let [from_kpa, to_kpa] = [gauge, falls_to].map(|pressure| pressure.kpa() + air.ambient.kpa());
    let kelvin = air.temperature.kelvin() * to_kpa / from_kpa;
    if from_kpa <= 0.0 || !kelvin.is_finite() || kelvin <= 0.0 {
        return None;
    }
    Temperature::parse(Entered::new(kelvin - 273.15, Unit::Celsius)).ok()
}
