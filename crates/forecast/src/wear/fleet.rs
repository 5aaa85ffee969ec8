//! How fast a product wears at each position, and how much its components differ: told by the fleet's own.
//!
//! The estimator is our own derivation from the model of [`super::Fit`]. Of one component, driven x = (front, rear)
//! kilometres by its readings, what is gone of the depth is c b'x + error, with c ~ N(1, tau^2) and the gauge's known
//! variance. So all its readings together have the covariance s^2 I + tau^2 z z', z = b'x, and the rates b are found by
//! generalised least squares over the components (one inversion by Sherman and Morrison's formula), going round until
//! b and z agree; an unknown first depth is taken out by looking at deviations from the component's own means. Around
//! each b, tau^2 is that at which the components' own paces differ as much as they should: `sum (c_i - c)^2 / (v_i +
//! tau^2) = n - 1` (Paule and Mandel, Journal of Research of the National Bureau of Standards 87, 1982; from memory).

use super::fit::LEAST_SD_MM;
use crate::cohort::count_of;
use serde::{Deserialize, Serialize};

/// Fewer components than this tell no rate.
pub const LEAST_COMPONENTS: usize = 8;

/// Shipped rates are believed to be off by about this share (chosen; no source).
const SHARE_IN_DOUBT: f64 = 0.5;
/// The shipped spread counts as much as that of so many components (chosen; no source).
const COMPONENTS_OF_SHIPPED_TAU: f64 = 8.0;
/// The spreads a fit may give.
const LEAST_TAU: f64 = 0.05;
const MOST_TAU: f64 = 1.0;
/// A rate is never below this share of the shipped one: a part that does not wear at all would have no limit.
const LEAST_SHARE: f64 = 0.05;
/// Rounds; each brings b several times nearer.
const MOST_ROUNDS: u32 = 100;
const SETTLED: f64 = 1e-12;

/// Rates of wear of one product and how much its components differ.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Rates {
    /// b: wear to be expected on the front axle and on the rear, in millimetres a kilometre; above zero.
    pub mm_per_km: [f64; 2],
    /// Spread (standard deviation) tau of the components' pace around 1, without unit; above zero.
    pub tau: f64,
}

/// One reading of a component.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct WornReading {
    /// Kilometres driven by then on the front axle and on the rear.
    pub km: [f64; 2],
    /// Depth read, in millimetres.
    pub depth_mm: f64,
}

/// What one component went through.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Worn {
    /// Depth before any wear, in millimetres, if known.
    pub new_mm: Option<f64>,
    /// In any order.
    pub readings: Vec<WornReading>,
}

/// What a fleet's components tell of a product.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FittedRates {
    /// The rates.
    pub rates: Rates,
    /// Components they rest on; 0 where the shipped ones stand in.
    pub components: usize,
}

/// The rates of a product from its `components`, drawn towards the `shipped` ones; those themselves from fewer than
/// eight components that tell anything.
///
/// A component tells something when it has been driven between two readings, or from its known first depth to one.
/// Where none was driven on one axle, the rate there stays as shipped.
pub fn fit_rates(components: &[Worn], shipped: &Rates, gauge_sd_mm: f64) -> FittedRates {
    let sd = gauge_sd_mm.max(LEAST_SD_MM);
    let told: Vec<Sums> = components.iter().filter_map(|worn| Sums::of(worn, sd * sd, shipped)).collect();
    if told.len() < LEAST_COMPONENTS {
        return FittedRates { rates: *shipped, components: 0 };
    }
    let mut rates = *shipped;
    for _ in 0..MOST_ROUNDS {
        let tau = spread(&told, &rates.mm_per_km);
        let mm_per_km = rates_given(&told, &Rates { tau, ..rates }, shipped);
        let moved = (0..2).map(|axle| (mm_per_km[axle] / rates.mm_per_km[axle] - 1.0).abs());
        let is_settled = moved.fold(0.0, f64::max) < SETTLED;
        rates = Rates { mm_per_km, tau };
        if is_settled {
            break;
        }
    }
    FittedRates {
        rates: Rates { tau: drawn_in(rates.tau, told.len(), shipped), ..rates },
        components: told.len(),
    }
}

/// One component's normal equations, divided by the gauge's variance.
#[derive(Clone, Copy, Debug)]
struct Sums {
    /// Of the products of kilometres: front with front, front with rear, rear with rear.
    squares: [f64; 3],
    /// Of kilometres, front and rear, with the depth that is gone.
    products: [f64; 2],
}

