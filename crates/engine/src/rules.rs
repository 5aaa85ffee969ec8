//! Interval rules: which are in force for a vehicle, and when each falls due.

mod duty;
mod last_done;

pub(crate) use duty::RuleDuty;
pub(crate) use last_done::Anchor;

use crate::explain::IntervalSource;
use crate::known::Known;
use last_done::LastDone;
use model::{Code, Every, Facts, OverrideId, RuleOverride, RuleVersion, Trigger};
use std::collections::{BTreeMap, BTreeSet};

/// A rule that is in force for the vehicle.
pub(crate) struct RuleInForce<'a> {
    pub(crate) version: &'a RuleVersion,
    /// The interval that holds and why it does; `None` for rules without one.
    pub(crate) every: Option<(Every, IntervalSource)>,
}

/// The rules in force, in the order of their codes.
pub(crate) fn in_force(facts: &Facts) -> Vec<RuleInForce<'_>> {
    let exceptions = exceptions(&facts.overrides);
    let severe = facts.vehicle.attributes_now().is_some_and(|attributes| attributes.severe);
    let mut rules: Vec<RuleInForce<'_>> = facts
        .rules
        .iter()
        .filter(|version| version.rule.applies_to.includes(&facts.vehicle))
        .filter_map(|version| {
            let exception = exceptions.get(&version.rule.code).copied();
            if exception.is_some_and(|exception| exception.every.is_none()) {
                return None;
            }
            Some(RuleInForce { version, every: interval(version, exception, severe) })
        })
        .collect();
    rules.sort_by(|one, other| one.version.rule.code.cmp(&other.version.rule.code));
    rules
}

/// The newest exception to each rule.
fn exceptions(overrides: &[RuleOverride]) -> BTreeMap<&Code, &RuleOverride> {
    let order = |exception: &RuleOverride| -> (_, OverrideId) { (exception.recorded_at, exception.id) };
    let mut newest: BTreeMap<&Code, &RuleOverride> = BTreeMap::new();
    for exception in overrides {
        let kept = newest.entry(&exception.rule).or_insert(exception);
        if order(exception) > order(kept) {
            *kept = exception;
        }
    }
    newest
}

fn interval(
    version: &RuleVersion,
    exception: Option<&RuleOverride>,
    severe: bool,
) -> Option<(Every, IntervalSource)> {
    let Trigger::Every(standard) = &version.rule.trigger else { return None };
    if let Some(exception) = exception
        && let Some(every) = exception.every
    {
        return Some((every, IntervalSource::Exception { reason: exception.reason.clone() }));
    }
    match version.rule.severe {
        Some(every) if severe => Some((every, IntervalSource::Severe)),
        _ => Some((*standard, IntervalSource::Standard)),
    }
}

/// The interval rules with something to count from, and the codes of those without.
pub(crate) fn duties<'a>(known: &'a Known<'a>) -> (Vec<RuleDuty<'a>>, Vec<&'a RuleVersion>) {
    let last_done = LastDone::of(known.facts);
    let mut proven = Vec::with_capacity(known.rules.len());
    let mut unproven = Vec::new();
    for rule in &known.rules {
        let Some((every, source)) = &rule.every else { continue };
        match last_done.anchor(known, &rule.version.rule.code) {
            Some(anchor) => proven.push(RuleDuty::of(known, rule.version, *every, source, anchor)),
            None => unproven.push(rule.version),
        }
    }
    (proven, unproven)
}

/// All codes that doing `done` satisfies, through as many steps as it takes, itself left out.
pub(crate) fn also_satisfied<'a>(rules: &'a [RuleVersion], done: &'a Code) -> BTreeSet<&'a Code> {
    let mut reached = BTreeSet::new();
    let mut open = vec![done];
    while let Some(code) = open.pop() {
        let named = rules.iter().filter(|version| version.rule.code == *code);
        for next in named.flat_map(|version| &version.rule.satisfies) {
            if next != done && reached.insert(next) {
                open.push(next);
            }
        }
    }
    reached
}
