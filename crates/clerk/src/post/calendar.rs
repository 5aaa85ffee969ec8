//! A person's calendar as letters told it, and what the next letter may change there.
//!
//! Nobody knows what a calendar shows; what letters that arrived told it is known. Each revision is kept with the letter that
//! carries it, in one transaction with the letter's bytes, and never taken back: where a letter does not arrive, the next
//! tells the day again under a higher sequence.

use super::digest::Listed;
use super::gathering::{Subject, VehicleCard, card_of};
use crate::audience;
use crate::error::ActError;
use chrono::{DateTime, NaiveDate, Utc};
use model::horizon::{Cycle, ItemKey};
use model::{Arrival, CalendarMethod, DepotId, FleetId, LetterId, Person, PersonId, VehicleId, local_day};
use std::collections::btree_map::Entry;
use std::collections::{BTreeMap, BTreeSet};
use store::Conn;
use store::calendar_days::{DayKey, Revision, ToldRevision};
use store::derived::SubjectKind;

/// Days taken out of a calendar by one letter, at most; the others by the next.
const MOST_GONE: usize = 25;

/// What is known of the day of one item in a person's calendar.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct KnownDay {
    /// What the calendar knows it by.
    pub uid: String,
    /// The sequence of the next revision.
    pub next: u32,
    /// What the calendar shows, where that is certain.
    pub shows: Option<Revision>,
    /// What was put in last, unless it is certain that it was taken out again, or that it never arrived.
    pub may_show: Option<Revision>,
    /// The highest sequence that arrived for certain.
    arrived: Option<u32>,
}

impl KnownDay {
    /// What the revisions of one day, in order of sequences, say of it. Letters that are `replaced` never go.
    fn of(revisions: &[ToldRevision], replaced: &[LetterId]) -> Option<Self> {
        let last = &revisions.last()?.revision;
        let may_have_come =
            |told: &&ToldRevision| told.arrival != Arrival::Never && !replaced.contains(&told.letter);
        let came: Vec<&ToldRevision> = revisions.iter().filter(may_have_come).collect();
        let is_certain = came.last().is_some_and(|told| told.arrival == Arrival::Arrived);
        let newest = came.last().map(|told| &told.revision);
        let is_out = is_certain && newest.is_some_and(|one| one.method == CalendarMethod::Cancel);
        let put_in = came.iter().rev().find(|told| told.revision.method == CalendarMethod::Publish);
        let may_show = put_in.filter(|_| !is_out).map(|told| told.revision.clone());
        let arrived = came.iter().filter(|told| told.arrival == Arrival::Arrived);
        Some(Self {
            uid: last.uid.clone(),
            next: last.sequence.saturating_add(1),
            shows: may_show.clone().filter(|_| is_certain),
            may_show,
            arrived: arrived.map(|told| told.revision.sequence).max(),
        })
    }
}

/// A person's calendar, as far as a letter may change it.
#[derive(Debug, Clone, Default)]
pub struct Calendar {
    known: BTreeMap<DayKey, KnownDay>,
    /// What was told to it before, is still to be done, and of which the letter says nothing else.
    pub standing: Vec<Listed>,
    /// What it may show and is no longer needed, the soonest first.
    pub gone: Vec<(DayKey, KnownDay)>,
}

impl Calendar {
    /// The calendar of a person who is about to be told `told`, by a letter that stands for those `replaced`.
    pub(super) async fn of(
        conn: &mut Conn<'_>,
        fleet: FleetId,
        person: &Person,
        told: &[(VehicleId, &Subject)],
        replaced: &[LetterId],
        now: DateTime<Utc>,
    ) -> Result<Self, ActError> {
        let vehicles: BTreeSet<VehicleId> = told.iter().map(|(vehicle, _)| *vehicle).collect();
        let vehicles: Vec<VehicleId> = vehicles.into_iter().collect();
        let today = local_day(now, person.zone);
        let rows = store::calendar_days::told(conn, fleet, person.id, today, &vehicles).await?;
        let days = rows.chunk_by(|one, other| one.revision.key == other.revision.key);
        let known = days.filter_map(|day| {
            let key = day.first()?.revision.key.clone();
            Some((key, KnownDay::of(day, replaced)?))
        });
        let mut calendar = Self { known: known.collect(), ..Self::default() };
        let in_letter: BTreeSet<DayKey> =
            told.iter().map(|(vehicle, subject)| key_of(*vehicle, subject)).collect();
        calendar.look_at_the_rest(conn, fleet, person, &in_letter, now).await?;
        Ok(calendar)
    }

    /// What is known of a day; none if no letter ever told of it.
    pub fn of_day(&self, key: &DayKey) -> Option<&KnownDay> {
        self.known.get(key)
    }

