//! How often the bands of usage hold when one reading in a hundred is wild and all pass through judging first.
//!
//! `cargo run --release -p engine --example calibration_judged`

#[path = "../../forecast/tests/support/dice.rs"]
mod dice;
#[path = "../tests/horizon"]
#[expect(
    dead_code,
    unused_imports,
    clippy::wildcard_imports,
    reason = "a calibration needs few of its words"
)]
mod horizon {
    pub mod world;
}
#[path = "../tests/support/wild.rs"]
mod wild;
#[path = "../../forecast/tests/support/worlds.rs"]
mod worlds;

use wild::Judged;
use worlds::{Fleet, HORIZONS, World, measure};

fn main() {
    println!(
        "Shares within the band in per cent; bounds: 77 to 83 where use is constant, 70 to 97 elsewhere, none for"
    );
    println!("the fast drift and the young switch.\n");
    println!("{}", worlds::HEADING);
    let worlds = [
        World::Constant,
        World::Seasons,
        World::SlowDrift,
        World::FastDrift,
        World::FiveDayWeeks,
        World::SeasonsInFiveDays,
        World::OldSwitch,
        World::YoungSwitch,
    ];
    let mut judged = Judged::default();
    for world in worlds {
        for fleet in [Fleet { cohorts: 24, vehicles: 200 }, Fleet { cohorts: 120, vehicles: 30 }] {
            let seen = |history: &_, dice: &mut _| judged.seen(history, dice);
            println!("{}", worlds::row(world, fleet, &measure(world, fleet, HORIZONS, 77, seen)));
        }
    }
    println!("\n{}", judged.told());
}
