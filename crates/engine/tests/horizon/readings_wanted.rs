//! Asking for a reading.

use crate::world::{World, at, every_km, instant, km};
use model::PaperKind;
use model::horizon::Basis;

#[test]
fn a_reading_is_wanted_when_the_last_is_three_weeks_old() {
    let world = World::new().reading("2024-06-01 12:00", 1000.0);
    let item = world.item("reading").unwrap();
    assert_eq!(instant(item.timeline.due), at("2024-06-22 00:00"));
    assert_eq!(instant(item.timeline.overdue), at("2024-07-06 00:00"));
    assert_eq!(item.cycle.0, format!("reading:{}", world.facts.readings[0].id));
    let marks: Vec<_> = item.marks.iter().map(|mark| (mark.code.as_str(), mark.rank)).collect();
    assert_eq!(marks, [("reading_wanted", 10), ("overdue", 30)]);
}

#[test]
fn a_reading_is_wanted_sooner_when_the_shortest_lead_is_soon_driven() {
    // Shipped usage: a q / (p - 1) = 400 / 5 = 80 km a day, so 800 km take ten days from noon on the 1st.
    let world = World::new()
        .reading("2024-06-01 12:00", 1000.0)
        .rule("engine-oil", every_km(10_000.0))
        .lead(None, Some(km(800.0)))
        .rule("gearbox-oil", every_km(60_000.0))
        .lead(None, Some(km(5000.0)));
    let due = world.item("reading").unwrap().timeline.due.unwrap();
    assert_eq!((due.at, due.basis), (at("2024-06-11 00:00"), Basis::Forecast));
}

#[test]
fn a_reading_is_wanted_on_the_next_day_at_the_soonest() {
    let world = World::new().reading("2024-06-01 01:00", 1000.0).rule("wash", every_km(100.0));
    let world = world.lead(None, Some(km(5.0)));
    assert_eq!(instant(world.item("reading").unwrap().timeline.due), at("2024-06-02 00:00"));
}

#[test]
fn the_lead_of_a_paper_is_no_distance_to_drive() {
    let world = World::new().reading("2024-06-01 12:00", 1000.0).paper_rule(PaperKind::Permit, false);
    let world = world.lead(None, Some(km(100.0)));
    assert_eq!(instant(world.item("reading").unwrap().timeline.due), at("2024-06-22 00:00"));
}

#[test]
fn a_vehicle_without_any_reading_is_asked_from_its_first_day() {
    let world = World::new().new_on("2024-03-01");
    let item = world.item("reading").unwrap();
    assert_eq!(instant(item.timeline.due), at("2024-03-01 00:00"));
    assert_eq!(item.cycle.0, format!("vehicle:{}", world.facts.vehicle.id));
}

#[test]
fn a_parked_vehicle_is_not_asked() {
    let world = World::new().reading("2024-06-01 12:00", 1000.0).parked_from("2024-06-05");
    assert_eq!(world.item("reading"), None);
}
