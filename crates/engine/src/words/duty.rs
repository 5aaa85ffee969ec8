//! The steps of rules, conditions and stays as sentences.

use super::because::{counted, entered};
use super::{day, distance, grade, number, of_code};
use crate::explain::{Asking, DutyStep};
use chrono::NaiveDate;
use model::{Code, Grade, IndicatorLeft, Place, Reach};
use quantity::{Distance, Unit};

/// Only a table: which step is said by which function.
pub(super) fn sentence(step: &DutyStep, unit: Unit) -> String {
    match step {
        DutyStep::Grid { .. } => grid(step, unit),
        DutyStep::HoursLimit { from, hours, limit } => {
            format!("By running time: {} + {} = {}.", running(*from), running(*hours), running(*limit))
        }
        DutyStep::HoursMet { on, shown, .. } => {
            format!("The running time has been met: {} read on {}.", running(*shown), day(*on))
        }
        DutyStep::HoursNotMet => "No reading of the hour meter has met a limit of running time.".to_owned(),
        DutyStep::Indicator { .. } => indicator(step, unit),
        DutyStep::LeadAndGrace { lead_days, lead, grace } => lead_and_grace(*lead_days, *lead, *grace, unit),
        DutyStep::Season { .. } => season(step),
        DutyStep::Calendar { .. } => calendar(step),
        DutyStep::GradeAsks { .. } => grade_asks(step),
        DutyStep::WorkAsks { asking, work, within } => work_asks(asking, work, *within),
        DutyStep::LimitNears { .. } => limit_nears(step, unit),
        DutyStep::BadSince { .. } => bad_since(step),
        DutyStep::OffTheRoad { on, reason, waiting_for, .. } => {
            let waits =
                waiting_for.as_ref().map_or_else(String::new, |what| format!("; it waits for {what}"));
            format!("Off the road since {} ({reason}){waits}.", day(*on))
        }
        DutyStep::StoodOpen { items } => {
            stood_open(&items.iter().map(|(_, title)| title.as_str()).collect::<Vec<_>>())
        }
    }
}

fn says(asking: &Asking) -> String {
    format!("Rule {}, rulebook version {}", asking.rule, asking.version)
}

fn days(count: i64) -> String {
    counted(u32::try_from(count).unwrap_or(0), "day")
}

/// Seconds as hours.
fn running(seconds: i64) -> String {
    let hours = quantity::Entered::from_exact(seconds, Unit::Hour);
    format!("{} {}", number(hours.value, 1), hours.unit.symbol())
}

fn grid(step: &DutyStep, unit: Unit) -> String {
    let DutyStep::Grid { number, from, odometer, is_done, lead_days, lead } = step else {
        return String::new();
    };
    let begins = format!(
        "Counted in multiples from {} at {}, however late one is done",
        day(*from),
        distance(*odometer, unit)
    );
    if !*is_done {
        return format!("{begins}; number {number} is open.");
    }
    let or_far =
        if *lead > Distance::ZERO { format!(" or {}", distance(*lead, unit)) } else { String::new() };
    format!(
        "{begins}. Work counts for all that fall due by then or within {}{or_far}; number {number} is the first left.",
        days(*lead_days)
    )
}

fn indicator(step: &DutyStep, unit: Unit) -> String {
    let DutyStep::Indicator { read_on, left, odometer, date, limit, governs_date, governs_odometer, .. } =
        step
    else {
        return String::new();
    };
    let said = match left {
        IndicatorLeft::Percent { percent } => format!("{} % of the interval", number(*percent, 1)),
        IndicatorLeft::Distance { distance } => entered(*distance),
        IndicatorLeft::Days { days } => counted(*days, "day"),
    };
    let at = odometer.map_or_else(String::new, |odometer| format!(" at {}", distance(odometer, unit)));
    let which = |governs: bool| if governs { "sooner than the rule" } else { "no sooner than the rule" };
    let by_date = date.map(|date| format!("{}, {}", day(date), which(*governs_date)));
    let by_distance = limit.map(|limit| format!("{}, {}", distance(limit, unit), which(*governs_odometer)));
    let follows: Vec<String> = by_date.into_iter().chain(by_distance).collect();
    let follows = if follows.is_empty() { "no limit".to_owned() } else { follows.join("; ") };
    format!("The dash's own indicator, read on {}{at}: {said} left, which gives {follows}.", day(*read_on))
}

fn lead_and_grace(lead_days: i64, lead: Distance, grace: Reach, unit: Unit) -> String {
    let before = if lead > Distance::ZERO {
        format!("{} or {}", days(lead_days), distance(lead, unit))
    } else {
        days(lead_days)
    };
    let after: Vec<String> =
        grace.days.map(|days| counted(days, "day")).into_iter().chain(grace.distance.map(entered)).collect();
    let after = if after.is_empty() { "none".to_owned() } else { after.join(" and ") };
    format!("Lead {before}; grace {after}.")
}

