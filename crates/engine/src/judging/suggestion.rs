//! What was probably meant by a reading that is held.

use super::bounds::Bounds;
use super::chain::{Link, agree};
use super::doubt::Neighbours;
use chrono::TimeDelta;
use quantity::{Entered, Unit};

/// A mile/kilometre mix-up is evident when it comes this near to what was expected (house setting, no source).
const MIX_UP_SHARE: f64 = 0.03;
/// A digit slip at the end of the log is evident when it stays within so many times what is expected (house setting).
const EVIDENT_TIMES: f64 = 3.0;
/// Longer numbers are no meter.
const MOST_DIGITS: usize = 9;

/// How fast the meter counts on the whole, in its base unit.
#[derive(Clone, Copy)]
pub(crate) struct Pace {
    a_day: f64,
    evident: f64,
}

impl Pace {
    /// From first to last of the counted chain.
    pub(crate) fn of(chain: &[Link], bounds: &Bounds) -> Self {
        let shipped = Self { a_day: bounds.typical_a_day, evident: bounds.evident };
        let Some((first, last)) = chain.first().zip(chain.last()) else { return shipped };
        let (days, counted) = (days(last.at - first.at), number(last.total.saturating_sub(first.total)));
        if days >= 1.0 && counted > 0.0 { Self { a_day: counted / days, ..shipped } } else { shipped }
    }
}

/// The value that was probably meant, where that is evident: the same number in the other unit; else the nearest value
/// to the one expected that takes one slip of a digit (one too many, one missing, one wrong, two swapped).
///
/// Every suggestion is a number of the instrument that was read, and agrees with the counted readings on either side.
pub(crate) fn suggest(
    entered: Entered,
    held: &Link,
    neighbours: &Neighbours<'_>,
    pace: Pace,
) -> Option<Entered> {
    let expected = Expected::of(held, neighbours, pace)?;
    let fits = |entered: &Entered| {
        entered.exact().ok().filter(|shown| {
            let meant = held.saying(*shown);
            neighbours.at_start.is_none_or(|at_start| meant.total >= at_start)
                && neighbours.before.is_none_or(|before| agree(before, &meant))
                && neighbours.after.is_none_or(|after| agree(&meant, after))
        })
    };
    let other_unit = other(entered.unit).map(|unit| Entered { unit, ..entered });
    let is_mix_up = |entered: &Entered| fits(entered).is_some_and(|shown| expected.is_mix_up(shown));
    if let Some(meant) = other_unit.filter(is_mix_up) {
        return Some(meant);
    }
    slips(entered.value)
        .into_iter()
        .map(|number| Entered::new(number, entered.unit))
        .filter_map(|entered| Some((entered, expected.off(fits(&entered)?))))
        .filter(|(_, off)| *off <= expected.evident)
        .min_by(|(one, one_off), (other, other_off)| {
            one_off.total_cmp(other_off).then(one.value.total_cmp(&other.value))
        })
        .map(|(entered, _)| entered)
}

/// What the instrument should have shown.
struct Expected {
    shown: f64,
    /// Slips further from it are no more than a guess.
    evident: f64,
}

impl Expected {
    /// Between neighbours by interpolation, else at the vehicle's own pace; `None` without neighbours.
    fn of(held: &Link, neighbours: &Neighbours<'_>, pace: Pace) -> Option<Self> {
        let on_instrument = |total: i64| number(total.saturating_sub(held.added));
        let outside = |neighbour: &Link, counted: f64| Self {
            shown: on_instrument(neighbour.total) + counted,
            evident: (counted.abs() * EVIDENT_TIMES).max(pace.evident),
        };
        match (neighbours.before, neighbours.after) {
            (Some(before), Some(after)) => {
                let whole = days(after.at - before.at);
                let share = if whole > 0.0 { days(held.at - before.at) / whole } else { 0.5 };
                let apart = number(after.total.saturating_sub(before.total));
                Some(Self { shown: on_instrument(before.total) + share * apart, evident: f64::INFINITY })
            }
            (Some(before), None) => Some(outside(before, pace.a_day * days(held.at - before.at))),
            (None, Some(after)) => Some(outside(after, -pace.a_day * days(after.at - held.at))),
            (None, None) => None,
        }
    }

    fn off(&self, shown: i64) -> f64 {
        (number(shown) - self.shown).abs()
    }

    fn is_mix_up(&self, shown: i64) -> bool {
        self.off(shown) <= MIX_UP_SHARE * self.shown
    }
}

fn number(exact: i64) -> f64 {
    #[expect(clippy::cast_precision_loss, reason = "what was entered is kept within 2^53")]
    let number = exact as f64;
    number
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
