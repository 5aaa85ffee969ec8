//! The last day to act before cover may end, and when it is told.

use crate::world::{World, at, day, km};
use model::horizon::{ActBy, Mark};
use model::{FindingWeight, WindowKind};
use rstest::rstest;

const MONDAY_TO_FRIDAY: u8 = 0b1_1111;

/// A year's cover whose last day is Friday, 28 February 2025 (checked against a calendar: 1 March 2025 is a Saturday).
fn a_year() -> World {
    World::new().new_on("2024-03-01").window(Some(12), None)
}

fn act_by(world: &World) -> Option<(String, String)> {
    let act: Option<ActBy> = world.first_window().act_by;
    act.map(|act| (act.in_by.to_string(), act.book_by.to_string()))
}

#[rstest]
#[case::no_notice_on_the_last_day_itself(0, MONDAY_TO_FRIDAY, "2025-02-28", "2025-02-28")]
#[case::three_working_days(3, MONDAY_TO_FRIDAY, "2025-02-28", "2025-02-25")]
#[case::over_a_weekend(5, MONDAY_TO_FRIDAY, "2025-02-28", "2025-02-21")]
#[case::a_workshop_that_is_shut_on_fridays(1, 0b1111, "2025-02-27", "2025-02-26")]
#[case::one_that_works_on_saturdays_only(2, 0b10_0000, "2025-02-22", "2025-02-08")]
fn the_last_day_to_act_is_a_working_day_with_notice_before_it(
    #[case] lead_days: u32,
    #[case] weekdays: u8,
    #[case] in_by: &str,
    #[case] book_by: &str,
) {
    let world = a_year().workshop("Harrow Dealers", lead_days, weekdays);
    assert_eq!(act_by(&world), Some((in_by.to_owned(), book_by.to_owned())));
}

#[test]
fn of_several_workshops_the_one_with_most_time_to_book_is_named() {
    let world = a_year()
        .workshop("Slow", 10, MONDAY_TO_FRIDAY)
        .workshop("Quick", 2, MONDAY_TO_FRIDAY)
        .workshop("As quick", 2, MONDAY_TO_FRIDAY);
    assert_eq!(world.first_window().act_by.unwrap().workshop, world.facts.workshops[1].id);
}

#[test]
fn a_workshop_that_makes_no_warranty_work_cannot_help() {
    let mut world = a_year().workshop("Corner Garage", 0, MONDAY_TO_FRIDAY);
    world.facts.workshops[0].warranty_work = false;
    assert_eq!(act_by(&world), None);
}

#[test]
fn it_counts_back_from_the_early_end_where_distance_comes_first() {
    let world = World::new()
        .steady("2024-01-01", "2024-12-29", 7, km(100.0))
        .window(Some(60), Some(km(60_000.0)))
        .workshop("Harrow Dealers", 0, 0x7f);
    let window = world.first_window();
    assert_eq!(window.act_by.unwrap().in_by, window.ends.early.unwrap());
    assert!(window.ends.early < window.last_day);
}

#[test]
fn nothing_is_left_to_act_on_once_a_reading_has_ended_it() {
    let world = World::new().window(Some(60), Some(km(1000.0))).reading("2024-02-01 12:00", 1000.0).workshop(
        "Harrow Dealers",
        0,
        0x7f,
    );
    assert_eq!(act_by(&world), None);
}

fn mark(world: &World, code: &str) -> Option<Mark> {
    world.first_window().marks.into_iter().find(|mark| mark.code == code)
}

#[test]
fn an_open_finding_is_told_a_week_before_the_last_day_to_book() {
    let world = a_year().workshop("Harrow Dealers", 3, MONDAY_TO_FRIDAY);
    assert_eq!(mark(&world, "act_by"), None);
    let found = world.finding(None, FindingWeight::Attend, "2024-10-01 09:00");
    // Book by 25 February, told on the 18th: after the mark of 30 days (29 January) and before that of 7 (the 21st).
    let expected = Mark { code: "act_by".to_owned(), rank: 35, at: at("2025-02-18 00:00") };
    assert_eq!(mark(&found, "act_by"), Some(expected));
}

#[rstest]
#[case::between_seven_days_and_the_end("2025-02-23 09:00", Some(("2025-02-23 09:00", 45)))]
#[case::on_the_last_day("2025-02-28 23:00", Some(("2025-02-28 23:00", 45)))]
#[case::when_it_is_over("2025-03-01 00:00", None)]
fn a_finding_that_comes_late_is_told_at_once_but_not_after_the_end(
    #[case] found: &str,
    #[case] expected: Option<(&str, i16)>,
) {
    let world = a_year().workshop("Harrow Dealers", 3, MONDAY_TO_FRIDAY);
    let world = world.finding(None, FindingWeight::Attend, found);
    let told = mark(&world, "act_by").map(|mark| (mark.at, mark.rank));
    assert_eq!(told, expected.map(|(when, rank)| (at(when), rank)));
}

#[test]
fn marks_rank_as_they_follow_each_other() {
    let world = a_year().workshop("Harrow Dealers", 40, MONDAY_TO_FRIDAY);
    let world = world.finding(None, FindingWeight::Note, "2024-04-01 09:00");
    let marks = world.first_window().marks;
    let codes: Vec<_> = marks.iter().map(|mark| mark.code.as_str()).collect();
    assert_eq!(codes, ["days_90", "act_by", "days_60", "days_30", "days_7", "ended"]);
    assert!(marks.is_sorted_by_key(|mark| mark.rank) && marks.is_sorted_by_key(|mark| mark.at));
}

#[test]
fn the_day_to_book_is_explained_and_told_with_the_finding() {
    let world = a_year().workshop("Harrow Dealers", 3, MONDAY_TO_FRIDAY).finding(
        None,
        FindingWeight::Attend,
        "2024-10-01 09:00",
    );
    let said = world.because_window();
    let last = "It may end as early as 28 Feb 2025; the last working day of Harrow Dealers, which makes warranty work, \
                is 28 Feb 2025. It wants 3 working days of notice: book by 25 Feb 2025.";
    assert_eq!(said.last().unwrap(), last);
    let line = engine::words::window(&world.first_window(), quantity::Unit::Kilometre);
    assert!(line.ends_with("; 1 open finding may be claimed: book it in by 25 Feb 2025"), "{line}");
}

#[test]
fn a_lease_has_its_last_working_day_too() {
    let world = a_year().terms(|terms| terms.kind = WindowKind::Lease).workshop(
        "Harrow Dealers",
        0,
        MONDAY_TO_FRIDAY,
    );
    assert_eq!(world.first_window().act_by.map(|act| act.in_by), Some(day("2025-02-28")));
}
