//! Rules of a season.

use crate::world::{World, at, day, every_months, instant, km};
use model::BaselineChoice;
use model::horizon::Stage;
use rstest::rstest;

/// Winter tyres from 1 October to 15 November, lead 10 days; the vehicle new on 1 January 2024.
fn winter_tyres() -> World {
    World::new().season("winter-tyres", "10-01", "11-15").lead(Some(10), None)
}

#[test]
fn a_season_may_be_done_from_its_first_day_and_must_be_by_its_last() {
    let item = winter_tyres().grace(Some(3), None).due("winter-tyres");
    assert_eq!((item.cycle.0.as_str(), item.date_limit), ("season:2024", Some(day("2024-11-15"))));
    let stage = |when: &str| item.timeline.stage_at(at(when)).0;
    assert_eq!(stage("2024-09-30 23:59"), Stage::Clear);
    assert_eq!(stage("2024-10-01 00:00"), Stage::Approaching);
    assert_eq!(stage("2024-11-15 00:00"), Stage::Due);
    assert_eq!(stage("2024-11-18 23:59"), Stage::Due);
    assert_eq!(stage("2024-11-19 00:00"), Stage::Overdue);
}

#[test]
fn a_lead_longer_than_the_window_announces_it_sooner() {
    let item = winter_tyres().lead(Some(60), None).due("winter-tyres");
    assert_eq!(instant(item.timeline.approaching), at("2024-09-16 00:00"));
}

#[rstest]
#[case::within_the_lead("2024-09-21", 2025)]
#[case::a_day_before_the_lead("2024-09-20", 2024)]
#[case::in_the_window("2024-10-20", 2025)]
#[case::late("2025-02-01", 2025)]
#[case::late_to_the_last_day_before_the_next_lead("2025-09-20", 2025)]
#[case::the_next_ones_lead("2025-09-21", 2026)]
fn work_counts_for_the_season_that_is_open_or_was_missed(#[case] done: &str, #[case] open: i32) {
    let world = winter_tyres().service(done, km(9000.0), &["winter-tyres"]);
    assert_eq!(world.due("winter-tyres").cycle.0, format!("season:{open}"));
}

#[rstest]
#[case::before_the_window("2024-06-01", 2024)]
#[case::in_the_window("2024-11-01", 2024)]
#[case::on_its_last_day("2024-11-15", 2024)]
#[case::the_day_after("2024-11-16", 2025)]
fn a_newcomers_first_season_is_the_first_that_has_not_closed(#[case] came: &str, #[case] open: i32) {
    let world = World::new().new_on(came).season("winter-tyres", "10-01", "11-15");
    assert_eq!(world.due("winter-tyres").cycle.0, format!("season:{open}"));
}

#[rstest]
#[case("2024-01-10", 2023, "2024-01-31")]
#[case("2024-02-01", 2024, "2025-01-31")]
#[case("2024-12-31", 2024, "2025-01-31")]
fn a_window_may_run_over_the_new_year(#[case] came: &str, #[case] year: i32, #[case] last: &str) {
    let item = World::new().new_on(came).season("antifreeze", "11-15", "01-31").due("antifreeze");
    assert_eq!((item.cycle.0, item.date_limit), (format!("season:{year}"), Some(day(last))));
}

#[test]
fn a_newcomer_inside_the_window_is_told_from_the_day_it_came() {
    let item = World::new().new_on("2024-11-01").season("winter-tyres", "10-01", "11-15").due("winter-tyres");
    assert_eq!(instant(item.timeline.approaching), at("2024-11-01 00:00"));
}

#[test]
fn the_29th_of_february_is_the_28th_in_other_years() {
    let world = World::new().season("spring-check", "02-29", "03-31");
    let later = world.service("2024-03-01", km(900.0), &["spring-check"]).lead(Some(0), None);
    assert_eq!(instant(later.due("spring-check").timeline.approaching), at("2025-02-28 00:00"));
}

#[test]
fn a_season_needs_no_history() {
    let world = World::new().used_since("2024-02-01").season("winter-tyres", "10-01", "11-15");
    assert!(world.item("baseline").is_none());
    assert_eq!(world.due("winter-tyres").cycle.0, "season:2024");
    let proven = BaselineChoice::Proven { done_on: day("2024-10-05"), odometer: km(90_000.0) };
    assert_eq!(world.answer("winter-tyres", proven).due("winter-tyres").cycle.0, "season:2025");
}

#[test]
fn an_exception_takes_the_place_of_a_season() {
    let own = winter_tyres().exception("winter-tyres", Some(every_months(6)));
    assert_eq!(own.due("winter-tyres").date_limit, Some(day("2024-07-01")));
    assert_eq!(winter_tyres().exception("winter-tyres", None).item("rule:winter-tyres"), None);
}

#[test]
fn a_season_is_explained_with_the_one_that_the_work_counted_for() {
    let said =
        winter_tyres().service("2025-02-01", km(9000.0), &["winter-tyres"]).because("rule:winter-tyres");
    assert_eq!(said[0], "Last done on 1 Feb 2025 at 9,000 km, by service record.");
    let season = "Rule winter-tyres, rulebook version 3: once a year from 10-01 to 11-15 (month and day). That counts for \
                  the season of 1 Oct 2024 (work counts from 10 days before a season opens), so the next is open: 1 Oct \
                  2025 to 15 Nov 2025; it may be done from the first of these days and is due on the last.";
    assert_eq!(said[1], season);
    assert_eq!(said[2], "Lead 10 days; grace none.");
    assert_eq!(said[3], "It is approaching from 1 Oct 2025 (by date), overdue from 16 Nov 2025 (by date).");
}

#[test]
fn a_rule_that_is_new_in_its_book_asks_for_no_season_of_the_past() {
    let winter = |since: &str| {
        let mut world = winter_tyres();
        world.facts.rules[0].since = at(since);
        world.due("winter-tyres")
    };
    assert_eq!(winter("2023-06-01 09:00").date_limit, Some(day("2024-11-15")));
    assert_eq!(winter("2026-03-01 09:00").date_limit, Some(day("2026-11-15")));
    assert_eq!(winter("2026-10-20 09:00").date_limit, Some(day("2026-11-15")));
    assert_eq!(winter("2026-11-16 09:00").date_limit, Some(day("2027-11-15")));
}
