//! Steps from a distance limit to the days on which it is met.

use super::{MeterStep, NoForecast, Step};
use crate::known::{Crossing, Known};
use crate::usage::{Driving, ItemUsage};
use chrono::NaiveDate;
use forecast::{EARLY, LATE, LIKELY};
use quantity::Distance;

/// How the limit is met: by a reading, or as forecast at each of the three quantiles.
pub(crate) fn steps(known: &Known<'_>, limit: Distance, crossing: &Crossing) -> Vec<Step> {
    let shown = known.limit_shown(limit, crossing);
    let earlier = limit - shown;
    let on_present = Step::Meter(MeterStep::OnPresent { total: limit, earlier, shown });
    let on_present = (earlier != Distance::ZERO).then_some(on_present);
    on_present.into_iter().chain(met(known, limit, crossing)).collect()
}

fn met(known: &Known<'_>, limit: Distance, crossing: &Crossing) -> Vec<Step> {
    match crossing {
        Crossing::Met(counted) => vec![Step::LimitMet {
            reading: counted.id,
            on: known.day(counted.at),
            odometer: known.shown_then(counted),
        }],
        Crossing::Unknown => vec![Step::NoForecast { reason: NoForecast::NoReading }],
        Crossing::Ahead(ahead) => known.driving.as_ref().map_or_else(Vec::new, |driving| {
            let mut steps = vec![last_reading(known, driving, limit), usage(known, driving)];
            steps.push(width(driving, &ahead.item));
            let (days, band) = (ahead.days, ahead.band);
            let quantiles = [
                (EARLY, days.early, band.early),
                (LIKELY, days.likely, band.likely),
                (LATE, days.late, band.late),
            ];
            let told = quantiles.map(|(quantile, days, on)| {
                Some(quantile_step(driving.km_left(limit), &ahead.item, quantile, days?, on?))
            });
            let is_beyond = told.iter().any(Option::is_none);
            steps.extend(told.into_iter().flatten());
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
        odometer: known.shown_now(driving.anchor.odometer),
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

pub(super) fn width(driving: &Driving, item: &ItemUsage) -> Step {
    Step::Width {
        kappa: item.kappa,
        is_measured: driving.is_kappa_measured,
        a: item.usage.a,
        shape: item.usage.shape,
        scale_km: item.usage.scale,
    }
}

fn quantile_step(km_left: f64, item: &ItemUsage, quantile: f64, days: f64, on: NaiveDate) -> Step {
    // Upwards, as the day is the one by whose end they have passed.
    let operating_days = libm::ceil(days * 100.0 - 1e-4) / 100.0;
    let forecast::Usage { a, shape, scale } = item.usage;
    let check = format!(
        "scipy.optimize.brentq(lambda h: scipy.stats.betaprime.sf({km_left} / {scale}, {a} * h, {shape}) - {quantile}, \
         1e-6, 1e5)"
    );
    Step::Quantile { quantile, km_left, operating_days, on, check }
}
