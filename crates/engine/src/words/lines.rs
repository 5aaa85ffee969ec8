//! One line for a due item, as it stands at one of its marks.

use super::{day, day_of, distance, grade, number};
use chrono_tz::Tz;
use model::horizon::{Basis, DueItem, ItemKind};
use model::{Grade, Place};
use quantity::{Entered, Unit};

/// What `item` asks for and where its limits are, whatever the moment; distances in `unit`.
pub fn item(item: &DueItem, unit: Unit) -> String {
    match item.kind {
        ItemKind::Rule | ItemKind::Age => rule(item, unit),
        ItemKind::Paper => paper(item, ""),
        ItemKind::Baseline => baseline(item, ""),
        ItemKind::ClosingCheck | ItemKind::ReturnCheck | ItemKind::CapacityTest => {
            closing_check(item, "", unit)
        }
        ItemKind::Transfer => transfer(item, ""),
        ItemKind::BeforeOut => before_out(item),
        ItemKind::ReadingWanted => "Odometer reading wanted".to_owned(),
        ItemKind::Condition => condition(item, ""),
    }
}

/// The line that tells of `item` at the mark with this code, distances in `unit`, days in the depot's `zone`.
///
/// It names no vehicle: whoever writes the letter does. It says where the limits are, not how long until then, so that
/// it is as true when it is read as when it was written. A code it does not know is told like [`item()`].
pub fn item_line(told: &DueItem, mark: &str, unit: Unit, zone: Tz) -> String {
    match (mark, told.kind) {
        ("do_not_drive", _) => do_not_drive(told),
        ("due" | "overdue", ItemKind::Rule | ItemKind::Age) => rule_at_its_limit(told, mark, unit),
        ("overdue", ItemKind::ReadingWanted) => {
            "Odometer reading wanted; forecasts rest on an old one".to_owned()
        }
        (_, ItemKind::Paper) => paper(told, mark),
        (_, ItemKind::Baseline) => baseline(told, mark),
        (_, ItemKind::Transfer) => transfer(told, mark),
        (_, ItemKind::ClosingCheck | ItemKind::ReturnCheck | ItemKind::CapacityTest) => {
            let by =
                told.timeline.due.map_or_else(String::new, |due| format!(" by {}", day_of(due.at, zone)));
            closing_check(told, &format!("{}{by}", overdue(mark)), unit)
        }
        (_, ItemKind::Condition) => condition(told, mark),
        (_, ItemKind::Rule | ItemKind::Age | ItemKind::ReadingWanted | ItemKind::BeforeOut) => {
            item(told, unit)
        }
    }
}

fn overdue(mark: &str) -> &'static str {
    if mark == "overdue" { " (overdue)" } else { "" }
}

fn do_not_drive(item: &DueItem) -> String {
    match (item.kind, item.date_limit) {
        (ItemKind::Paper, Some(expired)) => {
            format!("Do not drive: {} expired on {}", lower_first(&item.title), day(expired))
        }
        _ => format!("Do not drive: {}", lower_first(&item.title)),
    }
}

/// "Engine oil: due 3 Sep 2026 or at 55,710 km, whichever comes first; likely 3 Aug 2026".
fn rule(item: &DueItem, unit: Unit) -> String {
    if let Some(worst) = item.grade {
        return format!("{}: asked for by {}", item.title, places(item, worst));
    }
    let Some(limits) = limits(item, unit) else { return format!("{}: due", item.title) };
    // The forecast day is news only where the calendar does not come first anyway.
    let is_forecast = item.timeline.due.is_some_and(|due| due.basis == Basis::Forecast);
    let likely = item.crossing.filter(|_| is_forecast).and_then(|band| band.likely);
    let likely = likely.map_or_else(String::new, |likely| format!("; likely {}", day(likely)));
    format!("{}: due {limits}{likely}", item.title)
}

