//! A traction battery's capacity against the floor of its cover.

use crate::world::{World, at, day, instant, km};
use chrono::NaiveDate;
use engine::{CoverStep, Step};
use model::horizon::{CapacityForecast, CapacityOutlook, ItemKey, ItemKind};
use model::{Grade, Place};
use quantity::{Entered, Unit};

/// Noon every thirty days from 1 January 2024 to 19 June 2026, 100 km a day: 90,000 km.
fn driven() -> World {
    World::new().steady("2024-01-01", "2026-07-01", 30, km(100.0))
}

const MEASURED_ON: [&str; 5] = ["2024-07-01", "2025-01-01", "2025-07-01", "2026-01-01", "2026-07-01"];

trait Measured: Sized {
    /// Capacities read at nine in the morning, half a year apart.
    fn capacities(self, percent: &[f64]) -> Self;
    /// Eight years or 160,000 km, with this floor.
    fn covered_below(self, floor_percent: f64) -> Self;
    fn capacity(&self) -> CapacityOutlook;
    fn test_item(&self) -> Option<model::horizon::DueItem>;
}

impl Measured for World {
    fn capacities(self, percent: &[f64]) -> Self {
        percent.iter().zip(MEASURED_ON).fold(self, |world, (percent, on)| {
            let entered = Entered::new(*percent, Unit::Percent);
            world.measured(&format!("{on} 09:00"), "traction-capacity", Place::Vehicle, entered)
        })
    }

    fn covered_below(self, floor_percent: f64) -> Self {
        self.window(Some(96), Some(km(160_000.0)))
            .terms(|terms| terms.capacity_floor_percent = Some(floor_percent))
    }

    fn capacity(&self) -> CapacityOutlook {
        self.first_window().capacity.expect("the window has a floor")
    }

    fn test_item(&self) -> Option<model::horizon::DueItem> {
        self.item(&format!("capacity:{}", self.facts.windows[0].id))
    }
}

/// Loses much: 14 % after two and a half years.
const FAST: [f64; 5] = [96.0, 93.0, 91.0, 88.0, 86.0];

#[test]
fn without_a_floor_nothing_is_said() {
    let world = driven().capacities(&FAST).window(Some(96), None);
    assert_eq!(world.first_window().capacity, None);
}

#[test]
fn the_last_value_stands_against_the_floor_before_there_are_five() {
    let world = driven().capacities(&FAST[..4]).covered_below(70.0);
    let CapacityOutlook { floor_percent, last, forecast } = world.capacity();
    let last = last.expect("measured");
    assert_eq!((floor_percent, forecast), (70.0, None));
    assert_eq!((last.capacity.value, last.grade), (88.0, Grade::Good));
    assert!(
        last.advice.iter().any(|sentence| sentence.contains("Only the maker's own capacity test counts"))
    );
    assert_eq!(world.test_item(), None);
    assert_eq!(driven().covered_below(70.0).capacity().last, None);
}

fn days(forecast: &CapacityForecast) -> [Option<NaiveDate>; 3] {
    [forecast.below_floor.early, forecast.below_floor.likely, forecast.below_floor.late]
}

/// Least squares by numpy 2.4.6, the days by a walk through every day with `scipy.stats.t.sf` (scipy 1.17.1), the mean day of
/// 99.435561 km by the formulas of the posterior (computed).
#[test]
fn from_five_readings_on_the_days_are_those_of_numpy_and_scipy() {
    let forecast = driven().capacities(&FAST).covered_below(70.0).capacity().forecast.expect("five");
    assert_eq!(forecast.readings, 5);
    assert!((forecast.percent_per_root_year - 3.167_662_12).abs() < 1e-6, "{forecast:?}");
    assert!((forecast.percent_per_1000_km - 0.099_458_869_6).abs() < 1e-7, "{forecast:?}");
    let expected = ["2029-09-12", "2030-02-14", "2030-08-27"].map(|on| Some(day(on)));
    assert_eq!(days(&forecast), expected);
    // A reading below 70 % by the time 160,000 km end it, in 2028, is next to impossible: 0.00109.
    assert!((forecast.probability.expect("it ends") - 0.001_089_462).abs() < 1e-6, "{forecast:?}");
}

/// As above with a floor of 78 %; the nine ends by `betaprime.ppf` and `brentq` of `betaprime.sf` with a width of 1.5
/// (computed): 160,000 km between 9 February and 27 September 2028.
#[test]
fn the_probability_under_cover_is_the_mean_over_its_ends() {
    let forecast = driven().capacities(&FAST).covered_below(78.0).capacity().forecast.expect("five");
    assert_eq!(days(&forecast), ["2028-01-08", "2028-04-07", "2028-07-25"].map(|on| Some(day(on))));
    assert!((forecast.probability.expect("it ends") - 0.745_316_509).abs() < 1e-6, "{forecast:?}");
}