    /// Sorts the days that are not in the letter into those that stand and those that are gone.
    async fn look_at_the_rest(
        &mut self,
        conn: &mut Conn<'_>,
        fleet: FleetId,
        person: &Person,
        in_letter: &BTreeSet<DayKey>,
        now: DateTime<Utc>,
    ) -> Result<(), ActError> {
        let today = local_day(now, person.zone);
        let rest: Vec<&DayKey> = self.known.keys().filter(|key| !in_letter.contains(*key)).collect();
        if rest.is_empty() {
            return Ok(());
        }
        let mut needed = needed(conn, fleet, person, &rest, today).await?;
        let off_road = off_road(conn, fleet, needed.keys(), now).await?;
        let mut cards: BTreeMap<VehicleId, Option<VehicleCard>> = BTreeMap::new();
        for key in rest {
            let Some(subject) = needed.remove(key) else {
                let day = self.known.get(key).filter(|day| day.is_ahead(today));
                self.gone.extend(day.map(|day| (key.clone(), day.clone())));
                continue;
            };
            if off_road.contains(&key.vehicle) {
                continue;
            }
            let card = match cards.entry(key.vehicle) {
                Entry::Occupied(known) => known.get().clone(),
                Entry::Vacant(unknown) => unknown.insert(card_of(conn, fleet, key.vehicle).await?).clone(),
            };
            self.standing.extend(card.map(|vehicle| Listed { vehicle, subject, reason: None }));
        }
        self.gone
            .sort_by(|(one, day), (other, later)| (day.stands_on(), one).cmp(&(later.stands_on(), other)));
        self.gone.truncate(MOST_GONE);
        Ok(())
    }

    /// Keeps what a letter tells the calendar, and forgets what that makes superfluous.
    pub(super) async fn keep(
        &self,
        conn: &mut Conn<'_>,
        fleet: FleetId,
        person: PersonId,
        (letter, days): (LetterId, &[Revision]),
        now: DateTime<Utc>,
    ) -> Result<(), ActError> {
        for day in days {
            if let Some(arrived) = self.known.get(&day.key).and_then(|known| known.arrived) {
                store::calendar_days::forget_below(conn, fleet, person, &day.key, arrived).await?;
            }
            store::calendar_days::insert(conn, fleet, person, day, letter, now).await?;
        }
        Ok(())
    }
}

impl KnownDay {
    fn stands_on(&self) -> Option<NaiveDate> {
        self.may_show.as_ref().map(|shown| shown.day)
    }

    /// Whether it may stand on a day to come: the past needs no tidying.
    fn is_ahead(&self, today: NaiveDate) -> bool {
        self.stands_on().is_some_and(|day| day >= today)
    }
}

fn key_of(vehicle: VehicleId, subject: &Subject) -> DayKey {
    let (ItemKey(item_key), Cycle(cycle)) = match subject {
        Subject::Item(item) => (&item.key, &item.cycle),
        Subject::Window(window) => (&window.key, &window.cycle),
    };
    DayKey { vehicle, item_key: item_key.clone(), cycle: cycle.clone() }
}

/// What is still to be done of these, has a day, and concerns the person.
async fn needed(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    person: &Person,
    keys: &[&DayKey],
    today: NaiveDate,
) -> Result<BTreeMap<DayKey, Subject>, ActError> {
    let policy = store::fleets::policy(conn, fleet).await?;
    let mut found: Vec<(VehicleId, DepotId, SubjectKind)> = Vec::new();
    for (vehicle, depot, item) in store::calendar_days::items(conn, fleet, person.id, today).await? {
        found.push((vehicle, depot, SubjectKind::Item(Box::new(item))));
    }
    for key in keys.iter().filter(|key| key.item_key.starts_with("window:")) {
        let window = store::derived::subject(conn, fleet, key.vehicle, &key.item_key).await?;
        found.extend(window.map(|window| (key.vehicle, window.depot, window.kind)));
    }
    let needed = found.into_iter().filter(|(_, depot, subject)| {
        has_day(subject) && audience::is_concerned(&policy, person, *depot, subject)
    });
    let needed = needed.map(|(vehicle, _, kind)| {
        let subject = match kind {
            SubjectKind::Item(item) => Subject::Item(item),
            SubjectKind::Window(window) => Subject::Window(window),
        };
        (key_of(vehicle, &subject), subject)
    });
    Ok(needed.collect())
}

/// Whether it has a day to act by.
fn has_day(subject: &SubjectKind) -> bool {
    match subject {
        SubjectKind::Item(item) => item.timeline.due.or(item.timeline.overdue).is_some(),
        SubjectKind::Window(window) => {
            window.ended.is_none() && (window.act_by.is_some() || window.ends.early.is_some())
        }
    }
}

/// The vehicles off the road: about them nobody is nagged.
async fn off_road(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    keys: impl Iterator<Item = &DayKey>,
    now: DateTime<Utc>,
) -> Result<BTreeSet<VehicleId>, ActError> {
    let vehicles: BTreeSet<VehicleId> = keys.map(|key| key.vehicle).collect();
    let vehicles: Vec<VehicleId> = vehicles.into_iter().collect();
    let stays = store::stays::of(conn, fleet, &vehicles).await?;
    Ok(stays.into_iter().filter(|(_, stay)| stay.is_on(now)).map(|(vehicle, _)| vehicle).collect())
}
