//! Fitting a cohort: what many vehicles' histories say about the next one like them.

use crate::usage::{Cohort, Gap};
use serde::{Deserialize, Serialize};

/// A vehicle tells the spread between vehicles only when followed for this many operating days.
pub const LEAST_DAYS: f64 = 30.0;
/// Fewer vehicles than this do not make a cohort.
pub const LEAST_VEHICLES: usize = 8;

/// Gaps below which a vehicle says nothing about regularity.
const LEAST_GAPS: usize = 3;
/// The regularities a fit may give, per operating day.
const LEAST_REGULARITY: f64 = 0.02;
const MOST_REGULARITY: f64 = 20.0;
/// Below this the variance of the mean distance would be infinite.
const LEAST_SHAPE: f64 = 2.05;
/// Vehicles are never taken to be more alike than this share of the mean.
const LEAST_SPREAD: f64 = 0.1;

/// What one vehicle has done, gap by gap.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct History {
    /// Oldest first; gaps without time between their readings are skipped.
    pub gaps: Vec<Gap>,
}

impl History {
    fn gaps(&self) -> impl Iterator<Item = &Gap> {
        self.gaps.iter().filter(|gap| gap.days > 0.0)
    }

    fn total_days(&self) -> f64 {
        self.gaps().map(|gap| gap.days).sum()
    }

    fn total_km(&self) -> f64 {
        self.gaps().map(|gap| gap.km).sum::<f64>().max(0.0)
    }
}

/// Regularity a of a cohort, per operating day, between 0.02 and 20; `None` when no vehicle has three gaps and has
/// moved, since then every a would do.
///
/// Given its total, the shares of a vehicle's distance that fall to its gaps follow a Dirichlet law with the shapes
/// a dt; their mean squared deviation from the shares of time then is (n - 1) / (a T + 1). The a at which the
/// deviations seen, weighted by time, equal those expected is found by halving; where none does, the nearer bound.
pub fn regularity(histories: &[History]) -> Option<f64> {
    let vehicles: Vec<Unevenness> = histories.iter().filter_map(Unevenness::of).collect();
    if vehicles.is_empty() {
        return None;
    }
    // Increasing in a: a more regular process is expected to deviate less.
    let excess = |a: f64| vehicles.iter().map(|vehicle| vehicle.excess(a)).sum::<f64>();
    if excess(LEAST_REGULARITY) >= 0.0 {
        return Some(LEAST_REGULARITY);
    }
    if excess(MOST_REGULARITY) <= 0.0 {
        return Some(MOST_REGULARITY);
    }
    let (mut low, mut high) = (LEAST_REGULARITY, MOST_REGULARITY);
    // Sixty halvings of a range of 20 reach the last digit of a double.
    for _ in 0..60 {
        let middle = 0.5 * (low + high);
        if excess(middle) < 0.0 { low = middle } else { high = middle }
    }
    Some(0.5 * (low + high))
}

/// How unevenly one vehicle's distance is spread over its time.
struct Unevenness {
    total_days: f64,
    gaps_less_one: f64,
    /// `sum_j (f_j - w_j)^2 / w_j` with the shares f of distance and w of time.
    deviation: f64,
}

impl Unevenness {
    fn of(history: &History) -> Option<Self> {
        let (total_days, total_km) = (history.total_days(), history.total_km());
        let count = history.gaps().count();
        if count < LEAST_GAPS || total_km <= 0.0 {
            return None;
        }
        let deviation = history.gaps().map(|gap| {
            let share_of_time = gap.days / total_days;
            let difference = gap.km / total_km - share_of_time;
            difference * difference / share_of_time
        });
        Some(Self { total_days, gaps_less_one: count_of(count - 1), deviation: deviation.sum() })
    }

    /// Deviation seen less deviation expected under the regularity `a`, weighted by time.
    fn excess(&self, a: f64) -> f64 {
        self.total_days * (self.deviation - self.gaps_less_one / (a * self.total_days + 1.0))
    }
}

/// The cohort of regularity `a` whose vehicles differ as these do; `None` when fewer than eight of them were followed
/// for thirty operating days, or none of those moved.
///
/// The spread of the vehicles' own daily means is too wide by what chance within each adds; that share, m^2 c with c
/// the mean of 1 / (a T), is taken out before the spread becomes the shape (method of moments).
pub fn fit(histories: &[History], a: f64) -> Option<Cohort> {
    let followed: Vec<&History> =
        histories.iter().filter(|history| history.total_days() >= LEAST_DAYS).collect();
    if followed.len() < LEAST_VEHICLES {
        return None;
    }
    let count = count_of(followed.len());
    let daily_km = |history: &History| history.total_km() / history.total_days();
    let mean = followed.iter().map(|history| daily_km(history)).sum::<f64>() / count;
    if mean <= 0.0 {
        return None;
    }
    let squares = followed.iter().map(|history| (daily_km(history) - mean) * (daily_km(history) - mean));
    let spread_seen = squares.sum::<f64>() / (count - 1.0);
    let chance = followed.iter().map(|history| 1.0 / (a * history.total_days())).sum::<f64>() / count;
    let least = (LEAST_SPREAD * mean) * (LEAST_SPREAD * mean);
    let spread = ((spread_seen - mean * mean * chance) / (1.0 + chance)).max(least);
    let p = (2.0 + mean * mean / spread).max(LEAST_SHAPE);
    Some(Cohort { a, p, q: mean * (p - 1.0) / a })
}

