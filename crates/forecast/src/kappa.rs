//! Width kappa: how much wider than computed a forecast must be so that it has held in the past.

use crate::cohort::{History, count_of};
use crate::usage::{Cohort, Gap, Usage};
use crate::{EARLY, LATE};
use serde::{Deserialize, Serialize};

/// Fewer back-test cases than this measure nothing, and `Kappa::UNMEASURED` stands in.
pub const LEAST_CASES: usize = 50;

/// The horizons that are tested, in operating days.
const HORIZONS: [f64; 3] = [30.0, 90.0, 180.0];
/// The widths a fit may give.
const LEAST: f64 = 0.5;
const MOST: f64 = 20.0;
/// Where nothing was measured (chosen; no source).
const UNMEASURED: f64 = 1.5;
/// Share of outcomes that must fall from early to late.
const SHARE_WITHIN: f64 = LATE - EARLY;
/// A vehicle is tested once it has been followed for so many days: before, the band is its cohort's.
const LEAST_DAYS_BEHIND: f64 = 30.0;
/// Nor before this share of its history has passed: today's forecasts rest on all of it, and a forecast from a short
/// history is both wider and less out of date.
const SHARE_BEHIND: f64 = 1.0 / 3.0;
/// A window may be longer than its horizon by this factor, since it ends with a reading.
const LONGEST_WINDOW: f64 = 1.5;
/// Windows begin this share of their horizon apart, so that no season of the year is passed over.
const STRIDE: f64 = 1.0 / 3.0;

/// Width at three horizons; 1 is the forecast as computed, more is wider.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Kappa {
    /// Width at 30 operating days and below.
    pub at_30: f64,
    /// Width at 90 operating days.
    pub at_90: f64,
    /// Width at 180 operating days and beyond.
    pub at_180: f64,
}

/// A width and how many back-test cases it rests on.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct MeasuredKappa {
    /// The width; `Kappa::UNMEASURED` at a horizon of fewer than fifty cases.
    pub kappa: Kappa,
    /// Cases at 30, 90 and 180 operating days.
    pub cases: [usize; 3],
}

impl Kappa {
    /// For a cohort that has too little history to test: 1.5 throughout (chosen; no source).
    pub const UNMEASURED: Self = Self { at_30: UNMEASURED, at_90: UNMEASURED, at_180: UNMEASURED };

    /// The width for an item whose likely date, computed with a width of 1, is `days` operating days away.
    ///
    /// Its logarithm is linear in that of the days from 30 to 90 and from 90 to 180, and level outside.
    pub fn at(&self, days: f64) -> f64 {
        let [first, second, third] = HORIZONS;
        if days <= second {
            between(days, [first, second], [self.at_30, self.at_90])
        } else {
            between(days, [second, third], [self.at_90, self.at_180])
        }
    }

    /// The width with which four in five of the distances that vehicles drove would have fallen from early to late.
    ///
    /// Each of the `histories` is cut at many readings; what came before forecasts what came after, about 30, 90 and
    /// 180 operating days ahead, from the prior `cohort` and with the given `half_life_days` (see
    /// `Usage::from_gaps`). From 1 on the width never decreases with the
    /// horizon; it stays within 0.5 and 20.
    pub fn fit(cohort: &Cohort, histories: &[History], half_life_days: Option<f64>) -> MeasuredKappa {
        let tested = HORIZONS.map(|horizon| {
            let per_vehicle = histories.iter().map(|history| cases(cohort, history, half_life_days, horizon));
            per_vehicle.flatten().collect::<Vec<Case>>()
        });
        let cases = [tested[0].len(), tested[1].len(), tested[2].len()];
        let measured = tested.map(|cases| {
            let weight = count_of(cases.len());
            let log = || libm::log(width_of(cohort, &cases));
            (cases.len() >= LEAST_CASES).then(|| Measurement { log: log(), weight })
        });
        let [at_30, at_90, at_180] = non_decreasing(measured).map(|log| libm::exp(log).clamp(LEAST, MOST));
        MeasuredKappa { kappa: Self { at_30, at_90, at_180 }, cases }
    }
}

impl Usage {
    /// The same readings with the width `kappa`, when `self` was made from the same `cohort` with a width of 1.
    ///
    /// Equals `from_gaps` with that width, without going through the gaps again.
    #[must_use]
    pub fn widened(&self, cohort: &Cohort, kappa: f64) -> Self {
        Self {
            a: cohort.a / kappa,
            shape: cohort.p + (self.shape - cohort.p) / kappa,
            scale: kappa * cohort.q + (self.scale - cohort.q),
        }
    }
}

