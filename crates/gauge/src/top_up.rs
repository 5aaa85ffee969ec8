//! How much of a liquid a vehicle uses, from what was topped up.

use quantity::{Distance, Entered, Unit};

/// Over less than this no rate is told: the marks on a dipstick are too far apart for it. A house setting, no source.
pub const LEAST_DISTANCE: Distance = Distance::from_km(1000);

/// Top-ups below which nothing is said of a trend.
const LEAST_FOR_TREND: usize = 4;

/// So much was filled in up to the usual mark.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TopUp {
    /// The odometer then.
    pub odometer: Distance,
    /// How much, in litres.
    pub litres: f64,
}

/// What a vehicle uses over a distance.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Consumption {
    /// Litres over 1,000 km.
    pub litres_per_1000_km: f64,
    /// Standard error of that: from how unequal the top-ups are, and never less than two readings of the mark allow.
    pub standard_error: f64,
    /// The distance it was found over.
    pub distance: Distance,
}

/// What it used before, and what it uses of late.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Trend {
    /// Over the first half of the top-ups.
    pub earlier: Consumption,
    /// Over the rest.
    pub later: Consumption,
}

/// Why no rate is told.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum TopUpError {
    /// Nothing was topped up yet, or the distance since is too short to say that nothing is used.
    #[error("{} km since the mark was met; at least {} km are needed to tell a rate", driven.km(), LEAST_DISTANCE.km())]
    TooShort {
        /// The distance between the first fill and the last top-up.
        driven: Distance,
    },
    /// No amount.
    #[error("{litres} litres cannot have been topped up; a finite amount of zero or more is needed")]
    NotAVolume {
        /// What was given.
        litres: f64,
    },
    /// A top-up from before the fill it is counted from.
    #[error("a top-up at {} km came before the fill at {} km that it is counted from", odometer.km(), filled_at.km())]
    BeforeTheFill {
        /// The odometer at the top-up.
        odometer: Distance,
        /// The odometer at the fill.
        filled_at: Distance,
    },
}

/// One stretch and what was used over it.
#[derive(Clone, Copy)]
struct Stretch {
    km: f64,
    litres: f64,
}

/// The rate of use since the liquid was filled to the mark, from top-ups to the same mark in any order.
///
/// The rate is all that was topped up over all that was driven. Its error comes from the scatter of the stretches, with a
/// variance that grows with their length, and is at least that of the mark read twice with an error of `mark_error_litres`.
///
/// # Errors
/// [`TopUpError`]: all three.
pub fn consumption(
    filled_at: Distance,
    top_ups: &[TopUp],
    mark_error_litres: f64,
) -> Result<Consumption, TopUpError> {
    of_stretches(&stretches(filled_at, top_ups)?, mark_error_litres)
}

/// The rates of the earlier and the later half of the top-ups; `None` from fewer than four, or where a half is too short.
///
/// # Errors
/// [`TopUpError::NotAVolume`] and [`TopUpError::BeforeTheFill`].
pub fn trend(
    filled_at: Distance,
    top_ups: &[TopUp],
    mark_error_litres: f64,
) -> Result<Option<Trend>, TopUpError> {
    let stretches = stretches(filled_at, top_ups)?;
    if stretches.len() < LEAST_FOR_TREND {
        return Ok(None);
    }
    let (earlier, later) = stretches.split_at(stretches.len() / 2);
    let of = |part| of_stretches(part, mark_error_litres).ok();
    Ok(of(earlier).zip(of(later)).map(|(earlier, later)| Trend { earlier, later }))
}

impl Trend {
    /// By how many standard errors of their difference the later rate lies above the earlier; below zero where it fell.
    pub fn rise(&self) -> f64 {
        let errors = [self.earlier.standard_error, self.later.standard_error];
        let error = errors.iter().map(|error| error * error).sum::<f64>().sqrt();
        let rise = self.later.litres_per_1000_km - self.earlier.litres_per_1000_km;
        if rise.abs() <= 0.0 { 0.0 } else { rise / error }
    }
}

impl Consumption {
    /// As a person reads it, uncertainty and all: `0.4 L (give or take 0.1 L) over 1,000 km`.
    pub fn told(&self) -> String {
        let litres = |value: f64| Entered::new((value * 100.0).round() / 100.0, Unit::Litre);
        let (rate, doubt) = (litres(self.litres_per_1000_km), litres(2.0 * self.standard_error));
        format!("{rate} (give or take {doubt}) over 1,000 km")
    }

    /// How far `litres` last at this rate; `None` where nothing is used.
    pub fn distance_on(&self, litres: f64) -> Option<Distance> {
        let km = 1000.0 * litres.max(0.0) / self.litres_per_1000_km;
        Distance::parse(Entered::new(km, Unit::Kilometre)).ok()
    }
}

fn stretches(filled_at: Distance, top_ups: &[TopUp]) -> Result<Vec<Stretch>, TopUpError> {
    let mut in_order = top_ups.to_vec();
    in_order.sort_by_key(|top_up| top_up.odometer);
    let mut stretches: Vec<Stretch> = Vec::new();
    let mut from = filled_at;
    for TopUp { odometer, litres } in in_order {
        if odometer < filled_at {
            return Err(TopUpError::BeforeTheFill { odometer, filled_at });
        }
        if !(litres.is_finite() && litres >= 0.0) {
            return Err(TopUpError::NotAVolume { litres });
        }
        // Two cans at one odometer are one top-up.
        match stretches.last_mut().filter(|_| odometer == from) {
            Some(last) => last.litres += litres,
            None => stretches.push(Stretch { km: (odometer - from).km(), litres }),
        }
        from = odometer;
    }
    Ok(stretches)
}

fn of_stretches(stretches: &[Stretch], mark_error_litres: f64) -> Result<Consumption, TopUpError> {
    let km: f64 = stretches.iter().map(|stretch| stretch.km).sum();
    let distance = Distance::nearest_km(km);
    if distance < LEAST_DISTANCE {
        return Err(TopUpError::TooShort { driven: distance });
    }
    let rate = stretches.iter().map(|stretch| stretch.litres).sum::<f64>() / km;
    let scatter: f64 = stretches
        .iter()
        .filter(|stretch| stretch.km > 0.0)
        .map(|stretch| {
            (stretch.litres - rate * stretch.km) * (stretch.litres - rate * stretch.km) / stretch.km
        })
        .sum();
    #[expect(clippy::cast_precision_loss, reason = "counts of top-ups in memory are far below 2^53")]
    let others = stretches.len().saturating_sub(1) as f64;
    let by_scatter = if others > 0.0 { scatter / others / km } else { 0.0 };
    let by_mark = 2.0 * mark_error_litres * mark_error_litres / (km * km);
    Ok(Consumption {
        litres_per_1000_km: 1000.0 * rate,
        standard_error: 1000.0 * by_scatter.max(by_mark).sqrt(),
        distance,
    })
}
