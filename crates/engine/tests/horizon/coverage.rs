//! Coverage windows: which day each really ends on.

use crate::world::{World, at, day, instant, km, mi};
use chrono::TimeDelta;
use chrono_tz::Tz;
use model::horizon::{Basis, ItemKind, Moment, WindowStage};
use model::{DistanceFrom, FindingWeight, LastDay, WindowKind};
use quantity::{Distance, Entered, Unit};
use rstest::rstest;

/// 36 months or 36,000 miles from 15 May 2024, driven at 18,000 miles a year and read every week for a year.
///
/// Source: reference case "projection to mileage limit" of this project, linear: 36,000 miles are met about
/// 15 May 2026, a year before the time limit.
fn eighteen_thousand_miles_a_year() -> World {
    World::new()
        .new_on("2024-05-15")
        .steady("2024-05-15", "2025-05-15", 5, mi(18_000.0 / 365.0))
        .window(Some(36), Some(mi(36_000.0)))
}

#[test]
fn a_warranty_driven_at_twice_its_pace_ends_by_distance_a_year_early() {
    let window = eighteen_thousand_miles_a_year().first_window();
    let likely = window.ends.likely.unwrap();
    assert!((likely - day("2026-05-15")).abs() <= TimeDelta::days(7), "{likely}");
    assert_eq!(window.last_day, Some(day("2027-05-14")));
    assert!(window.ends.early < window.ends.likely && window.ends.likely < window.ends.late);
    assert!(window.distance_first.unwrap() > 0.99);
}

#[test]
fn a_forecast_alone_never_says_ended() {
    let window = eighteen_thousand_miles_a_year().first_window();
    assert_eq!(window.ended, Some(Moment { at: at("2027-05-15 00:00"), basis: Basis::Date }));
    assert_eq!(window.stage_at(at("2027-05-14 23:59")).0, WindowStage::Ending);
    assert_eq!(window.stage_at(at("2027-05-15 00:00")).0, WindowStage::Ended);
}

#[test]
fn a_counted_reading_at_the_limit_ends_it() {
    let world = eighteen_thousand_miles_a_year();
    let short = world.clone().reading_from("2026-04-20 15:00", mi(35_999.0), model::ReadingSource::Driver);
    assert_eq!(short.first_window().stage_at(at("2026-04-20 15:00")).0, WindowStage::Ending);
    let met = world.reading_from("2026-04-20 15:00", mi(36_000.0), model::ReadingSource::Driver);
    let window = met.first_window();
    assert_eq!(window.ended, Some(Moment { at: at("2026-04-20 15:00"), basis: Basis::Reading }));
    assert_eq!(window.ends.late, Some(day("2026-04-20")));
    assert_eq!(window.distance_first, Some(1.0));
}

#[test]
fn distance_met_after_the_last_day_did_not_end_it_first() {
    let world = World::new().window(Some(2), Some(km(5000.0))).reading("2024-03-05 12:00", 6000.0);
    let window = world.first_window();
    assert_eq!(window.distance_first, Some(0.0));
    assert_eq!(window.ended, Some(Moment { at: at("2024-03-01 00:00"), basis: Basis::Date }));
}

#[test]
fn a_window_that_starts_beyond_its_distance_is_over_on_its_first_day() {
    let world = World::new().reading("2024-02-05 12:00", 6000.0).window(Some(12), Some(km(5000.0)));
    let window = world.terms(|terms| terms.starts_on = Some(day("2024-03-01"))).first_window();
    assert_eq!(window.ended, Some(Moment { at: at("2024-03-01 00:00"), basis: Basis::Reading }));
}

#[test]
fn a_held_reading_ends_nothing() {
    let world = eighteen_thousand_miles_a_year();
    let held = world.clone().reading_from("2025-05-16 15:00", mi(36_000.0), model::ReadingSource::Driver);
    assert_eq!(held.first_window(), world.first_window());
}

#[test]
fn eight_years_or_a_hundred_thousand_miles_are_in_force_just_short_of_both() {
    // Source: reference case "whichever first" of this project (dateutil): sold on 2022-03-01, 99,000 miles on
    // 2029-12-31: in warranty until 2030-03-01 or 100,000 miles.
    let world = World::new()
        .new_on("2022-03-01")
        .reading_from("2029-12-31 12:00", mi(99_000.0), model::ReadingSource::Technician)
        .window(Some(96), Some(mi(100_000.0)));
    let window = world.first_window();
    assert_eq!(window.ended.map(|ended| ended.at), Some(at("2030-03-01 00:00")));
    assert_eq!(window.odometer_limit, Some(Distance::parse(mi(100_000.0)).unwrap()));
    assert_ne!(window.stage_at(at("2029-12-31 12:00")).0, WindowStage::Ended);
    let over = world.reading_from("2030-01-20 12:00", mi(100_000.0), model::ReadingSource::Technician);
    assert_eq!(over.first_window().stage_at(at("2030-01-20 12:00")).0, WindowStage::Ended);
}

