//! Time off the road.

use crate::world::{World, at, day, every_km, every_months, instant, km};
use chrono_tz::Tz;
use engine::{before_out, folded, told_from};
use model::horizon::{Basis, ItemKind, Mark};
use model::{FindingWeight, PaperKind};

const IN: &str = "2024-06-01 09:00";
const OUT: &str = "2024-06-21 15:00";

/// Oil due on 1 June, a wash on 1 July, a paper that ends on 30 June; in the workshop since 1 June.
fn world() -> World {
    World::new()
        .rule("oil", every_months(5))
        .lead(Some(10), None)
        .rule("wash", every_months(6))
        .lead(Some(3), None)
        .paper(PaperKind::Insurance, "2024-06-30")
        .reading("2024-05-20 12:00", 4000.0)
}

#[test]
fn one_list_says_what_to_see_to_before_it_goes_out_again() {
    let world = world().stay(IN, None);
    let item = world.before_out().unwrap();
    assert_eq!((item.kind, item.title.as_str()), (ItemKind::BeforeOut, "Before it goes out again"));
    assert_eq!(item.covers, ["paper:insurance", "rule:oil"]);
    let due = item.timeline.due.unwrap();
    assert_eq!((due.at, due.basis), (at(IN), Basis::Date));
    assert_eq!(item.cycle.0, item.key.0);
    let marks: Vec<&str> = item.marks.iter().map(|mark| mark.code.as_str()).collect();
    assert_eq!(marks, ["due"]);
    let line = engine::words::item(&item, quantity::Unit::Kilometre);
    assert_eq!(line, "Before it goes out again: 2 things to see to");
}

#[test]
fn the_list_grows_with_what_falls_due_meanwhile() {
    let horizon = world().stay(IN, None).horizon();
    let keys =
        |when: &str| before_out(&horizon.items, at(when)).map(|item| item.key.0.clone()).collect::<Vec<_>>();
    assert_eq!(keys("2024-06-01 09:00"), ["paper:insurance", "rule:oil"]);
    assert_eq!(keys("2024-06-29 09:00"), ["paper:insurance", "rule:oil", "rule:wash"]);
}

#[test]
fn the_list_is_gone_once_the_vehicle_is_out() {
    assert_eq!(world().stay(IN, Some(OUT)).before_out(), None);
}

#[test]
fn marks_wait_until_the_vehicle_is_out_but_never_a_do_not_drive() {
    let world = world().finding(None, FindingWeight::DoNotDrive, "2024-06-05 09:00");
    let falls = |world: &World, key: &str, code: &str| {
        let item = world.item(key).expect("the item should be coming");
        let mark = item.marks.iter().find(|mark| mark.code == code).expect("the mark should be there");
        told_from(&world.facts, &item, mark)
    };
    let (open, closed) = (world.clone().stay(IN, None), world.clone().stay(IN, Some(OUT)));
    // Overdue from 2 June, in the stay; the wash is due on 1 July, after it.
    assert_eq!(falls(&open, "rule:oil", "overdue"), None);
    assert_eq!(falls(&closed, "rule:oil", "overdue"), Some(at(OUT)));
    assert_eq!(falls(&closed, "rule:wash", "due"), Some(at("2024-07-01 00:00")));
    let finding = format!("finding:{}", world.facts.findings[0].id);
    assert_eq!(falls(&open, &finding, "do_not_drive"), Some(at("2024-06-05 09:00")));
    let list = open.before_out().unwrap();
    let mark = Mark { code: "due".to_owned(), rank: 20, at: at(IN) };
    assert_eq!(told_from(&open.facts, &list, &mark), Some(at(IN)));
}

#[test]
fn a_stay_is_on_from_going_in_to_coming_out() {
    let facts = world().stay(IN, Some(OUT)).facts;
    let is_folded = |when: &str| folded(&facts, at(when));
    assert_eq!(["2024-06-01 08:59", IN, "2024-06-21 14:59", OUT].map(is_folded), [false, true, true, false]);
}

#[test]
fn whole_days_of_a_stay_that_is_over_are_no_operating_days() {
    // 100 km a day; 20 days in the workshop less the two at its ends are 18, which the likely day moves by.
    let world = World::new().steady("2024-01-01", "2024-05-30", 5, km(100.0)).rule("oil", every_km(30_000.0));
    let likely = |world: &World| world.due("oil").crossing.unwrap().likely.unwrap();
    let before = likely(&world);
    assert!(before > day("2024-10-01"), "{before}");
    let out = format!("{} 15:00", day("2024-06-21"));
    let away = likely(&world.clone().stay(IN, Some(&out)));
    assert_eq!(away - before, chrono::TimeDelta::days(19));
    assert_eq!(likely(&world.stay(IN, None)), before);
}

#[test]
fn days_of_a_stay_begin_and_end_on_the_depots_clocks() {
    // Midnight in New York is 04:00 in UTC: 1 June counts whole, 2 June not.
    let world = World::new()
        .zone(Tz::America__New_York)
        .steady("2024-01-01", "2024-05-30", 5, km(100.0))
        .rule("oil", every_km(30_000.0));
    let likely = |world: &World| world.due("oil").crossing.unwrap().likely.unwrap();
    let away = world.clone().stay("2024-06-01 04:00", Some("2024-06-02 04:00"));
    assert_eq!(likely(&away) - likely(&world), chrono::TimeDelta::days(1));
    let short = world.clone().stay("2024-06-01 04:01", Some("2024-06-02 04:00"));
    assert_eq!(likely(&short), likely(&world));
}

#[test]
fn no_reading_is_asked_of_a_vehicle_off_the_road() {
    let world = world();
    assert_eq!(instant(world.item("reading").unwrap().timeline.due), at("2024-06-10 00:00"));
    assert_eq!(world.clone().stay(IN, None).item("reading"), None);
    let out = world.stay(IN, Some(OUT)).item("reading").unwrap();
    assert_eq!(instant(out.timeline.due), at(OUT));
}

#[test]
fn the_list_is_explained_with_why_it_stands_and_what_was_open() {
    let world = world().stay(IN, None);
    let said = world.because(&world.before_out().unwrap().key.0);
    let away = "Off the road since 1 Jun 2024 (gearbox); it waits for a part.";
    assert_eq!(said, [away, "Approaching or due when it went in: Insurance; oil."]);
}
