//! One line for a due item or a window, as it stands at one of its marks.

use super::{day, day_of, distance, grade};
use chrono_tz::Tz;
use model::horizon::{Basis, DueItem, ItemKind, WindowOutlook};
use quantity::Unit;

/// The line that tells of `item` at the mark with this code, distances in `unit`, days in the depot's `zone`.
///
/// It names no vehicle: whoever writes the letter does. It says where the limits are, not how long until then, so that
/// it is as true when it is read as when it was written.
pub fn item_line(item: &DueItem, mark: &str, unit: Unit, zone: Tz) -> String {
    if mark == "do_not_drive" {
        return do_not_drive(item);
    }
    match item.kind {
        ItemKind::Rule => rule(item, mark, unit, zone),
        ItemKind::Paper => paper(item, mark),
        ItemKind::Baseline => {
            let by = item.date_limit.map_or_else(String::new, |limit| format!(" by {}", day(limit)));
            let rules: Vec<String> = item.covers.iter().map(|code| code.replace('-', " ")).collect();
            format!(
                "{}{}: settle{by} when these were last done: {}",
                item.title,
                overdue(mark),
                rules.join(", ")
            )
        }
        ItemKind::ClosingCheck => closing_check(item, mark, unit, zone),
        ItemKind::ReadingWanted => {
            if mark == "overdue" {
                "Odometer reading wanted; forecasts rest on an old one".to_owned()
            } else {
                "Odometer reading wanted".to_owned()
            }
        }
        ItemKind::Condition => {
            let grade = item.grade.map_or_else(String::new, |worst| format!(": {}", grade(worst)));
            format!("{}{grade}{}", item.title, overdue(mark))
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
fn rule(item: &DueItem, mark: &str, unit: Unit, zone: Tz) -> String {
    let state = match mark {
        "overdue" => "overdue",
        "due" => "due now",
        _ => "due",
    };
    let limits = limits(item, unit);
    // The forecast day is news only while it lies ahead, and where the calendar does not come first anyway.
    let forecast = item.timeline.due.filter(|due| mark == "approaching" && due.basis == Basis::Forecast);
    let likely = forecast.map_or_else(String::new, |due| format!("; likely {}", day_of(due.at, zone)));
    match limits {
        Some(limits) if mark == "approaching" => format!("{}: {state} {limits}{likely}", item.title),
        Some(limits) => format!("{}: {state} (limit {limits})", item.title),
        None => format!("{}: {state}", item.title),
    }
}

/// "3 Sep 2026 or at 55,710 km, whichever comes first".
fn limits(item: &DueItem, unit: Unit) -> Option<String> {
    match (item.date_limit, item.odometer_limit) {
        (Some(date), Some(odometer)) => {
            Some(format!("{} or at {}, whichever comes first", day(date), distance(odometer, unit)))
        }
        (Some(date), None) => Some(day(date)),
        (None, Some(odometer)) => Some(format!("at {}", distance(odometer, unit))),
        (None, None) => None,
    }
}

fn paper(item: &DueItem, mark: &str) -> String {
    let Some(limit) = item.date_limit else { return item.title.clone() };
    if item.cycle.0.starts_with("no-paper:") {
        return format!("{}{}: record it by {}", item.title, overdue(mark), day(limit));
    }
    let verb = if mark == "overdue" { "expired" } else { "expires" };
    format!("{} {verb} on {}", item.title, day(limit))
}

/// "Closing check: Powertrain warranty: by 15 Apr 2026, before 36,000 mi".
fn closing_check(item: &DueItem, mark: &str, unit: Unit, zone: Tz) -> String {
    let by = item.timeline.due.map_or_else(String::new, |due| format!(": by {}", day_of(due.at, zone)));
    let before =
        item.odometer_limit.map_or_else(String::new, |limit| format!(", before {}", distance(limit, unit)));
    format!("{}{}{by}{before}", item.title, overdue(mark))
}

/// The line that tells of a coverage window at the mark with this code; the odometer always stands beside the date.
pub fn window_line(window: &WindowOutlook, mark: &str, unit: Unit, zone: Tz) -> String {
    let odometer = window.odometer_limit.map(|limit| distance(limit, unit));
    if mark == "ended" {
        return ended(window, odometer, zone);
    }
    let limits = match (window.last_day, odometer) {
        (Some(last), Some(odometer)) => {
            format!("ends after {} or at {odometer}, whichever comes first", day(last))
        }
        (Some(last), None) => format!("ends after {}", day(last)),
        (None, Some(odometer)) => format!("ends at {odometer}"),
        (None, None) => "has no end on record".to_owned(),
    };
    let is_by_distance = window.ends.likely.is_some() && window.ends.likely != window.last_day;
    let likely = window.ends.likely.filter(|_| is_by_distance);
    let likely = likely.map_or_else(String::new, |likely| format!("; likely {}", day(likely)));
    let findings = match window.findings.len() {
        0 => String::new(),
        1 => "; 1 open finding may be claimed".to_owned(),
        many => format!("; {many} open findings may be claimed"),
    };
    let unproven = if window.start_proven { "" } else { "; its first day is not proven" };
    format!("{} {limits}{likely}{findings}{unproven}", window.title)
}

fn ended(window: &WindowOutlook, odometer: Option<String>, zone: Tz) -> String {
    match (window.ended.map(|ended| (ended.basis, ended.at)), odometer, window.last_day) {
        (Some((Basis::Reading, at)), Some(odometer), _) => {
            format!("{} has ended: {odometer} was read on {}", window.title, day_of(at, zone))
        }
        (Some((Basis::Date | Basis::Forecast, _)), _, Some(last)) => {
            format!("{} has ended: its last day was {}", window.title, day(last))
        }
        _ => format!("{} has ended", window.title),
    }
}

fn lower_first(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| first.to_lowercase().chain(letters).collect())
}
