//! What grows old: tyres by date code, and fluids and filters that no rule gives a date to.

use crate::world::{World, at, code, day, every_months, instant, km};
use model::horizon::{Basis, DueItem, ItemKind};
use model::{Code, Grade, Jurisdiction, Place, Trigger, When};
use quantity::{Distance, Entered, Unit};

const FRONT_LEFT: &str = "age:tyre:front_left";

fn with_code(world: World, when: &str, place: Place, figures: f64) -> World {
    world.measured(when, "tyre-date-code", place, Entered::new(figures, Unit::Count))
}

/// Week 45 of 2013 begins on Monday 4 November 2013 (ISO 8601): ten years later is 4 November 2023 (makers' advice of six to
/// ten years, read second-hand). The last day before is the date limit.
#[test]
fn a_tyre_is_due_on_the_last_day_before_it_is_ten_years_old() {
    let world = with_code(World::new().new_on("2020-01-01"), "2021-06-01 09:00", Place::FrontLeft, 4513.0);
    let item = world.item(FRONT_LEFT).expect("it grows old");
    assert_eq!((item.kind, item.title.as_str()), (ItemKind::Age, "Tyre age, front left"));
    assert_eq!(item.date_limit, Some(day("2023-11-03")));
    assert_eq!(instant(item.timeline.approaching), at("2023-10-20 00:00"), "the fleet's lead of 14 days");
    assert_eq!(instant(item.timeline.due), at("2023-11-03 00:00"));
    assert_eq!(instant(item.timeline.overdue), at("2023-11-11 00:00"), "a week and its end");
    assert_eq!(item.do_not_drive_from, None);
    let said = world.because(FRONT_LEFT);
    assert!(
        said[0].contains("Date code 4513, read on 1 Jun 2021: made in the week of 4 Nov 2013."),
        "{said:#?}"
    );
    assert!(said[1].contains("at or above 6 from 4 Nov 2019: watch"), "{said:#?}");
    assert!(said[2].contains("at or above 10 from 4 Nov 2023: attend"), "{said:#?}");
}

#[test]
fn what_the_grade_asks_for_already_is_not_asked_for_twice() {
    let world = with_code(World::new().new_on("2020-01-01"), "2023-11-04 09:00", Place::FrontLeft, 4513.0);
    assert!(world.item("condition:tyre-date-code:front_left").is_some());
    assert_eq!(world.item(FRONT_LEFT), None);
}

/// The ban in the UK on tyres over ten years old in front of heavy vehicles (from memory which axles): forbidden from the day
/// after ten years.
#[test]
fn where_the_law_forbids_an_old_tyre_the_vehicle_is_not_driven_from_that_day() {
    let mut world =
        with_code(World::new().new_on("2020-01-01"), "2021-06-01 09:00", Place::FrontLeft, 4513.0);
    world.facts.vehicle.jurisdiction = Jurisdiction::Uk;
    world.facts.vehicle.gross_mass_kg = Some(7500);
    let item = world.item(FRONT_LEFT).expect("it grows old");
    assert_eq!(item.do_not_drive_from, Some(at("2023-11-05 00:00")));
    assert_eq!(instant(item.timeline.overdue), at("2023-11-05 00:00"));
    assert_eq!(item.marks.last().map(|mark| mark.code.as_str()), Some("do_not_drive"));
}

#[test]
fn a_code_goes_along_with_the_tyre_and_not_to_the_one_that_came() {
    let world = World::new().new_on("2020-01-01").fitted("tyre", Place::FrontLeft, "2020-01-01");
    let mut world = with_code(world, "2021-06-01 09:00", Place::FrontLeft, 4513.0);
    let cycle = world.item(FRONT_LEFT).expect("it grows old").cycle;
    assert_eq!(cycle.0, format!("fitting:{}", world.facts.fittings[0].id));
    let moved =
        model::Fitting { place: Place::RearLeft, from: day("2022-03-01"), ..world.facts.fittings[0].clone() };
    world.facts.fittings[0].to = Some(day("2022-03-01"));
    world.facts.fittings.push(model::Fitting { id: crate::world::id(9000), ..moved });
    let world = world.fitted("tyre", Place::FrontLeft, "2022-03-01");
    assert_eq!(world.item(FRONT_LEFT), None, "nobody has read the code of the tyre that came");
    let behind = world.item("age:tyre:rear_left").expect("it went behind");
    assert_eq!(behind.date_limit, Some(day("2023-11-03")));
}

#[test]
fn a_code_that_tells_of_no_week_gives_no_date() {
    let world = with_code(World::new(), "2024-06-01 09:00", Place::FrontLeft, 4529.0);
    assert_eq!(world.item(FRONT_LEFT), None);
}

/// A book whose rule for the fluid waits for its grade, so that no rule says when.
fn by_grade(world: World, rule: &str, point: &str, renews: &[&str]) -> World {
    let when = When::Grade { point: code(point), at_least: Grade::Attend };
    let renews: Vec<Code> = renews.iter().map(|point| code(point)).collect();
    world.rule(rule, every_months(1)).amend(|rule| {
        rule.trigger = Trigger::When(when);
        rule.renews = renews;
    })
}

fn fluid() -> World {
    by_grade(World::new(), "bleed", "brake-fluid-water", &["brake-fluid-water", "brake-fluid-boiling"])
}