fn season(step: &DutyStep) -> String {
    let DutyStep::Season { asking, from, to, done_for, came_on, window, lead_days } = step else {
        return String::new();
    };
    let why = match done_for {
        Some(opened_on) => format!(
            "That counts for the season of {} (work counts from {} before a season opens), so the next is open",
            day(*opened_on),
            days(*lead_days)
        ),
        None => format!(
            "It is the vehicle's duty from {} on, when it came or the rule did, so the first season is open that had not closed \
             then",
            day(*came_on)
        ),
    };
    format!(
        "{}: once a year from {from} to {to} (month and day). {why}: {} to {}; it may be done from the first of these \
         days and is due on the last.",
        says(asking),
        day(window.0),
        day(window.1)
    )
}

fn calendar(step: &DutyStep) -> String {
    let DutyStep::Calendar { asking, cron, done_on, came_on, lead_days, shown, .. } = step else {
        return String::new();
    };
    let after = match done_on {
        Some(done_on) => format!("more than {} after {}", days(*lead_days), day(*done_on)),
        None => format!("from {} on, when the vehicle or the rule came", day(*came_on)),
    };
    format!(
        "{}: at {cron} (minute, hour, day of the month, month, day of the week) on the depot's clocks. The first time \
         {after}: {} {}.",
        says(asking),
        day(shown.date()),
        shown.format("%H:%M")
    )
}

fn grade_asks(step: &DutyStep) -> String {
    let DutyStep::GradeAsks { asking, point, at_least, places, since, overdue_after_days, .. } = step else {
        return String::new();
    };
    let worse = if *at_least == Grade::DoNotDrive { "" } else { " or worse" };
    let found: Vec<String> =
        places.iter().map(|(place, found)| format!("{} at {}", grade(*found), place.title())).collect();
    format!(
        "{}: when {} is graded {}{worse}. It is {}, without a break since {}; overdue {} later.",
        says(asking),
        of_code(point.as_str()).to_lowercase(),
        grade(*at_least),
        found.join(", "),
        day(*since),
        days(*overdue_after_days)
    )
}

fn work_asks(asking: &Asking, work: &Code, within: Reach) -> String {
    let soon = reach(within).map_or_else(|| "at once".to_owned(), |soon| format!("within {soon}"));
    format!("{}: it follows {}, {soon}.", says(asking), of_code(work.as_str()).to_lowercase())
}

/// "2 days or 80 km"; `None` where neither is said.
fn reach(within: Reach) -> Option<String> {
    let days = within.days.map(|days| counted(days, "day"));
    let parts: Vec<String> = days.into_iter().chain(within.distance.map(entered)).collect();
    (!parts.is_empty()).then(|| parts.join(" or "))
}

fn limit_nears(step: &DutyStep, unit: Unit) -> String {
    let DutyStep::LimitNears { asking, kind, place, likely, within, by_days, by_distance, .. } = step else {
        return String::new();
    };
    let ahead = reach(*within).map_or_else(|| "is met".to_owned(), |ahead| format!("is {ahead} away"));
    let limit = likely.map_or_else(String::new, |likely| format!(" Its likely day is {}.", day(likely)));
    let by_days = by_days.map(|by_days| format!("by days {}", day(by_days)));
    let by_distance = by_distance
        .map(|(odometer, on)| format!("by distance {}, likely {}", distance(odometer, unit), day(on)));
    let first: Vec<String> = by_days.into_iter().chain(by_distance).collect();
    format!(
        "{}: when the limit of a {} {ahead}. The first is {}.{limit} So {}.",
        says(asking),
        of_code(kind.as_str()).to_lowercase(),
        at(*place),
        first.join("; ")
    )
}

fn at(place: Place) -> String {
    match place {
        Place::Vehicle => "the vehicle's".to_owned(),
        place => place.title().to_owned(),
    }
}

fn bad_since(step: &DutyStep) -> String {
    let DutyStep::BadSince { on, measured, grade: found, do_not_drive_on, .. } = step else {
        return String::new();
    };
    let banned = do_not_drive_on
        .map_or_else(String::new, |from: NaiveDate| format!(" Not to be driven since {}.", day(from)));
    format!(
        "It has asked for work without a break since {}, when {measured} was measured ({}): one and the same round.{banned}",
        day(*on),
        grade(*found)
    )
}

fn stood_open(titles: &[&str]) -> String {
    if titles.is_empty() {
        return "Nothing else was approaching or due when it went in.".to_owned();
    }
    format!("Approaching or due when it went in: {}.", titles.join("; "))
}
