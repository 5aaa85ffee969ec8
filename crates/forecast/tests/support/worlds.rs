//! Invented fleets whose use is known, for measuring how often a forecast holds.

use crate::dice::Dice;
use forecast::{Cohort, EARLY, Gap, HALF_LIFE_DAYS, History, Kappa, Kin, LATE, MeasuredKappa, Usage};

/// Operating days ahead that are measured.
pub const HORIZONS: [f64; 3] = [14.0, 70.0, 200.0];

/// How the use of a vehicle changes over time.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum World {
    /// Never.
    Constant,
    /// Never, and readings are forecast from without fading, as suits such vehicles.
    ConstantUnfaded,
    /// By thirty per cent up and down in the course of a year, all vehicles alike.
    Seasons,
    /// Slowly and for good, each vehicle at its own pace: a tenth in a year is usual.
    SlowDrift,
    /// As before, but a fifth in a year is usual.
    FastDrift,
    /// With the seasons, on five days of seven only: a year then passes in 261 operating days.
    SeasonsInFiveDays,
    /// Never, but on five days of seven only, while all seven count as operating days.
    FiveDayWeeks,
    /// Once, by half more or a third less, 180 to 500 operating days ago.
    OldSwitch,
    /// Once, by half more or a third less, in the last 180 operating days.
    YoungSwitch,
}

/// Operating days of history, about two years.
const DAYS_BEHIND: f64 = 700.0;
/// Delivery cars, about 90 km a day, rather irregular.
pub const TRUTH: Cohort = Cohort { a: 0.8, p: 5.5, q: 500.0 };
/// Kilometres of a mean day under `TRUTH`.
pub const MEAN_DAY: f64 = 89.0;

/// A vehicle whose true use nobody knows, with its readings so far.
struct Driven {
    world: World,
    rate: f64,
    /// Of the year, in days, at the end of the history.
    season: f64,
    /// Growth of the daily distance in a year, as a logarithm.
    drift: f64,
    /// Day of the switch before today (negative), and what it multiplied the distance by.
    switched: (f64, f64),
    history: History,
}

impl Driven {
    fn new(world: World, season: f64, dice: &mut Dice) -> Self {
        let rate = dice.gamma(TRUTH.p) / TRUTH.q;
        let usual = if world == World::FastDrift { 0.2 } else { 0.1 };
        let drift = usual * dice.normal();
        let day =
            if world == World::OldSwitch { dice.between(-500.0, -180.0) } else { dice.between(-180.0, 0.0) };
        let factor = if dice.unit() < 0.5 { 1.5 } else { 1.0 / 1.5 };
        let history = History::default();
        let mut vehicle = Self { world, rate, season, drift, switched: (day, factor), history };
        let mut today = -DAYS_BEHIND;
        while today < 0.0 {
            let days = dice.between(1.0, 12.0).min(-today);
            let km = vehicle.drives(today, days, dice);
            vehicle.history.gaps.push(Gap { days, km });
            today += days;
        }
        vehicle
    }

    /// Kilometres from the day `begin` (0 is today) to `days` later, drawn afresh week by week.
    fn drives(&self, begin: f64, days: f64, dice: &mut Dice) -> f64 {
        let mut done = 0.0;
        let mut km = 0.0;
        while done < days {
            let step = (days - done).min(7.0);
            let (start, end) = (begin + done, begin + done + step);
            let driven =
                if self.world == World::FiveDayWeeks { weekdays(end) - weekdays(start) } else { step };
            if driven > 0.0 {
                km += dice.gamma(TRUTH.a * driven) / self.rate * self.change(0.5 * (start + end));
            }
            done += step;
        }
        km
    }

    /// What the daily distance is multiplied by on an operating day.
    fn change(&self, day: f64) -> f64 {
        let year = 2.0 * core::f64::consts::PI;
        match self.world {
            World::Seasons => 1.0 + 0.3 * libm::sin(year * (day + self.season) / 365.0),
            // On five days of seven a year has 261 operating days.
            World::SeasonsInFiveDays => 1.0 + 0.3 * libm::sin(year * (day * 1.4 + self.season) / 365.0),
            World::SlowDrift | World::FastDrift => libm::exp(self.drift * day / 365.0),
            World::OldSwitch | World::YoungSwitch if day >= self.switched.0 => self.switched.1,
            // As much in five days as others drive in seven.
            World::FiveDayWeeks => 1.4,
            World::Constant | World::ConstantUnfaded | World::OldSwitch | World::YoungSwitch => 1.0,
        }
    }
}

/// Weekdays from day 0 to `day`: five of every seven, then two of rest.
fn weekdays(day: f64) -> f64 {
    let week = (day / 7.0).floor();
    5.0 * week + (day - 7.0 * week).min(5.0)
}

