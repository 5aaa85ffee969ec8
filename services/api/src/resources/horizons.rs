//! Everything coming for one vehicle, with its reasons.

use super::{held_entries, judging};
use crate::http::answer::Answer;
use crate::http::call::{Call, Outcome};
use crate::http::conditional::Tag;
use crate::http::operation::Operation;
use crate::http::refusal::{Refusal, Stop};
use chrono::{DateTime, Utc};
use clerk::horizons::{self, Outlook, View};
use contract::{
    CoverageOutlook, DueItem, ExplainedItem, ExplainedWindow, Fault, GradedMeasurement, HeldEntry, Horizon,
    HorizonAsked, ProblemKind, Question, Reason, Running, Usage, Wear,
};
use engine::Explanation;
use model::horizon::{DueItem as Item, ItemKey};
use model::{Scope, VehicleId, Verdict};
use quantity::Unit;
use std::collections::BTreeMap;

pub fn operations() -> Vec<Operation> {
    vec![
        Operation::get::<Horizon>(Scope::Read, "read_horizon", "/vehicles/{vehicle}/horizon")
            .says(
                "Read a vehicle's horizon",
                "What will need doing, where its coverage windows lead and what its measurements mean, each with the steps \
                 that lead there. `as_of` asks what was true then: stages are read at it, and what was read, done, found, \
                 fitted or issued later is left out, as are attributes in force from a later day; a paper whose day of issue \
                 is not on record counts throughout. `known_at` asks what was known then: facts, rules, fits and decisions \
                 as recorded by then and not yet withdrawn, and vehicle, depot, workshops and policy as they stood, rebuilt \
                 from the record of changes (a member that was not yet kept then stands as today). Both together: what did \
                 we know on 1 March of what was due on 1 February. Always judged by today's program. Without either, the \
                 answer is what the lists across the fleet show.",
            )
            .filtered::<HorizonAsked>()
            .does(read),
    ]
}

async fn read(call: Call) -> Outcome {
    let asked: HorizonAsked = call.asked()?;
    let vehicle: VehicleId = call.id("vehicle")?;
    let view = View { as_of: asked.as_of, known_at: known_at(&call, &asked)? };
    let Some(outlook) = horizons::at(call.clerk(), call.fleet(), vehicle, view).await? else {
        return Err(not_known(&call, vehicle, view).await?.into());
    };
    let as_of = asked.as_of.unwrap_or_else(|| call.now());
    let told = told(&outlook, as_of, view.known_at);
    // Without `as_of` the instant moves on while nothing else does: it is left out of the tag. `known_at` is in the
    // answer only where it was asked for, and stays.
    let tag = match asked.as_of {
        Some(_) => Tag::of(&told),
        None => Tag::of(&Horizon { as_of: DateTime::UNIX_EPOCH, ..told.clone() }),
    };
    Ok(Answer::of(200, &told)?.tagged(tag))
}

/// Nobody knows today what will be known tomorrow.
fn known_at(call: &Call, asked: &HorizonAsked) -> Result<Option<DateTime<Utc>>, Refusal> {
    let now = call.now();
    match asked.known_at {
        Some(at) if at > now => {
            let detail = format!("{at} is yet to come: what will be known then is not known at {now}");
            Err(Refusal::invalid(vec![Fault::of_parameter("known_at", "future", detail)]))
        }
        known_at => Ok(known_at),
    }
}

/// There is no such vehicle, or there was none on record then: the difference is told only of the fleet's own.
async fn not_known(call: &Call, vehicle: VehicleId, view: View) -> Result<Refusal, Stop> {
    let Some(known_at) = view.known_at else { return Ok(Refusal::not_found()) };
    let mut tx = call.reading().await?;
    if store::vehicles::find(&mut tx.conn(), call.fleet(), vehicle).await?.is_none() {
        return Ok(Refusal::not_found());
    }
    let detail = format!("The vehicle was not yet on record at {known_at}.");
    Ok(Refusal::new(ProblemKind::NotFound, detail.clone()).because_of("known_at", "before-record", detail))
}

