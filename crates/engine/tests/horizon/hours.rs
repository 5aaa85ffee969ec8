//! Running hours of the engine: judged like distance, forecast like distance.

use crate::world::{World, at, km};
use model::{HourDoubt, HourVerdict, ReadingSource};
use quantity::{Entered, Unit};

fn counted(hours: i64) -> HourVerdict {
    HourVerdict::Counted { seconds: hours * 3600 }
}

fn held(verdict: HourVerdict) -> (HourDoubt, Option<Entered>) {
    match verdict {
        HourVerdict::Held { doubt, suggested } => (doubt, suggested),
        other => panic!("{other:?} is not held"),
    }
}

#[test]
fn no_engine_runs_more_than_the_hours_of_the_day() {
    // Ten days are 240 hours; 24 more are allowed on top (house setting).
    let world = World::new().hours("2024-06-01 12:00", 1000.0).hours("2024-06-11 12:00", 1264.0);
    assert_eq!(world.hour_judgement(1), counted(1264));
    let over = World::new().hours("2024-06-01 12:00", 1000.0).hours("2024-06-11 12:00", 1265.0);
    let jump = HourDoubt::Jumps { before: 1000 * 3600, plausible_most: 1264 * 3600 };
    assert_eq!(held(over.hour_judgement(1)).0, jump);
}

#[test]
fn hours_that_run_backwards_are_held_with_what_was_meant() {
    let world = World::new()
        .hours("2024-06-01 12:00", 1200.0)
        .hours("2024-06-08 12:00", 1240.0)
        .hours("2024-06-15 12:00", 1280.0)
        .hours("2024-06-22 12:00", 132.0);
    let (doubt, suggested) = held(world.hour_judgement(3));
    assert_eq!(doubt, HourDoubt::RunsBackwards { before: 1280 * 3600, before_at: at("2024-06-15 12:00") });
    assert_eq!(suggested, Some(Entered::new(1320.0, Unit::Hour)));
}

#[test]
fn one_wild_reading_is_outvoted_wherever_it_stands() {
    let world = World::new()
        .hours("2024-06-01 12:00", 9000.0)
        .hours("2024-06-08 12:00", 1240.0)
        .hours("2024-06-15 12:00", 1280.0);
    let ahead = HourDoubt::RunsAhead { after: 1240 * 3600, after_at: at("2024-06-08 12:00") };
    assert_eq!(held(world.hour_judgement(0)).0, ahead);
    assert_eq!(world.hour_judgement(2), counted(1280));
}

#[test]
fn readings_of_different_sources_may_disagree_by_less_than_two_hours() {
    let second = |hours: f64| {
        World::new()
            .hours("2024-06-01 12:00", 1200.0)
            .hours_from("2024-06-01 18:00", hours, ReadingSource::Driver)
            .hour_judgement(1)
    };
    assert_eq!(second(1199.0), counted(1199));
    assert!(matches!(second(1198.0), HourVerdict::Held { .. }));
}

#[test]
fn the_outlook_follows_the_published_parameters() {
    // Two gaps of a day with 6 hours each on top of the prior p 6, q 20 h, faded by half in 120 days: P = 6 + w and
    // Q = 20 + 6 w with w = 120 / ln 2 (1 - 2^(-2 / 120)); the mean is a Q / (P - 1).
    let world = World::new()
        .hours("2024-06-01 00:00", 100.0)
        .hours("2024-06-02 00:00", 106.0)
        .hours("2024-06-03 00:00", 112.0);
    let running = world.horizon().running.unwrap();
    let weights: f64 = 120.0 / std::f64::consts::LN_2 * (1.0 - 0.5_f64.powf(2.0 / 120.0));
    assert!((running.shape - (6.0 + weights)).abs() < 1e-7, "{}", running.shape);
    assert!((running.scale_hours - (20.0 + 6.0 * weights)).abs() < 1e-6, "{}", running.scale_hours);
    assert!((running.hours_per_day - (20.0 + 6.0 * weights) / (5.0 + weights)).abs() < 1e-7);
    assert_eq!((running.gaps, running.seconds), (2, 112 * 3600));
}

#[test]
fn a_replaced_hour_meter_goes_on_counting() {
    let world = World::new()
        .hours("2024-06-01 00:00", 5000.0)
        .replaced("2024-06-03 00:00", Entered::new(5010.0, Unit::Hour), Entered::new(0.0, Unit::Hour))
        .hours("2024-06-05 00:00", 12.0);
    assert_eq!(world.hour_judgement(1), counted(12));
    let running = world.horizon().running.unwrap();
    assert_eq!((running.gaps, running.seconds), (2, 12 * 3600));
}

#[test]
fn hours_say_nothing_of_distance() {
    let world = World::new().reading("2024-06-01 12:00", 1000.0).hours("2024-06-02 12:00", 70.0);
    let alone = World::new().reading("2024-06-01 12:00", 1000.0);
    assert_eq!(world.horizon().usage, alone.horizon().usage);
    let other = world.replaced("2024-06-03 12:00", km(1100.0), km(0.0));
    assert_eq!(other.horizon().running.map(|running| running.seconds), Some(70 * 3600));
}
