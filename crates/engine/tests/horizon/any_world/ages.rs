//! What grows old, liquids that are topped up, and capacities under a floor, in any world.

use super::{date, when};
use crate::world::{World, code};
use model::*;
use proptest::prelude::*;
use quantity::{Entered, Unit};

/// Points of the vehicle as a whole with the range and unit they are measured in here.
const WHOLE: [(&str, f64, f64, Unit); 4] = [
    ("traction-capacity", 60.0, 100.0, Unit::Percent),
    ("oil-top-up", 0.0, 2.0, Unit::Litre),
    ("urea-top-up", 0.0, 20.0, Unit::Litre),
    ("brake-fluid-boiling", 120.0, 250.0, Unit::Celsius),
];
const PARTS: [(&str, Place); 4] = [
    ("cabin-filter", Place::Vehicle),
    ("air-filter", Place::Vehicle),
    ("traction-battery", Place::Vehicle),
    ("tyre", Place::FrontLeft),
];
const RENEWED: [&str; 4] = ["oil-level", "engine-air-filter", "brake-fluid-boiling", "cabin-filter"];

/// Floors for the windows, measurements of the whole vehicle, date codes, parts that were changed, and what rules renew.
pub(super) fn with_ages(world: impl Strategy<Value = World>) -> impl Strategy<Value = World> {
    let floors = prop::collection::vec(prop::option::of(60.0..95.0_f64), 3);
    let measured = prop::collection::vec((0_usize..4, 0_i64..17_000, 0.0..1.0_f64), 0..14);
    let codes = prop::collection::vec((0_usize..5, 0_i64..17_000, 1_u32..53, 10_u32..25), 0..4);
    let parts = prop::collection::vec((0_usize..4, 0_u64..700), 0..4);
    let renews = prop::collection::vec(prop::option::of(0_usize..4), 4);
    (world, floors, measured, codes, parts, renews).prop_map(
        |(mut world, floors, measured, codes, parts, renews)| {
            for (window, floor) in world.facts.windows.iter_mut().zip(floors) {
                window.terms.capacity_floor_percent = floor.map(f64::round);
            }
            for (point, hours, share) in measured {
                let (point, least, most, unit) = WHOLE[point];
                let value = ((least + (most - least) * share) * 10.0).round() / 10.0;
                world = world.measured(&when(hours), point, Place::Vehicle, Entered::new(value, unit));
            }
            for (place, hours, week, year) in codes {
                let figures = Entered::new(f64::from(week * 100 + year), Unit::Count);
                world = world.measured(&when(hours), "tyre-date-code", Place::ALL[place], figures);
            }
            for (part, from) in parts {
                let (kind, place) = PARTS[part];
                world = world.fitted(kind, place, &date(from));
            }
            for (version, renewed) in world.facts.rules.iter_mut().zip(renews) {
                version.rule.renews = renewed.map(|renewed| code(RENEWED[renewed])).into_iter().collect();
            }
            world
        },
    )
}
