//! Whether what was measured is still there: a part fitted since, or what a rule's work renews, ends a grade.

use crate::known::Known;
use crate::rules::also_satisfied;
use chrono::NaiveDate;
use model::{Place, RuleVersion, ServiceRecord};

/// Check points that measure a component which can be replaced at its place, by the component's kind.
const MEASURES: [(&str, &str); 16] = [
    ("tread-depth", "tyre"),
    ("cold-pressure", "tyre"),
    ("hot-pressure", "tyre"),
    ("tyre-damage", "tyre"),
    ("tyre-date-code", "tyre"),
    ("pad-thickness", "pad-set"),
    ("shoe-thickness", "shoe-set"),
    ("shoe-over-rivets", "shoe-set"),
    ("rotor-thickness", "rotor"),
    ("drum-diameter", "drum"),
    ("battery-voltage", "battery"),
    ("battery-gravity", "battery"),
    ("battery-cranking", "battery"),
    ("traction-capacity", "traction-battery"),
    ("cabin-filter", "cabin-filter"),
    ("engine-air-filter", "air-filter"),
];

/// The kind of component that the point measures, if it can be replaced at its place.
pub(crate) fn component_kind(point: &str) -> Option<&'static str> {
    MEASURES.iter().find(|(measures, _)| *measures == point).map(|(_, kind)| *kind)
}

/// Whether what the point measures at a place came anew after the one day and by the other. On the very day nobody knows
/// which came first, so that a measurement of that day stands.
pub(crate) fn is_renewed_between(
    known: &Known<'_>,
    point: &str,
    place: Place,
    (after, by): (NaiveDate, NaiveDate),
) -> bool {
    let is_between = |day: NaiveDate| day > after && day <= by;
    let is_fitted = component_kind(point).is_some_and(|kind| {
        let here =
            known.facts.fittings.iter().filter(|fitting| fitting.place == place && is_between(fitting.from));
        let mut fitted = here.filter_map(|fitting| {
            known.facts.components.iter().find(|component| component.id == fitting.component)
        });
        fitted.any(|component| component.kind.as_str() == kind)
    });
    is_fitted
        || known.facts.services.iter().any(|work| is_between(work.done_on) && renews(known, work, point))
}

/// Whether this work renews what the point measures, as the rules it was done for say.
pub(crate) fn renews(known: &Known<'_>, work: &ServiceRecord, point: &str) -> bool {
    let rules = &known.facts.rules;
    let says_so = |version: &RuleVersion| version.rule.renews.iter().any(|renewed| renewed.as_str() == point);
    rules.iter().any(says_so)
        && work.rules.iter().any(|done| {
            let along = also_satisfied(rules, done);
            let is_along =
                |version: &&RuleVersion| version.rule.code == *done || along.contains(&version.rule.code);
            rules.iter().filter(is_along).any(says_so)
        })
}
