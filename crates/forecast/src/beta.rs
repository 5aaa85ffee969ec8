//! The regularised incomplete beta function, accurate for shapes from a fraction to a hundred million.

/// Shapes above this are taken as this: the spread is then below one part in ten thousand, far finer than any
/// odometer, and the continued fraction (whose length grows with the root of the shape) stays affordable.
const LARGEST_SHAPE: f64 = 1e8;
/// Shapes below this are taken as this: log-gamma needs something above zero.
const SMALLEST_SHAPE: f64 = 1e-300;
/// Enough for two shapes of `LARGEST_SHAPE` at the place where the fraction converges most slowly.
const MOST_TERMS: u32 = 20_000;
/// ln(2 pi) / 2.
const HALF_LN_TWO_PI: f64 = 0.918_938_533_204_672_8;

/// Probability that a beta-prime variate of shapes `first`, `second` is at least `ratio`:
/// 1 - `I_x(first, second)` with x = ratio / (1 + ratio).
///
/// A `ratio` of zero or less gives 1, an infinite one gives 0.
pub(crate) fn beta_prime_at_least(ratio: f64, first: f64, second: f64) -> f64 {
    if ratio <= 0.0 {
        return 1.0;
    }
    if ratio.is_infinite() {
        return 0.0;
    }
    let [first, second] = [first, second].map(|shape| shape.clamp(SMALLEST_SHAPE, LARGEST_SHAPE));
    // Both are computed from the ratio: 1 - x would lose the digits of a small complement.
    let (x, y) = (ratio / (1.0 + ratio), 1.0 / (1.0 + ratio));
    // The fraction converges fast on the near side of the mean only; the far side is the complement of its mirror.
    let at_least = if y * (first + second + 2.0) < second + 1.0 {
        lower_tail(Place { here: y, there: x }, second, first)
    } else {
        1.0 - lower_tail(Place { here: x, there: y }, first, second)
    };
    at_least.clamp(0.0, 1.0)
}

/// A point of the unit interval with its complement: `here + there = 1`.
#[derive(Clone, Copy)]
struct Place {
    here: f64,
    there: f64,
}

/// `I_here(near, far)` for a place not far above the mean near / (near + far).
fn lower_tail(place: Place, near: f64, far: f64) -> f64 {
    libm::exp(ln_power_over_beta(place, near, far)) * fraction(place.here, near, far) / near
}

/// ln of `here^near there^far / B(near, far)`.
///
/// Written out with log-gamma functions this is a small difference of large numbers. Arranged as by Loader, "Fast and
/// accurate computation of binomial probabilities" (2000; from memory), the large parts cancel on paper instead:
/// what remains are two deviances and the corrections to Stirling's formula, each computed to full precision.
fn ln_power_over_beta(place: Place, near: f64, far: f64) -> f64 {
    let sum = near + far;
    let smaller = near.min(far);
    let larger = near.max(far);
    let corrections = stirling_correction(sum) - stirling_correction(near) - stirling_correction(far);
    let scale = 0.5 * libm::log(smaller * (larger / sum)) - HALF_LN_TWO_PI;
    scale + corrections - deviance(near, sum * place.here) - deviance(far, sum * place.there)
}

/// observed ln(observed / expected) + expected - observed, without cancellation when the two are close.
pub(crate) fn deviance(observed: f64, expected: f64) -> f64 {
    let difference = observed - expected;
    let sum = observed + expected;
    if difference.abs() > 0.1 * sum {
        return observed * libm::log(observed / expected) - difference;
    }
    // ln(observed/expected) = 2 artanh(v) as a power series; its first terms cancel against `difference`.
    let v = difference / sum;
    let v_squared = v * v;
    let mut power = 2.0 * observed * v;
    let mut total = difference * v;
    // |v| <= 0.1, so that each term is below a hundredth of the last: ten are more than enough.
    for odd in [3.0, 5.0, 7.0, 9.0, 11.0, 13.0, 15.0, 17.0, 19.0, 21.0] {
        power *= v_squared;
        total += power / odd;
    }
    total
}

