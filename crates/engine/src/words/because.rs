//! The steps of an explanation as sentences, to be followed with a pocket calculator (all but the quantile).

use super::{basis, day, distance, grade, grouped, number, significant};
use crate::explain::{Explanation, IntervalSource, NoForecast, Opening, Step, WindowStart};
use chrono::NaiveDate;
use model::horizon::Basis;
use model::{Code, Every, FitLevel};
use quantity::{Distance, Entered, Unit};

/// One or two sentences for each step, in order; distances in `unit`, but kilometres inside the formulas.
pub fn because(explanation: &Explanation, unit: Unit) -> Vec<String> {
    explanation.steps.iter().map(|step| sentence(step, unit)).collect()
}

/// Only a table: which step is said by which function.
fn sentence(step: &Step, unit: Unit) -> String {
    match step {
        Step::Anchor { opening, on, odometer, estimated } => {
            anchor(*opening, *on, *odometer, *estimated, unit)
        }
        Step::Interval { rule, version, every, source, .. } => interval(rule, *version, every, source),
        Step::DateLimit { from, months, days, limit } => date_limit(*from, *months, *days, *limit),
        Step::OdometerLimit { from, distance: far, limit } => {
            format!(
                "By distance: {} + {} = {}.",
                distance(*from, unit),
                entered(*far),
                distance(*limit, unit)
            )
        }
        Step::LimitMet { on, odometer, .. } => {
            format!("The limit has been met: {} read on {}.", distance(*odometer, unit), day(*on))
        }
        Step::LastReading { on, odometer, left, .. } => format!(
            "Last counted reading: {} on {}; {} are left.",
            distance(*odometer, unit),
            day(*on),
            distance(*left, unit)
        ),
        Step::Usage { .. } => usage(step),
        Step::Width { kappa, is_measured, a, shape, scale_km } => {
            width(*kappa, *is_measured, [*a, *shape, *scale_km])
        }
        Step::Quantile { quantile, km_left, operating_days, on, check } => {
            let days = number(*operating_days, 2);
            let (percent, km) = (number(quantile * 100.0, 0), number(*km_left, 1));
            format!("{percent} %: {km} km within {days} operating days, on {} (check: {check}).", day(*on))
        }
        Step::NoForecast { reason } => no_forecast(*reason),
        Step::WhicheverFirst { by_date, by_distance, by_hours, first, basis } => {
            whichever_first([*by_date, *by_distance, *by_hours], *first, *basis)
        }
        Step::Duty(step) => super::duty::sentence(step, unit),
        Step::Around { approaching, overdue } => around(*approaching, *overdue),
        Step::Authority { authority } => format!("Says who: {authority}."),
        Step::PaperExpires { reference, expires_on, lead_days, renew_from, .. } => {
            paper_expires(reference.as_deref(), *expires_on, *lead_days, *renew_from)
        }
        Step::PaperMissing { rule, acquired_on, record_by } => {
            paper_missing(rule.as_ref(), *acquired_on, *record_by)
        }
        Step::NoPaperNoDrive { last_day, .. } => {
            format!("Without it the vehicle must not be driven; the last day is {}.", day(*last_day))
        }
        Step::Unproven { rules, acquired_on, settle_by } => unproven(rules, *acquired_on, *settle_by),
        Step::Cover(step) => super::cover::sentence(step, unit),
        Step::Meter(step) => super::meters::sentence(step, unit),
        Step::WindowStarts { on, start } => window_starts(*on, *start),
        Step::DistanceFirst { probability, last_day } => format!(
            "The distance is driven before {} is over with probability {} %.",
            day(*last_day),
            number(probability * 100.0, 1)
        ),
        Step::ClosingCheck { early_end, days, due_on } => format!(
            "It may end as early as {}; the closing check is due {} before, on {}.",
            day(*early_end),
            counted(*days, "day"),
            day(*due_on)
        ),
        Step::Measured { .. } => measured(step),
        Step::Wear(step) => super::wear::sentence(step, unit),
        Step::Age(step) => super::ages::sentence(step, unit),
        Step::Found { note, .. } => format!("Found: {note}"),
        Step::TooOld { read_on, most_days, on } => too_old(*read_on, *most_days, *on),
        Step::LeadDriven { km_per_day, lead, on } => format!(
            "At {} km an operating day the shortest lead, {}, is driven by {}.",
            number(*km_per_day, 1),
            distance(*lead, unit),
            day(*on)
        ),
    }
}

