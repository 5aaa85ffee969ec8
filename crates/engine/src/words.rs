//! What the engine says, in words: days, distances, stages, doubts, one line for a due item, and its reasons.
//!
//! Letters and pages say it through here, so that everybody reads the same sentence.

mod ages;
mod because;
mod capacity;
mod cover;
mod doubts;
mod duty;
mod lines;
mod lives;
mod meters;
mod money;
mod wear;
mod windows;

pub use because::because;
use because::counted;
pub use doubts::{doubt, hour_doubt, replacement_question, suggestion, verdict};
pub use lines::{item, item_line};
pub use lives::{no_distance, withheld};
pub use windows::{window, window_line};

use money::money;

use chrono::{DateTime, Datelike, NaiveDate, Utc};
use chrono_tz::Tz;
use model::horizon::{Band, Basis, Stage, WindowStage};
use model::{Grade, local_day};
use quantity::{Distance, Unit};

const MONTHS: [&str; 12] =
    ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"];

/// A civil day that reads the same on either side of an ocean: `3 Sep 2026`.
pub fn day(day: NaiveDate) -> String {
    let month =
        usize::try_from(day.month0()).ok().and_then(|month| MONTHS.get(month)).copied().unwrap_or("?");
    format!("{} {month} {}", day.day(), day.year())
}

/// The civil day of an instant at the depot: `3 Sep 2026`.
pub fn day_of(at: DateTime<Utc>, zone: Tz) -> String {
    day(local_day(at, zone))
}

/// A distance in whole units, grouped by thousands: `48,210 km`.
pub fn distance(distance: Distance, unit: Unit) -> String {
    format!("{} {}", grouped(distance.to(unit).value), unit.symbol())
}

/// A whole number grouped by thousands.
pub(crate) fn grouped(value: f64) -> String {
    let digits = format!("{:.0}", value.abs());
    let mut text = String::with_capacity(digits.len() + digits.len() / 3 + 1);
    if value.round() < 0.0 {
        text.push('-');
    }
    for (place, digit) in digits.chars().enumerate() {
        if place > 0 && (digits.len() - place).is_multiple_of(3) {
            text.push(',');
        }
        text.push(digit);
    }
    text
}

/// A number with at most `decimals` places, none that are zero.
pub(crate) fn number(value: f64, decimals: usize) -> String {
    let text = format!("{value:.decimals$}");
    let text = if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.') } else { &text };
    text.to_owned()
}

/// A number with three significant digits, none after the point that are zero: a person reads no more from it.
pub(crate) fn significant(value: f64) -> String {
    const DIGITS: i32 = 3;
    let size = value.abs();
    if !size.is_finite() || size <= 0.0 {
        return number(value, 0);
    }
    #[expect(clippy::cast_possible_truncation, reason = "the order of magnitude of a double is below 310")]
    let order = libm::floor(libm::log10(size)) as i32;
    let decimals = usize::try_from(DIGITS - 1 - order).unwrap_or(0);
    number(value, decimals)
}

/// A `kebab-case` or `snake_case` code as the beginning of a sentence: `tread-depth` is "Tread depth".
pub fn of_code(code: &str) -> String {
    let spaced = code.replace(['-', '_'], " ");
    let mut letters = spaced.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

/// What a moment rests on.
pub const fn basis(basis: Basis) -> &'static str {
    match basis {
        Basis::Date => "by date",
        Basis::Reading => "by reading",
        Basis::Forecast => "as forecast",
    }
}

/// A stage and what it rests on: "overdue, by reading".
pub fn stage(stage: Stage, resting_on: Option<Basis>) -> String {
    let word = match stage {
        Stage::Clear => "nothing to do yet",
        Stage::Approaching => "approaching",
        Stage::Due => "due",
        Stage::Overdue => "overdue",
    };
    with_basis(word, resting_on)
}

/// A window's stage and what it rests on: "ending, as forecast".
pub fn window_stage(stage: WindowStage, resting_on: Option<Basis>) -> String {
    let word = match stage {
        WindowStage::InForce => "in force",
        WindowStage::Ending => "ending",
        WindowStage::Ended => "ended",
    };
    with_basis(word, resting_on)
}

fn with_basis(word: &str, resting_on: Option<Basis>) -> String {
    resting_on.map_or_else(|| word.to_owned(), |resting_on| format!("{word}, {}", basis(resting_on)))
}

/// A grade as a person reads it.
pub const fn grade(grade: Grade) -> &'static str {
    match grade {
        Grade::Good => "good",
        Grade::Watch => "watch",
        Grade::Attend => "attend",
        Grade::DoNotDrive => "do not drive",
    }
}

/// A band of days: "likely 3 Aug 2026 (early 20 Jul 2026, late 25 Aug 2026)".
pub fn band(band: &Band) -> String {
    let shown = |date: Option<NaiveDate>| date.map_or_else(|| "beyond ten years".to_owned(), day);
    if band.early == band.late {
        return shown(band.likely);
    }
    format!("likely {} (early {}, late {})", shown(band.likely), shown(band.early), shown(band.late))
}
