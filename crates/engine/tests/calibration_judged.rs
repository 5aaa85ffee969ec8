//! Do the bands of usage hold when one reading in a hundred is wild? All pass through judging first.
//!
//! The same measurement at full size: `cargo run --release -p engine --example calibration_judged`.

#[path = "../../forecast/tests/support/dice.rs"]
mod dice;
#[path = "horizon"]
#[expect(dead_code, unused_imports, reason = "a calibration needs few of its words")]
mod horizon {
    pub mod world;
}
#[path = "support/wild.rs"]
mod wild;
#[path = "../../forecast/tests/support/worlds.rs"]
mod worlds;

use wild::Judged;
use worlds::{Fleet, HORIZONS, World, measure};

/// Shares of distances and of dates that fall within their bands, in per cent.
fn shares(world: World, fleet: Fleet, judged: &mut Judged) -> Vec<f64> {
    let measured = measure(world, fleet, HORIZONS, 77, |history, dice| judged.seen(history, dice));
    println!("{}\n{}\n{}", worlds::HEADING, worlds::row(world, fleet, &measured), judged.told());
    measured.distances.into_iter().chain(measured.dates).map(worlds::Tally::percent).collect()
}

const LARGE: Fleet = Fleet { cohorts: 24, vehicles: 200 };
const SMALL: Fleet = Fleet { cohorts: 120, vehicles: 30 };

#[test]
fn constant_use_is_held_four_times_in_five_among_wild_readings() {
    let mut judged = Judged::default();
    for fleet in [LARGE, SMALL] {
        let shares = shares(World::Constant, fleet, &mut judged);
        assert!(shares.iter().all(|share| (77.0..=83.0).contains(share)), "{fleet:?}: {shares:?}");
    }
    assert!(judged.wild_counted * 10 < judged.wild, "nine wild ones in ten are held: {}", judged.told());
    assert!(judged.right_held * 1000 < judged.right, "hardly a right one is held: {}", judged.told());
}

const CHANGING: [World; 5] =
    [World::Seasons, World::SlowDrift, World::FiveDayWeeks, World::SeasonsInFiveDays, World::OldSwitch];

#[test]
fn use_that_changes_is_held_seven_times_in_ten_and_more_among_wild_readings() {
    let mut judged = Judged::default();
    for world in CHANGING {
        for fleet in [Fleet { cohorts: 6, ..LARGE }, Fleet { cohorts: 30, ..SMALL }] {
            let shares = shares(world, fleet, &mut judged);
            assert!(
                shares.iter().all(|share| (70.0..=97.0).contains(share)),
                "{world:?}, {fleet:?}: {shares:?}"
            );
        }
    }
}

/// Judging does not take a change of use for a mistake, and neither does it foresee one.
#[test]
fn a_change_of_use_that_the_past_never_saw_is_not_held_among_wild_readings() {
    let (mut judged, fleet) = (Judged::default(), Fleet { cohorts: 10, ..SMALL });
    let young = shares(World::YoungSwitch, fleet, &mut judged);
    let old = shares(World::OldSwitch, fleet, &mut judged);
    assert!(young.iter().zip(&old).all(|(young, old)| young < old), "{young:?} against {old:?}");
    assert!(judged.right_held * 1000 < judged.right, "{}", judged.told());
}
