//! Running hours of the engine: judged like distance, forecast like distance.

use crate::world::{World, at, day, every_km, instant, km};
use engine::words;
use model::horizon::{Basis, Moment};
use model::{Every, HourDoubt, HourVerdict, ReadingSource};
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

fn every_hours(hours: f64) -> Every {
    Every { engine_hours: Some(Entered::new(hours, Unit::Hour)), ..Every::default() }
}

/// New on 1 January 2024; 28 hours a week from 1 April at 0 h to 10 June at 280 h, read at midnight; due every 500 h.
fn digger() -> World {
    let mut world = World::new().rule("hydraulic-oil", every_hours(500.0));
    for week in 0..=10_i32 {
        let on = day("2024-04-01") + chrono::TimeDelta::days(i64::from(week) * 7);
        world = world.hours(&format!("{on} 00:00"), f64::from(week) * 28.0);
    }
    world
}

#[test]
fn a_rule_by_running_time_is_due_on_the_likely_day() {
    // SciPy 1.17.1, roots in h of betaprime.sf(220 / 260.30958, h / 1.5, 44.38493) = 0.1, 0.5, 0.9: 41.52, 56.34 and
    // 73.38 operating days from 10 June, where ten gaps of 7 days and 28 hours, faded by half in 120 days, come on top
    // of p 6 and q 20 h, and 1.5 is the shipped width.
    let item = digger().due("hydraulic-oil");
    assert_eq!(item.hours_limit_seconds, Some(500 * 3600));
    let moment = |when| Some(Moment { at: at(when), basis: Basis::Forecast });
    assert_eq!(item.timeline.due, moment("2024-08-05 00:00"));
    assert_eq!(item.timeline.approaching, moment("2024-07-22 00:00"));
    assert_eq!(item.timeline.overdue, moment("2024-08-06 00:00"));
    let said = digger().because("rule:hydraulic-oil");
    let days: Vec<bool> = [("10 %", "21 Jul"), ("50 %", "5 Aug"), ("90 %", "22 Aug")]
        .map(|(share, day)| said.iter().any(|line| line.starts_with(share) && line.contains(day)))
        .to_vec();
    assert_eq!(days, [true; 3], "{said:?}");
}

#[test]
fn running_time_can_be_followed_with_a_calculator() {
    let said = digger().because("rule:hydraulic-oil");
    assert_eq!(said[2], "By running time: 0 h + 500 h = 500 h.");
    assert_eq!(said[3], "Last counted reading of the hour meter: 280 h on 10 Jun 2024; 220 h are left.");
    assert!(said[4].starts_with("Running time from 10 gaps between readings, "), "{said:?}");
    let width = "Width kappa 1.5, the shipped width, since too little past could be tested: a' = a / kappa = 0.666666667, ";
    assert!(said[5].starts_with(width), "{said:?}");
    assert!(said.contains(&"So it is 5 Aug 2024, as forecast.".to_owned()), "{said:?}");
}

#[test]
fn distance_and_running_time_limit_whichever_comes_first() {
    let both = |kilometres: f64| {
        digger()
            .reading("2024-06-10 00:00", 10_000.0)
            .rule("filter", Every { distance: Some(km(kilometres)), ..every_hours(500.0) })
            .due("filter")
            .timeline
            .due
    };
    let hours = digger().due("hydraulic-oil").timeline.due;
    let distance =
        digger().reading("2024-06-10 00:00", 10_000.0).rule("filter", every_km(11_000.0)).due("filter");
    assert_eq!(both(90_000.0), hours);
    assert_eq!(both(11_000.0), distance.timeline.due);
    assert!(distance.timeline.due.unwrap().at < instant(hours));
}

#[test]
fn a_held_reading_of_the_hour_meter_makes_nothing_due() {
    let mistaken = digger().hours("2024-06-11 00:00", 2840.0);
    assert_eq!(mistaken.due("hydraulic-oil"), digger().due("hydraulic-oil"));
}

#[test]
fn a_limit_of_running_time_is_told_on_the_present_hour_meter() {
    let hours = |value| Entered::new(value, Unit::Hour);
    let world = digger().replaced("2024-06-10 01:00", hours(280.0), hours(10.0));
    let item = world.due("hydraulic-oil");
    assert_eq!(item.hours_limit_seconds, Some(230 * 3600));
    assert_eq!(item.timeline.due.map(|due| due.at.date_naive()), Some(day("2024-08-05")));
    assert_eq!(words::item(&item, Unit::Kilometre), "hydraulic oil: due at 230 h");
    let said = world.because("rule:hydraulic-oil");
    let replaced = "The hour meter was replaced on 10 Jun 2024: the old one showed 280 h, the new one 10 h. What follows \
                    is reckoned in the total of all.";
    assert_eq!(said[0], replaced);
    assert!(said.contains(&"On the present hour meter: 500 h - 270 h of earlier ones = 230 h.".to_owned()));
}

#[test]
fn running_time_at_a_service_is_read_between_readings_and_never_guessed_before_the_first() {
    let limit = |on: &str| {
        let world = digger().service(on, km(9000.0), &["hydraulic-oil"]);
        world.due("hydraulic-oil").hours_limit_seconds.map(|seconds| seconds / 3600)
    };
    // Noon of 11 April: 28 h on the 8th, and 3.5 days at 4 h.
    assert_eq!(limit("2024-04-11"), Some(542));
    // On a day with a reading that one counts; after the last the last one does, so that nothing falls due too late.
    assert_eq!(limit("2024-04-08"), Some(528));
    assert_eq!(limit("2024-07-01"), Some(780));
    let used = digger().used_since("2024-01-01").service("2024-02-01", km(9000.0), &["hydraulic-oil"]);
    assert_eq!(used.due("hydraulic-oil").hours_limit_seconds, None);
}
