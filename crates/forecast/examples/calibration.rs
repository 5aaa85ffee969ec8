//! How often the bands from early to late hold: of usage in invented fleets, with the width found by back-tests, and of
//! wear on invented components.
//!
//! `cargo run --release -p forecast --example calibration`

#[path = "../tests/support/dice.rs"]
mod dice;
#[path = "../tests/support/worlds.rs"]
mod worlds;
#[path = "../tests/support/worn.rs"]
mod worn;

use worlds::{Fleet, HORIZONS, World, measure};

fn main() {
    println!(
        "Usage, shares within the band in per cent; bounds: 77 to 83 where use is constant, 70 to 97 elsewhere,"
    );
    println!("none for the fast drift and the young switch.\n");
    println!("{}", worlds::HEADING);
    let worlds = [
        World::ConstantUnfaded,
        World::Constant,
        World::Seasons,
        World::SlowDrift,
        World::FastDrift,
        World::FiveDayWeeks,
        World::SeasonsInFiveDays,
        World::OldSwitch,
        World::YoungSwitch,
    ];
    for world in worlds {
        for fleet in [Fleet { cohorts: 24, vehicles: 200 }, Fleet { cohorts: 120, vehicles: 30 }] {
            println!(
                "{}",
                worlds::row(world, fleet, &measure(world, fleet, HORIZONS, 77, |history, _| history.clone()))
            );
        }
    }
    println!(
        "\nWear, shares in per cent; bounds: 77 to 83 for dates, 85.9 to 91.9 for the nine distances.\n"
    );
    println!("| component | depth when new | date | distance |\n| --- | --- | --- | --- |");
    for (life, start) in worn::CASES {
        let (date, distance) = (worn::dates_held(life, start, 72), worn::distances_held(life, start, 71));
        println!("| {life:?} | {start:?} | {date:.1} | {distance:.1} |");
    }
}
