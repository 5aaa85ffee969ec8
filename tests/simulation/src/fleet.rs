//! A fleet as its people know it: what they were answered, and how its vehicles really run.

use crate::dice::Dice;
use crate::people::fitting::Part;
use chrono::{DateTime, NaiveDate, TimeDelta, Utc};
use clerk::inspections::Entry;
use model::{DepotId, FindingId, FleetId, NoticeId, OverrideId, PaperId, PersonId, ReadingId, RulebookId};
use model::{ServiceId, StayId, VehicleId, WindowId, WorkshopId};
use quantity::{Entered, Unit};
use std::collections::BTreeMap;
use uuid::Uuid;

/// How sure the people are of a fact.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Standing {
    /// They were answered that it is on record.
    Stands,
    /// They asked to withdraw it and have not been answered.
    Doubtful,
    /// They were answered that it is withdrawn.
    Withdrawn,
}

/// What kind of fact, named as its table.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Kind {
    /// A reading that somebody gave by itself.
    Reading,
    /// A service record.
    Service,
    /// A paper.
    Paper,
    /// A coverage window.
    Window,
    /// A stay.
    Stay,
    /// An exception to a rule.
    Override,
    /// An inspection's entry.
    Entry,
}

/// A vehicle as its people know it.
#[derive(Debug, Clone)]
pub struct Van {
    /// Its id.
    pub id: VehicleId,
    /// Its label.
    pub label: String,
    /// Which version of its record they saw last.
    pub version: i64,
    /// When it came, with how much on its odometer, km.
    pub since: (DateTime<Utc>, f64),
    /// How far it goes a day, km.
    pub daily: f64,
    /// Whether it has left.
    pub is_retired: bool,
    /// Readings given.
    pub readings: Vec<ReadingId>,
    /// Services on record: id, rule, day.
    pub services: Vec<(ServiceId, String, NaiveDate)>,
    /// Papers on record.
    pub papers: Vec<PaperId>,
    /// Windows on record.
    pub windows: Vec<WindowId>,
    /// Exceptions on record.
    pub overrides: Vec<OverrideId>,
    /// The stay it is on.
    pub stay: Option<StayId>,
    /// Stays that are over.
    pub past_stays: Vec<StayId>,
    /// Findings that are open.
    pub findings: Vec<FindingId>,
    /// Reminders that were told, in the order in which they came up.
    pub notices: Vec<NoticeId>,
}

impl Van {
    /// What its odometer shows at `at`.
    pub fn odometer(&self, at: DateTime<Utc>) -> Entered {
        let days = (at - self.since.0).num_minutes().max(0);
        let driven = f64::from(i32::try_from(days).unwrap_or(i32::MAX)) / 1440.0 * self.daily;
        Entered::new((self.since.1 + driven).round(), Unit::Kilometre)
    }
}

/// A person as the others know them.
#[derive(Debug, Clone)]
pub struct Colleague {
    /// Who.
    pub id: PersonId,
    /// Which version of the record was seen last.
    pub version: i64,
}

/// One of the two fleets of a world.
#[derive(Debug, Clone)]
pub struct Fleet {
    /// Its id.
    pub id: FleetId,
    /// The letter its labels and addresses begin with.
    pub letter: char,
    /// Its depot, and which version of its record was seen last.
    pub depot: (DepotId, i64),
    /// Its rulebook, and which version was seen last.
    pub rulebook: (RulebookId, i64),
    /// Which version of its policy was seen last.
    pub policy: i64,
    /// Its workshops, and which version of each was seen last.
    pub workshops: Vec<(WorkshopId, i64)>,
    /// Its tyres that are followed.
    pub parts: Vec<Part>,
    /// Its vehicles.
    pub vans: Vec<Van>,
    /// Its people besides the two it began with, who stay.
    pub people: Vec<Colleague>,
    /// Those of all its people whom no letter reached when somebody last looked.
    pub unreachable: Vec<PersonId>,
    /// What was answered, by kind and id.
    pub facts: BTreeMap<(Kind, Uuid), Standing>,
    /// What is on record, though its answer came too late to say under which id, by kind.
    pub unnamed: BTreeMap<Kind, usize>,
    /// Entries that a phone has sent and may send again.
    pub sent: Vec<(Uuid, Vec<Entry>)>,
    /// How many things were named so far.
    pub named: u64,
}

impl Fleet {
    /// A name that was not given before.
    pub fn next_name(&mut self, what: &str) -> String {
        self.named += 1;
        format!("{}-{what}-{}", self.letter, self.named)
    }

    /// One of the vehicles that are still there; mostly one of the first few, so that things meet.
    pub fn any_van(&self, dice: &Dice) -> Option<usize> {
        let there: Vec<usize> = (0..self.vans.len()).filter(|van| !self.vans[*van].is_retired).collect();
        if there.is_empty() {
            return None;
        }
        let among = if dice.percent(60) { there.len().min(3) } else { there.len() };
        Some(there[dice.place(among)])
    }

    /// The vehicle of that id.
    pub fn van(&mut self, id: VehicleId) -> Option<&mut Van> {
        self.vans.iter_mut().find(|van| van.id == id)
    }

    /// Notes how a fact stands.
    pub fn note(&mut self, kind: Kind, id: Uuid, standing: Standing) {
        self.facts.insert((kind, id), standing);
    }
}

/// A day as people write it.
pub fn day_of(at: DateTime<Utc>) -> NaiveDate {
    // A day before lies in the past in every zone.
    (at - TimeDelta::hours(24)).date_naive()
}
