//! Answers to "new or moved?": one answer closes the old fitting and opens the next.

use crate::Act;
use crate::components::{self, NewComponent, NewFitting};
use crate::entered::read_odometer;
use crate::error::{ActError, Fault, none_of};
use chrono::NaiveDate;
use model::{
    Component, ComponentId, Facts, Fitting, Inspection, Measurement, MeasurementAnswer, MeasurementChoice,
    MeasurementId, Place, VehicleId, Verdict, local_day,
};
use quantity::{Distance, Entered};
use store::fittings::End;

/// Where and when something was measured, and what is fitted there.
struct Occasion {
    place: Place,
    kind: &'static str,
    day: NaiveDate,
    odometer: Entered,
}

/// Records why a measurement is better than the one before it. A new component of the same kind and product is fitted in
/// the place of the old one, a moved one comes from its place; what was measured by mistake is only recorded.
///
/// # Errors
/// [`ActError::NotFound`]; a conflict if an answer that fitted something was given before; faults where nothing is on
/// record at the place and where no odometer is known; storage errors.
pub async fn answer(
    act: &mut Act,
    vehicle: VehicleId,
    measurement: MeasurementId,
    choice: MeasurementChoice,
    odometer: Option<Entered>,
) -> Result<(MeasurementAnswer, Option<Fitting>), ActError> {
    act.lock(&[vehicle]).await?;
    let (fleet, stamp) = (act.fleet(), act.stamp());
    let loaded = store::facts::load(&mut act.conn(), fleet, &[vehicle]).await?;
    let facts = loaded.first().ok_or(ActError::NotFound { kind: "vehicle" })?;
    let (inspection, measured) =
        found(facts, measurement).ok_or(ActError::NotFound { kind: "measurement" })?;
    refuse_second(facts, measurement)?;
    let fitting = match choice {
        MeasurementChoice::Mistaken => None,
        MeasurementChoice::New => {
            let occasion = occasion(act, facts, inspection, measured, odometer).await?;
            Some(renew(act, facts, &occasion).await?)
        }
        MeasurementChoice::Moved { from } => {
            let occasion = occasion(act, facts, inspection, measured, odometer).await?;
            Some(bring(act, facts, from, &occasion).await?)
        }
    };
    let answer = MeasurementAnswer { measurement, choice, recorded_at: act.at() };
    let id = act.new_id();
    store::answers::insert(&mut act.conn(), fleet, vehicle, id, &answer, &stamp).await?;
    act.note("measurement", measurement, "answer", None, Some(&answer));
    Ok((answer, fitting))
}

fn found(facts: &Facts, wanted: MeasurementId) -> Option<(&Inspection, &Measurement)> {
    let all = facts.inspections.iter().flat_map(|one| one.measurements.iter().map(move |value| (one, value)));
    all.into_iter().find(|(_, value)| value.id == wanted)
}

/// What was fitted by an answer is not undone by another: that takes its own acts.
fn refuse_second(facts: &Facts, measurement: MeasurementId) -> Result<(), ActError> {
    let before = facts.answers.iter().filter(|answer| answer.measurement == measurement);
    if before.into_iter().all(|answer| answer.choice == MeasurementChoice::Mistaken) {
        return Ok(());
    }
    let detail = "it was answered before, and a component was fitted by that".to_owned();
    Err(ActError::Conflict { code: "already-answered", detail })
}

async fn occasion(
    act: &mut Act,
    facts: &Facts,
    inspection: &Inspection,
    measured: &Measurement,
    odometer: Option<Entered>,
) -> Result<Occasion, ActError> {
    let wearing = gauge::wear_points().iter().find(|point| point.point == measured.point.as_str());
    let Some(wearing) = wearing else {
        let detail = format!("{} is measured on no component", measured.point);
        return Err(ActError::fault("/answer", "no-component", detail));
    };
    let mut faults = Vec::new();
    read_odometer(odometer, "/odometer", &mut faults);
    let odometer = match odometer {
        Some(said) => Some(said),
        None => odometer_then(act, facts, inspection).await?,
    };
    if odometer.is_none() {
        faults.push(Fault::new(
            "/odometer",
            "missing",
            "no odometer is known for that day: say what it showed",
        ));
    }
    none_of(faults)?;
    let odometer = odometer.unwrap_or(Entered::new(0.0, facts.vehicle.odometer_unit));
    let day = local_day(inspection.performed_at, facts.vehicle.zone);
    Ok(Occasion { place: measured.place, kind: wearing.kind, day, odometer })
}