fn anchor(
    opening: Opening,
    on: NaiveDate,
    odometer: Option<Distance>,
    estimated: bool,
    unit: Unit,
) -> String {
    let on = day(on);
    let at = odometer.map_or_else(String::new, |odometer| format!(" at {}", distance(odometer, unit)));
    let estimated =
        if estimated { " (the odometer told is held; this one lies between counted readings)" } else { "" };
    match opening {
        Opening::Service(_) => format!("Last done on {on}{at}, by service record{estimated}."),
        Opening::InService(_) => format!("Counts from new: in service on {on}{at}."),
        Opening::Proven(_) => format!("Last done on {on}{at}, proven in the baseline check."),
        Opening::StartFrom(_) => format!("Counts from {on}{at}, as settled in the baseline check."),
        Opening::DoNow(_) => format!("To be done now, as settled in the baseline check on {on}."),
    }
}

fn interval(rule: &Code, version: i64, every: &Every, source: &IntervalSource) -> String {
    let why = match source {
        IntervalSource::Standard => String::new(),
        IntervalSource::Severe => ", severe duty".to_owned(),
        IntervalSource::First { severe: false } => ", the first time".to_owned(),
        IntervalSource::First { severe: true } => ", the first time under severe duty".to_owned(),
        IntervalSource::Exception { reason } => format!(", exception for this vehicle ({reason})"),
    };
    let limits: Vec<String> = [
        every.distance.map(entered),
        every.months.map(|months| counted(months, "month")),
        every.days.map(|days| counted(days, "day")),
        every.engine_hours.map(entered),
    ]
    .into_iter()
    .flatten()
    .collect();
    let first = if limits.len() > 1 { ", whichever comes first" } else { "" };
    let again = if matches!(source, IntervalSource::First { .. }) { "after" } else { "every" };
    format!("Rule {rule}, rulebook version {version}{why}: {again} {}{first}.", limits.join(" or "))
}

fn date_limit(from: NaiveDate, months: Option<u32>, days: Option<u32>, limit: NaiveDate) -> String {
    let span = match (months, days) {
        (Some(months), _) => format!(" plus {}", counted(months, "month")),
        (None, Some(days)) => format!(" plus {}", counted(days, "day")),
        (None, None) => String::new(),
    };
    format!("By the calendar: {}{span}; last day {}.", day(from), day(limit))
}

fn usage(step: &Step) -> String {
    let Step::Usage { level, a, prior_shape, prior_scale_km, gaps, shape, scale_km, km_per_day, vehicles } =
        step
    else {
        return String::new();
    };
    let whose = whose(*level, *vehicles);
    format!(
        "Usage from {} between readings, older ones fading by half in 120 operating days, so that they count as {} \
         operating days and {} km, on top of {whose} (p {}, q {} km): a {a}, P = p + a x days = {shape}, Q = q + km = \
         {scale_km} km; mean a Q / (P - 1) = {} km an operating day.",
        counted(*gaps, "gap"),
        number((shape - prior_shape) / a, 2),
        number(scale_km - prior_scale_km, 1),
        significant(*prior_shape),
        significant(*prior_scale_km),
        number(*km_per_day, 1)
    )
}

/// Whose data a prior came from.
pub(super) fn whose(level: FitLevel, vehicles: u32) -> String {
    match level {
        FitLevel::Cohort => format!("{vehicles} vehicles of the same depot, model and duty"),
        FitLevel::Parent => format!("{vehicles} vehicles of the same duty"),
        FitLevel::Fleet => format!("{vehicles} vehicles of the fleet"),
        FitLevel::Shipped => "the default shipped with the program".to_owned(),
    }
}

/// Who says how wide a forecast is.
pub(super) const fn whose_width(is_measured: bool) -> &'static str {
    if is_measured {
        "as the cohort's own past asks for"
    } else {
        "the shipped width, since too little past could be tested"
    }
}

fn width(kappa: f64, is_measured: bool, [a, shape, scale_km]: [f64; 3]) -> String {
    let whose = whose_width(is_measured);
    format!(
        "Width kappa {kappa}, {whose}: a' = a / kappa = {a}, P' = p + (P - p) / kappa = {shape}, Q' = kappa q + (Q - q) = \
         {scale_km} km."
    )
}

