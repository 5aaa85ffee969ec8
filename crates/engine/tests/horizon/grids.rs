//! Rules on a grid, and first intervals that differ.

use crate::world::{World, day, every_hours, every_km, every_km_or_months, every_months, km};
use model::horizon::Basis;
use model::{BaselineChoice, Every};
use quantity::Distance;
use rstest::rstest;

/// A vehicle new on 31 January 2024 at 30 km, served on a grid of 10,000 km or 6 months.
fn logbook() -> World {
    let mut world = World::new().new_on("2024-01-31");
    world.facts.vehicle.in_service_odometer = Distance::from_km(30);
    world.rule("service", every_km_or_months(10_000.0, 6)).on_grid().lead(Some(14), Some(km(500.0)))
}

fn open_point(world: &World) -> (String, Option<chrono::NaiveDate>, Option<Distance>) {
    let item = world.due("service");
    (item.cycle.0, item.date_limit, item.odometer_limit)
}

fn point(number: u32, on: &str, odometer: i64) -> (String, Option<chrono::NaiveDate>, Option<Distance>) {
    (format!("grid:{number}"), Some(day(on)), Some(Distance::from_km(odometer)))
}

#[test]
fn the_first_multiple_is_open_until_something_is_done() {
    assert_eq!(open_point(&logbook()), point(1, "2024-07-31", 10_030));
}

#[rstest]
#[case::late_by_date("2024-09-20", 4000.0, 2, "2025-01-31", 20_030)]
#[case::late_by_distance("2024-05-10", 12_000.0, 2, "2025-01-31", 20_030)]
#[case::on_the_day("2024-07-31", 4000.0, 2, "2025-01-31", 20_030)]
#[case::early_within_the_lead_in_days("2024-07-17", 4000.0, 2, "2025-01-31", 20_030)]
#[case::a_day_too_early("2024-07-16", 4000.0, 1, "2024-07-31", 10_030)]
#[case::early_within_the_lead_in_distance("2024-05-10", 9530.0, 2, "2025-01-31", 20_030)]
#[case::a_kilometre_too_early("2024-05-10", 9529.0, 1, "2024-07-31", 10_030)]
#[case::so_late_that_the_next_is_past_too("2025-02-10", 14_000.0, 3, "2025-07-31", 30_030)]
fn work_closes_every_multiple_by_then_and_late_work_shifts_nothing(
    #[case] done: &str,
    #[case] at_km: f64,
    #[case] open: u32,
    #[case] on: &str,
    #[case] odometer: i64,
) {
    let world = logbook().service(done, km(at_km), &["service"]);
    assert_eq!(open_point(&world), point(open, on, odometer));
}

#[test]
fn months_of_a_grid_are_counted_from_its_first_day_in_one_step() {
    // From 31 January: 28 February, then 31 March again, as no step starts from the one before.
    let world = World::new().new_on("2023-01-31").rule("service", every_months(1)).on_grid();
    assert_eq!(world.due("service").date_limit, Some(day("2023-02-28")));
    let later = world.service("2023-02-28", km(900.0), &["service"]);
    assert_eq!(later.due("service").date_limit, Some(day("2023-03-31")));
}

#[rstest]
#[case("2023-01-29")]
#[case("2023-01-30")]
#[case("2023-01-31")]
#[case("2024-02-29")]
fn r04_four_hundred_points_of_a_grid_do_not_drift(#[case] from: &str) {
    // Each is done on its day, so that the next follows from the one before; a step from there would drift.
    let on_day = |number| crate::rules::months_later(day(from), number);
    let world = World::new().new_on(from).rule("wash", every_months(1)).on_grid().lead(Some(0), None);
    for number in 1..=400 {
        let done = world.clone().service(&on_day(number).to_string(), km(10.0), &["wash"]);
        let item = done.due("wash");
        assert_eq!(
            (item.cycle.0, item.date_limit),
            (format!("grid:{}", number + 1), Some(on_day(number + 1)))
        );
    }
}

#[test]
fn without_a_lead_distance_work_counts_a_tenth_of_the_interval_early() {
    let world = World::new().rule("service", every_km(10_000.0)).on_grid();
    let early = world.clone().service("2024-05-10", km(9000.0), &["service"]);
    assert_eq!(early.due("service").cycle.0, "grid:2");
    let too_early = world.service("2024-05-10", km(8999.0), &["service"]);
    assert_eq!(too_early.due("service").cycle.0, "grid:1");
}

#[test]
fn a_lead_longer_than_half_the_interval_counts_no_work_twice() {
    let world = World::new().rule("wash", Every { days: Some(10), ..Every::default() }).on_grid();
    let world = world.lead(Some(30), None).service("2024-01-06", km(10.0), &["wash"]);
    assert_eq!(world.due("wash").cycle.0, "grid:2");
    assert_eq!(world.due("wash").date_limit, Some(day("2024-01-21")));
}

#[test]
fn a_used_vehicle_joins_the_grid_where_its_proof_stands() {
    let mut world = World::new().used_since("2026-02-01").rule("service", every_km_or_months(20_000.0, 12));
    world = world.on_grid();
    world.facts.vehicle.in_service_on = Some(day("2022-05-15"));
    assert_eq!(world.item("baseline").unwrap().covers, ["service"]);
    let proven = BaselineChoice::Proven { done_on: day("2025-09-01"), odometer: km(61_000.0) };
    let item = world.answer("service", proven).due("service");
    // 60,000 km were past by then; 36 months too. Number 4 lies at 48 months and 80,000 km.
    assert_eq!((item.cycle.0.as_str(), item.date_limit), ("grid:4", Some(day("2026-05-15"))));
    assert_eq!(item.odometer_limit, Some(Distance::from_km(80_000)));
}

