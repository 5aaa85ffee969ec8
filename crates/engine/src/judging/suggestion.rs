//! What was probably meant by a reading that is held.

use super::chain::{Link, agree};
use super::doubt::Neighbours;
use chrono::{DateTime, TimeDelta, Utc};
use model::OdometerReading;
use quantity::{Distance, Entered, Unit};

/// Distance of a day where the log does not tell: the mean of the shipped usage cohort, in kilometres.
const SHIPPED_KM_PER_DAY: f64 = 80.0;
/// A mile/kilometre mix-up is evident when it comes this near to what was expected (house setting, no source).
const MIX_UP_SHARE: f64 = 0.03;
/// A digit slip at the end of the log is evident when it stays within so many times the distance expected ...
const EVIDENT_TIMES: f64 = 3.0;
/// ... or so many kilometres, if that is more (both: house setting, no source).
const EVIDENT_KM: f64 = 300.0;
/// Longer numbers are no odometer.
const MOST_DIGITS: usize = 9;

/// How fast the vehicle goes on the whole, kilometres a day.
#[derive(Clone, Copy)]
pub(crate) struct Pace(f64);

impl Pace {
    /// From first to last of the counted chain.
    pub(crate) fn of(chain: &[Link]) -> Self {
        let Some((first, last)) = chain.first().zip(chain.last()) else { return Self(SHIPPED_KM_PER_DAY) };
        let (days, km) = (days(last.at - first.at), (last.odometer - first.odometer).km());
        if days >= 1.0 && km > 0.0 { Self(km / days) } else { Self(SHIPPED_KM_PER_DAY) }
    }
}

/// The value that was probably meant, where that is evident: the same number in the other unit; else the nearest value
/// to the one expected that takes one slip of a digit (one too many, one missing, one wrong, two swapped).
///
/// Every suggestion agrees with the counted readings on either side.
pub(crate) fn suggest(reading: &OdometerReading, neighbours: &Neighbours<'_>, pace: Pace) -> Option<Entered> {
    let held = Link::new(reading.odometer, reading.read_at, reading.source, false);
    let expected = Expected::at(reading.read_at, neighbours, pace)?;
    let fits = |entered: &Entered| {
        Distance::parse(*entered).ok().filter(|odometer| {
            let meant = held.saying(*odometer);
            *odometer >= neighbours.at_start
                && neighbours.before.is_none_or(|before| agree(before, &meant))
                && neighbours.after.is_none_or(|after| agree(&meant, after))
        })
    };
    let other_unit = Entered { unit: other(reading.entered.unit)?, ..reading.entered };
    if fits(&other_unit).is_some_and(|odometer| expected.is_mix_up(odometer)) {
        return Some(other_unit);
    }
    slips(reading.entered.value)
        .into_iter()
        .map(|number| Entered::new(number, reading.entered.unit))
        .filter_map(|entered| Some((entered, expected.km_off(fits(&entered)?))))
        .filter(|(_, km_off)| *km_off <= expected.evident_km)
        .min_by(|(one, one_off), (other, other_off)| {
            one_off.total_cmp(other_off).then(one.value.total_cmp(&other.value))
        })
        .map(|(entered, _)| entered)
}

/// What the odometer should have shown.
struct Expected {
    km: f64,
    /// Slips further from it are no more than a guess.
    evident_km: f64,
}

impl Expected {
    /// Between neighbours by interpolation, else at the vehicle's own pace; `None` without neighbours.
    fn at(at: DateTime<Utc>, neighbours: &Neighbours<'_>, pace: Pace) -> Option<Self> {
        let outside = |neighbour: &Link, driven: f64| Self {
            km: neighbour.odometer.km() + driven,
            evident_km: (driven.abs() * EVIDENT_TIMES).max(EVIDENT_KM),
        };
        match (neighbours.before, neighbours.after) {
            (Some(before), Some(after)) => {
                let whole = days(after.at - before.at);
                let share = if whole > 0.0 { days(at - before.at) / whole } else { 0.5 };
                let apart = (after.odometer - before.odometer).km();
                Some(Self { km: before.odometer.km() + share * apart, evident_km: f64::INFINITY })
            }
            (Some(before), None) => Some(outside(before, pace.0 * days(at - before.at))),
            (None, Some(after)) => Some(outside(after, -pace.0 * days(after.at - at))),
            (None, None) => None,
        }
    }

    fn km_off(&self, odometer: Distance) -> f64 {
        (odometer.km() - self.km).abs()
    }

    fn is_mix_up(&self, odometer: Distance) -> bool {
        self.km_off(odometer) <= MIX_UP_SHARE * self.km
    }
}

fn days(span: TimeDelta) -> f64 {
    span.as_seconds_f64() / 86_400.0
}

/// Miles for kilometres and kilometres for miles.
const fn other(unit: Unit) -> Option<Unit> {
    match unit {
        Unit::Kilometre => Some(Unit::Mile),
        Unit::Mile => Some(Unit::Kilometre),
        _ => None,
    }
}

/// The whole numbers that one slip of a digit turns into `value`; a fraction of the value is let go.
fn slips(value: f64) -> Vec<f64> {
    let digits: Vec<u8> = format!("{:.0}", value.abs()).into_bytes();
    if digits.len() > MOST_DIGITS {
        return Vec::new();
    }
    let mut numbers = Vec::new();
    for at in 0..digits.len() {
        let mut one_too_many = digits.clone();
        one_too_many.remove(at);
        numbers.push(one_too_many);
        if at + 1 < digits.len() {
            let mut swapped = digits.clone();
            swapped.swap(at, at + 1);
            numbers.push(swapped);
        }
        for digit in b'0'..=b'9' {
            let mut wrong = digits.clone();
            wrong[at] = digit;
            numbers.push(wrong);
        }
    }
    for at in 0..=digits.len() {
        for digit in b'0'..=b'9' {
            let mut missing = digits.clone();
            missing.insert(at, digit);
            numbers.push(missing);
        }
    }
    numbers.iter().filter_map(|digits| std::str::from_utf8(digits).ok()?.parse().ok()).collect()
}
