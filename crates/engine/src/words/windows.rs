//! One line for a coverage window.

use super::{day, day_of, distance, money, number};
use chrono_tz::Tz;
use model::WindowKind;
use model::horizon::{Basis, WindowOutlook};
use quantity::Unit;

/// The line that tells of a coverage window at the mark with this code; the odometer always stands beside the date.
pub fn window_line(window: &WindowOutlook, mark: &str, unit: Unit, zone: Tz) -> String {
    if mark == "ended" {
        return ended(window, window.odometer_limit.map(|limit| distance(limit, unit)), zone);
    }
    self::window(window, unit)
}

/// Where `window` ends, whatever the moment; the odometer always stands beside the date.
pub fn window(window: &WindowOutlook, unit: Unit) -> String {
    let (limits, findings) = match window.kind {
        WindowKind::Warranty => (warranty_limits(window, unit), claims(window)),
        WindowKind::Lease => (lease_limits(window, unit), faults(window)),
    };
    let capacity = capacity(window);
    let unproven = if window.start_proven { "" } else { "; its first day is not proven" };
    format!("{} {limits}{capacity}{findings}{unproven}", window.title)
}

/// "; capacity 74 % on the last reading, floor 70 %", and how probable it is that a reading is below the floor at the end.
fn capacity(window: &WindowOutlook) -> String {
    let Some(capacity) = &window.capacity else { return String::new() };
    let floor = number(capacity.floor_percent, 1);
    let last = capacity.last.as_ref().map_or_else(
        || format!("; capacity never measured, floor {floor} %"),
        |last| {
            let found = number(last.capacity.value, 1);
            format!("; capacity {found} % on the last reading, floor {floor} %")
        },
    );
    let odds = capacity.forecast.and_then(|forecast| forecast.probability);
    let odds = odds.map_or_else(String::new, |odds| {
        format!(" ({} % likely below it before the end)", number(odds * 100.0, 0))
    });
    format!("{last}{odds}")
}

fn warranty_limits(window: &WindowOutlook, unit: Unit) -> String {
    let odometer = window.odometer_limit.map(|limit| distance(limit, unit));
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
    format!("{limits}{likely}")
}

/// "1 open finding may be claimed: book it in by 20 Apr 2026".
fn claims(window: &WindowOutlook) -> String {
    let book = window.act_by.map_or_else(String::new, |act| format!(": book it in by {}", day(act.book_by)));
    match window.findings.len() {
        0 => String::new(),
        1 => format!("; 1 open finding may be claimed{book}"),
        many => format!("; {many} open findings may be claimed{book}"),
    }
}

/// "ends after 3 May 2027; cap 60,000 km, likely 4,200 km beyond it, 504.00 EUR".
fn lease_limits(window: &WindowOutlook, unit: Unit) -> String {
    let end = window
        .last_day
        .map_or_else(|| "has no end on record".to_owned(), |last| format!("ends after {}", day(last)));
    let cap = window.odometer_limit.map_or_else(String::new, |cap| format!("; cap {}", distance(cap, unit)));
    let likely = window.excess.as_ref().filter(|excess| excess.minor[1] > 0).map(|excess| {
        #[expect(clippy::cast_precision_loss, reason = "an amount of money, for showing")]
        let minor = excess.minor[1] as f64;
        let beyond = distance(excess.distance[1], unit);
        format!(", likely {beyond} beyond it, {}", money(minor, &excess.currency))
    });
    format!("{end}{cap}{}", likely.unwrap_or_default())
}

fn faults(window: &WindowOutlook) -> String {
    match window.findings.len() {
        0 => String::new(),
        1 => "; 1 open finding to settle before it goes back".to_owned(),
        many => format!("; {many} open findings to settle before it goes back"),
    }
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
