//! How often the band from early to late holds in invented fleets, with the width found by back-tests.
//!
//! `cargo run --release -p forecast --example calibration`

#[path = "../tests/support/dice.rs"]
mod dice;
#[path = "../tests/support/worlds.rs"]
mod worlds;

use worlds::{Tally, World, measure};

/// Operating days ahead.
const HORIZONS: [f64; 3] = [14.0, 70.0, 200.0];

fn written(tallies: [Tally; 3]) -> String {
    tallies.map(|tally| format!("{:.1} %", tally.percent())).join(" | ")
}

fn main() {
    println!(
        "| world | cohorts | width at 30, 90, 180 days (median) | distance at 14 | 70 | 200 | date at 14 | 70 | 200 |"
    );
    println!("| --- | --- | --- | --- | --- | --- | --- | --- | --- |");
    let worlds = [
        World::ConstantUnfaded,
        World::Constant,
        World::Seasons,
        World::SlowDrift,
        World::FastDrift,
        World::SeasonsInFiveDays,
        World::OldSwitch,
        World::YoungSwitch,
    ];
    for world in worlds {
        for (vehicles, cohorts) in [(200, 24), (30, 120)] {
            let measured = measure(world, vehicles, cohorts, HORIZONS, 77);
            let median = |width: fn(&forecast::Kappa) -> f64| {
                let mut all: Vec<f64> = measured.widths.iter().map(|found| width(&found.kappa)).collect();
                all.sort_by(f64::total_cmp);
                all[all.len() / 2]
            };
            let widths =
                [median(|kappa| kappa.at_30), median(|kappa| kappa.at_90), median(|kappa| kappa.at_180)];
            println!(
                "| {world:?} | {cohorts} of {vehicles} | {} | {} | {} |",
                widths.map(|width| format!("{width:.2}")).join(", "),
                written(measured.distances),
                written(measured.dates)
            );
        }
    }
}