/// Outcomes that fell within their bands, and all.
#[derive(Clone, Copy, Debug, Default)]
pub struct Tally {
    within: u32,
    all: u32,
}

impl Tally {
    fn count(&mut self, is_within: bool) {
        self.within += u32::from(is_within);
        self.all += 1;
    }

    pub fn percent(self) -> f64 {
        100.0 * f64::from(self.within) / f64::from(self.all)
    }
}

/// Shares within the band, one for each horizon asked, and the widths found.
pub struct Measured<const N: usize> {
    pub distances: [Tally; N],
    pub dates: [Tally; N],
    pub widths: Vec<MeasuredKappa>,
}

/// So many cohorts of so many vehicles each.
#[derive(Clone, Copy, Debug)]
pub struct Fleet {
    pub cohorts: u32,
    pub vehicles: usize,
}

/// Many cohorts, spread over the seasons, all forecast from their own histories alone, or from what `told` makes of them.
pub fn measure<const N: usize>(
    world: World,
    fleet: Fleet,
    horizons: [f64; N],
    seed: u64,
    mut told: impl FnMut(&History, &mut Dice) -> History,
) -> Measured<N> {
    let Fleet { cohorts, vehicles } = fleet;
    let half_life = (world != World::ConstantUnfaded).then_some(HALF_LIFE_DAYS);
    let mut dice = Dice::new(seed);
    let mut measured =
        Measured { distances: [Tally::default(); N], dates: [Tally::default(); N], widths: vec![] };
    for number in 0..cohorts {
        let season = 365.0 * f64::from(number) / f64::from(cohorts);
        let fleet: Vec<Driven> = (0..vehicles).map(|_| Driven::new(world, season, &mut dice)).collect();
        let histories: Vec<History> = fleet.iter().map(|vehicle| told(&vehicle.history, &mut dice)).collect();
        let prior = Kin { cohort: &histories, parent: &[], fleet: &[] }.fit().cohort;
        let width = Kappa::fit(&prior, &histories, half_life);
        measured.widths.push(width);
        for (vehicle, history) in fleet.iter().zip(&histories) {
            let known = Usage::from_gaps(&prior, &history.gaps, half_life, 1.0);
            for (place, days) in horizons.into_iter().enumerate() {
                let usage = known.widened(&prior, width.kappa.at(days));
                measured.distances[place].count(is_distance_within(vehicle, &usage, days, &mut dice));
                let km = days * MEAN_DAY;
                let likely = known.days_band(km, f64::MAX).likely.expect("no horizon");
                let usage = known.widened(&prior, width.kappa.at(likely));
                measured.dates[place].count(is_date_within(vehicle, &usage, km, &mut dice));
            }
        }
    }
    measured
}

fn is_distance_within(vehicle: &Driven, usage: &Usage, days: f64, dice: &mut Dice) -> bool {
    let driven = vehicle.drives(0.0, days, dice);
    (usage.distance_after(days, EARLY)..=usage.distance_after(days, LATE)).contains(&driven)
}

/// The distance at the early date and that at the late one decide it without following every day.
fn is_date_within(vehicle: &Driven, usage: &Usage, km: f64, dice: &mut Dice) -> bool {
    let band = usage.days_band(km, 20_000.0);
    let (Some(early), late) = (band.early, band.late.unwrap_or(20_000.0)) else { return false };
    let at_early = vehicle.drives(0.0, early, dice);
    at_early < km && at_early + vehicle.drives(early, late - early, dice) >= km
}

/// Heads the table of [`row`]s.
pub const HEADING: &str = "\
| use | cohorts | width at 30, 90, 180 days (median) | distance 14 days ahead | 70 | 200 | date 14 | 70 | 200 |
| --- | --- | --- | --- | --- | --- | --- | --- | --- |";

/// One line of a table of calibration.
pub fn row(world: World, fleet: Fleet, measured: &Measured<3>) -> String {
    let median = |width: fn(&Kappa) -> f64| {
        let mut all: Vec<f64> = measured.widths.iter().map(|found| width(&found.kappa)).collect();
        all.sort_by(f64::total_cmp);
        all[all.len() / 2]
    };
    let widths = [median(|kappa| kappa.at_30), median(|kappa| kappa.at_90), median(|kappa| kappa.at_180)];
    let written = |tallies: [Tally; 3]| tallies.map(|tally| format!("{:.1}", tally.percent())).join(" | ");
    format!(
        "| {world:?} | {} of {} | {} | {} | {} |",
        fleet.cohorts,
        fleet.vehicles,
        widths.map(|width| format!("{width:.2}")).join(", "),
        written(measured.distances),
        written(measured.dates)
    )
}