impl Sums {
    fn of(worn: &Worn, noise: f64, shipped: &Rates) -> Option<Self> {
        let (origin, depth) = match worn.new_mm {
            Some(new_mm) => ([0.0, 0.0], new_mm),
            None => worn.means()?,
        };
        let mut sums = Self { squares: [0.0; 3], products: [0.0; 2] };
        for reading in &worn.readings {
            let [front, rear] = [reading.km[0] - origin[0], reading.km[1] - origin[1]];
            let gone = depth - reading.depth_mm;
            for (sum, part) in sums.squares.iter_mut().zip([front * front, front * rear, rear * rear]) {
                *sum += part / noise;
            }
            for (sum, km) in sums.products.iter_mut().zip([front, rear]) {
                *sum += km * gone / noise;
            }
        }
        // Less than a thousandth of what one reading says of a millimetre is rounding.
        (sums.information(&shipped.mm_per_km) > 1e-3).then_some(sums)
    }

    /// G b.
    fn times(&self, b: &[f64; 2]) -> [f64; 2] {
        let [front, both, rear] = self.squares;
        [front * b[0] + both * b[1], both * b[0] + rear * b[1]]
    }

    /// b' G b: how well the component's pace is known, as one over its variance.
    fn information(&self, b: &[f64; 2]) -> f64 {
        dot(&self.times(b), b)
    }

    /// The component's own pace, and its variance.
    fn pace(&self, b: &[f64; 2]) -> (f64, f64) {
        let information = self.information(b);
        (dot(&self.products, b) / information, 1.0 / information)
    }
}

impl Worn {
    fn means(&self) -> Option<([f64; 2], f64)> {
        let count = count_of(self.readings.len());
        let mean = |part: fn(&WornReading) -> f64| self.readings.iter().map(part).sum::<f64>() / count;
        (!self.readings.is_empty()).then(|| {
            ([mean(|reading| reading.km[0]), mean(|reading| reading.km[1])], mean(|reading| reading.depth_mm))
        })
    }
}

fn dot(one: &[f64; 2], other: &[f64; 2]) -> f64 {
    one[0] * other[0] + one[1] * other[1]
}

/// The tau at which the components' paces differ as they should, by halving; zero where gauge errors explain it all.
fn spread(told: &[Sums], b: &[f64; 2]) -> f64 {
    let paces: Vec<(f64, f64)> = told.iter().map(|sums| sums.pace(b)).collect();
    let expected = count_of(paces.len()) - 1.0;
    let excess = |square: f64| {
        let weights = || paces.iter().map(|(_, variance)| 1.0 / (variance + square));
        let mean = paces.iter().zip(weights()).map(|((pace, _), weight)| pace * weight).sum::<f64>()
            / weights().sum::<f64>();
        let seen =
            paces.iter().zip(weights()).map(|((pace, _), weight)| weight * (pace - mean) * (pace - mean));
        seen.sum::<f64>() - expected
    };
    let (mut low, mut high) = (0.0, MOST_TAU * MOST_TAU);
    if excess(low) <= 0.0 {
        return 0.0;
    }
    // Sixty halvings of a range of one reach the last digit.
    for _ in 0..60 {
        let middle = 0.5 * (low + high);
        if excess(middle) > 0.0 { low = middle } else { high = middle }
    }
    libm::sqrt(0.5 * (low + high))
}

/// The rates that fit best with this spread, each drawn towards the shipped one as by one more observation of it.
fn rates_given(told: &[Sums], now: &Rates, shipped: &Rates) -> [f64; 2] {
    let square = now.tau * now.tau;
    let belief = shipped.mm_per_km.map(|rate| 1.0 / (SHARE_IN_DOUBT * rate * SHARE_IN_DOUBT * rate));
    let mut squares = [belief[0], 0.0, belief[1]];
    let mut products = [belief[0] * shipped.mm_per_km[0], belief[1] * shipped.mm_per_km[1]];
    for sums in told {
        let along = sums.times(&now.mm_per_km);
        let share = square / (1.0 + square * dot(&along, &now.mm_per_km));
        let gone = dot(&sums.products, &now.mm_per_km);
        for (total, (whole, part)) in squares.iter_mut().zip(sums.squares.iter().zip([
            along[0] * along[0],
            along[0] * along[1],
            along[1] * along[1],
        ])) {
            *total += whole - share * part;
        }
        for (total, (whole, part)) in products.iter_mut().zip(sums.products.iter().zip(along)) {
            *total += whole - share * part * gone;
        }
    }
    let determinant = squares[0] * squares[2] - squares[1] * squares[1];
    let found = [
        (products[0] * squares[2] - products[1] * squares[1]) / determinant,
        (products[1] * squares[0] - products[0] * squares[1]) / determinant,
    ];
    [0, 1].map(|axle| found[axle].max(LEAST_SHARE * shipped.mm_per_km[axle]))
}

/// The spread found, drawn towards the shipped one by components' numbers.
fn drawn_in(tau: f64, components: usize, shipped: &Rates) -> f64 {
    let count = count_of(components);
    let square = (count * tau * tau + COMPONENTS_OF_SHIPPED_TAU * shipped.tau * shipped.tau)
        / (count + COMPONENTS_OF_SHIPPED_TAU);
    libm::sqrt(square).clamp(LEAST_TAU, MOST_TAU)
}
