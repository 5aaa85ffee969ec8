//! The steps that replaced meters and running hours take, as sentences.

use super::because::{counted, whose, whose_width};
use super::{day, distance, grouped, number, significant};
use crate::explain::MeterStep;
use quantity::{Entered, Unit};

/// Only a table: which step is said by which function.
pub(super) fn sentence(step: &MeterStep, unit: Unit) -> String {
    match step {
        MeterStep::Replaced { on, old_shows, new_shows } => format!(
            "{} was replaced on {}: the old one showed {}, the new one {}. What follows is reckoned in the total of all.",
            if old_shows.unit == Unit::Hour { "The hour meter" } else { "The odometer" },
            day(*on),
            exactly(*old_shows),
            exactly(*new_shows)
        ),
        MeterStep::OnPresent { total, earlier, shown } => {
            let [total, earlier, shown] = [total, earlier, shown].map(|far| distance(*far, unit));
            format!("On the present odometer: {total} - {earlier} of earlier ones = {shown}.")
        }
        MeterStep::HoursOnPresent { total, earlier, shown } => {
            let [total, earlier, shown] = [total, earlier, shown].map(|seconds| running(*seconds));
            format!("On the present hour meter: {total} - {earlier} of earlier ones = {shown}.")
        }
        MeterStep::HoursRead { on, shown, left, .. } => format!(
            "Last counted reading of the hour meter: {} on {}; {} are left.",
            running(*shown),
            day(*on),
            running(*left)
        ),
        MeterStep::HoursUsage { .. } => usage(step),
        MeterStep::HoursWidth { kappa, is_measured, a, shape, scale_hours } => format!(
            "Width kappa {kappa}, {}: a' = a / kappa = {a}, P' = p + (P - p) / kappa = {shape}, Q' = kappa q + (Q - q) = \
             {scale_hours} h.",
            whose_width(*is_measured)
        ),
        MeterStep::HoursQuantile { quantile, hours_left, operating_days, on, check } => {
            let (percent, hours) = (number(quantile * 100.0, 0), number(*hours_left, 1));
            let days = number(*operating_days, 2);
            format!("{percent} %: {hours} h within {days} operating days, on {} (check: {check}).", day(*on))
        }
    }
}

fn usage(step: &MeterStep) -> String {
    let MeterStep::HoursUsage {
        level,
        vehicles,
        a,
        prior_shape,
        prior_scale_hours,
        gaps,
        shape,
        scale_hours,
        hours_per_day,
    } = step
    else {
        return String::new();
    };
    format!(
        "Running time from {} between readings, older ones fading by half in 120 operating days, so that they count as \
         {} operating days and {} h, on top of {} (p {}, q {} h): a {a}, P = p + a x days = \
         {shape}, Q = q + h = {scale_hours} h; mean a Q / (P - 1) = {} h an operating day.",
        counted(*gaps, "gap"),
        number((shape - prior_shape) / a, 2),
        number(scale_hours - prior_scale_hours, 1),
        whose(*level, *vehicles),
        significant(*prior_shape),
        significant(*prior_scale_hours),
        number(*hours_per_day, 1)
    )
}

/// Seconds as hours.
pub(super) fn running(seconds: i64) -> String {
    let hours = Entered::from_exact(seconds, Unit::Hour);
    format!("{} {}", number(hours.value, 1), hours.unit.symbol())
}

/// What an instrument showed, with its tenths.
fn exactly(shown: Entered) -> String {
    let tenths = number(shown.value, 1);
    let text = if tenths.contains('.') { tenths } else { grouped(shown.value) };
    format!("{text} {}", shown.unit.symbol())
}
