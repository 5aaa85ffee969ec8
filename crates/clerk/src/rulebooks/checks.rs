//! What rules must be before they may stand in a book: every fault at once, each with its place in the request.

use crate::entered::{read_odometer, read_running_time};
use crate::error::{ActError, Fault, none_of};
use model::{Code, Every, Grade, IntervalRule, Reach, Rulebook, RulebookError, Trigger, When};
use quantity::Distance;

/// Checks that `rules` can stand in one book.
///
/// # Errors
/// Every fault found.
pub(super) fn check_rules(rules: &[IntervalRule]) -> Result<(), ActError> {
    let found = Rulebook::check(rules).err().unwrap_or_default();
    let mut faults: Vec<Fault> = found.iter().map(|error| of_book(rules, error)).collect();
    for (index, rule) in rules.iter().enumerate() {
        check_rule(rule, &format!("/rules/{index}"), &mut faults);
    }
    none_of(faults)
}

/// A fault of the whole book, at the rule it speaks of.
fn of_book(rules: &[IntervalRule], error: &RulebookError) -> Fault {
    let position = |code: &Code| rules.iter().position(|rule| rule.code == *code).unwrap_or(0);
    let (pointer, code) = match error {
        RulebookError::TwoOfOneCode(code) => (format!("/rules/{}/code", position(code)), "duplicate"),
        RulebookError::Unknown { from, .. } => (format!("/rules/{}/satisfies", position(from)), "unknown"),
        RulebookError::Circle(around) => {
            (format!("/rules/{}/satisfies", around.first().map_or(0, position)), "circle")
        }
        RulebookError::NoInterval(code) => (format!("/rules/{}/every", position(code)), "missing"),
        RulebookError::NoCalendar { rule, .. } => {
            (format!("/rules/{}/calendar/cron", position(rule)), "malformed")
        }
        RulebookError::NoMeaning { rule, field } => {
            (format!("/rules/{}/{field}", position(rule)), "meaningless")
        }
    };
    Fault::new(pointer, code, error)
}

fn check_rule(rule: &IntervalRule, pointer: &str, faults: &mut Vec<Fault>) {
    match &rule.trigger {
        Trigger::Every(every) => check_every(Some(every), &format!("{pointer}/every"), faults),
        Trigger::When(when) => check_when(when, &format!("{pointer}/when"), faults),
        Trigger::Season(_) | Trigger::Calendar(_) | Trigger::Expiry(_) => {}
    }
    check_renewed(&rule.renews, &format!("{pointer}/renews"), faults);
    check_every(rule.severe.as_ref(), &format!("{pointer}/severe"), faults);
    check_every(rule.first.as_ref(), &format!("{pointer}/first"), faults);
    read_odometer(rule.lead.distance, &format!("{pointer}/lead/distance"), faults);
    read_odometer(rule.grace.distance, &format!("{pointer}/grace/distance"), faults);
}

/// Checks that what the work renews can be measured.
fn check_renewed(points: &[Code], pointer: &str, faults: &mut Vec<Fault>) {
    let unknown = points.iter().enumerate().filter(|(_, point)| gauge::point(point.as_str()).is_none());
    faults.extend(unknown.map(|(index, point)| {
        let known: Vec<&str> = gauge::points().map(|point| point.code).collect();
        let detail = format!("there is no check point {point}; there are {}", known.join(", "));
        Fault::new(format!("{pointer}/{index}"), "unknown", detail)
    }));
}

/// Checks that each limit of an interval is of its kind and longer than nothing.
pub(super) fn check_every(every: Option<&Every>, pointer: &str, faults: &mut Vec<Fault>) {
    let Some(every) = every else { return };
    let before = faults.len();
    let distance = read_odometer(every.distance, &format!("{pointer}/distance"), faults);
    let seconds = read_running_time(every.engine_hours, &format!("{pointer}/engine_hours"), faults);
    let readable = faults.len() == before;
    let no_distance = every.distance.is_some() && distance == Distance::ZERO;
    let no_hours = every.engine_hours.is_some() && seconds == 0;
    if (readable && (no_distance || no_hours)) || every.months == Some(0) || every.days == Some(0) {
        faults.push(Fault::new(pointer, "range", "an interval is longer than nothing"));
    }
}

/// Checks that something can be measured that makes the rule due, and that it is not due for ever.
fn check_when(when: &When, pointer: &str, faults: &mut Vec<Fault>) {
    match when {
        When::Grade { point, at_least } => {
            if gauge::point(point.as_str()).is_none() {
                let detail = format!("there is no check point {point}");
                faults.push(Fault::new(format!("{pointer}/grade/point"), "unknown", detail));
            }
            if *at_least == Grade::Good {
                let detail = "good asks for no work: watch, attend or do_not_drive does";
                faults.push(Fault::new(format!("{pointer}/grade/at_least"), "range", detail));
            }
        }
        When::Limit { within, .. } => check_within(*within, &format!("{pointer}/limit/within"), faults),
        When::Work { within, of } => {
            check_within(*within, &format!("{pointer}/work/within"), faults);
            if of.is_empty() {
                let detail = "at least one rule whose work it follows is needed";
                faults.push(Fault::new(format!("{pointer}/work/of"), "missing", detail));
            }
        }
    }
}

fn check_within(within: Reach, pointer: &str, faults: &mut Vec<Fault>) {
    read_odometer(within.distance, &format!("{pointer}/distance"), faults);
    if within.days.is_none() && within.distance.is_none() {
        faults.push(Fault::new(pointer, "missing", "how far, in days or distance, is needed"));
    }
}
