//! Rules that wait for a fitted component to come near its limit.

use crate::world::{World, at, day, every_km, instant, km};
use chrono::{Days, NaiveDate};
use model::{Place, Reach};
use quantity::{Entered, Unit};

/// A tyre, 8 mm when new, on a vehicle that drives 100 km a day and was read last on 9 April 2024 at 9,900 km.
fn tyres(places: &[Place]) -> World {
    let mut world = World::new().steady("2024-01-01", "2024-04-09", 9, km(100.0));
    for place in places {
        world = world.fitted("tyre", *place, "2024-01-01");
        let component = world.facts.components.last_mut().expect("just fitted");
        component.depth_new = Some(Entered::new(8.0, Unit::Millimetre));
    }
    world
}

fn within(days: Option<u32>, far: Option<f64>) -> Reach {
    Reach { days, distance: far.map(km) }
}

fn due_on(world: &World) -> NaiveDate {
    instant(world.due("order-tyres").timeline.due).date_naive()
}

/// The likely day of the first tyre's limit, and the distance to it.
fn limit(world: &World) -> (NaiveDate, f64) {
    let wear = world.horizon().wear.swap_remove(0);
    wear.crossing.likely.zip(wear.km_left[1]).expect("a limit that is met")
}

#[test]
fn it_is_due_so_many_days_before_the_likely_day_of_the_limit() {
    let world = tyres(&[Place::FrontLeft]).when_near("order-tyres", "tyre", within(Some(30), None));
    assert_eq!(due_on(&world), limit(&world).0 - Days::new(30));
    let item = world.due("order-tyres");
    assert_eq!(item.cycle.0, format!("fitting:{}", world.facts.fittings[0].id));
    assert_eq!((item.covers.as_slice(), item.date_limit), (["front_left".to_owned()].as_slice(), None));
}

#[test]
fn it_is_due_so_much_distance_before_the_limit() {
    let world = tyres(&[Place::FrontLeft]).when_near("order-tyres", "tyre", within(None, Some(5000.0)));
    // The same odometer as a limit of its own: 9,900 km and what is left, less 5,000 km.
    let odometer = 9900.0 + limit(&world).1 - 5000.0;
    let alike = world.clone().rule("alike", every_km(odometer));
    assert_eq!(due_on(&world), alike.due("alike").crossing.unwrap().likely.unwrap());
}

#[test]
fn of_days_and_distance_whichever_comes_first() {
    let rule = |reach| due_on(&tyres(&[Place::FrontLeft]).when_near("order-tyres", "tyre", reach));
    let (days, far) = (rule(within(Some(10), None)), rule(within(None, Some(20_000.0))));
    assert_eq!(rule(within(Some(10), Some(20_000.0))), days.min(far));
    assert_ne!(days, far);
}

#[test]
fn the_tyre_that_is_worn_first_decides() {
    // House setting: a front tyre wears faster than a rear one.
    let both = tyres(&[Place::RearLeft, Place::FrontLeft]);
    let both = both.when_near("order-tyres", "tyre", within(Some(30), None));
    let front = tyres(&[Place::FrontLeft]).when_near("order-tyres", "tyre", within(Some(30), None));
    assert_eq!(due_on(&both), due_on(&front));
    assert_eq!(both.due("order-tyres").covers, ["front_left"]);
}

#[test]
fn a_fitting_asks_once_and_the_next_one_anew() {
    let world = tyres(&[Place::FrontLeft]).when_near("order-tyres", "tyre", within(Some(30), None));
    let done = world.service("2024-04-10", km(10_000.0), &["order-tyres"]);
    assert_eq!(done.item("rule:order-tyres"), None);
    let mut renewed = done;
    (renewed.facts.fittings[0].to, renewed.facts.fittings[0].to_odometer) =
        (Some(day("2024-04-20")), Some(quantity::Distance::from_km(11_000)));
    renewed = renewed.reading("2024-04-20 12:00", 11_000.0).fitted("tyre", Place::FrontLeft, "2024-04-20");
    renewed.facts.fittings[1].from_odometer = quantity::Distance::from_km(11_000);
    renewed.facts.components[1].depth_new = Some(Entered::new(8.0, Unit::Millimetre));
    assert_eq!(renewed.due("order-tyres").cycle.0, format!("fitting:{}", renewed.facts.fittings[1].id));
}

#[test]
fn other_components_ask_for_nothing() {
    let world = tyres(&[Place::FrontLeft]).when_near("order-pads", "pad-set", within(Some(30), None));
    assert_eq!(world.item("rule:order-pads"), None);
}

#[test]
fn lead_and_grace_hold_around_it() {
    let world = tyres(&[Place::FrontLeft]).when_near("order-tyres", "tyre", within(Some(30), None));
    let timeline = world.lead(Some(7), None).grace(Some(3), None).due("order-tyres").timeline;
    let due = instant(timeline.due);
    assert_eq!(instant(timeline.approaching), due - Days::new(7));
    assert_eq!(instant(timeline.overdue), due + Days::new(4));
    assert!(due > at("2024-04-09 12:00"), "{due}");
}

#[test]
fn a_limit_that_nears_is_explained_by_days_and_by_distance() {
    let world = tyres(&[Place::FrontLeft]).when_near("order-tyres", "tyre", within(Some(30), Some(5000.0)));
    let said = &world.because("rule:order-tyres")[0];
    let start = "Rule order-tyres, rulebook version 3: when the limit of a tyre is 30 days or 5,000 km away. The first is \
                 front left. Its likely day is ";
    assert!(said.starts_with(start) && said.contains(" So by days "), "{said}");
    assert!(said.contains("; by distance "), "{said}");
}
