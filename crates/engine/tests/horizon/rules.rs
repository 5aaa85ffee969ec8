//! Interval rules: by the calendar, by distance, whichever comes first.

use crate::world::{World, at, day, every_km, every_km_or_months, every_months, instant, km};
use chrono::{Datelike, NaiveDate};
use chrono_tz::Tz;
use model::horizon::{Basis, Moment, Stage};
use model::{BaselineChoice, Every, PaperKind, Powertrain, add_days};
use quantity::Distance;
use rstest::rstest;

/// Oil every 10,000 km or 6 months, done on 1 March 2024 at 5,000 km; 100 km a day since.
fn oil() -> World {
    World::new()
        .reading("2024-01-01 12:00", 0.0)
        .service("2024-03-01", km(5000.0), &["engine-oil"])
        .rule("engine-oil", every_km_or_months(10_000.0, 6))
}

#[test]
fn the_limits_count_from_the_day_and_odometer_last_done() {
    let item = oil().due("engine-oil");
    assert_eq!(item.date_limit, Some(day("2024-09-01")));
    assert_eq!(item.odometer_limit, Some(Distance::from_km(15_000)));
    let service = oil().facts.services[0].id;
    assert_eq!(item.cycle.0, format!("service:{service}"));
}

#[test]
fn an_item_is_due_on_its_day_and_overdue_when_grace_has_passed() {
    let world = World::new().rule("engine-oil", every_months(6)).lead(Some(10), None).grace(Some(7), None);
    let timeline = world.due("engine-oil").timeline;
    let stage = |when: &str| timeline.stage_at(at(when)).0;
    assert_eq!(stage("2024-06-20 23:59"), Stage::Clear);
    assert_eq!(stage("2024-06-21 00:00"), Stage::Approaching);
    assert_eq!(stage("2024-06-30 23:59"), Stage::Approaching);
    assert_eq!(stage("2024-07-01 00:00"), Stage::Due);
    assert_eq!(stage("2024-07-08 23:59"), Stage::Due);
    assert_eq!(stage("2024-07-09 00:00"), Stage::Overdue);
}

#[rstest]
#[case::leap_day_plus_a_year("2024-02-29", 12, "2025-02-28")]
#[case::leap_day_plus_four_years("2024-02-29", 48, "2028-02-29")]
#[case::clamped_to_leap_february("2024-01-31", 1, "2024-02-29")]
#[case::clamped_from_the_anchor_not_stepwise("2024-01-31", 2, "2024-03-31")]
#[case::clamped_to_plain_february("2023-01-31", 1, "2023-02-28")]
// Source: dateutil relativedelta, as computed for the reference cases of this project.
fn months_are_clamped_to_the_end_of_the_month(#[case] from: &str, #[case] months: u32, #[case] limit: &str) {
    let world = World::new().new_on(from).rule("wiper-blades", every_months(months));
    assert_eq!(world.due("wiper-blades").date_limit, Some(day(limit)));
}

/// Months counted on the fingers: the slow and obvious way.
pub fn months_later(from: NaiveDate, months: u32) -> NaiveDate {
    let (mut year, mut month) = (from.year(), from.month());
    for _ in 0..months {
        (year, month) = if month == 12 { (year + 1, 1) } else { (year, month + 1) };
    }
    (1..=from.day()).rev().find_map(|last| NaiveDate::from_ymd_opt(year, month, last)).expect("a day")
}

#[rstest]
#[case("2023-01-29")]
#[case("2023-01-30")]
#[case("2023-01-31")]
#[case("2024-02-29")]
fn r04_four_hundred_steps_of_months_do_not_drift(#[case] from: &str) {
    for months in 1..=400 {
        let world = World::new().new_on(from).rule("wiper-blades", every_months(months));
        assert_eq!(world.due("wiper-blades").date_limit, Some(months_later(day(from), months)), "{months}");
    }
}

