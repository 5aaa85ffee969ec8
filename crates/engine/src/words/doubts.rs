//! Why a reading is held, in words.

use super::meters::running;
use super::{day_of, distance};
use chrono_tz::Tz;
use model::{Doubt, HourDoubt, Verdict};
use quantity::{Distance, Entered, Unit};

/// Why a reading is held, as a clause: "less than the 48,210 km read on 3 Aug 2026".
pub fn doubt(doubt: &Doubt, unit: Unit, zone: Tz) -> String {
    match *doubt {
        Doubt::RunsBackwards { before, before_at } => {
            format!("less than the {} read on {}", distance(before, unit), day_of(before_at, zone))
        }
        Doubt::RunsAhead { after, after_at } => {
            format!("more than the {} read later, on {}", distance(after, unit), day_of(after_at, zone))
        }
        Doubt::Jumps { before, plausible_most } => format!(
            "further from the {} before it than a vehicle can go in the time; at most {} was possible",
            distance(before, unit),
            distance(plausible_most, unit)
        ),
        Doubt::FallsShort { after, after_at, plausible_least } => format!(
            "too far below the {} read on {} to be driven in the time; at least {} was needed",
            distance(after, unit),
            day_of(after_at, zone),
            distance(plausible_least, unit)
        ),
        Doubt::BeforeService { at_start } => {
            format!(
                "less than the {} the odometer showed on its first day in service",
                distance(at_start, unit)
            )
        }
        Doubt::ClockInDoubt => "the time it was read at cannot be trusted".to_owned(),
    }
}

/// Why a reading of the hour meter is held, as a clause: "less than the 1,812.5 h read on 3 Aug 2026".
pub fn hour_doubt(doubt: &HourDoubt, zone: Tz) -> String {
    match *doubt {
        HourDoubt::RunsBackwards { before, before_at } => {
            format!("less than the {} read on {}", running(before), day_of(before_at, zone))
        }
        HourDoubt::RunsAhead { after, after_at } => {
            format!("more than the {} read later, on {}", running(after), day_of(after_at, zone))
        }
        HourDoubt::Jumps { before, plausible_most } => format!(
            "more hours after the {} before it than have passed; at most {} was possible",
            running(before),
            running(plausible_most)
        ),
        HourDoubt::FallsShort { after, after_at, plausible_least } => format!(
            "too far below the {} read on {} to be run in the time; at least {} was needed",
            running(after),
            day_of(after_at, zone),
            running(plausible_least)
        ),
        HourDoubt::ClockInDoubt => "the time it was read at cannot be trusted".to_owned(),
    }
}

/// What was probably meant: "Was 48,210 mi meant?".
pub fn suggestion(suggested: Entered) -> String {
    format!("Was {} {} meant?", super::grouped(suggested.value), suggested.unit.symbol())
}

/// A number below one part in so many of what was read before looks like that of a new instrument (house setting, no
/// source).
const NEAR_ZERO_PARTS: i64 = 10;

/// Asks whether the odometer was replaced, of a reading that is held because it runs backwards nearly to zero; nothing
/// where a slip explains it or it is held for another reason.
pub fn replacement_question(odometer: Distance, verdict: &Verdict) -> Option<&'static str> {
    let Verdict::Held { doubt: Doubt::RunsBackwards { before, .. }, suggested: None } = verdict else {
        return None;
    };
    let is_near_zero = odometer.mm() < before.mm() / NEAR_ZERO_PARTS;
    is_near_zero.then_some(
        "Was the odometer replaced? Then record that, with what the old one showed last and the new one first.",
    )
}

/// How a reading was judged, in one sentence.
pub fn verdict(verdict: &Verdict, unit: Unit, zone: Tz) -> String {
    match verdict {
        Verdict::Counted { odometer } => format!("Counted, at {}.", distance(*odometer, unit)),
        Verdict::Withdrawn => "Withdrawn.".to_owned(),
        Verdict::Held { doubt: reason, suggested } => {
            let held = format!("Held: {}.", doubt(reason, unit, zone));
            suggested.map_or(held.clone(), |suggested| format!("{held} {}", suggestion(suggested)))
        }
    }
}
