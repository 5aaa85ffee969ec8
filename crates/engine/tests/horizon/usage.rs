//! Gaps between readings, in operating days.

use crate::world::{World, km};
use forecast::Gap;
use model::ReadingSource;

fn gaps(world: &World) -> Vec<Gap> {
    engine::gaps(&world.facts)
}

#[test]
fn of_readings_less_than_twelve_hours_apart_the_later_is_kept() {
    let world = World::new()
        .reading("2024-06-03 06:00", 1000.0)
        .reading("2024-06-03 18:00", 1080.0)
        .reading("2024-06-04 05:00", 1090.0);
    assert_eq!(gaps(&world), [Gap { days: 23.0 / 24.0, km: 90.0 }]);
}

#[test]
fn a_parked_spell_stops_the_clock() {
    let world = World::new()
        .parked_from("2024-06-05")
        .running_again_from("2024-06-15")
        .reading("2024-06-03 00:00", 1000.0)
        .reading("2024-06-18 00:00", 1400.0);
    assert_eq!(gaps(&world), [Gap { days: 5.0, km: 400.0 }]);
}

#[test]
fn days_off_do_not_count_and_what_was_driven_on_them_joins_the_next_gap() {
    // 7 June 2024 is a Friday; the van runs Monday to Friday.
    let world = World::new()
        .weekdays(0b1_1111)
        .reading("2024-06-07 00:00", 1000.0)
        .reading("2024-06-08 00:00", 1100.0)
        .reading("2024-06-09 12:00", 1130.0)
        .reading("2024-06-11 00:00", 1200.0);
    let expected = [Gap { days: 1.0, km: 130.0 }, Gap { days: 1.0, km: 70.0 }];
    assert_eq!(gaps(&world), expected);
}

#[test]
fn a_new_instrument_that_a_person_released_starts_counting_afresh() {
    let world = World::new()
        .reading("2024-06-01 00:00", 150_000.0)
        .reading("2024-06-02 00:00", 12.0)
        .reading_from("2024-06-04 00:00", km(212.0), ReadingSource::Driver)
        .decide(0, model::Decision::Release, "2024-06-03 00:00")
        .decide(1, model::Decision::Release, "2024-06-03 00:00");
    let expected = [Gap { days: 1.0, km: 0.0 }, Gap { days: 2.0, km: 200.0 }];
    assert_eq!(gaps(&world), expected);
}

#[test]
fn the_outlook_tells_what_the_forecast_rests_on() {
    // Two gaps of a day with 100 km each; with a half-life of 120 days they weigh nearly whole:
    // P = 6 + sum(omega dt), Q = 400 + sum(omega dx), and omega = H/ln 2 (2^(-age/H) - 2^(-(age + 1)/H)).
    let world = World::new()
        .reading("2024-06-01 00:00", 1000.0)
        .reading("2024-06-02 00:00", 1100.0)
        .reading("2024-06-03 00:00", 1200.0);
    let usage = world.horizon().usage.unwrap();
    let weights: f64 = 120.0 / std::f64::consts::LN_2 * (1.0 - 0.5_f64.powf(2.0 / 120.0));
    assert!((usage.shape - (6.0 + weights)).abs() < 1e-7, "{}", usage.shape);
    assert!((usage.scale_km - (400.0 + 100.0 * weights)).abs() < 1e-5, "{}", usage.scale_km);
    assert_eq!((usage.gaps, usage.anchor), (2, world.facts.readings[2].id));
}