#[test]
fn the_earlier_of_months_and_days_is_the_date_limit() {
    let days = |days| Every { months: Some(1), days: Some(days), ..Every::default() };
    let limit = |every| World::new().rule("wash", every).due("wash").date_limit;
    assert_eq!(limit(days(30)), Some(day("2024-01-31")));
    assert_eq!(limit(days(32)), Some(day("2024-02-01")));
}

#[test]
fn a_date_limit_begins_and_ends_with_its_day_where_the_depot_is() {
    // New York changes from -05:00 to -04:00 at 2 in the morning of 10 March 2024 (IANA tables).
    let world = World::new().zone(Tz::America__New_York).new_on("2024-02-10").rule("wash", every_months(1));
    let timeline = world.due("wash").timeline;
    assert_eq!(instant(timeline.due), at("2024-03-10 05:00"));
    assert_eq!(instant(timeline.overdue), at("2024-03-11 04:00"));
}

#[test]
fn a_day_that_begins_an_hour_late_begins_when_it_begins() {
    // Beirut skipped the hour after midnight on 31 March 2024, from +02:00 to +03:00 (IANA tables).
    let world = World::new().zone(Tz::Asia__Beirut).new_on("2024-02-29");
    let item = world.rule("polish", Every { days: Some(31), ..Every::default() }).due("polish");
    assert_eq!(item.date_limit, Some(day("2024-03-31")));
    assert_eq!(instant(item.timeline.due), at("2024-03-30 22:00"));
    assert_eq!(instant(item.timeline.overdue), at("2024-03-31 21:00"));
}

#[test]
fn distance_comes_first_for_a_vehicle_driven_much() {
    let world = oil().reading("2024-04-30 12:00", 13_000.0);
    let due = world.due("engine-oil").timeline.due.unwrap();
    assert_eq!(due.basis, Basis::Forecast);
    assert!(due.at < at("2024-06-01 00:00") && due.at > at("2024-04-30 12:00"), "{}", due.at);
}

#[test]
fn the_calendar_comes_first_for_a_vehicle_driven_little() {
    let world = oil().reading("2024-06-01 12:00", 5200.0);
    let due = world.due("engine-oil").timeline.due;
    assert_eq!(due, Some(Moment { at: at("2024-09-01 00:00"), basis: Basis::Date }));
}

#[test]
fn a_counted_reading_at_the_limit_makes_it_due_and_one_past_it_overdue() {
    let met = oil().reading("2024-05-20 09:30", 15_000.0).due("engine-oil").timeline;
    assert_eq!(met.due, Some(Moment { at: at("2024-05-20 09:30"), basis: Basis::Reading }));
    assert_eq!(met.overdue.map(|moment| moment.basis), Some(Basis::Forecast));
    let passed = oil().reading("2024-05-20 09:30", 15_001.0).due("engine-oil").timeline;
    assert_eq!(passed.overdue, Some(Moment { at: at("2024-05-20 09:30"), basis: Basis::Reading }));
}

#[test]
fn grace_counts_in_distance_and_then_in_days() {
    let world = oil().grace(Some(5), Some(km(500.0)));
    let within = world.clone().reading("2024-05-20 09:30", 15_500.0).due("engine-oil").timeline;
    assert_eq!(within.overdue.map(|moment| moment.basis), Some(Basis::Forecast));
    let past = world.reading("2024-05-20 09:30", 15_501.0).due("engine-oil").timeline;
    assert_eq!(past.overdue, Some(Moment { at: at("2024-05-25 09:30"), basis: Basis::Reading }));
}

#[test]
fn it_approaches_within_the_lead_in_days_or_distance_whichever_comes_first() {
    let world = oil().lead(Some(20), Some(km(1000.0)));
    let by_date = world.clone().reading("2024-06-01 12:00", 5200.0).due("engine-oil").timeline;
    assert_eq!(instant(by_date.approaching), at("2024-08-12 00:00"));
    let by_distance = world.reading("2024-05-10 12:00", 14_000.0).due("engine-oil").timeline;
    assert_eq!(by_distance.approaching, Some(Moment { at: at("2024-05-10 12:00"), basis: Basis::Reading }));
}

