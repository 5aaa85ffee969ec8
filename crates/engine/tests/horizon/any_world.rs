//! Any world at all, for laws that hold in each.

mod ages;
mod duties;

use crate::world::{World, at, code, day, km};
use chrono::{Days, TimeDelta};
use chrono_tz::Tz;
use model::*;
use proptest::prelude::*;
use quantity::{Entered, Unit};

const SOURCES: [ReadingSource; 4] =
    [ReadingSource::Technician, ReadingSource::Driver, ReadingSource::Gps, ReadingSource::VehicleBus];
const RULES: [&str; 4] = ["engine-oil", "air-filter", "brake-fluid", "wash"];

fn zone() -> impl Strategy<Value = Tz> {
    prop::sample::select(vec![Tz::UTC, Tz::America__New_York, Tz::Asia__Beirut, Tz::Pacific__Apia])
}

fn when(hours: i64) -> String {
    (at("2024-01-01 00:00") + TimeDelta::hours(hours)).format("%Y-%m-%d %H:%M").to_string()
}

fn date(days: u64) -> String {
    (day("2024-01-01") + Days::new(days)).to_string()
}

fn reach() -> impl Strategy<Value = Reach> {
    let distance = prop::option::of(10.0..2000.0_f64);
    (prop::option::of(0_u32..40), distance)
        .prop_map(|(days, distance)| Reach { days, distance: distance.map(km) })
}

fn every() -> impl Strategy<Value = Every> {
    let distance = prop::option::of(500.0..40_000.0_f64);
    (distance, prop::option::of(1_u32..30), prop::option::of(5_u32..400)).prop_map(
        |(distance, months, days)| Every {
            engine_hours: None,
            distance: distance.map(km),
            months: months.or(distance.is_none().then_some(6)),
            days,
        },
    )
}

fn with_vehicle() -> impl Strategy<Value = World> {
    let parked = prop::option::of((0_u64..700, prop::option::of(1_u64..200)));
    (zone(), any::<bool>(), any::<bool>(), 1_u8..0x80, parked).prop_map(
        |(zone, is_used, severe, bits, parked)| {
            let mut world = World::new().zone(zone).weekdays(bits);
            if is_used {
                world = world.used_since("2024-01-01");
            }
            if severe {
                world = world.severe();
            }
            if let Some((from, length)) = parked {
                world = world.parked_from(&date(from));
                if let Some(length) = length {
                    world = world.running_again_from(&date(from + length));
                }
            }
            world
        },
    )
}

/// Readings mostly at a steady pace, some of them mistaken, and decisions about some.
fn with_log(world: impl Strategy<Value = World>) -> impl Strategy<Value = World> {
    let reading = (0_i64..17_000, 0.9..1.05_f64, 0_usize..4, prop::bool::weighted(0.1), any::<bool>());
    let decision = (0_usize..30, 0_u8..3, 0_i64..17_000);
    let log = prop::collection::vec(reading, 0..20);
    let decisions = prop::collection::vec(decision, 0..4);
    (world, log, decisions, 5.0..300.0_f64).prop_map(|(mut world, log, decisions, km_a_day)| {
        for (hours, unsteady, source, is_slip, is_doubtful) in log {
            #[expect(clippy::cast_precision_loss, reason = "a few thousand hours")]
            let right = (hours as f64 / 24.0 * km_a_day * unsteady).round();
            let value = if is_slip { right * 10.0 } else { right };
            world = world.reading_from(&when(hours), km(value), SOURCES[source]);
            world.facts.readings.last_mut().expect("just pushed").clock_in_doubt = is_doubtful && is_slip;
        }
        for (reading, kind, hours) in decisions {
            let Some(about) = world.facts.readings.get(reading) else { continue };
            let decision = match kind {
                0 => Decision::Release,
                1 => Decision::Correct { value: km((about.odometer.km() / 2.0).round()) },
                _ => Decision::Withdraw,
            };
            world = world.decide(reading, decision, &when(hours));
        }
        world
    })
}

