//! What the maker's promise of tread wear is worth when a tyre wears out before it.

use quantity::Distance;

/// How the tyres of a vehicle may be moved, as far as a promise of tread wear asks.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum TreadPromise {
    /// For the whole distance.
    Whole,
    /// For half of it: rear tyres of another size than the front ones, which cannot be rotated (a usual term of makers;
    /// common practice, no source: the warranty's own text counts).
    HalfForRearOfStaggered,
}

/// The distance the promise covers, to the millimetre below.
pub const fn promised_distance(warranted: Distance, promise: TreadPromise) -> Distance {
    match promise {
        TreadPromise::Whole => warranted,
        TreadPromise::HalfForRearOfStaggered => Distance::from_mm(warranted.mm() / 2),
    }
}

/// The pro-rata credit for a tyre worn out after `driven` of the distance promised, in minor units of the price's
/// currency, rounded down: price x (W - m) / W (common practice, no source).
///
/// Nothing once the distance is driven or none was promised, the whole price at most. Whether wear must be even, with
/// rotations proven, is for the warranty's text.
pub fn tread_wear_credit(price_minor: i64, promised: Distance, driven: Distance) -> i64 {
    let (whole, price) = (i128::from(promised.mm()), i128::from(price_minor.max(0)));
    if whole <= 0 {
        return 0;
    }
    let left = (whole - i128::from(driven.mm())).clamp(0, whole);
    i64::try_from(price * left / whole).unwrap_or(i64::MAX)
}

/// How many times as long as the control tyre a tyre of this treadwear grade wore on the test course: grade / 100
/// (49 CFR 575.104(d)(2) and (e), from memory).
///
/// A relative grade: it promises no distance on the road, so no distance is computed from it.
pub fn treadwear_against_control(grade: u16) -> f64 {
    f64::from(grade) / 100.0
}