#[test]
fn a_rule_without_a_lead_takes_the_fleets_but_never_more_than_half_its_interval() {
    let weekly = Every { days: Some(7), ..Every::default() };
    let world = World::new().rule("wash", weekly).rule("polish", every_months(6));
    assert_eq!(instant(world.due("polish").timeline.approaching), at("2024-06-17 00:00"));
    assert_eq!(instant(world.due("wash").timeline.approaching), at("2024-01-05 00:00"));
}

#[test]
fn severe_duty_takes_the_severe_interval_where_the_rule_has_one() {
    let severe = |world: World| {
        world.rule("engine-oil", every_months(12)).amend(|rule| {
            rule.severe = Some(every_months(6));
        })
    };
    assert_eq!(severe(World::new()).due("engine-oil").date_limit, Some(day("2025-01-01")));
    assert_eq!(severe(World::new().severe()).due("engine-oil").date_limit, Some(day("2024-07-01")));
    let without = World::new().severe().rule("engine-oil", every_months(12));
    assert_eq!(without.due("engine-oil").date_limit, Some(day("2025-01-01")));
}

#[test]
fn a_vehicle_may_have_its_own_interval_or_none() {
    let world = World::new().severe().rule("engine-oil", every_months(12));
    let own = world.clone().exception("engine-oil", Some(every_months(3)));
    assert_eq!(own.due("engine-oil").date_limit, Some(day("2024-04-01")));
    let none = world.exception("engine-oil", None);
    assert_eq!(none.item("rule:engine-oil"), None);
}

#[test]
fn a_rule_for_others_says_nothing() {
    let world = World::new()
        .rule("spark-plugs", every_months(12))
        .amend(|rule| rule.applies_to.powertrains = vec![Powertrain::Petrol]);
    assert_eq!(world.item("rule:spark-plugs"), None);
}

#[test]
fn work_that_satisfies_another_rule_resets_it_too_through_as_many_steps_as_it_takes() {
    let world = World::new()
        .rule("oil-level", every_months(1))
        .rule("small-service", every_months(6))
        .amend(|rule| rule.satisfies = vec![crate::world::code("oil-level")])
        .rule("large-service", every_months(12))
        .amend(|rule| rule.satisfies = vec![crate::world::code("small-service")])
        .service("2024-05-01", km(5000.0), &["large-service"]);
    assert_eq!(world.due("oil-level").date_limit, Some(day("2024-06-01")));
    assert_eq!(world.due("small-service").date_limit, Some(day("2024-11-01")));
    assert_eq!(world.due("large-service").covers, ["oil-level", "small-service"]);
}

#[test]
fn the_newest_work_counts_even_when_it_is_recorded_first() {
    let world = World::new()
        .rule("engine-oil", every_months(6))
        .service("2024-08-01", km(9000.0), &["engine-oil"])
        .service("2024-03-01", km(5000.0), &["engine-oil"]);
    assert_eq!(world.due("engine-oil").date_limit, Some(day("2025-02-01")));
}

#[test]
fn a_vehicle_that_came_new_counts_from_its_first_day_and_odometer() {
    let mut world = World::new().rule("engine-oil", every_km_or_months(10_000.0, 12));
    world.facts.vehicle.in_service_odometer = Distance::from_km(30);
    let item = world.due("engine-oil");
    assert_eq!(item.odometer_limit, Some(Distance::from_km(10_030)));
    assert_eq!(item.cycle.0, format!("in-service:{}", world.facts.vehicle.id));
}

#[test]
fn a_used_vehicle_without_history_gets_one_baseline_check_for_all_rules() {
    let world = World::new()
        .used_since("2024-02-01")
        .rule("timing-belt", every_months(60))
        .rule("engine-oil", every_months(12))
        .paper_rule(PaperKind::AnnualTest, true);
    let item = world.item("baseline").unwrap();
    assert_eq!(item.covers, ["engine-oil", "timing-belt"]);
    assert_eq!(item.date_limit, Some(day("2024-02-15")));
    assert_eq!(item.cycle.0, format!("vehicle:{}", world.facts.vehicle.id));
    assert_eq!(world.item("rule:engine-oil"), None);
}

