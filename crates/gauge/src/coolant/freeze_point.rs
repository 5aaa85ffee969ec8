//! At which temperature the first ice forms, and how much of that may be relied on.

use super::concentration::{Basis, Concentration, Glycol, PERCENT};
use super::freeze_table::{ETHYLENE_BY_MASS, ETHYLENE_BY_VOLUME, PROPYLENE_BY_MASS, PROPYLENE_BY_VOLUME};
use quantity::{Entered, Temperature, Unit};

/// Zero degrees Celsius, mK: where water freezes, and nothing with glycol in it freezes above.
const ICE_POINT_MK: i64 = 273_150;

/// A freeze point as the table has it, and as it may be relied on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct FreezePoint {
    /// By the table, between its whole percents in a straight line.
    pub by_table: Temperature,
    /// How far the truth may be from the table, in thousandths of a kelvin.
    pub tolerance_mk: i32,
}

impl FreezePoint {
    /// The same in kelvins.
    pub fn tolerance_kelvins(self) -> f64 {
        f64::from(self.tolerance_mk) / 1000.0
    }

    /// The temperature down to which the mixture may be relied on not to freeze: warmer than the table by the tolerance,
    /// though never above the freeze point of water.
    pub fn promised(self) -> Temperature {
        Temperature::from_mk((self.by_table.mk() + i64::from(self.tolerance_mk)).min(ICE_POINT_MK))
    }

    /// What is displayed: the promised temperature as a whole degree, rounded towards warmer. In degrees Fahrenheit for
    /// [`Unit::Fahrenheit`], in degrees Celsius for every other unit.
    pub fn shown(self, unit: Unit) -> Entered {
        let mk = self.promised().mk();
        let (whole, unit) = if unit == Unit::Fahrenheit {
            // F = K * 9/5 - 459.67, in five-thousandths to stay with whole numbers.
            (divided_up(9 * mk - 2_298_350, 5000), Unit::Fahrenheit)
        } else {
            (divided_up(mk - ICE_POINT_MK, 1000), Unit::Celsius)
        };
        #[expect(clippy::cast_precision_loss, reason = "a freeze point has two or three digits")]
        let value = whole as f64;
        Entered::new(value, unit)
    }
}

/// Why no freeze point is told.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum FreezeError {
    /// Beyond the end of the table. Protection does not go on growing there, and falls in the end.
    #[error(
        "no freeze point is told for {concentration}: above {most} % protection is uncertain and falls again"
    )]
    TooRich {
        /// The mixture.
        concentration: Concentration,
        /// The last percent of the table.
        most: i64,
    },
    /// Before the beginning of the table.
    #[error("no freeze point is told for {concentration}: the table begins at {least} %")]
    TooThin {
        /// The mixture.
        concentration: Concentration,
        /// The first percent of the table.
        least: i64,
    },
}

/// The freeze point of a mixture of glycol and water.
///
/// The tolerance is 2 K by volume and 1.5 K by mass. For ethylene glycol by volume, sources differ by up to 3 K towards
/// *colder*, which the promise does not use; by mass, an older table told from memory is up to 2.2 K warmer to 55 % and
/// 2.9 K at 60 %.
///
/// # Errors
/// [`FreezeError`] outside the table: above 60 %, and by volume below 10 %.
pub fn freeze_point(concentration: Concentration) -> Result<FreezePoint, FreezeError> {
    let (least, hundredths) = table(concentration.glycol, concentration.basis);
    let most = least + i64::try_from(hundredths.len()).unwrap_or_default() - 1;
    let share = concentration.share;
    let Ok(place) = usize::try_from(share.div_euclid(PERCENT) - least) else {
        return Err(FreezeError::TooThin { concentration, least });
    };
    let too_rich = FreezeError::TooRich { concentration, most };
    let here = *hundredths.get(place).ok_or(too_rich)?;
    let beyond = share.rem_euclid(PERCENT);
    let next = match hundredths.get(place + 1) {
        Some(next) => *next,
        None if beyond == 0 => here,
        None => return Err(too_rich),
    };
    let [here, next] = [here, next].map(|hundredths| ICE_POINT_MK + 10 * i64::from(hundredths));
    let by_table = here + divided_up((next - here) * beyond, PERCENT);
    let tolerance_mk = match concentration.basis {
        Basis::Volume => 2000,
        Basis::Mass => 1500,
    };
    Ok(FreezePoint { by_table: Temperature::from_mk(by_table), tolerance_mk })
}

/// The least share of glycol, in millionths of a percent, of which not freezing down to `cold` is promised; `None` where no
/// share of the table is.
///
/// The promise grows with the share, so halving finds it.
pub fn least_share_for(glycol: Glycol, basis: Basis, cold: Temperature) -> Option<i64> {
    let is_promised = |share: i64| {
        let promised = freeze_point(Concentration { glycol, basis, share }).map(FreezePoint::promised);
        promised.is_ok_and(|promised| promised <= cold)
    };
    let (first, hundredths) = table(glycol, basis);
    let last = first + i64::try_from(hundredths.len()).unwrap_or_default() - 1;
    if cold.mk() >= ICE_POINT_MK {
        return Some(0);
    }
    let (mut short, mut enough) = (first * PERCENT - 1, last * PERCENT);
    if !is_promised(enough) {
        return None;
    }
    while enough - short > 1 {
        let middle = short + (enough - short) / 2;
        if is_promised(middle) { enough = middle } else { short = middle }
    }
    Some(enough)
}

/// The first percent of a table and its freeze points from there.
fn table(glycol: Glycol, basis: Basis) -> (i64, &'static [i32]) {
    match (glycol, basis) {
        (Glycol::Ethylene, Basis::Mass) => (0, &ETHYLENE_BY_MASS),
        (Glycol::Ethylene, Basis::Volume) => (10, &ETHYLENE_BY_VOLUME),
        (Glycol::Propylene, Basis::Mass) => (0, &PROPYLENE_BY_MASS),
        (Glycol::Propylene, Basis::Volume) => (10, &PROPYLENE_BY_VOLUME),
    }
}

/// The quotient rounded up, towards warmer.
const fn divided_up(number: i64, by: i64) -> i64 {
    -(-number).div_euclid(by)
}
