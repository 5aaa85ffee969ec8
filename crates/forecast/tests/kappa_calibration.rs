//! Does the band hold four cases in five, with the width that the fleet's own past calls for?
//!
//! The same measurement at full size: `cargo run --release -p forecast --example calibration`.

#[path = "support/dice.rs"]
mod dice;
#[path = "support/worlds.rs"]
mod worlds;

use worlds::{Fleet, HORIZONS, World, measure};

/// Shares of distances and of dates that fall within their bands, in per cent.
fn shares(world: World, vehicles: usize, cohorts: u32) -> Vec<f64> {
    let fleet = Fleet { cohorts, vehicles };
    let measured = measure(world, fleet, HORIZONS, 501, |history, _| history.clone());
    println!("{}\n{}", worlds::HEADING, worlds::row(world, fleet, &measured));
    measured.distances.into_iter().chain(measured.dates).map(worlds::Tally::percent).collect()
}

fn all_between(shares: &[f64], least: f64, most: f64) -> bool {
    shares.iter().all(|share| (least..=most).contains(share))
}

#[test]
fn constant_use_is_held_four_times_in_five_whether_readings_fade_or_not() {
    for world in [World::Constant, World::ConstantUnfaded] {
        let (of_large, of_small) = (shares(world, 200, 24), shares(world, 30, 120));
        assert!(all_between(&of_large, 77.0, 83.0), "{world:?}: {of_large:?}");
        assert!(all_between(&of_small, 77.0, 83.0), "{world:?}: {of_small:?}");
    }
}

/// A slow drift is one of usually a tenth in a year, each vehicle at its own pace.
#[test]
fn use_that_changes_is_held_seven_times_in_ten_and_more() {
    let changing =
        [World::Seasons, World::SlowDrift, World::FiveDayWeeks, World::SeasonsInFiveDays, World::OldSwitch];
    for world in changing {
        let (of_large, of_small) = (shares(world, 200, 6), shares(world, 30, 30));
        assert!(all_between(&of_large, 70.0, 97.0), "{world:?}: {of_large:?}");
        assert!(all_between(&of_small, 70.0, 97.0), "{world:?}: {of_small:?}");
    }
}

/// A past without a change teaches nothing about one: this is what the model cannot do, and says so.
#[test]
fn a_change_of_use_that_the_past_never_saw_is_not_held() {
    let young = shares(World::YoungSwitch, 30, 10);
    let old = shares(World::OldSwitch, 30, 10);
    assert!(young.iter().zip(&old).all(|(young, old)| young < old), "{young:?} against {old:?}");
}

#[test]
fn seasons_call_for_a_wider_forecast_the_further_it_looks() {
    let measured = measure(World::Seasons, Fleet { cohorts: 1, vehicles: 60 }, [70.0], 502, |history, _| {
        history.clone()
    });
    let kappa = measured.widths[0].kappa;
    assert!(1.2 < kappa.at_30 && kappa.at_30 < kappa.at_90 && kappa.at_90 <= kappa.at_180, "{kappa:?}");
}