#[test]
fn each_rule_leaves_the_baseline_check_once_it_is_settled() {
    let world = World::new()
        .used_since("2024-02-01")
        .rule("brake-fluid", every_months(24))
        .rule("engine-oil", every_km_or_months(10_000.0, 12))
        .rule("pollen-filter", every_months(12))
        .rule("timing-belt", every_months(60))
        .answer("engine-oil", BaselineChoice::Proven { done_on: day("2023-11-05"), odometer: km(81_000.0) })
        .answer("timing-belt", BaselineChoice::DoNow { on: day("2024-02-05") })
        .answer("pollen-filter", BaselineChoice::StartFrom { on: day("2024-02-05"), odometer: km(84_000.0) });
    assert_eq!(world.item("baseline").unwrap().covers, ["brake-fluid"]);
    assert_eq!(world.due("engine-oil").date_limit, Some(day("2024-11-05")));
    assert_eq!(world.due("engine-oil").odometer_limit, Some(Distance::from_km(91_000)));
    assert_eq!(world.due("pollen-filter").date_limit, Some(day("2025-02-05")));
    let belt = world.due("timing-belt");
    assert_eq!(belt.timeline.stage_at(at("2024-02-05 00:00")).0, Stage::Due);
    assert_eq!(belt.timeline.stage_at(at("2024-02-06 00:00")).0, Stage::Overdue);
}

#[test]
fn work_done_settles_what_was_to_be_done_now() {
    let world = World::new()
        .used_since("2024-02-01")
        .rule("timing-belt", every_months(60))
        .answer("timing-belt", BaselineChoice::DoNow { on: day("2024-02-05") })
        .service("2024-02-05", km(84_000.0), &["timing-belt"]);
    assert_eq!(world.due("timing-belt").date_limit, Some(day("2029-02-05")));
}

#[test]
fn an_answer_is_newer_than_older_proof() {
    let world = World::new()
        .used_since("2024-02-01")
        .rule("timing-belt", every_months(60))
        .service("2019-02-05", km(24_000.0), &["timing-belt"])
        .answer("timing-belt", BaselineChoice::DoNow { on: day("2024-02-05") });
    assert_eq!(world.due("timing-belt").date_limit, Some(day("2024-02-05")));
}

#[test]
fn nothing_is_due_before_it_was_last_done() {
    // The odometer told at the service lies far below what earlier readings show, and a person released it.
    let world = World::new()
        .reading("2024-02-01 12:00", 50_000.0)
        .service("2024-03-01", km(5000.0), &["engine-oil"])
        .rule("engine-oil", every_km(10_000.0))
        .decide(0, model::Decision::Release, "2024-03-02 08:00")
        .decide(1, model::Decision::Release, "2024-03-02 08:00");
    let due = world.due("engine-oil").timeline.due.unwrap();
    assert!(due.at >= at("2024-03-01 00:00"), "{}", due.at);
}

#[test]
fn what_the_log_shows_already_is_due_from_the_day_it_counts_from() {
    let world = World::new()
        .used_since("2024-02-01")
        .rule("engine-oil", every_km(10_000.0))
        .reading("2024-02-02 12:00", 50_000.0)
        .answer("engine-oil", BaselineChoice::StartFrom { on: day("2024-02-05"), odometer: km(5000.0) });
    let due = world.due("engine-oil").timeline.due;
    assert_eq!(due, Some(Moment { at: at("2024-02-05 00:00"), basis: Basis::Reading }));
}

#[test]
fn a_limit_likely_met_on_the_day_of_the_last_reading_is_due_from_that_reading() {
    let due = oil().reading("2024-05-20 09:30", 14_999.9).due("engine-oil").timeline.due;
    assert_eq!(due, Some(Moment { at: at("2024-05-20 09:30"), basis: Basis::Forecast }));
}

