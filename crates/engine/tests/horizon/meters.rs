//! Odometers that were replaced: nothing driven is lost, and people see what the present one shows.

use crate::world::{World, at, day, every_km, km};
use engine::words;
use forecast::Gap;
use model::{Decision, DistanceFrom, Doubt, ReadingSource, Verdict};
use quantity::{Distance, Unit};

/// 100 km a day read every week of 2024; on 15 July at noon, at 19,600 km, a new odometer that showed 12 km.
fn replaced() -> World {
    let mut world = World::new().steady("2024-01-01", "2024-07-15", 7, km(100.0));
    for weeks in 1..=24_i32 {
        let on = day("2024-07-15") + chrono::TimeDelta::days(i64::from(weeks) * 7);
        world = world.reading_from(
            &format!("{on} 12:00"),
            km(12.0 + f64::from(weeks) * 700.0),
            ReadingSource::Technician,
        );
    }
    world.replaced("2024-07-15 13:00", km(19_600.0), km(12.0))
}

/// The same vehicle with one odometer all along.
fn never_replaced() -> World {
    World::new().steady("2024-01-01", "2024-12-30", 7, km(100.0))
}

#[test]
fn readings_of_both_instruments_count_as_they_were_shown() {
    let world = replaced();
    assert_eq!(world.judgement(28), Verdict::Counted { odometer: Distance::from_km(19_600) });
    assert_eq!(world.judgement(29), Verdict::Counted { odometer: Distance::from_km(712) });
    assert!(
        world.horizon().judgements.iter().all(|judged| matches!(judged.verdict, Verdict::Counted { .. }))
    );
}

#[test]
fn usage_goes_on_as_if_nothing_had_been_replaced() {
    let gaps: Vec<f64> = engine::gaps(&replaced().facts).iter().map(|gap| gap.km).collect();
    assert!(gaps.iter().all(|km| (*km - 700.0).abs() < 1e-9), "{gaps:?}");
    let usage = replaced().horizon().usage.unwrap();
    assert_eq!(usage.odometer, Distance::from_km(16_812));
    assert_eq!(usage.earlier_meters, Distance::from_km(19_588));
}

#[test]
fn due_days_stay_and_limits_are_told_on_the_present_instrument() {
    let with = replaced().rule("engine-oil", every_km(40_000.0)).due("engine-oil");
    let without = never_replaced().rule("engine-oil", every_km(40_000.0)).due("engine-oil");
    assert_eq!(with.crossing, without.crossing);
    assert_eq!(with.odometer_limit, Some(Distance::from_km(40_000 - 19_588)));
}

#[test]
fn a_window_goes_on_over_the_replacement() {
    let with = replaced().window(Some(60), Some(km(60_000.0))).first_window();
    let without = never_replaced().window(Some(60), Some(km(60_000.0))).first_window();
    assert_eq!((with.ends, with.distance_first), (without.ends, without.distance_first));
    assert_eq!(with.odometer_limit, Some(Distance::from_km(60_000 - 19_588)));
}

#[test]
fn a_limit_met_on_the_old_instrument_is_told_as_that_one_showed_it() {
    let world = replaced().window(None, Some(km(10_000.0)));
    let window = world.first_window();
    assert_eq!(window.odometer_limit, Some(Distance::from_km(10_000)));
    let told = words::window_line(&window, "ended", Unit::Kilometre, chrono_tz::UTC);
    assert_eq!(told, "Powertrain warranty has ended: 10,000 km was read on 15 Apr 2024");
}

#[test]
fn the_limit_on_the_present_instrument_is_explained() {
    let said = replaced().window(None, Some(km(60_000.0))).because_window();
    let expected = [
        "The odometer was replaced on 15 Jul 2024: the old one showed 19,600 km, the new one 12 km. What follows is \
         reckoned in the total of all.",
        "Starts on 1 Jan 2024: the vehicle's first day in service.",
        "By distance: 0 km + 60,000 km = 60,000 km.",
        "On the present odometer: 60,000 km - 19,588 km of earlier ones = 40,412 km.",
        "Last counted reading: 16,812 km on 30 Dec 2024; 23,600 km are left.",
    ];
    assert_eq!(said[..5], expected);
}