#[test]
fn a_day_beyond_ten_years_is_not_told() {
    // The same by numpy and scipy: 14 January 2033, 28 August 2034, and none by 2036 (computed).
    let slow = driven().capacities(&[96.0, 94.0, 92.0, 91.0, 89.0]).covered_below(70.0);
    let forecast = slow.capacity().forecast.expect("five");
    assert_eq!(days(&forecast), [Some(day("2033-01-14")), Some(day("2034-08-28")), None]);
    assert_eq!(slow.test_item(), None, "it is far from likely");
}

#[test]
fn the_makers_test_is_asked_for_where_the_floor_is_likely_to_be_met_under_cover() {
    let world = driven().capacities(&FAST).covered_below(78.0);
    let item = world.test_item().expect("three in four");
    assert_eq!((item.kind, item.grade), (ItemKind::CapacityTest, None));
    // The closing check, thirty days before the early end, comes before the likely day of 7 April 2028.
    let early = world.first_window().ends.early.expect("an end");
    let closing = early - chrono::Days::new(30);
    let due = closing.min(day("2028-04-07"));
    assert_eq!(instant(item.timeline.due), at(&format!("{due} 00:00")));
    assert!(item.caution.is_some_and(|caution| caution.contains("High voltage kills")));
    assert_eq!(driven().capacities(&FAST).covered_below(70.0).test_item(), None);
}

#[test]
fn a_reading_below_the_floor_asks_for_the_test_at_once() {
    let world = driven().capacities(&[96.0, 77.9]).covered_below(78.0);
    let item = world.test_item().expect("it is below");
    assert_eq!((item.grade, instant(item.timeline.due)), (Some(Grade::Attend), at("2025-01-01 09:00")));
    assert_eq!(driven().capacities(&[96.0, 78.0]).covered_below(78.0).test_item(), None);
    let tested = world.clone().inspection("capacity-test", "2025-01-20 09:00");
    assert_eq!(tested.test_item(), None);
    let before = world.inspection("capacity-test", "2024-12-20 09:00");
    assert!(before.test_item().is_some(), "it was made before the reading fell below the floor");
}

#[test]
fn cover_that_has_ended_asks_for_no_test() {
    let run_out = World::new()
        .steady("2024-01-01", "2026-07-01", 30, km(200.0))
        .capacities(&[96.0, 77.9])
        .covered_below(78.0);
    assert!(run_out.reading("2026-07-02 12:00", 182_000.0).test_item().is_none());
}

#[test]
fn a_battery_that_was_replaced_is_as_old_as_its_fitting() {
    let mut world = driven().capacities(&FAST).covered_below(70.0).fitted(
        "traction-battery",
        Place::Vehicle,
        "2025-08-01",
    );
    world.facts.fittings[0].from_odometer = quantity::Distance::from_km(57_800);
    let capacity = world.capacity();
    assert_eq!(capacity.last.expect("two are left").capacity, Entered::new(86.0, Unit::Percent));
    assert_eq!(capacity.forecast, None, "two readings of this battery tell no law");
    world.facts.fittings[0].from = day("2026-08-01");
    assert_eq!(world.capacity().last, None, "none of them is of this battery");
}

#[test]
fn of_a_battery_of_unknown_age_only_the_last_value_is_told() {
    let mut world = driven().capacities(&FAST).covered_below(70.0);
    world.facts.vehicle.in_service_on = None;
    let capacity = world.capacity();
    assert!(capacity.last.is_some() && capacity.forecast.is_none());
}

#[test]
fn the_steps_can_be_followed() {
    let world = driven().capacities(&FAST).covered_below(78.0);
    let key = ItemKey(format!("capacity:{}", world.facts.windows[0].id));
    let explanation = engine::explain(&world.facts, &world.policy, &key).expect("reasons");
    let quantiles: Vec<(f64, f64, f64)> = explanation
        .steps
        .iter()
        .filter_map(|step| match step {
            Step::Cover(CoverStep::BelowFloor { quantile, age_and_km, loss_and_spread, .. }) => {
                let ((years, km), (loss, _)) = (age_and_km.as_ref()?, loss_and_spread.as_ref()?);
                let by_hand = 3.167_662_12 * years.sqrt() + 9.945_886_96e-5 * km;
                Some((*quantile, *loss, by_hand))
            }
            _ => None,
        })
        .collect();
    assert_eq!(quantiles.len(), 3);
    assert!(quantiles.iter().all(|(_, told, by_hand)| (told - by_hand).abs() < 1e-4), "{quantiles:?}");
    let said = world.because(&key.0);
    let ends = |words: &str| said.iter().any(|sentence| sentence.contains(words));
    assert!(ends("Last measured on 1 Jul 2026: 86 %, good."), "{said:#?}");
    assert!(ends("3.17 % x the root of the years since 1 Jan 2024 + 0.0995 % over 1,000 km"), "{said:#?}");
    assert!(ends("a reading is below the floor with probability 74.5 %"), "{said:#?}");
    let line = engine::words::window(&world.first_window(), Unit::Kilometre);
    assert!(line.contains("capacity 86 % on the last reading, floor 78 % (75 % likely below it"), "{line}");
}
