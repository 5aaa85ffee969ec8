//! The days that explanations give for a few worlds, each with the line of Python that finds them anew.
//!
//! `cargo run --release -p engine --example because_checks` prints, between tabs: what it is about, the probability, the
//! operating days and the line. `tests/checks/12-forecast-oracles` runs the lines.

#[path = "../tests/horizon"]
#[expect(dead_code, unused_imports, clippy::wildcard_imports, reason = "an example needs few of its words")]
mod horizon {
    pub mod world;
}

use chrono::Days;
use engine::{Step, WearStep};
use horizon::world::{World, day, every_km, km};
use model::Place;
use model::horizon::ItemKey;

const PLACES: [Place; 4] = [Place::FrontLeft, Place::FrontRight, Place::RearLeft, Place::RearRight];

/// A van with four tyres that are measured every two months at this depth and fewer, and an oil change ahead.
fn van(km_a_day: f64, starts_at_mm: f64) -> World {
    let first = day("2024-01-01");
    let world = World::new().steady("2024-01-01", "2024-08-30", 11, km(km_a_day));
    let fitted = PLACES.into_iter().fold(world.rule("engine-oil", every_km(30_000.0)), |world, place| {
        world.fitted("tyre", place, "2024-01-01")
    });
    let checks = (0_u32..4)
        .flat_map(|check| PLACES.into_iter().zip([0.0, 0.1, 0.3, 0.2]).map(move |one| (check, one)));
    checks.fold(fitted, |world, (check, (place, less))| {
        let on = first + Days::new(u64::from(check) * 60 + 5);
        let driven = km_a_day * f64::from(check * 60 + 5) / 1000.0;
        let wear = if matches!(place, Place::FrontLeft | Place::FrontRight) { 0.15 } else { 0.1 };
        let depth = ((starts_at_mm - less - wear * driven) * 10.0).round() / 10.0;
        world.tread(&format!("{on} 09:00"), place, depth)
    })
}

fn main() {
    for (km_a_day, starts_at_mm) in [(30.0, 8.0), (90.0, 8.0), (90.0, 6.0), (160.0, 9.0)] {
        let world = van(km_a_day, starts_at_mm);
        let tyres = world.facts.components.iter().map(|component| format!("wear:{}", component.id));
        for key in tyres.chain(["rule:engine-oil".to_owned()]) {
            let explanation = engine::explain(&world.facts, &world.policy, &ItemKey(key.clone()));
            let steps = explanation.map(|explanation| explanation.steps).unwrap_or_default();
            for (quantile, days, check) in steps.iter().filter_map(told) {
                println!("{km_a_day} km a day, {key}\t{quantile}\t{days}\t{check}");
            }
        }
    }
}

fn told(step: &Step) -> Option<(f64, f64, &str)> {
    match step {
        Step::Quantile { quantile, operating_days, check, .. } => Some((*quantile, *operating_days, check)),
        Step::Wear(WearStep::Day { quantile, operating_days, check, .. }) => {
            Some((*quantile, *operating_days, check.as_deref()?))
        }
        _ => None,
    }
}