#[test]
fn a_service_counts_with_the_instrument_of_its_day() {
    let before = never_replaced().service("2024-06-03", km(15_400.0), &["engine-oil"]);
    let world = before.rule("engine-oil", every_km(10_000.0));
    let limit =
        world.clone().replaced("2024-12-30 13:00", km(36_400.0), km(0.0)).due("engine-oil").odometer_limit;
    // Done at 15,400 km, due at 25,400 km, long met: as the old instrument showed it.
    assert_eq!(limit, Some(Distance::from_km(25_400)));
    let ahead = replaced()
        .service("2024-12-31", km(16_912.0), &["engine-oil"])
        .rule("engine-oil", every_km(10_000.0));
    assert_eq!(ahead.due("engine-oil").odometer_limit, Some(Distance::from_km(26_912)));
}

#[test]
fn the_odometer_at_a_window_s_start_is_read_with_the_instrument_of_that_day() {
    let opened = |on: &str, start: f64| {
        replaced().window(None, Some(km(50_000.0))).terms(|terms| {
            terms.starts_on = Some(day(on));
            terms.start_odometer = Some(km(start));
            terms.distance_from = DistanceFrom::StartOdometer;
        })
    };
    // 9,800 km on the old one and 712 km on the new one are 9,800 and 20,300 km in all.
    let old = opened("2024-04-08", 9800.0).first_window().odometer_limit;
    assert_eq!(old, Some(Distance::from_km(59_800 - 19_588)));
    let new = opened("2024-07-22", 712.0).first_window().odometer_limit;
    assert_eq!(new, Some(Distance::from_km(50_712)));
}

#[test]
fn the_numbers_at_the_replacement_act_as_readings() {
    let world = World::new()
        .reading("2024-06-01 00:00", 10_000.0)
        .replaced("2024-06-03 00:00", km(10_160.0), km(0.0))
        .reading("2024-06-04 00:00", 70.0);
    assert_eq!(engine::gaps(&world.facts), [Gap { days: 2.0, km: 160.0 }, Gap { days: 1.0, km: 70.0 }]);
}

#[test]
fn a_reading_below_the_first_number_of_the_new_instrument_runs_backwards() {
    let world = World::new()
        .reading("2024-06-01 00:00", 10_000.0)
        .replaced("2024-06-03 00:00", km(10_160.0), km(500.0))
        .reading("2024-06-04 00:00", 350.0);
    let Verdict::Held { doubt, .. } = world.judgement(1) else { panic!("it should be held") };
    let expected = Doubt::RunsBackwards { before: Distance::from_km(500), before_at: at("2024-06-03 00:00") };
    assert_eq!(doubt, expected);
}

#[test]
fn what_was_meant_is_suggested_in_numbers_of_the_instrument_that_was_read() {
    // 1,012 km were due to be shown after ten days; a digit too many.
    let world = replaced().reading("2024-07-25 12:00", 10_120.0);
    let Verdict::Held { suggested, doubt } = world.judgement(53) else { panic!("it should be held") };
    assert_eq!(suggested, Some(km(1012.0)));
    // Three days at 1,600 km and 300 km on top (house setting).
    let jumps = Doubt::Jumps { before: Distance::from_km(712), plausible_most: Distance::from_km(5812) };
    assert_eq!(doubt, jumps);
}

#[test]
fn a_second_replacement_adds_to_the_first() {
    let world = replaced().replaced("2024-12-30 13:00", km(16_812.0), km(3000.0));
    let usage = world.horizon().usage.unwrap();
    assert_eq!(usage.odometer, Distance::from_km(3000));
    assert_eq!(usage.earlier_meters, Distance::from_km(19_588 + 13_812));
}

#[test]
fn a_correction_is_a_number_of_the_instrument_that_was_read() {
    let world = replaced().reading("2024-07-25 12:00", 10_120.0);
    let value = km(1012.0);
    let world = world.decide(53, Decision::Correct { value }, "2024-07-26 08:00");
    assert_eq!(world.judgement(53), Verdict::Counted { odometer: Distance::from_km(1012) });
    assert_eq!(world.horizon().usage, replaced().reading("2024-07-25 12:00", 1012.0).horizon().usage);
}

#[test]
fn a_reading_near_zero_is_asked_about() {
    let question = |value: f64| {
        let world =
            World::new().steady("2024-01-01", "2024-07-15", 7, km(1000.0)).reading("2024-07-22 12:00", value);
        words::replacement_question(Distance::parse(km(value)).unwrap(), &world.judgement(29))
    };
    let asked = "Was the odometer replaced? Then record that, with what the old one showed last and the new one first.";
    assert_eq!(question(320.0), Some(asked));
    // 203,000 km are expected: 20,300 km are a digit short, and 150,000 km are not near zero.
    assert_eq!((question(20_300.0), question(150_000.0)), (None, None));
}
