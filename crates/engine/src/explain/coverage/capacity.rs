//! Steps from a battery's readings to the days on which one falls below the floor, and to its odds under cover.

use super::CoverStep;
use crate::coverage::{BelowFloor, Last, Losing, Outlook};
use crate::known::Known;
use crate::usage::to_nine_digits;

pub(super) fn steps(known: &Known<'_>, outlook: &Outlook<'_>) -> Vec<CoverStep> {
    let Some(capacity) = &outlook.capacity else { return Vec::new() };
    let mut steps = vec![CoverStep::CapacityFloor { percent: capacity.floor_percent }];
    steps.extend(capacity.last.as_ref().map(|last| measured(known, last)));
    if let Some(losing) = &capacity.losing {
        steps.extend(law(losing));
        steps.extend(losing.below_floor.map(|(quantile, below)| below_floor(losing, quantile, below)));
        steps.extend(under_cover(losing));
    }
    steps
}

fn measured(known: &Known<'_>, last: &Last) -> CoverStep {
    CoverStep::CapacityMeasured {
        measurement: last.value.id,
        on: known.day(last.inspection.performed_at),
        capacity: last.value.entered,
        grade: last.verdict.grade,
        reason: last.verdict.reason.clone(),
        source: last.verdict.source.clone(),
        standing: last.verdict.standing.word().to_owned(),
    }
}

fn law(losing: &Losing) -> Option<CoverStep> {
    let fit = losing.odds.fit();
    Some(CoverStep::CapacityLaw {
        readings: losing.readings,
        new_on: losing.battery.new_on()?,
        percent_per_root_year: to_nine_digits(fit.percent_per_root_year),
        percent_per_km: to_nine_digits(fit.percent_per_km),
        reading_sd_percent: to_nine_digits(losing.odds.reading_sd_percent()),
        freedom: losing.odds.freedom(),
    })
}

fn below_floor(losing: &Losing, quantile: f64, below: Option<BelowFloor>) -> CoverStep {
    let told = below.map(|below| loss_and_spread(losing, (below.years, below.km)));
    let (allowed_percent, freedom) = (losing.allowed_percent, losing.odds.freedom());
    CoverStep::BelowFloor {
        quantile,
        on: below.map(|below| below.on),
        allowed_percent,
        age_and_km: below.map(|below| (below.years, below.km)),
        loss_and_spread: told,
        check: told.map(|(loss, spread)| {
            format!("scipy.stats.t.sf(({allowed_percent} - {loss}) / {spread}, {freedom})")
        }),
    }
}

fn under_cover(losing: &Losing) -> Option<CoverStep> {
    let probability = losing.probability?;
    let ends: Vec<(f64, f64)> = losing.ends.iter().map(|end| (end.years, end.km)).collect();
    let (allowed, freedom) = (losing.allowed_percent, losing.odds.freedom());
    let scores: Vec<String> = ends
        .iter()
        .map(|end| {
            let (loss, spread) = loss_and_spread(losing, *end);
            format!("({allowed} - {loss}) / {spread}")
        })
        .collect();
    let check = format!("numpy.mean(scipy.stats.t.sf([{}], {freedom}))", scores.join(", "));
    Some(CoverStep::BelowFloorUnderCover { probability, ends, check })
}

fn loss_and_spread(losing: &Losing, (years, km): (f64, f64)) -> (f64, f64) {
    let loss = losing.odds.fit().loss_percent_at(years, km);
    (to_nine_digits(loss), to_nine_digits(losing.odds.spread_at(years, km)))
}