/// Histories of ever wider groups around one vehicle, each holding the one before.
#[derive(Clone, Copy, Debug)]
pub struct Kin<'a> {
    /// Same depot, model and duty.
    pub cohort: &'a [History],
    /// Same duty.
    pub parent: &'a [History],
    /// All of the fleet.
    pub fleet: &'a [History],
}

/// The group that a fit was taken from.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Level {
    /// Same depot, model and duty.
    Cohort,
    /// Same duty.
    Parent,
    /// All of the fleet.
    Fleet,
    /// The shipped default; no group was large enough.
    Shipped,
}

/// A cohort's parameters and where they come from.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Fitted {
    /// The parameters.
    pub cohort: Cohort,
    /// The group they were fitted to.
    pub level: Level,
}

impl Kin<'_> {
    /// The narrowest group that is large enough to fit, down to the shipped default.
    ///
    /// A group that can tell its spread but not its regularity takes that from the next wider one that can.
    pub fn fit(&self) -> Fitted {
        let groups = [(Level::Cohort, self.cohort), (Level::Parent, self.parent), (Level::Fleet, self.fleet)];
        for (place, (level, histories)) in groups.iter().enumerate() {
            let a = groups[place..].iter().find_map(|(_, wider)| regularity(wider));
            if let Some(cohort) = fit(histories, a.unwrap_or(Cohort::SHIPPED.a)) {
                return Fitted { cohort, level: *level };
            }
        }
        Fitted { cohort: Cohort::SHIPPED, level: Level::Shipped }
    }
}

/// A count as a number; a fleet has far fewer vehicles, and a vehicle far fewer readings, than a double can count.
pub(crate) fn count_of(count: usize) -> f64 {
    f64::from(u32::try_from(count).unwrap_or(u32::MAX))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn steady(daily_km: f64, gaps: usize) -> History {
        History { gaps: vec![Gap { days: 10.0, km: 10.0 * daily_km }; gaps] }
    }

    fn uneven(daily_km: f64) -> History {
        let days_of_driving = [0.4, 1.9, 0.7, 1.3, 0.6, 1.1];
        History { gaps: days_of_driving.map(|part| Gap { days: 10.0, km: 10.0 * daily_km * part }).to_vec() }
    }

    #[test]
    fn a_group_of_eight_is_fitted_by_itself() {
        let eight: Vec<History> = (0..8).map(|number| uneven(60.0 + 5.0 * f64::from(number))).collect();
        let fitted = Kin { cohort: &eight, parent: &[], fleet: &[] }.fit();
        assert_eq!(fitted.level, Level::Cohort);
    }

    #[test]
    fn seven_vehicles_take_the_parents_fit() {
        let eight: Vec<History> = (0..8).map(|number| uneven(60.0 + 5.0 * f64::from(number))).collect();
        let fitted = Kin { cohort: &eight[..7], parent: &eight, fleet: &eight }.fit();
        assert_eq!(
            fitted,
            Fitted { level: Level::Parent, ..Kin { cohort: &eight, parent: &[], fleet: &[] }.fit() }
        );
    }

    #[test]
    fn a_fleet_is_asked_after_the_parent_and_the_default_last() {
        let eight: Vec<History> = (0..8).map(|number| uneven(60.0 + 5.0 * f64::from(number))).collect();
        let fleet = Kin { cohort: &[], parent: &eight[1..], fleet: &eight }.fit();
        let nobody = Kin { cohort: &[], parent: &[], fleet: &eight[1..] }.fit();
        assert_eq!(fleet.level, Level::Fleet);
        assert_eq!(nobody, Fitted { cohort: Cohort::SHIPPED, level: Level::Shipped });
    }

    #[test]
    fn vehicles_with_two_gaps_borrow_their_regularity() {
        let cohort: Vec<History> = (0..8).map(|number| steady(60.0 + 5.0 * f64::from(number), 3)).collect();
        let short: Vec<History> = cohort
            .iter()
            .map(|history| History { gaps: vec![Gap { days: 15.0, ..history.gaps[0] }; 2] })
            .collect();
        let wider = [uneven(80.0)];
        let fitted = Kin { cohort: &short, parent: &wider, fleet: &[] }.fit();
        assert_eq!(Some(fitted.cohort.a), regularity(&wider));
        assert_eq!(fitted.level, Level::Cohort);
    }

    #[test]
    fn vehicles_that_never_moved_make_no_cohort() {
        let parked = vec![steady(0.0, 5); 9];
        assert_eq!(regularity(&parked), None);
        assert_eq!(fit(&parked, 1.0), None);
    }

    #[test]
    fn thirty_days_count_and_a_day_less_does_not() {
        let enough = vec![steady(70.0, 3); 8];
        let mut one_short = enough.clone();
        one_short[4].gaps[1].days = 9.0;
        assert!(fit(&enough, 1.0).is_some());
        assert_eq!(fit(&one_short, 1.0), None);
    }

    #[test]
    fn a_gap_without_time_changes_nothing() {
        let plain = vec![uneven(70.0); 8];
        let mut doubled = plain.clone();
        for history in &mut doubled {
            history.gaps.insert(2, Gap { days: 0.0, km: 3.0 });
        }
        assert_eq!(regularity(&doubled), regularity(&plain));
        assert_eq!(fit(&doubled, 1.0), fit(&plain, 1.0));
    }
}
