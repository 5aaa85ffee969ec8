//! Steps from a distance limit to the days on which it is met.

use super::{NoForecast, Step};
use crate::known::{Crossing, Known};
use crate::usage::{Driving, to_nine_digits};
use forecast::{EARLY, LATE, LIKELY};
use quantity::Distance;

/// How the limit is met: by a reading, or as forecast at each of the three quantiles.
pub(crate) fn steps(known: &Known<'_>, limit: Distance, crossing: &Crossing) -> Vec<Step> {
    match crossing {
        Crossing::Met(counted) => vec![Step::LimitMet {
            reading: counted.id,
            on: known.day(counted.at),
            odometer: counted.odometer,
        }],
        Crossing::Unknown => vec![Step::NoForecast { reason: NoForecast::NoReading }],
        Crossing::Ahead(_) => known.driving.as_ref().map_or_else(Vec::new, |driving| {
            let mut steps = vec![last_reading(known, driving, limit), usage(known, driving)];
            let quantiles = [EARLY, LIKELY, LATE].map(|quantile| quantile_step(driving, limit, quantile));
            let is_beyond = quantiles.iter().any(Option::is_none);
            steps.extend(quantiles.into_iter().flatten());
            if is_beyond {
                steps.push(Step::NoForecast { reason: NoForecast::Beyond });
            }
            steps
        }),
    }
}

fn last_reading(known: &Known<'_>, driving: &Driving, limit: Distance) -> Step {
    Step::LastReading {
        reading: driving.anchor.id,
        on: known.day(driving.anchor.at),
        odometer: driving.anchor.odometer,
        left: limit - driving.anchor.odometer,
    }
}

pub(super) fn usage(known: &Known<'_>, driving: &Driving) -> Step {
    let fit = &known.facts.usage.fit;
    Step::Usage {
        level: fit.level,
        vehicles: fit.vehicles,
        a: driving.usage.a,
        prior_shape: fit.p,
        prior_scale_km: fit.q,
        gaps: driving.gaps,
        shape: driving.usage.shape,
        scale_km: driving.usage.scale,
        km_per_day: driving.km_per_day(),
    }
}

fn quantile_step(driving: &Driving, limit: Distance, quantile: f64) -> Option<Step> {
    let operating_days = to_nine_digits(driving.days_until(limit, quantile)?);
    let on = driving.day_met(limit, quantile)?;
    let km_left = driving.km_left(limit);
    let forecast::Usage { a, shape, scale } = driving.usage;
    let check = format!("scipy.stats.betaprime.sf({km_left} / {scale}, {a} * {operating_days}, {shape})");
    Some(Step::Quantile { quantile, km_left, operating_days, on, check })
}
