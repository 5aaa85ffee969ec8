//! The steps of a traction battery's capacity, as sentences.

use super::because::counted;
use super::{day, distance, grade, number, significant};
use crate::explain::CoverStep;
use chrono::NaiveDate;
use model::horizon::Basis;
use quantity::{Distance, Unit};

pub(super) fn measured(step: &CoverStep) -> String {
    let CoverStep::CapacityMeasured { on, capacity, grade: found, reason, source, standing, .. } = step
    else {
        return String::new();
    };
    format!(
        "Last measured on {}: {} %, {}. {reason} Source: {source} ({standing}). Only the maker's own test counts for a \
         claim.",
        day(*on),
        number(capacity.value, 1),
        grade(*found)
    )
}

pub(super) fn under_cover(probability: f64, ends: usize, check: &str) -> String {
    format!(
        "When cover ends, on one of {} as likely as each other, a reading is below the floor with probability {} % \
         (check: {check}).",
        counted(u32::try_from(ends).unwrap_or(u32::MAX), "day"),
        number(probability * 100.0, 1)
    )
}

pub(super) fn law(step: &CoverStep) -> String {
    let CoverStep::CapacityLaw {
        readings,
        new_on,
        percent_per_root_year,
        percent_per_km,
        reading_sd_percent,
        freedom,
    } = step
    else {
        return String::new();
    };
    format!(
        "Loss by least squares over {}: {} % x the root of the years since {} + {} % over 1,000 km; readings scatter by {} % \
         around that (Student's t with {} degrees of freedom).",
        counted(*readings, "reading"),
        significant(*percent_per_root_year),
        day(*new_on),
        significant(percent_per_km * 1000.0),
        significant(*reading_sd_percent),
        number(*freedom, 0)
    )
}

pub(super) fn below_floor(step: &CoverStep, unit: Unit) -> String {
    let CoverStep::BelowFloor { quantile, on, allowed_percent, age_and_km, loss_and_spread, check } = step
    else {
        return String::new();
    };
    let percent = number(quantile * 100.0, 0);
    let (Some(on), Some((years, km)), Some((loss, spread)), Some(check)) =
        (on, age_and_km, loss_and_spread, check)
    else {
        return format!("{percent} %: no reading is below the floor within ten years.");
    };
    format!(
        "{percent} %: a reading is below the floor by {} (after {} years and {}, {} % of the {} % are lost, give or take {} %; \
         check: {check}).",
        day(*on),
        number(*years, 2),
        distance(Distance::nearest_km(*km), unit),
        number(*loss, 1),
        number(*allowed_percent, 1),
        number(*spread, 1)
    )
}

pub(super) fn test(due_on: NaiveDate, basis: Basis) -> String {
    let why = match basis {
        Basis::Reading => "A reading is below the floor",
        Basis::Date | Basis::Forecast => {
            "A reading below the floor is at least as likely as not before cover ends"
        }
    };
    format!("{why}, and only the maker's own test counts for a claim: it is due on {}.", day(due_on))
}