/// ln Gamma(x) minus Stirling's formula (x - 1/2) ln x - x + ln(2 pi)/2.
///
/// Series: Abramowitz and Stegun 6.1.41 (from memory); below 10 the series is too short and nothing large cancels.
fn stirling_correction(x: f64) -> f64 {
    if x < 10.0 {
        return libm::lgamma(x) - ((x - 0.5) * libm::log(x) - x + HALF_LN_TWO_PI);
    }
    let inverse = 1.0 / x;
    let square = inverse * inverse;
    let mut series = -691.0 / 360_360.0;
    for coefficient in [1.0 / 1188.0, -1.0 / 1680.0, 1.0 / 1260.0, -1.0 / 360.0, 1.0 / 12.0] {
        series = series * square + coefficient;
    }
    series * inverse
}

/// The continued fraction of the incomplete beta function, by the method of Lentz.
///
/// Abramowitz and Stegun 26.5.8 (from memory): even and odd terms in turn.
fn fraction(x: f64, near: f64, far: f64) -> f64 {
    let sum = near + far;
    let mut upper = 1.0;
    let mut lower = 1.0 / away_from_zero(1.0 - sum * x / (near + 1.0));
    let mut value = lower;
    for step in 1..=MOST_TERMS {
        let m = f64::from(step);
        let even = m * (far - m) * x / ((near + 2.0 * m - 1.0) * (near + 2.0 * m));
        let odd = -(near + m) * (sum + m) * x / ((near + 2.0 * m) * (near + 2.0 * m + 1.0));
        let mut change = 1.0;
        for term in [even, odd] {
            lower = 1.0 / away_from_zero(1.0 + term * lower);
            upper = away_from_zero(1.0 + term / upper);
            change = upper * lower;
            value *= change;
        }
        if (change - 1.0).abs() < 1e-15 {
            break;
        }
    }
    value
}

/// Lentz's guard: a partial denominator of exactly zero is replaced by a number that vanishes in the next step.
fn away_from_zero(value: f64) -> f64 {
    if value.abs() < 1e-300 { 1e-300 } else { value }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn shapes_of_one_give_the_ratio_of_lengths() {
        // BetaPrime(1, 1): P(at least r) = 1/(1 + r), by integrating its density 1/(1 + t)^2.
        for ratio in [1e-12, 0.25, 1.0, 3.0, 1e9] {
            let expected = 1.0 / (1.0 + ratio);
            assert!((beta_prime_at_least(ratio, 1.0, 1.0) - expected).abs() < 1e-15, "at {ratio}");
        }
    }

    #[test]
    fn swapping_shapes_and_inverting_the_ratio_gives_the_complement() {
        for (ratio, first, second) in [(0.7, 2.5, 6.0), (0.01, 0.02, 400.0), (24.0, 73_000.0, 3000.0)] {
            let both =
                beta_prime_at_least(ratio, first, second) + beta_prime_at_least(1.0 / ratio, second, first);
            assert!((both - 1.0).abs() < 1e-11, "{both} at {ratio}, {first}, {second}");
        }
    }

    #[test]
    fn equal_shapes_are_even_at_one_however_large() {
        // X/Y and Y/X of two equal gamma variates have the same law, so that 1 is the median.
        for shape in [1e-6, 0.5, 1.0, 30.0, 1e4, 1e6, 1e8, 1e12] {
            let half = beta_prime_at_least(1.0, shape, shape);
            assert!((half - 0.5).abs() < 1e-9, "{half} at {shape}");
        }
    }

    #[test]
    fn the_correction_to_stirling_has_no_step_where_its_series_takes_over() {
        let (below, above) = (stirling_correction(10.0_f64.next_down()), stirling_correction(10.0));
        assert!((below - above).abs() < 1e-14, "{below} against {above}");
    }
}
