//! Steps from a limit of running time to the days on which it is met, and of meters that were replaced.

use super::{DutyStep, MeterStep, NoForecast, Step};
use crate::known::Known;
use crate::running::{HourCrossing, HoursAhead, Running};
use chrono::NaiveDate;
use forecast::{EARLY, LATE, LIKELY};
use model::MeterQuantity;

/// How the limit is met: by a reading, or as forecast at each of the three quantiles.
pub(crate) fn steps(known: &Known<'_>, limit: i64, crossing: &HourCrossing) -> Vec<Step> {
    let shown = known.hours_limit_shown(limit, crossing);
    let earlier = limit.saturating_sub(shown);
    let on_present = Step::Meter(MeterStep::HoursOnPresent { total: limit, earlier, shown });
    let mut steps: Vec<Step> = (earlier != 0).then_some(on_present).into_iter().collect();
    match (crossing, &known.running) {
        (HourCrossing::Met(counted), _) => steps.push(Step::Duty(DutyStep::HoursMet {
            reading: counted.id,
            on: known.day(counted.at),
            shown: counted.seconds.saturating_sub(known.hour_meters.added_at(counted.at)),
        })),
        (HourCrossing::Ahead(ahead), Some(running)) => {
            steps.extend(ahead_steps(known, running, limit, ahead));
        }
        (HourCrossing::Ahead(_) | HourCrossing::Unknown, _) => steps.push(Step::Duty(DutyStep::HoursNotMet)),
    }
    steps
}

fn ahead_steps(known: &Known<'_>, running: &Running, limit: i64, ahead: &HoursAhead) -> Vec<Step> {
    let (days, band) = (ahead.days, ahead.band);
    let quantiles =
        [(EARLY, days.early, band.early), (LIKELY, days.likely, band.likely), (LATE, days.late, band.late)];
    let told = quantiles.map(|(quantile, days, on)| {
        Some(quantile_step(running.hours_left(limit), ahead, quantile, days?, on?))
    });
    let is_beyond = told.iter().any(Option::is_none);
    let mut steps = vec![last_reading(known, running, limit), usage(known, running), width(running, ahead)];
    steps.extend(told.into_iter().flatten());
    let mut steps: Vec<Step> = steps.into_iter().map(Step::Meter).collect();
    if is_beyond {
        steps.push(Step::NoForecast { reason: NoForecast::Beyond });
    }
    steps
}

fn last_reading(known: &Known<'_>, running: &Running, limit: i64) -> MeterStep {
    MeterStep::HoursRead {
        reading: running.anchor.id,
        on: known.day(running.anchor.at),
        shown: known.hours_shown_now(running.anchor.seconds),
        left: limit.saturating_sub(running.anchor.seconds),
    }
}

fn usage(known: &Known<'_>, running: &Running) -> MeterStep {
    let fit = &known.facts.running.fit;
    MeterStep::HoursUsage {
        level: fit.level,
        vehicles: fit.vehicles,
        a: running.usage.a,
        prior_shape: fit.p,
        prior_scale_hours: fit.q,
        gaps: running.gaps,
        shape: running.usage.shape,
        scale_hours: running.usage.scale,
        hours_per_day: running.hours_per_day(),
    }
}

fn width(running: &Running, ahead: &HoursAhead) -> MeterStep {
    let forecast::Usage { a, shape, scale } = ahead.usage;
    let (kappa, is_measured) = (ahead.kappa, running.is_kappa_measured);
    MeterStep::HoursWidth { kappa, is_measured, a, shape, scale_hours: scale }
}

fn quantile_step(hours_left: f64, ahead: &HoursAhead, quantile: f64, days: f64, on: NaiveDate) -> MeterStep {
    // Upwards, as the day is the one by whose end they have passed.
    let operating_days = libm::ceil(days * 100.0 - 1e-4) / 100.0;
    let forecast::Usage { a, shape, scale } = ahead.usage;
    let check = format!(
        "scipy.optimize.brentq(lambda h: scipy.stats.betaprime.sf({hours_left} / {scale}, {a} * h, {shape}) - \
         {quantile}, 1e-6, 1e5)"
    );
    MeterStep::HoursQuantile { quantile, hours_left, operating_days, on, check }
}

/// The replacements of the meters that `steps` reckon with, to be told first.
pub(crate) fn replacements(known: &Known<'_>, steps: &[Step]) -> Vec<Step> {
    let reckons = |quantity: MeterQuantity| {
        steps.iter().any(|step| match quantity {
            MeterQuantity::Distance => matches!(step, Step::OdometerLimit { .. } | Step::Wear(_)),
            MeterQuantity::Hours => matches!(step, Step::Duty(DutyStep::HoursLimit { .. })),
        })
    };
    let mut replaced: Vec<_> = known.facts.meter_replacements.iter().collect();
    replaced.retain(|replacement| reckons(replacement.quantity));
    replaced.sort_by_key(|replacement| (replacement.replaced_at, replacement.id));
    replaced
        .into_iter()
        .map(|replacement| {
            Step::Meter(MeterStep::Replaced {
                on: known.day(replacement.replaced_at),
                old_shows: replacement.old_shows,
                new_shows: replacement.new_shows,
            })
        })
        .collect()
}