fn told(outlook: &Outlook, as_of: DateTime<Utc>, known_at: Option<DateTime<Utc>>) -> Horizon {
    let (vehicle, horizon) = (&outlook.facts.vehicle, &outlook.horizon);
    let unit = vehicle.odometer_unit;
    let mut items: Vec<&Item> = horizon.items.iter().collect();
    items.sort_by(|one, other| urgency(one).cmp(&urgency(other)));
    let why = Why::of_outlook(outlook);
    let forbids = |item: &Item| item.do_not_drive_from.is_some_and(|from| from <= as_of);
    Horizon {
        vehicle: vehicle.id,
        as_of,
        known_at,
        do_not_drive: horizon.items.iter().any(forbids),
        usage: horizon.usage.as_ref().map(|usage| Usage::of(usage, unit)),
        running: horizon.running.as_ref().map(Running::from),
        wear: horizon
            .wear
            .iter()
            .map(|wear| Wear::of(wear, unit, why.of(&format!("wear:{}", wear.component))))
            .collect(),
        items: items.into_iter().map(|item| explained(outlook, &why, item, as_of)).collect(),
        windows: horizon
            .windows
            .iter()
            .map(|window| ExplainedWindow {
                window: CoverageOutlook::of(window, vehicle.id, unit, as_of),
                because: why.of(&window.key.0),
            })
            .collect(),
        grades: horizon.grades.iter().map(GradedMeasurement::from).collect(),
        questions: horizon.questions.iter().map(Question::from).collect(),
        held: held(outlook),
    }
}

/// What forbids driving comes first, then what falls due first, then by key.
fn urgency(item: &Item) -> (bool, bool, Option<DateTime<Utc>>, &ItemKey) {
    let due = item.do_not_drive_from.or(item.timeline.due.map(|moment| moment.at));
    (item.do_not_drive_from.is_none(), due.is_none(), due, &item.key)
}

fn explained(outlook: &Outlook, why: &Why, item: &Item, as_of: DateTime<Utc>) -> ExplainedItem {
    let vehicle = &outlook.facts.vehicle;
    let id = store::derived::item_id(vehicle.id, item);
    ExplainedItem {
        item: DueItem::of(item, id, vehicle.id, vehicle.odometer_unit, as_of),
        because: why.of(&item.key.0),
    }
}

/// The reasons for all that stands in a horizon.
struct Why {
    explanations: BTreeMap<ItemKey, Explanation>,
    unit: Unit,
}

impl Why {
    fn of_outlook(outlook: &Outlook) -> Self {
        let explanations = engine::explained(&outlook.facts, &outlook.policy).explanations;
        Self { explanations, unit: outlook.facts.vehicle.odometer_unit }
    }

    fn of(&self, key: &str) -> Vec<Reason> {
        let Some(explanation) = self.explanations.get(&ItemKey(key.to_owned())) else { return Vec::new() };
        let said = engine::words::because(explanation, self.unit);
        let written = explanation.steps.iter().map(|step| serde_json::to_value(step).unwrap_or_default());
        written.zip(said).map(|(written, says)| Reason::new(written, says)).collect()
    }
}

fn held(outlook: &Outlook) -> Vec<HeldEntry> {
    let vehicle = &outlook.facts.vehicle;
    let held = outlook.horizon.judgements.iter().filter(|j| matches!(j.verdict, Verdict::Held { .. }));
    let readings = held.filter_map(|judgement| {
        let reading = outlook.facts.readings.iter().find(|reading| reading.id == judgement.reading)?;
        let told = judging::reading(reading, Some(&judgement.verdict), vehicle);
        Some(held_entries::of_reading(vehicle, told))
    });
    let measurements = outlook.set_aside.iter().cloned();
    readings.chain(measurements.map(|one| held_entries::of_measurement(vehicle, one))).collect()
}
