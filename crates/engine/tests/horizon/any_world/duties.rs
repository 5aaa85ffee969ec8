//! Rules of every trigger, the dash, the hour meter, and stays, in any world.

use super::{date, every, reach, when};
use crate::world::{World, code, every_hours, km};
use model::*;
use proptest::prelude::*;

const CRONS: [&str; 4] = ["0 6 1 * *", "30 2 * * *", "0 7 * * mon,thu", "15 0 13 * fri"];
const MORE: [&str; 4] = ["winter-tyres", "yard-check", "rotation", "service"];

fn month_day() -> impl Strategy<Value = MonthDay> {
    (1_u32..=12, 1_u32..=31).prop_filter_map("a day of the year", |(month, day)| MonthDay::new(month, day))
}

fn left() -> impl Strategy<Value = IndicatorLeft> {
    prop_oneof![
        (0.0..100.0_f64).prop_map(|percent| IndicatorLeft::Percent { percent }),
        (0.0..20_000.0_f64).prop_map(|far| IndicatorLeft::Distance { distance: km(far) }),
        (0_u32..400).prop_map(|days| IndicatorLeft::Days { days }),
    ]
}

/// One rule of each further trigger, one on a grid, and first intervals for some of the others.
fn with_rules(world: impl Strategy<Value = World>) -> impl Strategy<Value = World> {
    let season = (month_day(), month_day());
    let grid = (every(), prop::option::of(every()), prop::option::of(50.0..2000.0_f64));
    let around = prop::collection::vec((reach(), reach()), 4);
    let first = (prop::option::of(every()), any::<bool>());
    (world, season, 0_usize..4, 0_usize..4, grid, around, first).prop_map(
        |(world, (from, to), cron, grade, (every, grid_first, hours), around, (first, looks))| {
            let mut world = world
                .season(MORE[0], &from.to_string(), &to.to_string())
                .calendar(MORE[1], CRONS[cron])
                .when_graded(MORE[2], "tread-depth", Grade::ALL[grade])
                .rule(MORE[3], every)
                .on_grid()
                .amend(|rule| rule.first = grid_first);
            let hours = hours.map(|hours| every_hours(hours).engine_hours.expect("just made"));
            let count = world.facts.rules.len();
            for (version, (lead, grace)) in world.facts.rules[count - 4..].iter_mut().zip(around) {
                (version.rule.lead, version.rule.grace) = (lead, grace);
            }
            if let Trigger::Every(every) = &mut world.facts.rules[count - 1].rule.trigger {
                every.engine_hours = hours;
            }
            world.facts.rules[0].rule.first = first;
            for version in &mut world.facts.rules {
                version.rule.indicator = looks && matches!(version.rule.trigger, Trigger::Every(_));
            }
            world
        },
    )
}

/// Work on those rules, readings of the dash and of the hour meter, and times off the road.
pub(super) fn with_more(world: impl Strategy<Value = World>) -> impl Strategy<Value = World> {
    let services = prop::collection::vec((0_u64..700, 0.0..90_000.0_f64, 1_usize..16), 0..4);
    let dash = prop::collection::vec((0_usize..2, 0_i64..17_000, left()), 0..3);
    let hours = prop::collection::vec((0_i64..17_000, 0.0..3000.0_f64), 0..4);
    let stays = prop::collection::vec((0_i64..17_000, prop::option::weighted(0.8, 0_i64..900)), 0..3);
    (with_rules(world), services, dash, hours, stays).prop_map(|(mut world, services, dash, hours, stays)| {
        for (on, value, done) in services {
            let codes: Vec<&str> =
                (0..4).filter(|place| done & (1 << place) != 0).map(|place| MORE[place]).collect();
            world = world.service(&date(on), km(value.round()), &codes);
        }
        for (rule, at, left) in dash {
            world = world.dash(["engine-oil", MORE[3]][rule], &when(at), left);
        }
        for (at, shown) in hours {
            world = world.hours(&when(at), shown);
        }
        for (came, length) in stays {
            world = world.stay(&when(came), length.map(|length| when(came + length)).as_deref());
        }
        world.facts.rules[1].rule.satisfies = vec![code(MORE[0])];
        world
    })
}