/// House setting, no source: measured from 24 months on, replaced from 36 on.
#[test]
fn brake_fluid_that_no_rule_gives_a_date_to_is_due_by_its_age() {
    let world = fluid().service("2024-05-31", km(500.0), &["bleed"]);
    let item = world.item("age:brake-fluid").expect("it grows old");
    assert_eq!(item.cycle.0, format!("service:{}", world.facts.services[0].id));
    assert_eq!(instant(item.timeline.approaching), at("2026-05-31 00:00"));
    assert_eq!(
        (instant(item.timeline.due), item.date_limit),
        (at("2027-05-31 00:00"), Some(day("2027-05-31")))
    );
    assert_eq!(instant(item.timeline.overdue), at("2027-07-01 00:00"), "thirty days and the end of the last");
    assert!(item.caution.is_some_and(|caution| caution.contains("never reused")));
    assert!(fluid().item("age:brake-fluid").is_none(), "when it was changed is not on record");
}

#[test]
fn a_rule_with_dates_is_the_duty_itself() {
    let world = World::new()
        .rule("brake-fluid", every_months(24))
        .amend(|rule| rule.renews = vec![code("brake-fluid-water")])
        .service("2024-05-31", km(500.0), &["brake-fluid"]);
    assert_eq!(world.item("age:brake-fluid"), None);
    let excepted = world.exception("brake-fluid", None);
    assert!(excepted.item("age:brake-fluid").is_some(), "the rule does not apply to this vehicle");
}

#[test]
fn a_measured_boiling_point_serves_a_year() {
    let measured = |when: &str, celsius| {
        fluid().service("2024-05-31", km(500.0), &["bleed"]).measured(
            when,
            "brake-fluid-boiling",
            Place::Vehicle,
            Entered::new(celsius, Unit::Celsius),
        )
    };
    let limit = |world: &World| world.item("age:brake-fluid").and_then(|item| item.date_limit);
    assert_eq!(limit(&measured("2027-01-10 09:00", 220.0)), Some(day("2028-01-10")));
    assert_eq!(limit(&measured("2025-01-10 09:00", 220.0)), Some(day("2027-05-31")), "its age allows more");
    assert_eq!(limit(&measured("2025-01-10 09:00", 130.0)), None, "the grade asks for it already");
}

fn filtered(kind: &str, from: &str) -> World {
    World::new().steady("2024-01-01", "2024-06-29", 30, km(100.0)).fitted(kind, Place::Vehicle, from)
}

fn filter(world: &World, what: &str) -> DueItem {
    world.item(&format!("age:{what}")).expect("it grows old")
}

/// House setting, no source: 36 months or 50,000 km; 12 months or 20,000 km in dust.
#[test]
fn an_air_filter_is_due_by_age_or_distance_whichever_first() {
    let mut world = filtered("air-filter", "2024-01-01");
    let item = filter(&world, "engine-air-filter");
    assert_eq!(item.date_limit, Some(day("2027-01-01")));
    assert_eq!(item.odometer_limit, Some(Distance::from_km(50_000)));
    // At about 100 km a day 50,000 km come in May 2025.
    let due = item.timeline.due.expect("a day");
    assert_eq!(
        (due.basis, item.crossing.and_then(|band| band.likely)),
        (Basis::Forecast, Some(due.at.date_naive()))
    );
    world.facts.vehicle.tags = vec!["dust".to_owned()];
    let dusty = filter(&world, "engine-air-filter");
    assert_eq!(dusty.date_limit, Some(day("2025-01-01")));
    assert_eq!(dusty.odometer_limit, Some(Distance::from_km(20_000)));
}

/// House setting, no source: 12 months, and one that falls due from March to May before the pollen, which comes in March; in
/// the south from September.
#[test]
fn a_cabin_filter_is_changed_before_the_pollen() {
    let date = |from: &str, zone| {
        let world = World::new().zone(zone).fitted("cabin-filter", Place::Vehicle, from);
        filter(&world, "cabin-filter").date_limit
    };
    let north = chrono_tz::Europe::Dublin;
    assert_eq!(date("2024-04-10", north), Some(day("2025-02-28")));
    assert_eq!(date("2027-03-01", north), Some(day("2028-02-29")), "a leap year");
    assert_eq!(date("2024-06-01", north), Some(day("2025-06-01")));
    assert_eq!(date("2024-10-10", north), Some(day("2025-10-10")));
    // Clocks of the south are ahead in January.
    let south = chrono_tz::Australia::Melbourne;
    assert_eq!(date("2024-10-10", south), Some(day("2025-08-31")));
    assert_eq!(date("2024-04-10", south), Some(day("2025-04-10")));
}

#[test]
fn every_age_can_be_explained() {
    let world = filtered("cabin-filter", "2024-04-10");
    let said = world.because("age:cabin-filter");
    let has = |words: &str| said.iter().any(|sentence| sentence.contains(words));
    assert!(has("Last changed on 10 Apr 2024") && has("by its fitting"), "{said:#?}");
    assert!(has("No rule of the fleet says when it is due; usual are 12 months or 25,000 km"), "{said:#?}");
    assert!(has("The pollen comes before that: better changed by 28 Feb 2025."), "{said:#?}");
    assert!(has("Whichever comes first of"), "{said:#?}");
}
