//! The steps that only coverage windows take, as sentences.

use super::because::{counted, entered};
use super::{capacity, day, distance, money, number};
use crate::explain::CoverStep;
use chrono::NaiveDate;
use model::{Duty, LastDay, ReductionCause};
use quantity::{Distance, Entered, Unit};

/// Only a table: which step is said by which function.
pub(super) fn sentence(step: &CoverStep, unit: Unit) -> String {
    match step {
        CoverStep::Reduced { .. } => reduced(step),
        CoverStep::LastDay { from, months, anniversary, rule, last_day } => {
            self::last_day(*from, *months, *anniversary, *rule, *last_day)
        }
        CoverStep::HandsEnded { acquired_on, last_day } => format!(
            "It ends when the vehicle changes hands: that came on {}, so the last day was {}.",
            day(*acquired_on),
            day(*last_day)
        ),
        CoverStep::HandsOnNotice { acquired_on, within_days, by, told_on } => {
            on_notice(*acquired_on, *within_days, *by, *told_on)
        }
        CoverStep::Credited { .. } => credited(step, unit),
        CoverStep::CapacityFloor { percent } => {
            format!("Covered below {} % of the traction battery's capacity when new.", number(*percent, 1))
        }
        CoverStep::CapacityMeasured { .. } => capacity::measured(step),
        CoverStep::CapacityLaw { .. } => capacity::law(step),
        CoverStep::BelowFloor { .. } => capacity::below_floor(step, unit),
        CoverStep::BelowFloorUnderCover { probability, ends, check } => {
            capacity::under_cover(*probability, ends.len(), check)
        }
        CoverStep::CapacityTest { due_on, basis } => capacity::test(*due_on, *basis),
        CoverStep::VoidedBy { conditions } => {
            format!("Void, in the contract's words: {}.", conditions.trim().trim_end_matches('.'))
        }
        CoverStep::ActBy { early_end, in_by, lead_days, book_by, workshop } => {
            act_by(*early_end, *in_by, *lead_days, *book_by, workshop)
        }
        CoverStep::LeaseEnds { last_day } => format!(
            "A lease ends with its last day, {}; distance beyond its cap ends nothing, it is paid for.",
            day(*last_day)
        ),
        CoverStep::CapPassed { probability, last_day } => format!(
            "The cap is passed before {} is over with probability {} %.",
            day(*last_day),
            number(probability * 100.0, 1)
        ),
        CoverStep::Price { per, minor, currency } => format!(
            "Beyond the cap each {} {} costs {}.",
            number(per.value, 3),
            per.unit.symbol(),
            money(*minor, currency)
        ),
        CoverStep::Beyond { .. } => beyond(step, unit),
        CoverStep::ReturnCheck { last_day, days, due_on } => format!(
            "The return check is due {} before the last day, {}: on {}.",
            counted(*days, "day"),
            day(*last_day),
            day(*due_on)
        ),
    }
}

/// "24 months or 60,000 km".
fn limits(months: Option<u32>, far: Option<Entered>) -> String {
    let limits = [months.map(|months| counted(months, "month")), far.map(entered)];
    limits.into_iter().flatten().collect::<Vec<_>>().join(" or ")
}

fn reduced(step: &CoverStep) -> String {
    let CoverStep::Reduced { cause, duty, acquired_on, in_service_on, months, distance, holds } = step else {
        return String::new();
    };
    let why = match (cause, duty) {
        (ReductionCause::CommercialUse, Some((duty, since))) => {
            format!("commercial use ({} since {})", duty_in_words(*duty), day(*since))
        }
        (ReductionCause::CommercialUse, None) => "commercial use".to_owned(),
        (ReductionCause::SecondOwner, _) => {
            let first = in_service_on.map_or_else(
                || "first day in service unknown".to_owned(),
                |first| format!("in service since {}", day(first)),
            );
            format!("a second owner (it came on {}, {first})", day(*acquired_on))
        }
    };
    let end = if *holds { "" } else { "; other limits are lower" };
    format!("For {why} at most {}{end}.", limits(*months, *distance))
}

const fn duty_in_words(duty: Duty) -> &'static str {
    match duty {
        Duty::Delivery => "delivery",
        Duty::Rideshare => "carrying passengers for hire",
        Duty::Pool => "shared use by staff",
        Duty::LongDistance => "long runs",
    }
}