#[rstest]
#[case::the_day_before(LastDay::DayBefore, "2027-02-28")]
#[case::the_anniversary(LastDay::Anniversary, "2027-03-01")]
fn the_contract_says_which_day_is_the_last(#[case] last_day: LastDay, #[case] expected: &str) {
    let world =
        World::new().new_on("2024-03-01").window(Some(36), None).terms(|terms| terms.last_day = last_day);
    let window = world.first_window();
    assert_eq!(window.last_day, Some(day(expected)));
    assert_eq!(window.ends.early, Some(day(expected)));
}

#[test]
fn a_window_from_a_leap_day_lasts_through_the_27th_or_28th_of_february() {
    let terms =
        |last_day| World::new().new_on("2024-02-29").window(Some(36), None).terms(|t| t.last_day = last_day);
    assert_eq!(terms(LastDay::DayBefore).first_window().last_day, Some(day("2027-02-27")));
    assert_eq!(terms(LastDay::Anniversary).first_window().last_day, Some(day("2027-02-28")));
}

#[test]
fn the_last_day_ends_where_the_depot_is() {
    let world = World::new().zone(Tz::America__New_York).new_on("2024-11-04").window(Some(12), None);
    // The last day is 3 November 2025; midnight after it is 05:00 UTC, clocks having gone back on the 2nd.
    assert_eq!(instant(world.first_window().ended), at("2025-11-04 05:00"));
}

#[test]
fn r06_marks_count_back_from_the_early_end_and_rank_by_nearness() {
    let window = World::new().new_on("2024-03-01").window(Some(12), None).first_window();
    let marks: Vec<_> = window.marks.iter().map(|mark| (mark.code.as_str(), mark.rank, mark.at)).collect();
    let expected = [
        ("days_90", 10, at("2024-11-30 00:00")),
        ("days_60", 20, at("2024-12-30 00:00")),
        ("days_30", 30, at("2025-01-29 00:00")),
        ("days_7", 40, at("2025-02-21 00:00")),
        ("ended", 50, at("2025-03-01 00:00")),
    ];
    assert_eq!(marks, expected);
    assert_eq!(instant(window.ending), at("2024-11-30 00:00"));
}

#[test]
fn marks_count_back_from_the_early_day_where_distance_ends_it() {
    let window = eighteen_thousand_miles_a_year().first_window();
    let early = window.ends.early.unwrap();
    let ninety = window.marks.iter().find(|mark| mark.code == "days_90").unwrap();
    assert_eq!(ninety.at.date_naive(), early - TimeDelta::days(90));
    assert_eq!(window.ending.unwrap().basis, Basis::Forecast);
}

#[test]
fn marks_before_the_first_day_are_left_out() {
    let window = World::new().new_on("2024-03-01").window(Some(2), None).first_window();
    let codes: Vec<_> = window.marks.iter().map(|mark| mark.code.as_str()).collect();
    assert_eq!(codes, ["days_60", "days_30", "days_7", "ended"]);
    assert_eq!(instant(window.ending), at("2024-03-01 00:00"));
}

#[test]
fn distance_may_count_from_the_odometer_at_the_start() {
    let from_start = |terms: &mut model::CoverageTerms| terms.distance_from = DistanceFrom::StartOdometer;
    let mut world = World::new().window(Some(24), Some(km(20_000.0))).terms(from_start);
    world.facts.vehicle.in_service_odometer = Distance::from_km(30);
    assert_eq!(world.first_window().odometer_limit, Some(Distance::from_km(20_030)));
    let said = world.terms(|terms| terms.start_odometer = Some(km(61_000.0)));
    assert_eq!(said.first_window().odometer_limit, Some(Distance::from_km(81_000)));
}

#[test]
fn the_service_that_fitted_a_part_opens_its_window() {
    let world = World::new().service("2024-06-10", km(30_000.0), &[]).window(Some(12), Some(km(20_000.0)));
    let service = world.facts.services[0].id;
    let window = world
        .terms(|terms| {
            terms.opened_by = Some(service);
            terms.distance_from = DistanceFrom::StartOdometer;
        })
        .first_window();
    assert_eq!((window.starts_on, window.start_proven), (day("2024-06-10"), true));
    assert_eq!(window.odometer_limit, Some(Distance::from_km(50_000)));
}