fn with_duties(world: impl Strategy<Value = World>) -> impl Strategy<Value = World> {
    let rules = prop::collection::vec((every(), prop::option::of(every()), reach(), reach()), 4);
    let services = prop::collection::vec((0_u64..700, 0.0..90_000.0_f64, 1_usize..16), 0..5);
    let answers = prop::collection::vec((0_usize..4, 0_u8..3, 0_u64..700), 0..4);
    let exceptions = prop::collection::vec((0_usize..4, prop::option::weighted(0.7, every())), 0..3);
    (world, rules, services, answers, exceptions, any::<bool>()).prop_map(
        |(mut world, rules, services, answers, exceptions, chained)| {
            for (rule, (every, severe, lead, grace)) in RULES.into_iter().zip(rules) {
                world = world.rule(rule, every).amend(|rule| {
                    (rule.severe, rule.lead, rule.grace) = (severe, lead, grace);
                });
            }
            if chained {
                world.facts.rules[0].rule.satisfies = vec![code("wash")];
                world.facts.rules[2].rule.satisfies = vec![code("engine-oil")];
            }
            for (on, value, done) in services {
                let codes: Vec<&str> =
                    (0..4).filter(|place| done & (1 << place) != 0).map(|place| RULES[place]).collect();
                world = world.service(&date(on), km(value.round()), &codes);
            }
            for (rule, kind, on) in answers {
                let (on, odometer) = (day(&date(on)), km(1000.0));
                let choice = match kind {
                    0 => BaselineChoice::Proven { done_on: on, odometer },
                    1 => BaselineChoice::DoNow { on },
                    _ => BaselineChoice::StartFrom { on, odometer },
                };
                world = world.answer(RULES[rule], choice);
            }
            for (rule, every) in exceptions {
                world = world.exception(RULES[rule], every);
            }
            world
        },
    )
}

fn with_the_rest(world: impl Strategy<Value = World>) -> impl Strategy<Value = World> {
    let papers = prop::collection::vec((0_usize..6, 0_u64..900), 0..4);
    let windows = prop::collection::vec(
        (prop::option::of(1_u32..100), prop::option::of(100.0..200_000.0_f64), any::<bool>(), any::<bool>()),
        0..3,
    );
    let treads = prop::collection::vec((0_i64..17_000, 0_usize..4, 0.5..9.0_f64), 0..4);
    let findings = prop::collection::vec((0_usize..3, 0_i64..17_000, any::<bool>()), 0..4);
    let fitted = prop::option::of((0_usize..4, 0_u64..700));
    (world, papers, windows, treads, findings, fitted, any::<bool>()).prop_map(
        |(mut world, papers, windows, treads, findings, fitted, no_paper_no_drive)| {
            world = world.paper_rule(PaperKind::AnnualTest, no_paper_no_drive);
            for (kind, expires) in papers {
                world = world.paper(PaperKind::ALL[kind], &date(expires));
            }
            for (months, distance, from_start, anniversary) in windows {
                world = world.window(months, distance.map(km)).terms(|terms| {
                    if from_start {
                        terms.distance_from = DistanceFrom::StartOdometer;
                        terms.scope = vec![code("suspension")];
                    }
                    if anniversary {
                        terms.last_day = LastDay::Anniversary;
                    }
                });
            }
            for (hours, place, mm) in treads {
                world = world.tread(&when(hours), Place::ALL[place], mm);
            }
            for (weight, hours, is_scoped) in findings {
                let component = is_scoped.then_some("suspension");
                world = world.finding(component, FindingWeight::ALL[weight], &when(hours));
            }
            if let Some((place, from)) = fitted {
                world = world.fitted("tyre", Place::ALL[place], &date(from));
            }
            world
        },
    )
}

/// Running hours, mostly steady, and meters that were replaced, now and then with a mistaken number.
fn with_meters(world: impl Strategy<Value = World>) -> impl Strategy<Value = World> {
    let hours = prop::collection::vec((0_i64..17_000, prop::bool::weighted(0.1), 0_usize..4), 0..8);
    let replaced =
        prop::collection::vec((0_i64..17_000, 0.0..60_000.0_f64, 0.0..500.0_f64, any::<bool>()), 0..3);
    (world, hours, replaced, 0.5..10.0_f64).prop_map(|(mut world, hours, replaced, hours_a_day)| {
        for (read, is_slip, source) in hours {
            #[expect(clippy::cast_precision_loss, reason = "a few thousand hours")]
            let right = (read as f64 / 24.0 * hours_a_day).round();
            let shown = if is_slip { right * 10.0 } else { right };
            world = world.hours_from(&when(read), shown, SOURCES[source]);
        }
        for (at, old, new, of_hours) in replaced {
            let unit = if of_hours { Unit::Hour } else { Unit::Kilometre };
            let [old, new] = [old, new].map(|value| Entered::new(value.round(), unit));
            world = world.replaced(&when(at), old, new);
        }
        world
    })
}

