//! The horizon against a slow walk through the calendar, written another way.
//!
//! The vehicles of these worlds are parked for good from the day of their last reading on, so that nothing is forecast and every
//! moment follows from dates and readings. The walk asks on each of 800 days, four times a day, where a rule stands.

mod oracle;

use crate::laws::cases;
use crate::world::{World, at, day, km};
use chrono::{NaiveDate, TimeDelta};
use chrono_tz::Tz;
use model::{Every, Reach, add_days};
use oracle::{Around, Log, Recurring, Told};
use proptest::prelude::*;

/// Readings and services in order: so many days after the one before, at so many kilometres a day since, and whether the
/// work was done then. Nothing is so fast that it would be held.
type Events = Vec<(i64, f64, bool)>;

fn zones() -> impl Strategy<Value = Tz> {
    prop::sample::select(oracle::ZONES.to_vec())
}

fn events() -> impl Strategy<Value = Events> {
    prop::collection::vec((1_i64..90, 0.0..600.0_f64, any::<bool>()), 0..8)
}

fn reach() -> impl Strategy<Value = Reach> {
    let distance = prop::option::of(1.0..1500.0_f64).prop_map(|far| far.map(|far| km(far.round())));
    (prop::option::of(0_u32..40), distance).prop_map(|(days, distance)| Reach { days, distance })
}

fn every() -> impl Strategy<Value = Every> {
    (prop::option::of(500_u32..15_000), prop::option::of(1_u32..14), prop::option::of(3_u32..300)).prop_map(
        |(far, months, days)| Every {
            distance: far.map(|far| km(f64::from(far))),
            months: months.or((far.is_none() && days.is_none()).then_some(3)),
            days,
            engine_hours: None,
        },
    )
}

/// A vehicle new on 31 January 2024 with that log, and the same for the walk.
fn world(zone: Tz, events: &Events) -> (World, Log) {
    let mut world = World::new().zone(zone).new_on("2024-01-31");
    let mut log = Log { zone, came_on: day("2024-01-31"), readings: Vec::new(), done: Vec::new() };
    let (mut on, mut odometer) = (day("2024-01-31"), 0.0_f64);
    for (days, pace, is_done) in events {
        on = add_days(on, *days);
        odometer = (odometer + f64::from(i32::try_from(*days).expect("few")) * pace).round();
        let when = format!("{on} 12:00");
        if *is_done {
            world = world.service(&on.to_string(), km(odometer), &["duty"]);
            log.done.push((log.zone_day(at(&when)), km(odometer)));
        } else {
            world = world.reading(&when, odometer);
        }
        log.readings.push((at(&when), km(odometer)));
    }
    // Noon in UTC may be the next civil day at the depot; work is dated by the depot's.
    for service in &mut world.facts.services {
        service.done_on = log.zone_day(at(&format!("{} 12:00", service.done_on)));
    }
    let parked_on = log.zone_day(at(&format!("{on} 12:00")));
    (world.parked_from(&parked_on.to_string()), log)
}

/// Whether the item stands, at four times of each day, where the walk says.
fn agrees(world: &World, log: &Log, expected: impl Fn(NaiveDate, chrono::DateTime<chrono::Utc>) -> Told) {
    let item = world.due("duty");
    assert!(log.starts().len() == 800);
    for start in log.starts() {
        for minutes in [-1, 0, 720, 1200] {
            let now = *start + TimeDelta::minutes(minutes);
            let told = expected(log.zone_day(now), now);
            assert_eq!(item.timeline.stage_at(now).0, told.stage, "{now}: {item:?}");
            assert_eq!(item.cycle.0, told.cycle, "{now}");
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(cases()))]

    #[test]
    fn recurring_rules_stand_where_the_walk_says(
        zone in zones(), events in events(), every in every(), lead in reach(), grace in reach(),
    ) {
        let (world, log) = world(zone, &events);
        let world = world.rule("duty", every).amend(|rule| (rule.lead, rule.grace) = (lead, grace));
        let walk = Recurring::since_done(&log, &every, Around { lead, grace }, &world.facts);
        agrees(&world, &log, |on, now| walk.told(&log, on, now));
    }

    #[test]
    fn grids_stand_where_the_walk_says(
        zone in zones(), events in events(), every in every(), lead in reach(), grace in reach(),
    ) {
        let (world, log) = world(zone, &events);
        let world = world.rule("duty", every).on_grid();
        let world = world.amend(|rule| (rule.lead, rule.grace) = (lead, grace));
        let walk = Recurring::on_grid(&log, &every, Around { lead, grace });
        agrees(&world, &log, |on, now| walk.told(&log, on, now));
    }

    #[test]
    fn seasons_stand_where_the_walk_says(
        zone in zones(), events in events(), from in (1_u32..=12, 1_u32..=28), to in (1_u32..=12, 1_u32..=28),
        lead in prop::option::of(0_u32..200), grace in prop::option::of(0_u32..30),
    ) {
        let (world, log) = world(zone, &events);
        let text = |(month, day): (u32, u32)| format!("{month:02}-{day:02}");
        let world = world.season("duty", &text(from), &text(to)).lead(lead, None).grace(grace, None);
        let open = oracle::open_season(&log, from, to, lead);
        agrees(&world, &log, |on, _| oracle::season(&log, open, grace, on));
    }

    #[test]
    fn calendars_stand_where_the_walk_says(
        zone in zones(), events in events(), lead in prop::option::of(0_u32..40), grace in prop::option::of(0_u32..9),
        which in 0_usize..4,
    ) {
        let (world, log) = world(zone, &events);
        let cron = oracle::CRONS[which].0;
        let world = world.calendar("duty", cron).lead(lead, None).grace(grace, None);
        let open = oracle::open_instant(&log, which, lead);
        agrees(&world, &log, |on, now| oracle::calendar(&log, open, grace, on, now));
    }
}