/// The counted reading of the inspection, or the newest counted one before it.
async fn odometer_then(
    act: &mut Act,
    facts: &Facts,
    inspection: &Inspection,
) -> Result<Option<Entered>, ActError> {
    let fleet = act.fleet();
    let policy = store::fleets::policy(&mut act.conn(), fleet).await?;
    let judgements = engine::horizon(facts, &policy).judgements;
    let counted = judgements.iter().filter_map(|judgement| match judgement.verdict {
        Verdict::Counted { odometer } => Some((judgement.reading, odometer)),
        Verdict::Held { .. } | Verdict::Withdrawn => None,
    });
    let read = counted.filter_map(|(id, odometer)| {
        let reading = facts.readings.iter().find(|reading| reading.id == id)?;
        (reading.read_at <= inspection.performed_at).then_some((reading.read_at, id, odometer))
    });
    let newest = read.max_by_key(|(read_at, id, _)| (Some(*id) == inspection.reading, *read_at, *id));
    Ok(newest.map(|(_, _, odometer): (_, _, Distance)| odometer.to(facts.vehicle.odometer_unit)))
}

/// The component that was at `place` when the day began, with its fitting there.
fn fitted<'a>(facts: &'a Facts, place: Place, occasion: &Occasion) -> Option<(&'a Component, &'a Fitting)> {
    let there = facts.fittings.iter().filter(|fitting| fitting.place == place);
    let began = there.filter(|one| one.from <= occasion.day && one.to.is_none_or(|to| to >= occasion.day));
    let of_kind = began.filter_map(|fitting| {
        let component = facts.components.iter().find(|component| component.id == fitting.component)?;
        (component.kind.as_str() == occasion.kind).then_some((component, fitting))
    });
    // Of what came and went on that day, what was there before comes first: wheels change places one answer at a time.
    of_kind.min_by_key(|(_, fitting)| (fitting.from, fitting.id))
}

fn nothing_fitted(pointer: &str, place: Place, occasion: &Occasion) -> ActError {
    let detail = format!("no {} is on record {} on {}", occasion.kind, place.title(), occasion.day);
    ActError::fault(pointer, "nothing-fitted", detail)
}

/// Fits a new component of the kind and product of the one that is there.
async fn renew(act: &mut Act, facts: &Facts, occasion: &Occasion) -> Result<Fitting, ActError> {
    let there = fitted(facts, occasion.place, occasion);
    let (old, _) = there.ok_or_else(|| nothing_fitted("/answer", occasion.place, occasion))?;
    let new = NewComponent {
        kind: old.kind.clone(),
        product: old.product.clone(),
        depth_new: old.depth_new,
        came_used: false,
        cost: None,
    };
    let component = components::create(act, new).await?;
    place(act, facts, component.id, occasion).await
}

/// Brings the component that was fitted at `from`.
async fn bring(act: &mut Act, facts: &Facts, from: Place, occasion: &Occasion) -> Result<Fitting, ActError> {
    if from == occasion.place {
        return Err(ActError::fault("/from", "same-place", "it was measured in that very place"));
    }
    let there = fitted(facts, from, occasion).ok_or_else(|| nothing_fitted("/from", from, occasion))?;
    let (component, fitting) = there;
    if fitting.to.is_none() {
        let (fleet, stamp) = (act.fleet(), act.stamp());
        let odometer = Distance::parse(occasion.odometer).unwrap_or_default();
        let end = End { to: occasion.day, odometer, reason: format!("moved {}", occasion.place.title()) };
        store::fittings::end(&mut act.conn(), fleet, fitting.id, &end, &stamp).await?;
        act.note("fitting", fitting.id, "move", Some(fitting), None);
    }
    place(act, facts, component.id, occasion).await
}

async fn place(
    act: &mut Act,
    facts: &Facts,
    component: ComponentId,
    occasion: &Occasion,
) -> Result<Fitting, ActError> {
    let Occasion { place, day, odometer, .. } = *occasion;
    components::fit(act, facts.vehicle.id, NewFitting { component, place, from: day, odometer }).await
}