/// The width at `days`, on a straight line of logarithms between two horizons, level beyond them.
fn between(days: f64, horizons: [f64; 2], widths: [f64; 2]) -> f64 {
    let place = libm::log(days.max(horizons[0]) / horizons[0]) / libm::log(horizons[1] / horizons[0]);
    widths[0] * libm::exp(place.min(1.0) * libm::log(widths[1] / widths[0]))
}

/// What was known at a reading, and what came after it.
struct Case {
    /// With a width of 1.
    known: Usage,
    days_ahead: f64,
    km_driven: f64,
}

impl Case {
    fn is_within(&self, cohort: &Cohort, kappa: f64) -> bool {
        let reached = self.known.widened(cohort, kappa).probability_reached(self.km_driven, self.days_ahead);
        (EARLY..=LATE).contains(&reached)
    }
}

/// The windows of one vehicle at one horizon, each with what was known where it begins.
fn cases(cohort: &Cohort, history: &History, half_life_days: Option<f64>, horizon: f64) -> Vec<Case> {
    let gaps: Vec<Gap> = history.gaps.iter().copied().filter(|gap| gap.days > 0.0).collect();
    let mut cases = vec![];
    let total: f64 = gaps.iter().map(|gap| gap.days).sum();
    let (mut behind, mut next_at) = (0.0, LEAST_DAYS_BEHIND.max(SHARE_BEHIND * total));
    for (place, gap) in gaps.iter().enumerate() {
        behind += gap.days;
        if behind < next_at {
            continue;
        }
        let (before, after) = gaps.split_at(place + 1);
        if let Some((days_ahead, km_driven)) = window(after, horizon) {
            let known = Usage::from_gaps(cohort, before, half_life_days, 1.0);
            cases.push(Case { known, days_ahead, km_driven });
            next_at = behind + STRIDE * horizon;
        }
    }
    cases
}

/// Days and kilometres up to the first reading that is `horizon` days away, unless that is much further.
fn window(gaps: &[Gap], horizon: f64) -> Option<(f64, f64)> {
    let (mut days, mut km) = (0.0, 0.0);
    for gap in gaps {
        days += gap.days;
        km += gap.km;
        if days >= horizon {
            return (days <= LONGEST_WINDOW * horizon).then_some((days, km));
        }
    }
    None
}

/// The smallest width, to one part in ten thousand, at which four in five of the `cases` fall within their bands.
fn width_of(cohort: &Cohort, cases: &[Case]) -> f64 {
    let holds = |log: f64| {
        let kappa = libm::exp(log);
        let within = cases.iter().filter(|case| case.is_within(cohort, kappa)).count();
        count_of(within) >= SHARE_WITHIN * count_of(cases.len())
    };
    let (mut narrow, mut wide) = (libm::log(LEAST), libm::log(MOST));
    if holds(narrow) {
        return LEAST;
    }
    // Sixteen halvings of a range of 3.7.
    for _ in 0..16 {
        let middle = 0.5 * (narrow + wide);
        if holds(middle) { wide = middle } else { narrow = middle }
    }
    libm::exp(wide)
}

/// The logarithm of a width, and the cases that speak for it.
#[derive(Clone, Copy)]
struct Measurement {
    log: f64,
    weight: f64,
}

/// The logarithms nearest to those measured that never decrease: neighbours in the wrong order take their weighted
/// mean. One that was not measured is that of `UNMEASURED`, or its shorter neighbour's if that is wider.
///
/// Below 1 they stand as measured: there the computed band is too wide, because fading forgets what would still have
/// told the rate, and that tells the more the further ahead one looks. Widths that may not decrease would split the
/// error and leave the near band too narrow.
fn non_decreasing(measured: [Option<Measurement>; 3]) -> [f64; 3] {
    let raised = measured.map(|log| log.map(|level| Measurement { log: level.log.max(0.0), ..level }));
    let pooled = pooled(raised);
    let mut place = 0;
    let mut widest = f64::NEG_INFINITY;
    measured.map(|level| {
        let log = level.map_or_else(
            || libm::log(UNMEASURED).max(widest),
            |level| {
                let log = pooled[place];
                place += 1;
                if log <= 0.0 { level.log } else { log }
            },
        );
        widest = widest.max(log);
        log
    })
}

