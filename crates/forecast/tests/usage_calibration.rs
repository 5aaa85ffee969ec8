//! Does the band from early to late hold four cases in five? Measured on vehicles drawn from the model itself.

#[path = "support/dice.rs"]
mod dice;

use dice::Dice;
use forecast::{Cohort, EARLY, Gap, History, Kin, LATE, LIKELY, Usage};

/// A vehicle whose true rate nobody knows, with its readings so far.
struct Driven {
    rate: f64,
    history: History,
}

impl Driven {
    /// One to thirty readings, one to fourteen operating days apart.
    fn new(truth: &Cohort, dice: &mut Dice) -> Self {
        let rate = dice.gamma(truth.p) / truth.q;
        let mut gaps = vec![];
        for _ in 0..30 {
            let days = dice.between(1.0, 14.0);
            gaps.push(Gap { days, km: dice.gamma(truth.a * days) / rate });
            if dice.unit() < 0.08 {
                break;
            }
        }
        Self { rate, history: History { gaps } }
    }

    /// Kilometres of the next `days`, drawn afresh.
    fn drives(&self, truth: &Cohort, days: f64, dice: &mut Dice) -> f64 {
        dice.gamma(truth.a * days) / self.rate
    }
}

/// How many outcomes fell below, into and above the band.
#[derive(Default)]
struct Tally {
    below: u32,
    within: u32,
    above: u32,
}

impl Tally {
    fn count(&mut self, is_below: bool, is_above: bool) {
        match (is_below, is_above) {
            (true, _) => self.below += 1,
            (false, true) => self.above += 1,
            (false, false) => self.within += 1,
        }
    }

    fn percent(&self) -> [f64; 3] {
        let all = f64::from(self.below + self.within + self.above);
        [self.below, self.within, self.above].map(|part| 100.0 * f64::from(part) / all)
    }

    fn assert_honest(&self, what: &str) {
        let [below, within, above] = self.percent();
        println!("{what}: {within:.1} % within, {below:.1} % below, {above:.1} % above");
        assert!((within - 80.0).abs() <= 3.0, "{what}: {within} % within");
    }
}

/// Vehicles of one cohort, forecast with a prior fitted to their own histories.
struct Trial {
    truth: Cohort,
    vehicles: Vec<Driven>,
    dice: Dice,
}

impl Trial {
    fn new(truth: Cohort, vehicles: usize, seed: u64) -> Self {
        let mut dice = Dice::new(seed);
        let vehicles = (0..vehicles).map(|_| Driven::new(&truth, &mut dice)).collect();
        Self { truth, vehicles, dice }
    }

    fn fitted(&self) -> Cohort {
        let histories: Vec<History> = self.vehicles.iter().map(|vehicle| vehicle.history.clone()).collect();
        Kin { cohort: &histories, parent: &[], fleet: &[] }.fit().cohort
    }

    /// Is the distance driven in `days` below, within or above its band?
    fn tally_distances(&mut self, days: f64, tally: &mut Tally) {
        let prior = self.fitted();
        for vehicle in &self.vehicles {
            let usage = Usage::from_gaps(&prior, &vehicle.history.gaps, None, 1.0);
            let driven = vehicle.drives(&self.truth, days, &mut self.dice);
            tally
                .count(driven < usage.distance_after(days, EARLY), driven > usage.distance_after(days, LATE));
        }
    }

    /// Is `km` met before, within or after the band of its date?
    ///
    /// The distance at the early date and that at the late one decide it without following every day.
    fn tally_dates(&mut self, km: f64, tally: &mut Tally) {
        let prior = self.fitted();
        for vehicle in &self.vehicles {
            let usage = Usage::from_gaps(&prior, &vehicle.history.gaps, None, 1.0);
            let [early, late] =
                [EARLY, LATE].map(|quantile| usage.days_until(km, quantile, 1e5).expect("within centuries"));
            let at_early = vehicle.drives(&self.truth, early, &mut self.dice);
            let at_late = at_early + vehicle.drives(&self.truth, late - early, &mut self.dice);
            tally.count(at_early >= km, at_late < km);
        }
    }
}

/// Delivery cars, about 90 km a day, rather irregular.
const TRUTH: Cohort = Cohort { a: 0.8, p: 5.5, q: 500.0 };

#[test]
fn the_band_of_the_distance_holds_four_in_five() {
    for (days, seed) in [(14.0, 11), (70.0, 12), (200.0, 13)] {
        let mut tally = Tally::default();
        Trial::new(TRUTH, 2000, seed).tally_distances(days, &mut tally);
        tally.assert_honest(&format!("distance {days} days ahead, one cohort of 2,000"));
    }
}

#[test]
fn the_band_of_the_date_holds_four_in_five() {
    for (km, seed) in [(14.0 * 89.0, 21), (70.0 * 89.0, 22), (200.0 * 89.0, 23)] {
        let mut tally = Tally::default();
        Trial::new(TRUTH, 2000, seed).tally_dates(km, &mut tally);
        tally.assert_honest(&format!("date at which {km} km are met, one cohort of 2,000"));
    }
}

/// A prior from twenty vehicles is itself uncertain, which the band does not know: about 78 % are to be expected.
#[test]
fn the_bands_hold_in_cohorts_of_twenty_vehicles_too() {
    for (days, seed) in [(14.0, 31_000), (70.0, 32_000), (200.0, 33_000)] {
        let (mut distances, mut dates) = (Tally::default(), Tally::default());
        for cohort in 0..400 {
            Trial::new(TRUTH, 20, seed + cohort).tally_distances(days, &mut distances);
            Trial::new(TRUTH, 20, seed + cohort).tally_dates(89.0 * days, &mut dates);
        }
        distances.assert_honest(&format!("distance {days} days ahead, 400 cohorts of 20"));
        dates.assert_honest(&format!("date at which {} km are met, 400 cohorts of 20", 89.0 * days));
    }
}

#[test]
fn the_cohort_fitted_is_near_the_one_drawn_from() {
    let fitted = Trial::new(TRUTH, 2000, 41).fitted();
    println!("fitted {fitted:?} for {TRUTH:?}");
    let [drawn, found] = [TRUTH, fitted].map(|cohort| Usage::from_gaps(&cohort, &[], None, 1.0));
    assert!((fitted.a / TRUTH.a - 1.0).abs() < 0.05, "{fitted:?}");
    assert!((found.mean_km_per_day() / drawn.mean_km_per_day() - 1.0).abs() < 0.05, "{fitted:?}");
    for quantile in [EARLY, LIKELY, LATE] {
        let ratio = found.distance_after(90.0, quantile) / drawn.distance_after(90.0, quantile);
        assert!((ratio - 1.0).abs() < 0.08, "{ratio} at {quantile}, {fitted:?}");
    }
}
