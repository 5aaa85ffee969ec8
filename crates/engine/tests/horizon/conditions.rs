//! Grades and findings that ask for work.

use crate::world::{World, at, code, instant, km};
use model::horizon::ItemKind;
use model::{Every, FindingWeight, Grade, Place};
use quantity::{Entered, Unit};

const TREAD: &str = "condition:tread-depth:front_left";

#[test]
fn a_tyre_below_the_law_is_not_driven_from_the_moment_it_was_measured() {
    // 2/32 in (1.5875 mm) is the least of 49 CFR 570.9.
    let world = World::new().tread("2024-06-01 09:00", Place::FrontLeft, 1.4);
    let item = world.item(TREAD).unwrap();
    assert_eq!((item.kind, item.grade), (ItemKind::Condition, Some(Grade::DoNotDrive)));
    assert_eq!(item.do_not_drive_from, Some(at("2024-06-01 09:00")));
    assert_eq!(item.marks.last().unwrap().code, "do_not_drive");
    let measurement = world.facts.inspections[0].measurements[0].id;
    assert_eq!(item.cycle.0, format!("measurement:{measurement}"));
}

#[test]
fn a_tyre_that_asks_for_work_is_due_at_once_and_overdue_in_a_week() {
    let item = World::new().tread("2024-06-01 09:00", Place::FrontLeft, 2.0).item(TREAD).unwrap();
    assert_eq!(item.grade, Some(Grade::Attend));
    assert_eq!(instant(item.timeline.due), at("2024-06-01 09:00"));
    assert_eq!(instant(item.timeline.overdue), at("2024-06-08 09:00"));
    assert_eq!(item.do_not_drive_from, None);
}

#[test]
fn a_tyre_to_be_watched_is_graded_and_makes_no_item() {
    let world = World::new().tread("2024-06-01 09:00", Place::FrontLeft, 2.9);
    assert_eq!(world.horizon().grades[0].grade, Grade::Watch);
    assert_eq!(world.item(TREAD), None);
}

#[test]
fn a_newer_and_better_grade_takes_the_item_away() {
    let world = World::new().tread("2024-06-08 09:00", Place::FrontLeft, 7.0).tread(
        "2024-06-01 09:00",
        Place::FrontLeft,
        1.4,
    );
    assert_eq!(world.item(TREAD), None);
}

#[test]
fn a_tyre_fitted_since_makes_the_old_measurement_void() {
    let world = World::new().tread("2024-06-01 09:00", Place::FrontLeft, 1.4);
    let replaced = world.clone().fitted("tyre", Place::FrontLeft, "2024-06-02");
    assert!(replaced.item(TREAD).is_none() && replaced.horizon().grades.is_empty());
    let elsewhere = world.clone().fitted("tyre", Place::FrontRight, "2024-06-02");
    assert!(elsewhere.item(TREAD).is_some());
    let pads = world.clone().fitted("pad-set", Place::FrontLeft, "2024-06-02");
    assert!(pads.item(TREAD).is_some());
    let on_the_day = world.fitted("tyre", Place::FrontLeft, "2024-06-01");
    assert!(on_the_day.item(TREAD).is_some());
}

/// Brake fluid at 130 °C: below the 140 °C of wet DOT 3, the least of 49 CFR 571.116 (read second-hand).
#[test]
fn a_fluid_changed_on_a_later_day_makes_the_old_measurement_void() {
    const FLUID: &str = "condition:brake-fluid-boiling:vehicle";
    let celsius = Entered::new(130.0, Unit::Celsius);
    let world = World::new()
        .rule("brake-fluid", Every { months: Some(24), ..Every::default() })
        .amend(|rule| rule.renews = vec![code("brake-fluid-boiling")])
        .measured("2024-06-01 09:00", "brake-fluid-boiling", Place::Vehicle, celsius);
    assert_eq!(world.item(FLUID).map(|item| item.grade), Some(Some(Grade::Attend)));
    let later = world.clone().service("2024-06-02", km(500.0), &["brake-fluid"]);
    assert!(later.item(FLUID).is_none() && later.horizon().grades.is_empty());
    let other = world.clone().rule("tyre-check", Every { months: Some(12), ..Every::default() });
    assert!(other.service("2024-06-02", km(500.0), &["tyre-check"]).item(FLUID).is_some());
    assert!(
        world.service("2024-06-01", km(500.0), &["brake-fluid"]).item(FLUID).is_some(),
        "which came first?"
    );
}