fn no_forecast(reason: NoForecast) -> String {
    match reason {
        NoForecast::NoReading => "No reading counts yet, so no day can be forecast.",
        NoForecast::NoOdometer => "The odometer it counts from is not known, so only the calendar limits it.",
        NoForecast::Beyond => {
            "The rest lies beyond ten years, or the vehicle is parked until further notice."
        }
    }
    .to_owned()
}

fn whichever_first(days: [Option<NaiveDate>; 3], first: NaiveDate, resting_on: Basis) -> String {
    let (first, basis) = (day(first), basis(resting_on));
    let by = ["by the calendar", "by distance", "by running time"];
    let days: Vec<String> =
        days.into_iter().zip(by).filter_map(|(date, by)| Some(format!("{} {by}", day(date?)))).collect();
    match days.as_slice() {
        [] | [_] => format!("So it is {first}, {basis}."),
        [one, other] => format!("Whichever comes first of {one} and {other}: {first}, {basis}."),
        all => format!("Whichever comes first of {}: {first}, {basis}.", all.join(", ")),
    }
}

fn around(approaching: Option<(NaiveDate, Basis)>, overdue: Option<(NaiveDate, Basis)>) -> String {
    let from = |stage: &str, moment: Option<(NaiveDate, Basis)>| {
        moment.map(|(date, resting_on)| format!("{stage} from {} ({})", day(date), basis(resting_on)))
    };
    let stages: Vec<String> =
        [from("approaching", approaching), from("overdue", overdue)].into_iter().flatten().collect();
    if stages.is_empty() {
        "No day is known yet.".to_owned()
    } else {
        format!("It is {}.", stages.join(", "))
    }
}

fn paper_expires(
    reference: Option<&str>,
    expires_on: NaiveDate,
    lead_days: u32,
    renew_from: Option<NaiveDate>,
) -> String {
    let reference = reference.map_or_else(String::new, |reference| format!(" ({reference})"));
    let renewal = renew_from
        .map_or_else(String::new, |from| format!(" Renewed from {} on it keeps its anniversary.", day(from)));
    format!(
        "The newest paper on record{reference} is valid through {}; lead {}.{renewal}",
        day(expires_on),
        counted(lead_days, "day")
    )
}

fn paper_missing(rule: Option<&Code>, acquired_on: NaiveDate, record_by: NaiveDate) -> String {
    let asked = rule.map_or_else(String::new, |rule| format!("Rule {rule} asks for it. "));
    format!(
        "{asked}None is on record; the vehicle came on {}, it should be recorded by {}.",
        day(acquired_on),
        day(record_by)
    )
}

fn unproven(rules: &[Code], acquired_on: NaiveDate, settle_by: NaiveDate) -> String {
    let codes: Vec<&str> = rules.iter().map(Code::as_str).collect();
    format!(
        "The vehicle came on {} with a past that is not on record; not proven: {}. To be settled by {}.",
        day(acquired_on),
        codes.join(", "),
        day(settle_by)
    )
}

fn window_starts(on: NaiveDate, start: WindowStart) -> String {
    let how = match start {
        WindowStart::Terms => "as its terms say",
        WindowStart::Service(_) => "the day of the service that opened it",
        WindowStart::InService => "the vehicle's first day in service",
        WindowStart::ModelYear => "the earliest plausible day for the model year; not proven",
        WindowStart::Acquired => "the day the vehicle came; not proven",
    };
    format!("Starts on {}: {how}.", day(on))
}

fn measured(step: &Step) -> String {
    let Step::Measured { measured, limit, grade: found, reason, source, standing, .. } = step else {
        return String::new();
    };
    let limit = limit.map_or_else(String::new, |limit| format!(" against {limit}"));
    format!("Measured {measured}{limit}: {}. {reason} Source: {source} ({standing}).", grade(*found))
}

fn too_old(read_on: Option<NaiveDate>, most_days: u32, on: NaiveDate) -> String {
    match read_on {
        Some(read_on) => format!(
            "The last counted reading is of {}; it is {} old on {}.",
            day(read_on),
            counted(most_days, "day"),
            day(on)
        ),
        None => format!("No reading counts yet; one is wanted from {} on.", day(on)),
    }
}

pub(super) fn entered(far: Entered) -> String {
    format!("{} {}", grouped(far.value), far.unit.symbol())
}

pub(super) fn counted(count: u32, noun: &str) -> String {
    if count == 1 { format!("1 {noun}") } else { format!("{count} {noun}s") }
}
