//! Where an increasing function crosses zero.

/// Width, in the argument, at which the crossing is settled. Arguments here are logarithms, so this is relative.
const SETTLED: f64 = 1e-13;
/// Halving alone settles any bracket of logarithms in 60 steps, and no run of the method needs three times as many.
const MOST_STEPS: u32 = 180;

/// The range that is searched, and where to begin.
pub(crate) struct Search {
    pub start: f64,
    pub least: f64,
    pub most: f64,
}

/// The argument at which the increasing `function` crosses zero, or the end of the range nearer to the crossing.
pub(crate) fn crossing(function: impl Fn(f64) -> f64, search: &Search) -> f64 {
    // A guess that overflowed is no worse than any other: `max` and `min`, unlike `clamp`, mend even that.
    let start = search.start.max(search.least).min(search.most);
    let first = Point::new(start, &function);
    let (direction, end) = if first.value < 0.0 { (1.0, search.most) } else { (-1.0, search.least) };
    let mut behind = first;
    let mut step = 0.25;
    while (behind.at - end).abs() > 0.0 {
        let next = (behind.at + direction * step).clamp(search.least, search.most);
        let ahead = Point::new(next, &function);
        if (ahead.value < 0.0) != (first.value < 0.0) {
            return between(&function, behind, ahead);
        }
        behind = ahead;
        step *= 2.0;
    }
    end
}

#[derive(Clone, Copy)]
struct Point {
    at: f64,
    value: f64,
}

impl Point {
    fn new(at: f64, function: &impl Fn(f64) -> f64) -> Self {
        Self { at, value: function(at) }
    }
}

/// The crossing between two points on either side of it, by the method of Chandrupatla (Advances in Engineering
/// Software 28, 1997; from memory): inverse quadratic interpolation where that is safe, halving elsewhere.
fn between(function: &impl Fn(f64) -> f64, one_side: Point, other_side: Point) -> f64 {
    let (mut newest, mut opposite) = (other_side, one_side);
    let mut part = 0.5;
    for _ in 0..MOST_STEPS {
        let point = Point::new(newest.at + part * (opposite.at - newest.at), function);
        let oldest = if (point.value < 0.0) == (newest.value < 0.0) {
            newest
        } else {
            let dropped = opposite;
            opposite = newest;
            dropped
        };
        newest = point;
        let least_part = SETTLED / (opposite.at - newest.at).abs();
        if point.value.abs() <= 0.0 || least_part > 0.5 {
            break;
        }
        part = next_part(newest, opposite, oldest).clamp(least_part, 1.0 - least_part);
    }
    if newest.value.abs() < opposite.value.abs() { newest.at } else { opposite.at }
}

/// How far to go from `newest` towards `opposite`: the interpolated crossing, or one half where it cannot be trusted.
fn next_part(newest: Point, opposite: Point, oldest: Point) -> f64 {
    let place = (newest.at - opposite.at) / (oldest.at - opposite.at);
    let height = (newest.value - opposite.value) / (oldest.value - opposite.value);
    let is_safe = height * height < place && (1.0 - height) * (1.0 - height) < 1.0 - place;
    if !is_safe {
        return 0.5;
    }
    let linear =
        newest.value / (opposite.value - newest.value) * oldest.value / (opposite.value - oldest.value);
    let curved = (oldest.at - newest.at) / (opposite.at - newest.at) * newest.value
        / (oldest.value - newest.value)
        * opposite.value
        / (oldest.value - opposite.value);
    linear + curved
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::cell::Cell;

    fn search() -> Search {
        Search { start: 1.0, least: -700.0, most: 700.0 }
    }

    #[test]
    fn a_crossing_is_found_wherever_it_lies() {
        for root in [-650.0, -3.5, 0.999, 1.0, 1.25, 40.0, 699.0] {
            let found = crossing(|at| libm::atan(at - root), &search());
            assert!((found - root).abs() < 2e-13, "{found} for {root}");
        }
    }

    #[test]
    fn a_crossing_outside_the_range_gives_the_nearer_end() {
        let (below, above) = (crossing(|_| 1.0, &search()), crossing(|_| -1.0, &search()));
        assert!((below - -700.0).abs() < 1e-12 && (above - 700.0).abs() < 1e-12, "{below}, {above}");
    }

    #[test]
    fn a_steep_step_costs_no_more_than_halving() {
        let calls = Cell::new(0);
        let found = crossing(
            |at| {
                calls.set(calls.get() + 1);
                if at < 400.123 { -1.0 } else { 1e-9 }
            },
            &search(),
        );
        assert!((found - 400.123).abs() < 1e-12, "{found}");
        assert!(calls.get() < 80, "{} calls", calls.get());
    }

    #[test]
    fn a_function_that_is_not_a_number_still_comes_to_an_end() {
        let found = crossing(|_| f64::NAN, &search());
        assert!((-700.0..=700.0).contains(&found), "{found}");
    }
}
