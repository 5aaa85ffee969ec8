//! Work that follows other work. Re-tightening of wheel fasteners after 50 to 100 mi: common practice, no source.

use crate::world::{World, at, day, instant, km};
use engine::words;
use model::{Every, Reach};
use quantity::Unit;

/// Tighten again within a day or 80 km of work on the tyres.
fn tightening() -> World {
    let within = Reach { days: Some(1), distance: Some(km(80.0)) };
    World::new().rule("tyre-check", Every { months: Some(12), ..Every::default() }).after_work(
        "re-tightening",
        &["tyre-check"],
        within,
    )
}

#[test]
fn it_is_open_from_the_day_of_the_work_and_told_once_that_is_on_record() {
    let world = tightening().service("2024-06-03", km(5000.0), &["tyre-check"]);
    let item = world.due("re-tightening");
    assert_eq!(item.cycle.0, format!("service:{}", world.facts.services[0].id));
    assert_eq!(
        (item.date_limit, item.odometer_limit.map(quantity::Distance::km)),
        (Some(day("2024-06-04")), Some(5080.0))
    );
    assert_eq!(instant(item.timeline.approaching), at("2024-06-03 00:00"));
    assert_eq!(instant(item.timeline.overdue), at("2024-06-05 00:00"));
    let marks: Vec<_> = item.marks.iter().map(|mark| (mark.code.as_str(), mark.at)).collect();
    assert_eq!(marks, [("follow_up", at("2024-06-03 13:00")), ("overdue", at("2024-06-05 00:00"))]);
    let line = "re-tightening: due 4 Jun 2024 or at 5,080 km, whichever comes first";
    assert!(words::item(&item, Unit::Kilometre).starts_with(line), "{}", words::item(&item, Unit::Kilometre));
}

#[test]
fn a_later_record_closes_it_and_the_same_record_does_not() {
    let same = tightening().service("2024-06-03", km(5000.0), &["tyre-check", "re-tightening"]);
    assert!(same.item("rule:re-tightening").is_some(), "nobody has driven in between");
    let done = same.service("2024-06-03", km(5081.0), &["re-tightening"]);
    assert_eq!(done.item("rule:re-tightening"), None);
    let again = done.service("2024-09-02", km(9000.0), &["tyre-check"]);
    assert_eq!(again.due("re-tightening").date_limit, Some(day("2024-09-03")));
}

#[test]
fn a_reading_past_the_distance_makes_it_due_before_its_day() {
    let world =
        tightening().service("2024-06-03", km(5000.0), &["tyre-check"]).reading("2024-06-03 18:00", 5120.0);
    let due = world.due("re-tightening").timeline.due.expect("it is due");
    assert_eq!(due.at, at("2024-06-03 18:00"));
}

#[test]
fn work_entered_long_after_is_history_and_asks_for_nothing() {
    let mut world = tightening().service("2024-06-03", km(5000.0), &["tyre-check"]);
    world.facts.services[0].recorded_at = at("2024-06-04 23:59");
    assert!(world.item("rule:re-tightening").is_some());
    world.facts.services[0].recorded_at = at("2024-06-05 00:00");
    assert_eq!(world.item("rule:re-tightening"), None);
}

#[test]
fn work_that_satisfies_the_rule_followed_asks_as_well() {
    let world = tightening()
        .rule("yearly-service", Every { months: Some(12), ..Every::default() })
        .amend(|rule| rule.satisfies = vec![crate::world::code("tyre-check")])
        .service("2024-06-03", km(5000.0), &["yearly-service"]);
    assert_eq!(world.due("re-tightening").date_limit, Some(day("2024-06-04")));
}

#[test]
fn it_explains_which_work_it_follows_and_how_soon() {
    let world = tightening().service("2024-06-03", km(5000.0), &["tyre-check"]);
    let said = world.because("rule:re-tightening");
    let asks = said.iter().find(|line| line.starts_with("Rule re-tightening")).expect("the rule");
    assert!(asks.ends_with(": it follows tyre check, within 1 day or 80 km."), "{asks}");
    assert!(said.iter().any(|line| line.contains("3 Jun 2024") && line.contains("4 Jun 2024")), "{said:?}");
    assert!(said.iter().any(|line| line.contains("5,000 km + 80 km = 5,080 km")), "{said:?}");
}
