//! Invented components whose wear is known, for measuring how often a band of wear holds.

use crate::dice::Dice;
use forecast::wear::{
    Approach, Crossing, Fit, GaugeReading, Setting, Start, Stretch, TREAD_GAUGE_SD_MM, crossing,
    expected_wear_mm,
};
use forecast::{Band3, Usage};

pub const NEW_MM: f64 = 8.0;
const LIMIT_MM: f64 = 1.6;
const SETTING: Setting = Setting { tau: 0.2, gauge_sd_mm: TREAD_GAUGE_SD_MM };
/// Wear of one product at two positions, in millimetres a kilometre (invented).
const POSITIONS: [f64; 2] = [1.6e-4, 0.9e-4];
/// Kilometres between gauge readings, at which a component may change its position.
const INTERVAL_KM: f64 = 6000.0;
pub const MOST_DAYS: f64 = 20_000.0;
const VEHICLES: u32 = 8000;

#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Life {
    Stays,
    Rotates,
}

/// A component after two to five gauge readings, and what it will do.
pub struct Component {
    pub known: Crossing,
    /// Kilometres from the last reading at which it will come down to the limit.
    meets_limit_after_km: f64,
}

impl Component {
    pub fn new(life: Life, start: Start, dice: &mut Dice) -> Self {
        let pace = 1.0 + SETTING.tau * dice.normal();
        let mut fittings: Vec<Stretch> = vec![];
        let mut readings = vec![];
        for number in 0.. {
            if number >= 2 && (number >= 5 || dice.unit() < 0.3) {
                break;
            }
            let position = if life == Life::Rotates { number % 2 } else { 0 };
            fittings.push(Stretch { km: INTERVAL_KM, mm_per_km: POSITIONS[position] });
            let expected_wear_mm = expected_wear_mm(&fittings);
            let error = SETTING.gauge_sd_mm * dice.normal();
            readings
                .push(GaugeReading { expected_wear_mm, depth_mm: NEW_MM - pace * expected_wear_mm + error });
        }
        let here = fittings.last().expect("two readings").mm_per_km;
        let now = expected_wear_mm(&fittings);
        let fit = Fit::new(start, &readings, &SETTING).expect("a reading");
        let known = crossing(&fit, &Approach { limit_mm: LIMIT_MM, wear_now_mm: now, mm_per_km: here })
            .expect("it wears");
        Self { known, meets_limit_after_km: ((NEW_MM - LIMIT_MM) / pace - now) / here }
    }
}

fn percent(within: u32) -> f64 {
    100.0 * f64::from(within) / f64::from(VEHICLES)
}

/// Share of components that meet their limit between the first and the last of the nine distances; by their making
/// that is eight parts in nine.
pub fn distances_held(life: Life, start: Start, seed: u64) -> f64 {
    let mut dice = Dice::new(seed);
    percent(
        (0..VEHICLES)
            .map(|_| {
                let component = Component::new(life, start, &mut dice);
                let [first, .., last] = component.known.km;
                u32::from((first..=last).contains(&component.meets_limit_after_km))
            })
            .sum(),
    )
}

/// Share of components that meet their limit from the early date to the late one, on vehicles drawn from their usage.
pub fn dates_held(life: Life, start: Start, seed: u64) -> f64 {
    let mut dice = Dice::new(seed);
    let usage = Usage { a: 0.8, shape: 60.0, scale: 6000.0 };
    percent(
        (0..VEHICLES)
            .map(|_| {
                let component = Component::new(life, start, &mut dice);
                let Band3 { early, late, .. } = component.known.days_band(&usage, MOST_DAYS);
                let (early, late) = (early.expect("in time"), late.unwrap_or(MOST_DAYS));
                let rate = dice.gamma(usage.shape) / usage.scale;
                let at_early = if early > 0.0 { dice.gamma(usage.a * early) / rate } else { 0.0 };
                let at_late =
                    at_early + if late > early { dice.gamma(usage.a * (late - early)) / rate } else { 0.0 };
                u32::from((at_early..=at_late).contains(&component.meets_limit_after_km))
            })
            .sum(),
    )
}

pub const CASES: [(Life, Start); 4] = [
    (Life::Stays, Start::Depth(NEW_MM)),
    (Life::Stays, Start::Unknown),
    (Life::Rotates, Start::Depth(NEW_MM)),
    (Life::Rotates, Start::Unknown),
];