#[test]
fn an_unknown_start_is_taken_as_early_as_is_plausible_and_flagged() {
    let used = World::new().used_since("2024-07-01").window(Some(36), None);
    let window = used.first_window();
    assert_eq!((window.starts_on, window.start_proven), (day("2023-01-01"), false));
    let mut unknown = used;
    unknown.facts.vehicle.model_year = None;
    assert_eq!(unknown.first_window().starts_on, day("2024-07-01"));
    unknown.facts.vehicle.model_year = Some(2026);
    assert_eq!(unknown.first_window().starts_on, day("2024-07-01"));
}

#[test]
fn open_findings_within_the_scope_are_matched() {
    let world = World::new()
        .finding(Some("suspension"), FindingWeight::Attend, "2024-06-01 09:00")
        .finding(Some("paint"), FindingWeight::Note, "2024-06-01 09:00")
        .finding(None, FindingWeight::Note, "2024-06-01 09:00");
    let ids: Vec<_> = world.facts.findings.iter().map(|finding| finding.id).collect();
    let mut scoped = world.clone().window(Some(36), None).terms(|terms| {
        terms.scope = vec![crate::world::code("suspension"), crate::world::code("gearbox")];
    });
    assert_eq!(scoped.first_window().findings, ids[..1]);
    assert_eq!(world.window(Some(36), None).first_window().findings, ids);
    scoped.facts.findings[0].closed_at = Some(at("2024-06-20 09:00"));
    assert!(scoped.first_window().findings.is_empty());
}

#[test]
fn the_closing_check_is_due_thirty_days_before_the_early_end() {
    let world = World::new().new_on("2024-03-01").window(Some(12), Some(km(60_000.0)));
    let item = world.item(&format!("closing:{}", world.facts.windows[0].id)).unwrap();
    assert_eq!(item.kind, ItemKind::ClosingCheck);
    assert_eq!(item.date_limit, Some(day("2025-01-29")));
    assert_eq!(instant(item.timeline.approaching), at("2025-01-15 00:00"));
    assert_eq!(instant(item.timeline.overdue), at("2025-02-12 00:00"));
    assert_eq!(item.odometer_limit, Some(Distance::from_km(60_000)));
    assert_eq!(item.cycle.0, format!("window:{}", world.facts.windows[0].id));
}

#[rstest]
#[case::made_in_time("closing-check", "2024-12-10 09:00", true)]
#[case::made_on_the_first_day_it_serves("closing-check", "2024-11-30 00:00", true)]
#[case::made_too_early("closing-check", "2024-11-29 09:00", false)]
#[case::another_sheet("yard-check", "2025-01-20 09:00", false)]
fn a_closing_check_that_was_made_is_no_longer_due(
    #[case] sheet: &str,
    #[case] when: &str,
    #[case] is_made: bool,
) {
    let world = World::new().new_on("2024-03-01").window(Some(12), None).inspection(sheet, when);
    let item = world.item(&format!("closing:{}", world.facts.windows[0].id));
    assert_eq!(item.is_none(), is_made);
}

#[test]
fn there_is_nothing_to_close_where_nothing_is_left() {
    let key = |world: &World| format!("closing:{}", world.facts.windows[0].id);
    let run_out = World::new().window(Some(36), Some(km(1000.0))).reading("2024-02-01 12:00", 1200.0);
    assert_eq!(run_out.item(&key(&run_out)), None);
    let over = World::new().used_since("2024-07-01").window(Some(12), None);
    let over = over.terms(|terms| terms.starts_on = Some(day("2023-01-01")));
    assert_eq!(over.item(&key(&over)), None);
    assert!(over.first_window().marks.is_empty());
    let lease = World::new().window(Some(36), None).terms(|terms| terms.kind = WindowKind::Lease);
    assert_eq!(lease.item(&key(&lease)), None);
}

#[test]
fn a_window_by_distance_alone_has_no_marks_before_there_is_a_reading() {
    let window = World::new().window(None, Some(km(100_000.0))).first_window();
    assert!(window.marks.is_empty() && window.ends.early.is_none() && window.distance_first.is_none());
    assert_eq!((window.ending, window.ended), (None, None));
}

#[test]
fn limits_in_other_units_of_distance_are_the_same_limits() {
    let miles = World::new().window(None, Some(mi(1000.0))).first_window().odometer_limit;
    let kilometres = World::new().window(None, Some(Entered::new(1609.344, Unit::Kilometre))).first_window();
    assert_eq!(miles, kilometres.odometer_limit);
}
