//! Rules that wait for a grade.

use crate::world::{World, at, instant, km};
use engine::words;
use model::{Grade, Place};
use quantity::Unit;

/// Rotate the tyres when the tread of one is to be watched.
fn rotation() -> World {
    World::new().when_graded("rotation", "tread-depth", Grade::Watch)
}

fn measured(world: &World, inspection: usize) -> String {
    format!("measurement:{}", world.facts.inspections[inspection].measurements[0].id)
}

#[test]
fn it_is_due_while_a_grade_is_at_least_that_bad_and_names_the_places() {
    let world = rotation()
        .tread("2024-06-01 09:00", Place::FrontLeft, 2.9)
        .tread("2024-06-01 10:00", Place::FrontRight, 2.2)
        .tread("2024-06-01 11:00", Place::RearLeft, 7.0);
    let item = world.due("rotation");
    assert_eq!(item.covers, ["front_left", "front_right"]);
    assert_eq!((item.grade, item.cycle.0.clone()), (Some(Grade::Attend), measured(&world, 0)));
    assert_eq!(instant(item.timeline.due), at("2024-06-01 09:00"));
    assert_eq!(instant(item.timeline.overdue), at("2024-06-08 09:00"));
    let line = "rotation: asked for by attend at front left, front right";
    assert_eq!(words::item(&item, Unit::Kilometre), line);
}

#[test]
fn good_grades_ask_for_nothing_and_neither_do_other_points() {
    let world = rotation().tread("2024-06-01 09:00", Place::FrontLeft, 7.0);
    assert_eq!(world.item("rule:rotation"), None);
    let pads = World::new().when_graded("pads", "pad-thickness", Grade::Watch).tread(
        "2024-06-01 09:00",
        Place::FrontLeft,
        1.4,
    );
    assert_eq!(pads.item("rule:pads"), None);
}

#[test]
fn measuring_again_keeps_the_round_and_its_grace_is_the_rules() {
    let world = rotation().grace(Some(30), None).tread("2024-06-01 09:00", Place::FrontLeft, 2.9).tread(
        "2024-06-11 09:00",
        Place::FrontLeft,
        2.2,
    );
    let item = world.due("rotation");
    assert_eq!(item.cycle.0, measured(&world, 0));
    assert_eq!(instant(item.timeline.overdue), at("2024-07-01 09:00"));
}

#[test]
fn work_closes_it_until_it_is_measured_as_bad_again() {
    let done = rotation().tread("2024-06-01 09:00", Place::FrontLeft, 2.9).service(
        "2024-06-03",
        km(9.0),
        &["rotation"],
    );
    assert_eq!(done.item("rule:rotation"), None);
    let again = done.tread("2024-07-01 09:00", Place::FrontLeft, 2.8);
    assert_eq!(again.due("rotation").cycle.0, measured(&again, 1));
}

#[test]
fn a_grade_that_asks_is_explained_with_where_and_since_when() {
    let world = rotation().tread("2024-06-01 09:00", Place::FrontLeft, 2.9).tread(
        "2024-06-11 09:00",
        Place::FrontRight,
        2.2,
    );
    let asked = "Rule rotation, rulebook version 3: when tread depth is graded watch or worse. It is watch at front left, \
                 attend at front right, without a break since 1 Jun 2024; overdue 7 days later.";
    assert_eq!(world.because("rule:rotation")[0], asked);
}