/// Leases, reductions, pro-rata credit, changes of hands and workshops.
fn with_cover(world: impl Strategy<Value = World>) -> impl Strategy<Value = World> {
    let reduction = (0_usize..2, prop::option::of(1_u32..90), prop::option::of(100.0..150_000.0_f64));
    let terms = (
        prop::bool::weighted(0.3),
        prop::collection::vec(reduction, 0..3),
        prop::collection::vec((prop::option::of(1_u32..90), prop::option::of(100.0..150_000.0_f64)), 0..3),
        0_usize..3,
        prop::option::of(1_u32..60),
    );
    let workshops = prop::collection::vec((0_u32..30, 1_u8..0x80), 0..3);
    (world, prop::collection::vec(terms, 3), workshops, prop::option::of(0_u64..300)).prop_map(
        |(mut world, all_terms, workshops, acquired)| {
            for (window, (is_lease, reductions, credits, transfer, within)) in
                world.facts.windows.iter_mut().zip(all_terms)
            {
                let terms = &mut window.terms;
                if is_lease {
                    terms.kind = WindowKind::Lease;
                    terms.excess =
                        Some(ExcessPrice { per: km(1.0), minor: 12.5, currency: "EUR".to_owned() });
                }
                terms.reduced_if = reductions
                    .into_iter()
                    .map(|(cause, months, distance)| Reduction {
                        when: ReductionCause::ALL[cause],
                        months,
                        distance: distance.map(km),
                    })
                    .collect();
                terms.pro_rata = credits
                    .into_iter()
                    .map(|(months, distance)| ProRataStep {
                        months,
                        distance: distance.map(km),
                        credit_percent: 50.0,
                    })
                    .collect();
                terms.transfer = Transfer::ALL[transfer];
                terms.transfer_within_days = within;
            }
            for (lead_days, weekdays) in workshops {
                world = world.workshop("Harrow Dealers", lead_days, weekdays);
            }
            match acquired {
                Some(days) => world.acquired(&date(days)),
                None => world,
            }
        },
    )
}

/// Any world.
pub fn any_world() -> impl Strategy<Value = World> {
    let covered = with_cover(with_the_rest(with_duties(with_meters(with_log(with_vehicle())))));
    ages::with_ages(duties::with_more(covered))
}

/// Any world, and the same with every list in another order.
pub fn any_world_twice() -> impl Strategy<Value = (World, World)> {
    any_world().prop_perturb(|world, mut chance| {
        let mut shuffled = world.clone();
        let facts = &mut shuffled.facts;
        shuffle(&mut facts.readings, &mut chance);
        shuffle(&mut facts.decisions, &mut chance);
        shuffle(&mut facts.hour_readings, &mut chance);
        shuffle(&mut facts.indicators, &mut chance);
        shuffle(&mut facts.stays, &mut chance);
        shuffle(&mut facts.services, &mut chance);
        shuffle(&mut facts.rules, &mut chance);
        shuffle(&mut facts.overrides, &mut chance);
        shuffle(&mut facts.baselines, &mut chance);
        shuffle(&mut facts.papers, &mut chance);
        shuffle(&mut facts.windows, &mut chance);
        shuffle(&mut facts.inspections, &mut chance);
        shuffle(&mut facts.findings, &mut chance);
        shuffle(&mut facts.components, &mut chance);
        shuffle(&mut facts.fittings, &mut chance);
        shuffle(&mut facts.hour_readings, &mut chance);
        shuffle(&mut facts.meter_replacements, &mut chance);
        shuffle(&mut facts.indicators, &mut chance);
        shuffle(&mut facts.stays, &mut chance);
        shuffle(&mut facts.workshops, &mut chance);
        for window in &mut facts.windows {
            shuffle(&mut window.terms.reduced_if, &mut chance);
        }
        (world, shuffled)
    })
}

/// Fisher and Yates.
fn shuffle<T>(list: &mut [T], chance: &mut impl Rng) {
    for last in (1..list.len()).rev() {
        let other = usize::try_from(chance.next_u64() % (last as u64 + 1)).expect("an index");
        list.swap(last, other);
    }
}