#[test]
fn without_any_reading_a_distance_is_no_date() {
    let item = World::new().rule("engine-oil", every_km(10_000.0)).due("engine-oil");
    assert_eq!((item.timeline.due, item.crossing), (None, None));
    assert!(item.marks.is_empty());
}

#[test]
fn a_parked_vehicle_has_no_date_by_distance_and_one_that_runs_again_has() {
    let parked = oil().reading("2024-04-01 12:00", 8000.0).parked_from("2024-04-02");
    assert_eq!(parked.due("engine-oil").crossing.unwrap().likely, None);
    assert_eq!(parked.due("engine-oil").timeline.due.map(|due| due.basis), Some(Basis::Date));
    let running = parked.running_again_from("2024-07-01");
    let likely = running.due("engine-oil").crossing.unwrap().likely.unwrap();
    assert!(likely > day("2024-08-01"), "{likely}");
}

#[test]
fn distances_beyond_ten_years_have_no_date() {
    let world = oil().rule("gearbox-oil", every_km(1_000_000.0)).reading("2024-06-01 12:00", 5100.0);
    let item = world.due("gearbox-oil");
    assert_eq!((item.timeline.due, item.crossing.unwrap().likely), (None, None));
}

#[test]
fn weekends_off_put_the_likely_day_on_a_working_day() {
    // Monday to Friday: bits 0 to 4.
    let world = oil().weekdays(0b1_1111).reading("2024-05-01 12:00", 12_000.0);
    let band = world.due("engine-oil").crossing.unwrap();
    for forecast in [band.early, band.likely, band.late].into_iter().flatten() {
        assert!(forecast.weekday().num_days_from_monday() < 5, "{forecast}");
    }
}

#[test]
fn marks_fall_on_the_moments_of_the_timeline() {
    let item = oil().reading("2024-06-01 12:00", 5200.0).due("engine-oil");
    let expected = [
        ("approaching", 10, instant(item.timeline.approaching)),
        ("due", 20, instant(item.timeline.due)),
        ("overdue", 30, instant(item.timeline.overdue)),
    ];
    let marks: Vec<_> = item.marks.iter().map(|mark| (mark.code.as_str(), mark.rank, mark.at)).collect();
    assert_eq!(marks, expected);
}

#[test]
fn a_vehicle_that_left_has_nothing_coming() {
    let mut world = oil().window(Some(36), None).paper(PaperKind::Insurance, "2024-12-31");
    world.facts.vehicle.retired_on = Some(day("2024-08-01"));
    let horizon = world.horizon();
    assert!(horizon.items.is_empty() && horizon.windows.is_empty() && horizon.usage.is_none());
    assert_eq!(horizon.judgements.len(), 2);
}

/// The stage of a rule by the calendar, found day by day in the slow and obvious way.
#[rstest]
fn the_stage_on_each_day_is_that_of_a_slow_walk(
    #[values(1, 5, 6)] months: u32,
    #[values(0, 9)] lead: u32,
    #[values(0, 4)] grace: u32,
    #[values("2023-08-31", "2024-02-29")] done: &str,
) {
    let world = World::new()
        .new_on("2023-01-01")
        .service(done, km(10.0), &["wash"])
        .rule("wash", every_months(months))
        .lead(Some(lead), None)
        .grace(Some(grace), None);
    let timeline = world.due("wash").timeline;
    let limit = months_later(day(done), months);
    for on in day(done).iter_days().take(300) {
        let expected = if on > add_days(limit, i64::from(grace)) {
            Stage::Overdue
        } else if on >= limit {
            Stage::Due
        } else if on >= add_days(limit, -i64::from(lead)) {
            Stage::Approaching
        } else {
            Stage::Clear
        };
        for time in ["00:00", "23:59"] {
            assert_eq!(timeline.stage_at(at(&format!("{on} {time}"))).0, expected, "{on} {time}");
        }
    }
}
