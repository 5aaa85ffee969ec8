//! The steps of a wear forecast as sentences, to be followed with a pocket calculator (all but the days).

use super::{counted, day, distance, number, significant};
use crate::explain::{PaceStep, WearStep};
use quantity::Unit;

/// One or two sentences for a step; odometers in `unit`, but kilometres inside the formulas.
pub(super) fn sentence(step: &WearStep, unit: Unit) -> String {
    match step {
        WearStep::Spell { .. } => spell(step),
        WearStep::Rates { components: 0, tau, source, standing } => format!(
            "Those rates, and paces that differ by {} among components, stand in until 8 components of the product \
             tell better ones. Source: {source} ({standing}).",
            significant(*tau)
        ),
        WearStep::Rates { components, tau, .. } => format!(
            "Those rates, and paces that differ by {} among components, come from {} of the product in this fleet.",
            significant(*tau),
            counted(*components, "component")
        ),
        WearStep::Measured { .. } => measured(step, unit),
        WearStep::Pace(pace) => pace_of(pace),
        WearStep::Limit { limit_mm, source, standing } => {
            format!("It is to be seen to at {limit_mm} mm. Source: {source} ({standing}).")
        }
        WearStep::Now { on, odometer, wear_mm, depth_mm, .. } => format!(
            "Last counted reading: {} on {}; expected wear by then z = {wear_mm} mm, depth d0 - c (z - z0) = {depth_mm} mm.",
            distance(*odometer, unit),
            day(*on)
        ),
        WearStep::Left { .. } => left(step),
        WearStep::Day { quantile, operating_days, on, check } => format!(
            "{} %: within {} operating days, on {}, as the mean over nine such distances, at 1/18, 3/18 to 17/18{}.",
            number(quantile * 100.0, 0),
            number(*operating_days, 2),
            day(*on),
            check.as_ref().map_or_else(String::new, |check| format!(" (check: {check})"))
        ),
        WearStep::NotTold => {
            "The measurements cannot tell wear from none, so no distance can be forecast.".to_owned()
        }
    }
}

fn measured(step: &WearStep, unit: Unit) -> String {
    let WearStep::Measured { on, odometer, elsewhere, estimated, depth_mm, wear_mm, .. } = step else {
        return String::new();
    };
    let odometer = distance(*odometer, unit);
    let place = match (elsewhere, estimated) {
        (true, _) => format!("after {odometer} on another vehicle"),
        (false, true) => format!("at {odometer} (estimated from counted readings)"),
        (false, false) => format!("at {odometer}"),
    };
    format!(
        "Measured {} mm on {} {place}, after an expected wear z of {wear_mm} mm.",
        number(*depth_mm, 4),
        day(*on)
    )
}

fn spell(step: &WearStep) -> String {
    let WearStep::Spell { place, from, elsewhere, km, mm_per_1000_km, wear_mm, .. } = step else {
        return String::new();
    };
    let whose = if *elsewhere { ", on another vehicle" } else { "" };
    format!(
        "Fitted {} from {}{whose}: {} km x {mm_per_1000_km} mm per 1,000 km = {} mm of wear to be expected.",
        place.title(),
        day(*from),
        number(*km, 1),
        number(*wear_mm, 4)
    )
}

fn pace_of(pace: &PaceStep) -> String {
    let PaceStep { new_mm, wear_mm, depth_mm, depth_variance, squares, products, .. } = pace;
    let PaceStep { tau, gauge_sd_mm, pace, pace_variance, .. } = pace;
    let point = match new_mm {
        Some(new) => format!("Its line goes through the depth when new, d0 = {new} mm at z0 = 0 (V_d = 0)"),
        None => format!(
            "Its line goes through the mean of the measurements, d0 = {depth_mm} mm at z0 = {wear_mm} mm (V_d = \
             {gauge_sd_mm}^2 / their number = {depth_variance})"
        ),
    };
    format!(
        "{point}. The squares of z - z0 add up to S = {squares}, their products with the depth gone, d0 - d, to T = \
         {products}; so its pace is c = (1/{tau}^2 + T/{gauge_sd_mm}^2) / (1/{tau}^2 + S/{gauge_sd_mm}^2) = {pace} \
         times as expected (V_c = 1 / (1/{tau}^2 + S/{gauge_sd_mm}^2) = {pace_variance}); the gauge errs by \
         {gauge_sd_mm} mm (house setting, no source)."
    )
}

fn left(step: &WearStep) -> String {
    let WearStep::Left { quantile, score, limit_wear_mm, now_wear_mm, mm_per_1000_km, km } = step else {
        return String::new();
    };
    let percent = number(quantile * 100.0, 0);
    // The likely distance needs no spread; the others are bounds of Fieller's interval.
    let how = if score.abs() <= 0.0 {
        "z0 + A / c".to_owned()
    } else {
        let u = number(*score, 4);
        format!("z0 + (A c + u root(V_c A^2 + V_d (c^2 - u^2 V_c))) / (c^2 - u^2 V_c), u = {u},")
    };
    format!(
        "{percent} %: with A = d0 - limit it is met at z = {how} = {limit_wear_mm} mm; left are ({limit_wear_mm} - \
         {now_wear_mm}) / {mm_per_1000_km} x 1,000 = {} km.",
        number(*km, 0)
    )
}