/// Neighbours in the wrong order take their weighted mean (pool adjacent violators); only those measured.
fn pooled(measured: [Option<Measurement>; 3]) -> Vec<f64> {
    let mut levels: Vec<(Measurement, usize)> = vec![];
    for mut level in measured.into_iter().flatten() {
        let mut count = 1;
        while let Some((before, many)) = levels.pop_if(|(before, _)| before.log > level.log) {
            let weight = before.weight + level.weight;
            level =
                Measurement { log: (before.log * before.weight + level.log * level.weight) / weight, weight };
            count += many;
        }
        levels.push((level, count));
    }
    levels.into_iter().flat_map(|(level, count)| (0..count).map(move |_| level.log)).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    const KAPPA: Kappa = Kappa { at_30: 1.0, at_90: 4.0, at_180: 9.0 };

    #[test]
    fn a_width_is_level_outside_and_geometric_between() {
        let halfway = libm::sqrt(30.0 * 90.0);
        for (days, width) in [
            (0.0, 1.0),
            (30.0, 1.0),
            (halfway, 2.0),
            (90.0, 4.0),
            (libm::sqrt(90.0 * 180.0), 6.0),
            (180.0, 9.0),
            (f64::INFINITY, 9.0),
        ] {
            assert!((KAPPA.at(days) - width).abs() < 1e-12, "{} at {days}", KAPPA.at(days));
        }
    }

    fn near(ours: [f64; 3], expected: [f64; 3]) -> bool {
        ours.iter().zip(expected).all(|(ours, expected)| (ours - expected).abs() < 1e-12)
    }

    /// Measurements of so many cases each; `None` where there were too few.
    fn logs(measured: [Option<(f64, f64)>; 3]) -> [f64; 3] {
        non_decreasing(measured.map(|found| found.map(|(log, weight)| Measurement { log, weight })))
    }

    #[test]
    fn widths_in_the_wrong_order_take_the_mean_of_their_cases() {
        assert!(near(logs([Some((3.0, 100.0)), Some((1.0, 100.0)), Some((4.0, 60.0))]), [2.0, 2.0, 4.0]));
        assert!(near(logs([Some((3.0, 300.0)), Some((2.0, 200.0)), Some((1.5, 500.0))]), [2.05; 3]));
    }

    #[test]
    fn widths_below_one_stand_as_measured_and_others_never_decrease() {
        assert!(near(
            logs([Some((-0.1, 400.0)), Some((-0.2, 100.0)), Some((-0.3, 60.0))]),
            [-0.1, -0.2, -0.3]
        ));
        assert!(near(logs([Some((-0.1, 400.0)), Some((2.0, 100.0)), Some((-0.5, 100.0))]), [-0.1, 1.0, 1.0]));
        assert!(near(logs([Some((1.0, 100.0)), Some((-0.5, 100.0)), Some((-0.6, 100.0))]), [1.0 / 3.0; 3]));
    }

    #[test]
    fn a_horizon_without_cases_is_no_narrower_than_the_one_before() {
        let shipped = libm::log(UNMEASURED);
        assert!(near(logs([Some((0.0, 90.0)), Some((1.0, 60.0)), None]), [0.0, 1.0, 1.0]));
        assert!(near(logs([Some((-1.0, 90.0)), Some((0.0, 60.0)), None]), [-1.0, 0.0, shipped]));
    }

    #[test]
    fn too_few_cases_leave_the_shipped_width() {
        let history = History { gaps: vec![Gap { days: 7.0, km: 560.0 }; 52] };
        let measured = Kappa::fit(&Cohort::SHIPPED, &[history], Some(120.0));
        assert!(measured.cases.iter().all(|cases| (1..LEAST_CASES).contains(cases)), "{measured:?}");
        assert!((measured.kappa.at(30.0) - UNMEASURED).abs() < 1e-12, "{measured:?}");
    }

    #[test]
    fn widening_is_what_the_gaps_give_with_that_width() {
        let cohort = Cohort { a: 0.8, p: 5.5, q: 500.0 };
        let gaps: Vec<Gap> = (1..40).map(|number| Gap { days: 7.0, km: 40.0 * f64::from(number) }).collect();
        for kappa in [0.5, 1.0, 3.0, 20.0] {
            let gone_through = Usage::from_gaps(&cohort, &gaps, Some(120.0), kappa);
            let widened = Usage::from_gaps(&cohort, &gaps, Some(120.0), 1.0).widened(&cohort, kappa);
            assert!((widened.shape / gone_through.shape - 1.0).abs() < 1e-12, "{widened:?}");
            assert!((widened.scale / gone_through.scale - 1.0).abs() < 1e-12, "{widened:?}");
        }
    }
}
