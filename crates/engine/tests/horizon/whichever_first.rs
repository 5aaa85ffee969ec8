//! R5 in numbers: time and distance limits, facts arriving in any order.
//!
//! A tenth of a million arrivals here; `OSTLER_R05_ARRIVALS` sets another number for a long run.

use crate::world::{World, at, day, every_km, every_km_or_months, every_months, id, km};
use chrono::{Days, TimeDelta};
use model::horizon::{DueItem, ItemKind};
use model::{Facts, OdometerReading, ReadingSource, ServiceRecord, Trigger};
use quantity::Distance;

/// Numbers without pattern: Steele, Lea and Flood's `SplitMix64` (from memory), seeded.
struct Dice(u64);

impl Dice {
    fn roll(&mut self, below: u64) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mixed = (self.0 ^ (self.0 >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        let mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        (mixed ^ (mixed >> 31)) % below
    }
}

/// What arrives: a reading, or a service with the reading it makes.
enum Arrival {
    Read(OdometerReading),
    Done(OdometerReading, Box<ServiceRecord>),
}

/// A vehicle's history in the order in which it happened.
fn history(dice: &mut Dice, template: &ServiceRecord) -> Vec<Arrival> {
    let (mut hours, mut odometer) = (0, 0);
    (0..=dice.roll(8))
        .map(|number| {
            hours += 24 + dice.roll(2400);
            odometer += dice.roll(9000);
            let read_at = at("2024-01-01 12:00") + TimeDelta::hours(i64::try_from(hours).expect("few"));
            let entered = km(f64::from(u32::try_from(odometer).expect("few")));
            let exact = Distance::from_km(i64::try_from(odometer).expect("few"));
            let reading = OdometerReading {
                id: id(1000 + number),
                entered,
                odometer: exact,
                read_at,
                recorded_at: read_at,
                source: ReadingSource::Service,
                clock_in_doubt: false,
            };
            if dice.roll(2) == 0 {
                return Arrival::Read(reading);
            }
            let done_on = day("2024-01-01") + Days::new((hours + 12) / 24);
            let service = ServiceRecord {
                id: id(2000 + number),
                done_on,
                odometer_entered: entered,
                odometer: exact,
                reading: reading.id,
                ..template.clone()
            };
            Arrival::Done(reading, Box::new(service))
        })
        .collect()
}

fn due_by(facts: &mut Facts, world: &World, trigger: model::Every) -> DueItem {
    facts.rules[0].rule.trigger = Trigger::Every(trigger);
    let mut rules =
        engine::horizon(facts, &world.policy).items.into_iter().filter(|i| i.kind == ItemKind::Rule);
    let only = rules.next().expect("the rule has an item");
    assert_eq!(rules.next(), None, "the other limit opened a round of its own");
    only
}

#[test]
fn r05_whichever_limit_comes_first_opens_one_round_and_the_other_none_however_facts_arrive() {
    let wanted = std::env::var("OSTLER_R05_ARRIVALS").ok().and_then(|arrivals| arrivals.parse().ok());
    let wanted: u64 = wanted.unwrap_or(100_000);
    let world = World::new().rule("oil", every_months(6)).service("2024-01-02", km(0.0), &["oil"]);
    let template = world.facts.services[0].clone();
    let (mut dice, mut arrivals) = (Dice(5), 0);
    while arrivals < wanted {
        let months = u32::try_from(1 + dice.roll(24)).expect("few");
        let interval = f64::from(u32::try_from(500 + dice.roll(30_000)).expect("few"));
        let mut facts = world.facts.clone();
        (facts.readings, facts.services) = (Vec::new(), Vec::new());
        let mut left = history(&mut dice, &template);
        while !left.is_empty() {
            let next = usize::try_from(dice.roll(left.len() as u64)).expect("an index");
            match left.swap_remove(next) {
                Arrival::Read(reading) => facts.readings.push(reading),
                Arrival::Done(reading, service) => {
                    facts.readings.push(reading);
                    facts.services.push(*service);
                }
            }
            let newest = facts.services.iter().max_by_key(|service| (service.done_on, service.id));
            let cycle = match newest {
                Some(service) => format!("service:{}", service.id),
                None => format!("in-service:{}", facts.vehicle.id),
            };
            let both = due_by(&mut facts, &world, every_km_or_months(interval, months));
            let by_date = due_by(&mut facts, &world, every_months(months));
            let by_distance = due_by(&mut facts, &world, every_km(interval));
            assert_eq!([&both.cycle.0, &by_date.cycle.0, &by_distance.cycle.0], [&cycle; 3]);
            let due = |item: &DueItem| item.timeline.due.map(|due| due.at);
            assert_eq!(due(&both), due(&by_date).into_iter().chain(due(&by_distance)).min());
            arrivals += 1;
        }
    }
}
