//! Rules of a calendar.

use crate::world::{World, at, day, instant, km};
use chrono_tz::Tz;
use model::horizon::{Basis, Stage};
use rstest::rstest;

/// A check at six on the first of each month, lead 5 days, in New York; the vehicle new on 15 January 2024.
fn monthly() -> World {
    World::new()
        .zone(Tz::America__New_York)
        .new_on("2024-01-15")
        .calendar("yard-check", "0 6 1 * *")
        .lead(Some(5), None)
}

#[test]
fn the_first_instant_after_it_came_is_open_on_the_depots_clocks() {
    let item = monthly().grace(Some(2), None).due("yard-check");
    assert_eq!(
        (item.cycle.0.as_str(), item.date_limit),
        ("calendar:2024-02-01T11:00:00Z", Some(day("2024-02-01")))
    );
    let due = item.timeline.due.unwrap();
    assert_eq!((due.at, due.basis), (at("2024-02-01 11:00"), Basis::Date));
    assert_eq!(instant(item.timeline.approaching), at("2024-01-27 05:00"));
    assert_eq!(item.timeline.stage_at(at("2024-02-04 04:59")).0, Stage::Due);
    assert_eq!(item.timeline.stage_at(at("2024-02-04 05:00")).0, Stage::Overdue);
}

#[rstest]
#[case::before_the_lead("2024-01-26", "2024-02-01T11:00:00Z")]
#[case::within_the_lead("2024-01-27", "2024-03-01T11:00:00Z")]
#[case::on_the_day("2024-02-01", "2024-03-01T11:00:00Z")]
#[case::late("2024-02-20", "2024-03-01T11:00:00Z")]
#[case::summer_time("2024-03-10", "2024-04-01T10:00:00Z")]
fn work_counts_for_every_instant_to_the_end_of_its_day_and_the_lead(#[case] done: &str, #[case] open: &str) {
    let world = monthly().service(done, km(900.0), &["yard-check"]);
    assert_eq!(world.due("yard-check").cycle.0, format!("calendar:{open}"));
}

#[test]
fn the_fleets_lead_is_no_more_than_half_of_the_time_to_the_next() {
    let weekly = World::new().calendar("wash", "0 7 * * mon").service("2024-01-02", km(90.0), &["wash"]);
    let item = weekly.due("wash");
    assert_eq!(instant(item.timeline.due), at("2024-01-08 07:00"));
    assert_eq!(instant(item.timeline.approaching), at("2024-01-05 00:00"));
}

#[test]
fn an_hour_that_the_clocks_skip_is_met_after_the_gap() {
    let world = World::new()
        .zone(Tz::America__New_York)
        .new_on("2024-03-09")
        .calendar("night-check", "30 2 * * *")
        .service("2024-03-09", km(9.0), &["night-check"]);
    assert_eq!(instant(world.due("night-check").timeline.due), at("2024-03-10 07:00"));
}

#[test]
fn a_calendar_needs_no_history() {
    let world = World::new().used_since("2024-02-02").calendar("yard-check", "0 6 1 * *");
    assert!(world.item("baseline").is_none());
    assert_eq!(world.due("yard-check").cycle.0, "calendar:2024-03-01T06:00:00Z");
}

#[test]
fn a_calendar_is_explained_on_the_depots_clocks() {
    let said = monthly().service("2024-02-20", km(900.0), &["yard-check"]).because("rule:yard-check");
    let calendar = "Rule yard-check, rulebook version 3: at 0 6 1 * * (minute, hour, day of the month, month, day of the \
                    week) on the depot's clocks. The first time more than 5 days after 20 Feb 2024: 1 Mar 2024 06:00.";
    assert_eq!(said[1], calendar);
    let new = monthly().because("rule:yard-check");
    assert!(
        new[0].ends_with("The first time from 15 Jan 2024 on, when the vehicle or the rule came: 1 Feb 2024 06:00."),
        "{new:?}"
    );
}
