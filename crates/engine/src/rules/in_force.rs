//! Which rules apply to a vehicle, and which interval of each.

use crate::explain::IntervalSource;
use model::{Code, Every, Facts, OverrideId, RuleOverride, RuleVersion, Trigger};
use std::collections::BTreeMap;

/// A rule that is in force for the vehicle.
pub(crate) struct RuleInForce<'a> {
    pub(crate) version: &'a RuleVersion,
    /// The interval that holds and why it does; `None` for rules without one.
    pub(crate) every: Option<(Every, IntervalSource)>,
    /// The first interval of a vehicle that came new, where it differs.
    pub(crate) first: Option<Every>,
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
            let every = interval(version, exception, severe);
            let first = every.as_ref().and_then(|(_, source)| first(version, source));
            Some(RuleInForce { version, every, first })
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

/// An exception's interval takes the place of any trigger but the expiry of a paper, which no interval replaces.
fn interval(
    version: &RuleVersion,
    exception: Option<&RuleOverride>,
    severe: bool,
) -> Option<(Every, IntervalSource)> {
    let standard = match &version.rule.trigger {
        Trigger::Every(standard) => Some(*standard),
        Trigger::Season(_) | Trigger::Calendar(_) | Trigger::When(_) => None,
        Trigger::Expiry(_) => return None,
    };
    if let Some(exception) = exception
        && let Some(every) = exception.every
    {
        return Some((every, IntervalSource::Exception { reason: exception.reason.clone() }));
    }
    match version.rule.severe {
        Some(every) if severe => standard.map(|_| (every, IntervalSource::Severe)),
        _ => standard.map(|standard| (standard, IntervalSource::Standard)),
    }
}

/// The first interval: none under an exception, and under severe duty nothing later than the severe one.
fn first(version: &RuleVersion, source: &IntervalSource) -> Option<Every> {
    let first = version.rule.first?;
    match source {
        IntervalSource::Standard | IntervalSource::First { .. } => Some(first),
        IntervalSource::Severe => version.rule.severe.map(|severe| sooner(first, severe)),
        IntervalSource::Exception { .. } => None,
    }
}

/// Of each kind of limit the sooner.
fn sooner(one: Every, other: Every) -> Every {
    let shorter = |one: Option<quantity::Entered>, other: Option<quantity::Entered>| {
        one.into_iter().chain(other).min_by_key(|entered| entered.exact().unwrap_or(i64::MAX))
    };
    Every {
        distance: shorter(one.distance, other.distance),
        months: one.months.into_iter().chain(other.months).min(),
        days: one.days.into_iter().chain(other.days).min(),
        engine_hours: shorter(one.engine_hours, other.engine_hours),
    }
}