/// "Engine oil: overdue (limit 3 Sep 2026 or at 55,710 km, whichever comes first)".
fn rule_at_its_limit(item: &DueItem, mark: &str, unit: Unit) -> String {
    let state = if mark == "overdue" { "overdue" } else { "due now" };
    let limits = limits(item, unit).map_or_else(String::new, |limits| format!(" (limit {limits})"));
    format!("{}: {state}{limits}", item.title)
}

/// "attend at front left, rear right": the worst grade behind a rule, and where.
fn places(item: &DueItem, worst: Grade) -> String {
    let named = item.covers.iter().filter_map(|covered| Place::from_word(covered));
    let places: Vec<&str> = named.filter(|place| *place != Place::Vehicle).map(Place::title).collect();
    let at = if places.is_empty() { String::new() } else { format!(" at {}", places.join(", ")) };
    format!("{}{at}", grade(worst))
}

/// "Before it goes out again: 3 things to see to".
fn before_out(item: &DueItem) -> String {
    match item.covers.len() {
        0 => format!("{}: nothing else was due when it went in", item.title),
        1 => format!("{}: 1 thing to see to", item.title),
        many => format!("{}: {many} things to see to", item.title),
    }
}

fn baseline(item: &DueItem, mark: &str) -> String {
    let by = item.date_limit.map_or_else(String::new, |limit| format!(" by {}", day(limit)));
    let rules: Vec<String> = item.covers.iter().map(|code| code.replace('-', " ")).collect();
    let rules = rules.join(", ");
    format!("{}{}: settle{by} when these were last done: {rules}", item.title, overdue(mark))
}

fn condition(item: &DueItem, mark: &str) -> String {
    let grade = item.grade.map_or_else(String::new, |worst| format!(": {}", grade(worst)));
    format!("{}{grade}{}", item.title, overdue(mark))
}

/// "3 Sep 2026 or at 55,710 km, whichever comes first".
fn limits(item: &DueItem, unit: Unit) -> Option<String> {
    let running = item.hours_limit_seconds.map(|seconds| Entered::from_exact(seconds, Unit::Hour));
    let limits: Vec<String> = [
        item.date_limit.map(day),
        item.odometer_limit.map(|odometer| format!("at {}", distance(odometer, unit))),
        running.map(|hours| format!("at {} {}", number(hours.value, 1), hours.unit.symbol())),
    ]
    .into_iter()
    .flatten()
    .collect();
    let first = if limits.len() > 1 { ", whichever comes first" } else { "" };
    (!limits.is_empty()).then(|| format!("{}{first}", limits.join(" or ")))
}

fn paper(item: &DueItem, mark: &str) -> String {
    let Some(limit) = item.date_limit else { return item.title.clone() };
    if item.cycle.0.starts_with("no-paper:") {
        return format!("{}{}: record it by {}", item.title, overdue(mark), day(limit));
    }
    let verb = if mark == "overdue" { "expired" } else { "expires" };
    format!("{} {verb} on {}", item.title, day(limit))
}

/// "Closing check: Powertrain warranty by 15 Apr 2026, before 36,000 mi"; of a lease the cap, which ends nothing.
fn closing_check(item: &DueItem, by: &str, unit: Unit) -> String {
    let before = match item.kind {
        ItemKind::ReturnCheck => "; cap ",
        _ => ", before ",
    };
    let odometer =
        item.odometer_limit.map_or_else(String::new, |limit| format!("{before}{}", distance(limit, unit)));
    format!("{}{by}{odometer}", item.title)
}

/// "Tell of the change of hands: Powertrain warranty by 31 Jul 2024". It never claims that cover has lapsed.
fn transfer(item: &DueItem, mark: &str) -> String {
    let by = item.date_limit.map_or_else(String::new, |limit| format!(" by {}", day(limit)));
    let lapsed = if mark == "overdue" && item.date_limit.is_some() { "; cover may have lapsed" } else { "" };
    format!("{}{}{by}{lapsed}", item.title, overdue(mark))
}

fn lower_first(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| first.to_lowercase().chain(letters).collect())
}
