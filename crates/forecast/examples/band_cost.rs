//! What the three days of one distance cost, by one search for each and by `days_band`, in the same run.
//!
//! `cargo run --release -p forecast --example band_cost`

use forecast::{EARLY, LATE, LIKELY, Usage};
use std::hint::black_box;
use std::time::Instant;

/// Items of a vehicle, by the kilometres left to each.
const DISTANCES: [f64; 15] = [
    120.0, 480.0, 900.0, 1500.0, 2400.0, 4000.0, 5500.0, 8000.0, 11_000.0, 15_000.0, 20_000.0, 28_000.0,
    40_000.0, 55_000.0, 80_000.0,
];
const TEN_YEARS: f64 = 3650.0;
const ROUNDS: u32 = 200;

/// Microseconds that `work` takes for one vehicle of fifteen items.
fn microseconds(vehicles: &[Usage], work: impl Fn(&Usage, f64)) -> f64 {
    let begin = Instant::now();
    for _ in 0..ROUNDS {
        for usage in vehicles {
            for km in DISTANCES {
                work(usage, km);
            }
        }
    }
    let runs = f64::from(ROUNDS) * f64::from(u32::try_from(vehicles.len()).unwrap_or(u32::MAX));
    1e6 * begin.elapsed().as_secs_f64() / runs
}

fn main() {
    let kinds = [
        ("new vehicle", 1.0, 6.0, 400.0),
        ("some weeks of readings", 0.8, 35.0, 3_200.0),
        ("a year of readings", 0.8, 130.0, 12_000.0),
        ("very regular", 12.0, 1_500.0, 11_000.0),
    ];
    println!("{:<24} {:>22} {:>22}", "vehicle, fifteen items", "three searches, µs", "days_band, µs");
    for (name, a, shape, scale) in kinds {
        let vehicles: Vec<Usage> = (0..20)
            .map(|number| Usage { a, shape, scale: scale * (1.0 + 0.01 * f64::from(number)) })
            .collect();
        let searched = microseconds(&vehicles, |usage, km| {
            for quantile in [EARLY, LIKELY, LATE] {
                black_box(usage.days_until(black_box(km), quantile, TEN_YEARS));
            }
        });
        let at_once = microseconds(&vehicles, |usage, km| {
            black_box(usage.days_band(black_box(km), TEN_YEARS));
        });
        println!("{name:<24} {searched:>22.1} {at_once:>22.1}");
    }
}
