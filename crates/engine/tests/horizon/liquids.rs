//! Use of oil by what was topped up, and what a rule renews.

use crate::world::{World, code, every_months, km};
use model::horizon::Graded;
use model::{Grade, Place};
use quantity::{Entered, Unit};

/// 100 km a day from 1 January 2024, read every ten days.
fn driven() -> World {
    World::new()
        .steady("2024-01-01", "2024-06-29", 10, km(100.0))
        .rule("oil", every_months(12))
        .amend(|rule| rule.renews = vec![code("oil-level")])
}

fn topped_up(world: World, when: &str, litres: f64) -> World {
    world.measured(when, "oil-top-up", Place::Vehicle, Entered::new(litres, Unit::Litre))
}

fn graded(world: &World) -> Graded {
    let mut grades = world.horizon().grades.into_iter();
    grades.find(|graded| graded.point == "oil-top-up").expect("a grade")
}

/// Makers' usual allowance, from memory: a litre over 1,000 km. Changed at 1,000 km (11 January, noon), then one litre each
/// at noon of 21 and 31 January: 2 L over 2,000 km.
#[test]
fn an_engine_that_uses_a_litre_over_a_thousand_kilometres_asks_for_work() {
    let world = driven().service("2024-01-11", km(1000.0), &["oil"]);
    let world = topped_up(topped_up(world, "2024-01-21 12:00", 1.0), "2024-01-31 12:00", 1.0);
    let used = graded(&world);
    assert_eq!(used.grade, Grade::Attend, "{used:?}");
    assert!(used.reason.contains("uses 1 L (give or take 0.14 L) over 1,000 km"), "{}", used.reason);
    let item = world.item("condition:oil-top-up:vehicle").expect("it asks for work");
    assert_eq!(item.grade, Some(Grade::Attend));
    // The change does not cure the engine: until the next top-ups tell better, it is told.
    let changed = world.service("2024-03-01", km(6000.0), &["oil"]);
    assert!(changed.item("condition:oil-top-up:vehicle").is_some());
}

#[test]
fn an_odometer_of_the_inspection_itself_counts_before_what_lies_between() {
    let world = driven().service("2024-01-11", km(1000.0), &["oil"]);
    // Without a reading of its own a top-up on 26 January, noon, stands at 2,500 km: 1.2 L over 1,500 km.
    let between = topped_up(world, "2024-01-26 12:00", 1.0);
    assert!(graded(&between).advice.iter().chain([&graded(&between).reason]).any(|s| s.contains("0.67 L")));
}

#[test]
fn a_rule_of_any_name_ends_the_grade_of_what_it_renews() {
    let low = gauge_answer("oil-level", "low");
    let world = driven().measured("2024-02-01 09:00", "oil-level", Place::Vehicle, low);
    assert!(world.item("condition:oil-level:vehicle").is_some());
    let changed = world.clone().service("2024-02-02", km(3200.0), &["oil"]);
    assert!(changed.item("condition:oil-level:vehicle").is_none());
    // The shipped name alone does nothing for a rule that does not say so.
    let silent =
        world.rule("engine-oil", every_months(12)).service("2024-02-02", km(3200.0), &["engine-oil"]);
    assert!(silent.item("condition:oil-level:vehicle").is_some());
}

#[test]
fn work_that_satisfies_a_rule_renews_what_that_one_renews() {
    let low = gauge_answer("oil-level", "low");
    let world = driven()
        .rule("yearly", every_months(12))
        .amend(|rule| rule.satisfies = vec![code("oil")])
        .measured("2024-02-01 09:00", "oil-level", Place::Vehicle, low)
        .service("2024-02-02", km(3200.0), &["yearly"]);
    assert!(world.item("condition:oil-level:vehicle").is_none());
}

/// The word as a check point keeps it.
fn gauge_answer(point: &str, word: &str) -> Entered {
    let mut points = engine::check_points();
    let point = points.find(|one| one.code == point).expect("a point");
    point.answered(word).expect("an answer")
}