fn last_day(
    from: NaiveDate,
    months: u32,
    anniversary: NaiveDate,
    rule: LastDay,
    last_day: NaiveDate,
) -> String {
    let (from, months, end) = (day(from), counted(months, "month"), day(anniversary));
    match rule {
        LastDay::DayBefore => {
            format!(
                "By the calendar: {from} plus {months} is {end}; the day before, {}, is the last.",
                day(last_day)
            )
        }
        LastDay::Anniversary => format!("By the calendar: {from} plus {months} is {end}, the last day."),
    }
}

fn on_notice(
    acquired_on: NaiveDate,
    within_days: Option<u32>,
    by: NaiveDate,
    told_on: Option<NaiveDate>,
) -> String {
    let came = day(acquired_on);
    let wanted = match within_days {
        Some(days) => format!("within {}, by {}", counted(days, "day"), day(by)),
        None => format!("(its terms set no deadline; take {})", day(by)),
    };
    let done = match (told_on, within_days) {
        (Some(told_on), Some(_)) if told_on > by => {
            format!("It was told on {}, after that: cover may have lapsed. Ask.", day(told_on))
        }
        (Some(told_on), _) => format!("It was told on {}.", day(told_on)),
        (None, Some(_)) => {
            "That it was told is not on record; after that day cover may have lapsed.".to_owned()
        }
        (None, None) => "That it was told is not on record.".to_owned(),
    };
    format!(
        "The vehicle changed hands: it came on {came}. Cover goes along if its giver is told {wanted}. {done}"
    )
}

fn credited(step: &CoverStep, unit: Unit) -> String {
    let CoverStep::Credited { percent, months, from, until, distance: far, until_odometer } = step else {
        return String::new();
    };
    let by_date = until.map(|until| {
        let span = months.map_or_else(String::new, |months| {
            format!(" ({} plus {}, or the end)", day(*from), counted(months, "month"))
        });
        format!("through {}{span}", day(until))
    });
    let by_distance = until_odometer.map(|odometer| {
        let span = far.map_or_else(String::new, |far| format!(" ({}, or the end)", entered(far)));
        format!("up to {}{span}", distance(odometer, unit))
    });
    let limits: Vec<String> = [by_date, by_distance].into_iter().flatten().collect();
    let first = if limits.len() > 1 { ", whichever comes first" } else { "" };
    let limits = if limits.is_empty() { "to the end".to_owned() } else { limits.join(" or ") };
    format!("Credited: {} % {limits}{first}.", number(*percent, 1))
}

fn act_by(
    early_end: NaiveDate,
    in_by: NaiveDate,
    lead_days: u32,
    book_by: NaiveDate,
    workshop: &str,
) -> String {
    let notice = match lead_days {
        0 => "It wants no notice".to_owned(),
        days => format!("It wants {} of notice", counted(days, "working day")),
    };
    format!(
        "It may end as early as {}; the last working day of {workshop}, which makes warranty work, is {}. {notice}: \
         book by {}.",
        day(early_end),
        day(in_by),
        day(book_by)
    )
}

fn beyond(step: &CoverStep, unit: Unit) -> String {
    let CoverStep::Beyond { quantile, operating_days, km, left, beyond, price, check } = step else {
        return String::new();
    };
    let price = price.as_ref().map_or_else(String::new, |(minor, currency)| {
        #[expect(clippy::cast_precision_loss, reason = "an amount of money, for showing")]
        let minor = *minor as f64;
        format!(", {}", money(minor, currency))
    });
    let over = format!("{} beyond the cap{price}", distance(*beyond, unit));
    let Some(days) = operating_days else { return format!("The last day is past: {over}.") };
    let left = if *left < Distance::ZERO {
        format!("{} beyond it now", distance(Distance::ZERO - *left, unit))
    } else {
        format!("{} left", distance(*left, unit))
    };
    let (percent, km) = (number(quantile * 100.0, 0), number(*km, 1));
    let check = check.as_ref().map_or_else(String::new, |check| format!(" (check: {check})"));
    format!(
        "{percent} %: {km} km in the {} operating days to the end, {left}: {over}{check}.",
        number(*days, 1)
    )
}
