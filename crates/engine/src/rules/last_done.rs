//! From which day and odometer a rule counts.

use super::also_satisfied;
use crate::explain::Opening;
use crate::known::Known;
use chrono::NaiveDate;
use model::horizon::Cycle;
use model::{BaselineAnswer, BaselineChoice, BaselineId, Code, Facts, ServiceRecord};
use quantity::{Distance, Entered};
use std::collections::{BTreeMap, btree_map::Entry};

/// The root fact of a cycle: where counting starts.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Anchor {
    pub(crate) opening: Opening,
    pub(crate) on: NaiveDate,
    /// `None` where it is not known: then the distance of the rule says nothing.
    pub(crate) odometer: Option<Distance>,
    /// The odometer was read off between counted readings, since the one told is held.
    pub(crate) estimated: bool,
}

impl Anchor {
    /// The name of the cycle it opened.
    pub(crate) fn cycle(&self) -> Cycle {
        Cycle(match self.opening {
            Opening::Service(id) => format!("service:{id}"),
            Opening::InService(id) => format!("in-service:{id}"),
            Opening::Proven(id) | Opening::StartFrom(id) | Opening::DoNow(id) => format!("baseline:{id}"),
        })
    }
}

/// The newest proof for each rule.
pub(crate) struct LastDone<'a> {
    services: BTreeMap<&'a Code, &'a ServiceRecord>,
    answers: BTreeMap<&'a Code, &'a BaselineAnswer>,
}

impl<'a> LastDone<'a> {
    pub(crate) fn of(facts: &'a Facts) -> Self {
        Self { services: newest_services(facts), answers: newest_answers(&facts.baselines) }
    }

    /// Where the rule counts from: the newest of service record and baseline answer; else a vehicle that came new
    /// counts from its first day. `None` for a used one without history.
    pub(crate) fn anchor(&self, known: &Known<'_>, rule: &Code) -> Option<Anchor> {
        let service = self.services.get(rule).map(|service| from_service(known, service));
        let answer = self.answers.get(rule).map(|answer| from_answer(known, answer));
        match (service, answer) {
            (Some(service), Some(answer)) if answer.on > service.on => Some(answer),
            (Some(service), _) => Some(service),
            (None, Some(answer)) => Some(answer),
            (None, None) => from_new(known),
        }
    }

    /// The newest record of the work, by day and id.
    pub(crate) fn service(&self, rule: &Code) -> Option<&'a ServiceRecord> {
        self.services.get(rule).copied()
    }

    /// When the work was last done: the newest of service record and proof. What only starts counting is no work.
    pub(crate) fn done(&self, known: &Known<'_>, rule: &Code) -> Option<Anchor> {
        let service = self.services.get(rule).map(|service| from_service(known, service));
        let answer = self.answers.get(rule).map(|answer| from_answer(known, answer));
        let proven = answer.filter(|answer| matches!(answer.opening, Opening::Proven(_)));
        service.into_iter().chain(proven).max_by_key(|done| done.on)
    }
}

/// For each rule the newest service record that satisfies it, by day and id.
fn newest_services(facts: &Facts) -> BTreeMap<&Code, &ServiceRecord> {
    let order = |service: &ServiceRecord| (service.done_on, service.id);
    let mut newest: BTreeMap<&Code, &ServiceRecord> = BTreeMap::new();
    let mut satisfied: BTreeMap<&Code, Vec<&Code>> = BTreeMap::new();
    for service in &facts.services {
        for done in &service.rules {
            let along = satisfied
                .entry(done)
                .or_insert_with(|| also_satisfied(&facts.rules, done).into_iter().chain([done]).collect());
            for code in along {
                match newest.entry(code) {
                    Entry::Vacant(vacant) => {
                        vacant.insert(service);
                    }
                    Entry::Occupied(mut kept) => {
                        if order(service) > order(kept.get()) {
                            kept.insert(service);
                        }
                    }
                }
            }
        }
    }
    newest
}

fn newest_answers(answers: &[BaselineAnswer]) -> BTreeMap<&Code, &BaselineAnswer> {
    let order = |answer: &BaselineAnswer| -> (_, BaselineId) { (answer.recorded_at, answer.id) };
    let mut newest: BTreeMap<&Code, &BaselineAnswer> = BTreeMap::new();
    for answer in answers {
        let kept = newest.entry(&answer.rule).or_insert(answer);
        if order(answer) > order(kept) {
            *kept = answer;
        }
    }
    newest
}

pub(super) fn from_service(known: &Known<'_>, service: &ServiceRecord) -> Anchor {
    let (odometer, estimated) = known.odometer_at(service);
    Anchor { opening: Opening::Service(service.id), on: service.done_on, odometer: Some(odometer), estimated }
}

fn from_answer(known: &Known<'_>, answer: &BaselineAnswer) -> Anchor {
    let anchor = |opening: fn(BaselineId) -> Opening, on: NaiveDate, odometer: Option<Entered>| Anchor {
        opening: opening(answer.id),
        on,
        // Read with the odometer fitted on that day.
        odometer: odometer
            .and_then(|entered| Distance::parse(entered).ok())
            .map(|shown| known.total_on(shown, on)),
        estimated: false,
    };
    match answer.choice {
        BaselineChoice::Proven { done_on, odometer } => anchor(Opening::Proven, done_on, Some(odometer)),
        BaselineChoice::StartFrom { on, odometer } => anchor(Opening::StartFrom, on, Some(odometer)),
        BaselineChoice::DoNow { on } => anchor(Opening::DoNow, on, None),
    }
}

fn from_new(known: &Known<'_>) -> Option<Anchor> {
    let vehicle = &known.facts.vehicle;
    (!vehicle.history_unknown).then(|| Anchor {
        opening: Opening::InService(vehicle.id),
        on: vehicle.in_service_on.unwrap_or(vehicle.acquired_on),
        odometer: Some(vehicle.in_service_odometer),
        estimated: false,
    })
}