#[test]
fn an_open_finding_asks_for_work_by_its_weight() {
    let world = World::new()
        .finding(Some("suspension"), FindingWeight::DoNotDrive, "2024-06-01 09:00")
        .finding(Some("suspension"), FindingWeight::Attend, "2024-06-02 09:00")
        .finding(Some("suspension"), FindingWeight::Note, "2024-06-03 09:00");
    let item = |n: usize| world.item(&format!("finding:{}", world.facts.findings[n].id));
    assert_eq!(item(0).unwrap().do_not_drive_from, Some(at("2024-06-01 09:00")));
    assert_eq!(instant(item(1).unwrap().timeline.overdue), at("2024-06-09 09:00"));
    assert_eq!(item(1).unwrap().title, "Suspension noise, front left");
    assert_eq!(item(2), None);
}

#[test]
fn a_finding_that_was_closed_asks_for_nothing() {
    let mut world = World::new().finding(None, FindingWeight::DoNotDrive, "2024-06-01 09:00");
    world.facts.findings[0].closed_at = Some(at("2024-06-01 15:00"));
    assert!(world.item(&format!("finding:{}", world.facts.findings[0].id)).is_none());
}

/// The cycle of the front left tread, and from when it must not be driven.
fn round(world: &World) -> (String, Option<chrono::DateTime<chrono::Utc>>) {
    let item = world.item(TREAD).expect("the tread should ask for work");
    (item.cycle.0, item.do_not_drive_from)
}

fn measured(world: &World, inspection: usize) -> String {
    format!("measurement:{}", world.facts.inspections[inspection].measurements[0].id)
}

#[test]
fn measuring_the_same_bald_tyre_again_opens_no_new_round() {
    let world = World::new()
        .tread("2024-06-01 09:00", Place::FrontLeft, 1.4)
        .tread("2024-06-03 09:00", Place::FrontLeft, 1.4)
        .tread("2024-06-08 09:00", Place::FrontLeft, 1.3);
    assert_eq!(round(&world), (measured(&world, 0), Some(at("2024-06-01 09:00"))));
    let item = world.item(TREAD).unwrap();
    assert_eq!(instant(item.timeline.due), at("2024-06-01 09:00"));
}

#[test]
fn a_tyre_that_gets_worse_keeps_its_round_and_stops_the_vehicle_when_it_is_too_bad() {
    let world = World::new()
        .tread("2024-06-01 09:00", Place::FrontLeft, 2.2)
        .tread("2024-06-20 09:00", Place::FrontLeft, 1.5)
        .tread("2024-06-21 09:00", Place::FrontLeft, 1.4);
    assert_eq!(round(&world), (measured(&world, 0), Some(at("2024-06-20 09:00"))));
    let item = world.item(TREAD).unwrap();
    // A week after it first asked for work, long before it was too bad.
    assert_eq!(instant(item.timeline.overdue), at("2024-06-08 09:00"));
    assert_eq!(item.marks.last().map(|mark| mark.at), Some(at("2024-06-20 09:00")));
}

#[test]
fn a_grade_in_between_that_asks_for_nothing_ends_the_round() {
    let world = World::new()
        .tread("2024-06-01 09:00", Place::FrontLeft, 2.2)
        .tread("2024-06-08 09:00", Place::FrontLeft, 2.9)
        .tread("2024-06-15 09:00", Place::FrontLeft, 2.2);
    assert_eq!(round(&world), (measured(&world, 2), None));
}

#[test]
fn a_vehicle_that_could_be_driven_again_and_then_not_is_told_of_anew() {
    let world = World::new()
        .tread("2024-06-01 09:00", Place::FrontLeft, 1.4)
        .tread("2024-06-08 09:00", Place::FrontLeft, 2.0)
        .tread("2024-06-15 09:00", Place::FrontLeft, 1.4);
    assert_eq!(round(&world), (measured(&world, 1), Some(at("2024-06-15 09:00"))));
}

#[test]
fn another_tyre_opens_its_own_round() {
    let world = World::new()
        .tread("2024-06-01 09:00", Place::FrontLeft, 1.4)
        .fitted("tyre", Place::FrontLeft, "2024-06-02")
        .tread("2024-06-08 09:00", Place::FrontLeft, 1.4);
    assert_eq!(round(&world).0, measured(&world, 1));
}

#[test]
fn another_place_has_a_round_of_its_own() {
    let world = World::new().tread("2024-06-01 09:00", Place::FrontRight, 1.4).tread(
        "2024-06-08 09:00",
        Place::FrontLeft,
        1.4,
    );
    assert_eq!(round(&world).0, measured(&world, 1));
}

#[test]
fn the_round_of_a_grade_is_explained_from_its_first_measurement() {
    let world = World::new().tread("2024-06-01 09:00", Place::FrontLeft, 2.2).tread(
        "2024-06-20 09:00",
        Place::FrontLeft,
        1.5,
    );
    let said = world.because(TREAD);
    assert!(said[0].starts_with("Measured 1.5 mm against "), "{said:?}");
    let since = "It has asked for work without a break since 1 Jun 2024, when 2.2 mm was measured (attend): one and \
                 the same round. Not to be driven since 20 Jun 2024.";
    assert_eq!(said[1..], [since]);
}