#[test]
fn the_first_interval_of_a_new_vehicle_may_differ() {
    let world = World::new().rule("oil", every_km_or_months(15_000.0, 12)).first(every_km(1500.0));
    let item = world.due("oil");
    assert_eq!((item.odometer_limit, item.date_limit), (Some(Distance::from_km(1500)), None));
    let later = world.service("2024-02-01", km(1400.0), &["oil"]).due("oil");
    assert_eq!(later.odometer_limit, Some(Distance::from_km(16_400)));
    assert_eq!(later.date_limit, Some(day("2025-02-01")));
}

#[test]
fn a_first_interval_is_for_new_vehicles_alone() {
    let choice = BaselineChoice::StartFrom { on: day("2024-02-05"), odometer: km(84_000.0) };
    let world = World::new()
        .used_since("2024-02-01")
        .rule("oil", every_km(15_000.0))
        .first(every_km(1500.0))
        .answer("oil", choice);
    assert_eq!(world.due("oil").odometer_limit, Some(Distance::from_km(99_000)));
}

#[test]
fn under_severe_duty_the_first_interval_is_no_longer_than_the_severe_one() {
    let world = World::new()
        .severe()
        .rule("belt", every_km_or_months(120_000.0, 96))
        .first(every_km_or_months(150_000.0, 120))
        .amend(|rule| rule.severe = Some(every_km(90_000.0)));
    let item = world.due("belt");
    assert_eq!(
        (item.odometer_limit, item.date_limit),
        (Some(Distance::from_km(90_000)), Some(day("2034-01-01")))
    );
}

#[test]
fn an_exception_takes_the_place_of_a_first_interval_too() {
    let world = World::new().rule("oil", every_months(12)).first(every_months(1));
    let own = world.exception("oil", Some(every_months(3)));
    assert_eq!(own.due("oil").date_limit, Some(day("2024-04-01")));
}

#[test]
fn on_a_grid_the_multiples_follow_the_first_interval() {
    let world = World::new().rule("valves", every_km(20_000.0)).first(every_km(1000.0)).on_grid();
    assert_eq!(world.due("valves").odometer_limit, Some(Distance::from_km(1000)));
    let later = world.service("2024-02-01", km(1200.0), &["valves"]).due("valves");
    assert_eq!((later.cycle.0.as_str(), later.odometer_limit), ("grid:2", Some(Distance::from_km(21_000))));
}

#[test]
fn running_time_limits_like_the_rest_and_is_due_from_the_reading_that_met_it() {
    let world = World::new()
        .hours("2024-02-28 12:00", 400.0)
        .hours("2024-03-03 12:00", 410.0)
        .service("2024-03-01", km(5000.0), &["oil"])
        .rule("oil", every_hours(250.0));
    // Half of the time between the two readings had passed at noon of the service, so 405 h.
    assert_eq!(world.due("oil").hours_limit_seconds, Some(655 * 3600));
    assert_eq!(world.due("oil").timeline.due.map(|due| due.basis), Some(Basis::Forecast));
    let met = world.hours("2024-06-01 08:00", 655.0).due("oil").timeline.due.unwrap();
    assert_eq!((met.at, met.basis), (crate::world::at("2024-06-01 08:00"), Basis::Reading));
}

#[test]
fn without_an_hour_meter_running_time_sets_no_limit() {
    let world = World::new()
        .service("2024-03-01", km(5000.0), &["oil"])
        .rule("oil", Every { months: Some(12), ..every_hours(250.0) });
    let item = world.due("oil");
    assert_eq!((item.hours_limit_seconds, item.date_limit), (None, Some(day("2025-03-01"))));
}

#[test]
fn a_grid_is_explained_so_that_it_can_be_counted_on_the_fingers() {
    let said = logbook().service("2024-09-20", km(4000.0), &["service"]).because("rule:service");
    assert_eq!(
        said[1],
        "Rule service, rulebook version 3: every 10,000 km or 6 months, whichever comes first."
    );
    let grid = "Counted in multiples from 31 Jan 2024 at 30 km, however late one is done. Work counts for all that fall \
                due by then or within 14 days or 500 km; number 2 is the first left.";
    assert_eq!(said[2], grid);
    assert_eq!(said[3], "By the calendar: 31 Jan 2024 plus 12 months; last day 31 Jan 2025.");
    assert_eq!(said[4], "By distance: 30 km + 20,000 km = 20,030 km.");
    assert!(said.contains(&"Lead 14 days or 500 km; grace none.".to_owned()), "{said:?}");
}

#[test]
fn a_first_interval_and_running_time_are_explained() {
    let new = World::new().rule("oil", every_months(12)).first(every_months(1)).because("rule:oil");
    assert_eq!(new[1], "Rule oil, rulebook version 3, the first time: after 1 month.");
    let world = World::new().rule("oil", every_hours(250.0)).hours("2024-06-01 08:00", 260.5);
    let said = world.because("rule:oil");
    assert_eq!(
        said[1..3],
        ["Rule oil, rulebook version 3: every 250 h.", "By running time: 0 h + 250 h = 250 h."]
    );
    assert_eq!(said[3], "The running time has been met: 260.5 h read on 1 Jun 2024.");
}
