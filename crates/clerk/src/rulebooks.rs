//! Rulebooks and their versions, a vehicle's exceptions, and answers to its baseline check.

mod checks;

use crate::Act;
use crate::entered::read_odometer;
use crate::error::{ActError, Fault, none_of};
use crate::vehicles::find;
use checks::{check_every, check_rules};
use model::{
    BaselineAnswer, BaselineChoice, BaselineId, Code, Every, IntervalRule, OverrideId, RuleOverride,
    Rulebook, RulebookId, RulebookVersionId, Vehicle, VehicleId, local_day,
};

/// Makes a rulebook with its first version.
///
/// # Errors
/// Every fault of the rules; storage errors.
pub async fn create(act: &mut Act, title: String, rules: Vec<IntervalRule>) -> Result<Rulebook, ActError> {
    check_rules(&rules)?;
    let id = RulebookId(act.new_id());
    let book = Rulebook { id, title, version_id: RulebookVersionId(act.new_id()), version: 1, rules };
    let (fleet, stamp) = (act.fleet(), act.stamp());
    store::rulebooks::insert(&mut act.conn(), fleet, &book, &stamp).await?;
    act.note("rulebook", id, "create", None, Some(&book));
    Ok(book)
}

/// Adds a version to a rulebook that still has the version `expected`; vehicles under it are renewed by the scheduler.
///
/// # Errors
/// [`ActError::NotFound`], [`ActError::Stale`], every fault of the rules; storage errors.
pub async fn revise(
    act: &mut Act,
    id: RulebookId,
    expected: i64,
    title: String,
    rules: Vec<IntervalRule>,
) -> Result<Rulebook, ActError> {
    check_rules(&rules)?;
    act.take_turn_at_grounds().await?;
    let (fleet, stamp) = (act.fleet(), act.stamp());
    let Some(before) = store::rulebooks::find(&mut act.conn(), fleet, id).await? else {
        return Err(ActError::NotFound { kind: "rulebook" });
    };
    let version_id = RulebookVersionId(act.new_id());
    let after = Rulebook { id, title, version_id, version: expected + 1, rules };
    if !store::rulebooks::revise(&mut act.conn(), fleet, &after, expected, &stamp).await? {
        return Err(ActError::Stale);
    }
    store::states::raise_needed_by_rulebook(&mut act.conn(), fleet, id).await?;
    act.note("rulebook", id, "revise", Some(&before), Some(&after));
    Ok(after)
}

/// Records a vehicle's exception to a rule; without an interval the rule does not apply to it.
///
/// # Errors
/// [`ActError::NotFound`]; faults for an unknown rule, an empty reason; storage errors.
pub async fn override_rule(
    act: &mut Act,
    vehicle: VehicleId,
    rule: Code,
    every: Option<Every>,
    reason: String,
) -> Result<RuleOverride, ActError> {
    act.lock(&[vehicle]).await?;
    let known = find(act, vehicle).await?;
    let mut faults = Vec::new();
    if !codes_of(act, &known).await?.contains(&rule) {
        faults.push(Fault::new("/rule", "unknown", format!("the vehicle's rulebook has no rule {rule}")));
    }
    if reason.trim().is_empty() {
        faults.push(Fault::new("/reason", "empty", "an exception needs a reason; it is kept"));
    }
    check_every(every.as_ref(), "/every", &mut faults);
    none_of(faults)?;
    let exception = RuleOverride { id: OverrideId(act.new_id()), rule, every, reason, recorded_at: act.at() };
    let (fleet, stamp) = (act.fleet(), act.stamp());
    store::overrides::insert(&mut act.conn(), fleet, vehicle, &exception, &stamp).await?;
    act.note("rule_override", exception.id, "record", None, Some(&exception));
    Ok(exception)
}

/// Withdraws an exception: the rule applies again as written.
///
/// # Errors
/// [`ActError::NotFound`]; storage errors.
pub async fn withdraw_override(act: &mut Act, vehicle: VehicleId, id: OverrideId) -> Result<(), ActError> {
    act.lock(&[vehicle]).await?;
    let (fleet, at) = (act.fleet(), act.at());
    if !store::overrides::withdraw(&mut act.conn(), fleet, vehicle, id, at).await? {
        return Err(ActError::NotFound { kind: "rule override" });
    }
    act.note::<()>("rule_override", id, "withdraw", None, None);
    Ok(())
}

/// Records answers to the baseline check of a vehicle.
///
/// # Errors
/// [`ActError::NotFound`]; faults for unknown rules, days in the future, values that are no odometer; storage errors.
pub async fn answer_baseline(
    act: &mut Act,
    vehicle: VehicleId,
    answers: Vec<(Code, BaselineChoice)>,
) -> Result<Vec<BaselineAnswer>, ActError> {
    act.lock(&[vehicle]).await?;
    let known = find(act, vehicle).await?;
    let codes = codes_of(act, &known).await?;
    let today = local_day(act.at(), known.zone);
    let mut faults = Vec::new();
    for (index, (rule, choice)) in answers.iter().enumerate() {
        let pointer = format!("/answers/{index}");
        if !codes.contains(rule) {
            let detail = format!("the vehicle's rulebook has no rule {rule}");
            faults.push(Fault::new(format!("{pointer}/rule"), "unknown", detail));
        }
        let (day, odometer) = match choice {
            BaselineChoice::Proven { done_on, odometer } => (*done_on, Some(*odometer)),
            BaselineChoice::DoNow { on } => (*on, None),
            BaselineChoice::StartFrom { on, odometer } => (*on, Some(*odometer)),
        };
        if day > today {
            faults.push(Fault::new(pointer.clone(), "future", format!("{day} lies in the future")));
        }
        read_odometer(odometer, &format!("{pointer}/odometer"), &mut faults);
    }
    none_of(faults)?;
    let at = act.at();
    let answered: Vec<BaselineAnswer> = answers
        .into_iter()
        .map(|(rule, choice)| BaselineAnswer { id: BaselineId(act.new_id()), rule, choice, recorded_at: at })
        .collect();
    let (fleet, stamp) = (act.fleet(), act.stamp());
    store::baselines::insert(&mut act.conn(), fleet, vehicle, &answered, &stamp).await?;
    for answer in &answered {
        act.note("baseline_answer", answer.id, "record", None, Some(answer));
    }
    Ok(answered)
}

/// Codes of the rules that the vehicle is under.
async fn codes_of(act: &mut Act, vehicle: &Vehicle) -> Result<Vec<Code>, ActError> {
    let fleet = act.fleet();
    let Some(id) = vehicle.attributes_now().and_then(|a| a.rulebook) else { return Ok(Vec::new()) };
    let book = store::rulebooks::find(&mut act.conn(), fleet, id).await?;
    Ok(book.map(|book| book.rules.into_iter().map(|rule| rule.code).collect()).unwrap_or_default())
}
