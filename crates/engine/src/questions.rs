//! What only a person can tell: whether a component whose measurement got better is new or was moved.

use crate::known::Known;
use gauge::{DepthSet, WearPoint, depth_sets, wear_points};
use model::horizon::{Question, QuestionKind};
use model::{Facts, Fitting, Inspection, MeasurementChoice, MeasurementId, Place};
use std::borrow::Cow;
use std::collections::BTreeSet;

/// The inspections, without what a person has called mistaken: the whole of what was measured there on that occasion,
/// since the answer was given to it as a whole.
pub(crate) fn believed(facts: &Facts) -> Cow<'_, [Inspection]> {
    let mistaken: BTreeSet<MeasurementId> = facts
        .answers
        .iter()
        .filter(|answer| choice_on(facts, answer.measurement) == Some(MeasurementChoice::Mistaken))
        .map(|answer| answer.measurement)
        .collect();
    if mistaken.is_empty() {
        return Cow::Borrowed(&facts.inspections);
    }
    Cow::Owned(facts.inspections.iter().map(|inspection| without(inspection, &mistaken)).collect())
}

fn without(inspection: &Inspection, mistaken: &BTreeSet<MeasurementId>) -> Inspection {
    let wrong: Vec<_> = inspection
        .measurements
        .iter()
        .filter(|value| mistaken.contains(&value.id))
        .map(|value| (value.point.clone(), value.place))
        .collect();
    let mut kept = inspection.clone();
    kept.measurements
        .retain(|value| !wrong.iter().any(|(point, place)| *point == value.point && *place == value.place));
    kept
}

/// The latest answer given about a measurement; of two at once the graver.
fn choice_on(facts: &Facts, measurement: MeasurementId) -> Option<MeasurementChoice> {
    let about = facts.answers.iter().filter(|answer| answer.measurement == measurement);
    about.max_by_key(|answer| (answer.recorded_at, rank(answer.choice))).map(|answer| answer.choice)
}

fn rank(choice: MeasurementChoice) -> (u8, Option<Place>) {
    match choice {
        MeasurementChoice::New => (0, None),
        MeasurementChoice::Moved { from } => (1, Some(from)),
        MeasurementChoice::Mistaken => (2, None),
    }
}

/// The open questions, in the order of measuring time and id.
pub(crate) fn asked(known: &Known<'_>) -> Vec<Question> {
    let believed = believed(known.facts);
    let sets = depth_sets(&believed);
    let mut questions: Vec<Question> =
        (0..sets.len()).filter_map(|number| raised(known, &sets[..=number])).collect();
    questions.sort_by_key(|question| (question.measured_at, question.measurement));
    questions
}

/// The question that the last of `sets` raises: against the newest before it that it may be compared with.
fn raised(known: &Known<'_>, sets: &[DepthSet<'_>]) -> Option<Question> {
    let (now, before) = sets.split_last()?;
    let point = wear_points().iter().find(|point| point.point == now.point())?;
    let at_the_place = |set: &&DepthSet<'_>| set.point() == now.point() && set.place() == now.place();
    let (last, [was, is]) = before
        .iter()
        .rev()
        .filter(at_the_place)
        .find_map(|set| set.comparable(now).map(|pair| (set, pair)))?;
    if !point.is_better(was.exact, is.exact) || is_explained(known, point, last, now) {
        return None;
    }
    if choice_on(known.facts, now.lowest().id).is_some() {
        return None;
    }
    Some(Question {
        kind: QuestionKind::NewOrMoved,
        measurement: now.lowest().id,
        point: now.point().to_owned(),
        place: now.place(),
        before: was.entered,
        now: is.entered,
        measured_at: now.inspection().performed_at,
    })
}

/// Whether a component was fitted there in between, on the day of either included.
fn is_explained(known: &Known<'_>, point: &WearPoint, last: &DepthSet<'_>, now: &DepthSet<'_>) -> bool {
    let [earlier, later] = [last, now].map(|set| known.day(set.inspection().performed_at));
    fittings_at(known.facts, point, now.place())
        .any(|fitting| earlier <= fitting.from && fitting.from <= later)
}

/// The fittings of components that this point measures at a place.
pub(crate) fn fittings_at<'a>(
    facts: &'a Facts,
    point: &WearPoint,
    place: Place,
) -> impl Iterator<Item = &'a Fitting> {
    let is_of_kind = |fitting: &Fitting| {
        let component = facts.components.iter().find(|component| component.id == fitting.component);
        component.is_some_and(|component| component.kind.as_str() == point.kind)
    };
    facts.fittings.iter().filter(move |fitting| fitting.place == place && is_of_kind(fitting))
}
