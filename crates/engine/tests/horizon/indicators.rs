//! The dash's own service indicator.

use crate::world::{World, at, day, every_km_or_months, instant, km};
use model::IndicatorLeft;
use quantity::Distance;
use rstest::rstest;

/// Oil every 10,000 km or 200 days, done on 1 March 2024 at 5,000 km; the dash is looked at.
fn oil() -> World {
    let every = model::Every { months: None, days: Some(200), ..every_km_or_months(10_000.0, 6) };
    World::new()
        .reading("2024-01-01 12:00", 0.0)
        .service("2024-03-01", km(5000.0), &["oil"])
        .reading("2024-05-01 12:00", 9000.0)
        .rule("oil", every)
        .looks_at_dash()
}

fn limits(world: &World) -> (Option<chrono::NaiveDate>, Option<Distance>) {
    let item = world.due("oil");
    (item.date_limit, item.odometer_limit)
}

#[rstest]
#[case::distance_sooner(IndicatorLeft::Distance { distance: km(3000.0) }, "2024-09-17", 12_000)]
#[case::distance_later(IndicatorLeft::Distance { distance: km(8000.0) }, "2024-09-17", 15_000)]
#[case::days_sooner(IndicatorLeft::Days { days: 30 }, "2024-05-31", 15_000)]
#[case::days_later(IndicatorLeft::Days { days: 300 }, "2024-09-17", 15_000)]
// A quarter of 200 days and of 10,000 km.
#[case::percent_of_both(IndicatorLeft::Percent { percent: 25.0 }, "2024-06-20", 11_500)]
#[case::nothing_left(IndicatorLeft::Percent { percent: 0.0 }, "2024-05-01", 9000)]
fn due_is_the_earlier_of_the_rule_and_the_dash(
    #[case] left: IndicatorLeft,
    #[case] date: &str,
    #[case] odometer: i64,
) {
    let world = oil().dash("oil", "2024-05-01 12:00", left);
    assert_eq!(limits(&world), (Some(day(date)), Some(Distance::from_km(odometer))));
}

#[test]
fn a_rule_that_does_not_look_at_the_dash_is_left_alone() {
    let world = oil().dash("oil", "2024-05-01 12:00", IndicatorLeft::Days { days: 3 });
    let blind = world.amend(|rule| rule.indicator = false);
    assert_eq!(limits(&blind).0, Some(day("2024-09-17")));
}

#[test]
fn the_newest_reading_of_the_dash_counts_and_none_from_before_the_work() {
    let days = |days| IndicatorLeft::Days { days };
    let newest = oil().dash("oil", "2024-05-10 12:00", days(40)).dash("oil", "2024-05-01 12:00", days(3));
    assert_eq!(limits(&newest).0, Some(day("2024-06-19")));
    let before = oil().dash("oil", "2024-03-01 08:00", days(3)).dash("wash", "2024-05-01 08:00", days(3));
    assert_eq!(limits(&before).0, Some(day("2024-09-17")));
}

#[test]
fn a_dash_that_says_now_is_due_now() {
    let distance = IndicatorLeft::Distance { distance: km(0.0) };
    let item = oil().dash("oil", "2024-05-01 12:00", distance).due("oil");
    assert_eq!(instant(item.timeline.due), at("2024-05-01 12:00"));
}

#[test]
fn which_of_the_two_governs_is_explained() {
    let said =
        oil().dash("oil", "2024-05-01 12:00", IndicatorLeft::Percent { percent: 50.0 }).because("rule:oil");
    let dash = "The dash's own indicator, read on 1 May 2024 at 9,000 km: 50 % of the interval left, which gives 9 Aug \
                2024, sooner than the rule; 14,000 km, sooner than the rule.";
    assert!(said.contains(&dash.to_owned()), "{said:?}");
    let later = oil().dash("oil", "2024-05-01 12:00", IndicatorLeft::Days { days: 300 }).because("rule:oil");
    let dash = "The dash's own indicator, read on 1 May 2024 at 9,000 km: 300 days left, which gives 25 Feb 2025, no \
                sooner than the rule.";
    assert!(later.contains(&dash.to_owned()), "{later:?}");
}
