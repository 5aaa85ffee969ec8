//! The digest: everything there is to do for the vehicles a person is concerned with, once a week.

use super::gathering::{Subject, VehicleCard, card_of, reason};
use crate::error::ActError;
use crate::unreachable::{self, Unreachable};
use chrono::{DateTime, NaiveDate, Utc};
use model::horizon::{DueItem, ItemKind, Mark, Stage, WindowStage};
use model::{DepotId, FleetId, OptionalLetter, Person, PersonId, Role, VehicleId, derived_id};
use std::collections::btree_map::Entry;
use std::collections::{BTreeMap, BTreeSet};
use store::Conn;
use store::derived::{DueItemRow, ItemFilter, WindowFilter, WindowRow};
use store::digests::DigestRow;

/// Things listed of each stage; what is beyond is on the list itself.
const MOST: i64 = 1_000;

/// Something in a digest.
#[derive(Debug, Clone)]
pub struct Listed {
    /// The vehicle.
    pub vehicle: VehicleCard,
    /// What it is about.
    pub subject: Subject,
    /// What was measured or found, in one sentence, for a condition.
    pub reason: Option<String>,
}

/// How a person's vehicles stand, in numbers.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Tally {
    /// Vehicles that must not be driven.
    pub do_not_drive: u32,
    /// Items overdue.
    pub overdue: u32,
    /// Vehicles off the road that need something.
    pub off_road: u32,
    /// Readings of the fleet held until somebody decides.
    pub held: u32,
    /// Odometer readings wanted.
    pub readings_wanted: u32,
}

/// What a person's digest says; nothing where none has come due.
#[derive(Debug, Clone, Default)]
pub struct Digest {
    pub(super) rows: Vec<DigestRow>,
    /// What it lists.
    pub listed: Vec<Listed>,
    /// How the vehicles stand.
    pub tally: Tally,
    /// For a manager: people whom no letter reaches.
    pub unreachable: Vec<Unreachable>,
    names: Vec<String>,
}

impl Digest {
    /// What the digests of a person say that have come due by `now`.
    pub(super) async fn of(
        conn: &mut Conn<'_>,
        fleet: FleetId,
        person: &Person,
        now: DateTime<Utc>,
    ) -> Result<Self, ActError> {
        let rows = store::digests::waiting_for(conn, fleet, person.id, now).await?;
        if rows.is_empty() {
            return Ok(Self::default());
        }
        if person.declines(OptionalLetter::WeekAhead) {
            store::digests::settle_empty(conn, fleet, &rows, now).await?;
            return Ok(Self::default());
        }
        let found = Found::of(conn, fleet, person, now).await?;
        let names = found.names(now);
        let held = store::derived::held(conn, fleet, None, MOST).await?.len();
        let tally = found.tally(held, now);
        let unreachable = found.unreachable.clone();
        Ok(Self { rows, listed: found.listed(conn, fleet).await?, tally, unreachable, names })
    }

    /// Whether there is nothing in it.
    pub(super) fn is_empty(&self) -> bool {
        self.listed.is_empty() && self.unreachable.is_empty()
    }

    /// The day it is for, if one has come due; of several that waited, the last.
    pub fn day(&self) -> Option<NaiveDate> {
        self.rows.iter().map(|row| row.day).max()
    }

    /// What it was made of, in few characters: another list has another.
    pub(super) fn told(&self) -> String {
        told(&self.names)
    }
}

fn told(names: &[String]) -> String {
    let parts: Vec<&str> = names.iter().map(String::as_str).collect();
    derived_id(&parts).to_string()
}

/// Whether what the digests were made of still stands.
pub(super) async fn still_stands(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    person: &Person,
    digests: &[DigestRow],
    now: DateTime<Utc>,
) -> Result<bool, ActError> {
    if person.declines(OptionalLetter::WeekAhead) {
        return Ok(false);
    }
    let names = Found::of(conn, fleet, person, now).await?.names(now);
    let told = told(&names);
    Ok(!names.is_empty() && digests.iter().all(|digest| digest.told.as_ref() == Some(&told)))
}

/// Whoever has no address has no use for a digest.
pub(super) async fn settle_unwanted(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    person: PersonId,
    now: DateTime<Utc>,
) -> Result<(), ActError> {
    let rows = store::digests::waiting_for(conn, fleet, person, now).await?;
    store::digests::settle_empty(conn, fleet, &rows, now).await?;
    Ok(())
}

fn is_stopped(item: &DueItem, now: DateTime<Utc>) -> bool {
    item.do_not_drive_from.is_some_and(|from| from <= now)
}

/// Whether somebody has put it off until later.
fn is_put_off(marks: &[Mark], now: DateTime<Utc>) -> bool {
    marks.iter().any(|mark| mark.code.starts_with("postponed_") && mark.at > now)
}

/// What there is to do, as it stands.
struct Found {
    items: Vec<DueItemRow>,
    windows: Vec<WindowRow>,
    off_road: BTreeSet<VehicleId>,
    unreachable: Vec<Unreachable>,
}

impl Found {
    async fn of(
        conn: &mut Conn<'_>,
        fleet: FleetId,
        person: &Person,
        now: DateTime<Utc>,
    ) -> Result<Self, ActError> {
        let all = [None];
        let own: Vec<Option<DepotId>> = person.depots.iter().copied().map(Some).collect();
        let depots = if own.is_empty() { all.as_slice() } else { own.as_slice() };
        let unreachable = match person.role {
            Role::Manager => unreachable::all(conn, fleet).await?,
            Role::Technician | Role::Driver | Role::Viewer => Vec::new(),
        };
        let mut found =
            Self { items: Vec::new(), windows: Vec::new(), off_road: BTreeSet::new(), unreachable };
        for depot in depots.iter().copied() {
            for stage in [Stage::Overdue, Stage::Due, Stage::Approaching] {
                let filter = ItemFilter { stage: Some(stage.word()), depot, ..ItemFilter::default() };
                found.items.extend(store::derived::due_items(conn, fleet, &filter, now, None, MOST).await?);
            }
            let stage = Some(WindowStage::Ending.word());
            let filter = WindowFilter { stage, depot, ..WindowFilter::default() };
            found.windows.extend(store::derived::windows(conn, fleet, &filter, now, None, MOST).await?);
        }
        found.leave_out_what_is_off_the_road(conn, fleet, now).await?;
        found.items.retain(|row| is_stopped(&row.item, now) || !is_put_off(&row.item.marks, now));
        found.windows.retain(|row| !is_put_off(&row.window.marks, now));
        Ok(found)
    }

    /// Of a vehicle off the road only what must not be driven, and what is to be seen to before it goes out again.
    async fn leave_out_what_is_off_the_road(
        &mut self,
        conn: &mut Conn<'_>,
        fleet: FleetId,
        now: DateTime<Utc>,
    ) -> Result<(), ActError> {
        let items = self.items.iter().map(|row| row.vehicle);
        let vehicles: BTreeSet<VehicleId> = items.chain(self.windows.iter().map(|row| row.vehicle)).collect();
        let vehicles: Vec<VehicleId> = vehicles.into_iter().collect();
        let stays = store::stays::of(conn, fleet, &vehicles).await?;
        let off: BTreeSet<VehicleId> =
            stays.into_iter().filter(|(_, stay)| stay.is_on(now)).map(|(vehicle, _)| vehicle).collect();
        self.items.retain(|row| {
            let is_for_it = row.item.kind == ItemKind::BeforeOut || is_stopped(&row.item, now);
            is_for_it || !off.contains(&row.vehicle)
        });
        self.windows.retain(|row| !off.contains(&row.vehicle));
        self.off_road = off;
        Ok(())
    }

    fn tally(&self, held: usize, now: DateTime<Utc>) -> Tally {
        let number = |count: usize| u32::try_from(count).unwrap_or(u32::MAX);
        let stopped = self.items.iter().filter(|row| is_stopped(&row.item, now)).map(|row| row.vehicle);
        let wanted = |row: &&DueItemRow| row.item.kind == ItemKind::ReadingWanted;
        let overdue = |row: &&DueItemRow| !wanted(row) && row.item.timeline.stage_at(now).0 == Stage::Overdue;
        Tally {
            do_not_drive: number(stopped.collect::<BTreeSet<_>>().len()),
            overdue: number(self.items.iter().filter(overdue).count()),
            off_road: number(self.off_road.len()),
            held: number(held),
            readings_wanted: number(self.items.iter().filter(wanted).count()),
        }
    }

    /// Everything it lists, with the stage it is in.
    fn names(&self, now: DateTime<Utc>) -> Vec<String> {
        let items = self.items.iter().map(|row| {
            let (stage, _) = row.item.timeline.stage_at(now);
            format!("{} {} {} {stage}", row.vehicle, row.item.key.0, row.item.cycle.0)
        });
        let windows = self.windows.iter().map(|row| format!("{} {} ending", row.vehicle, row.window.key.0));
        let unreachable = self.unreachable.iter().map(|one| format!("{} unreachable", one.person));
        let mut names: Vec<String> = items.chain(windows).chain(unreachable).collect();
        names.sort_unstable();
        names
    }

    async fn listed(self, conn: &mut Conn<'_>, fleet: FleetId) -> Result<Vec<Listed>, ActError> {
        let items = self.items.into_iter().map(|row| (row.vehicle, Subject::Item(Box::new(row.item))));
        let windows =
            self.windows.into_iter().map(|row| (row.vehicle, Subject::Window(Box::new(row.window))));
        let mut cards: BTreeMap<VehicleId, Option<VehicleCard>> = BTreeMap::new();
        let mut listed = Vec::new();
        for (vehicle, subject) in items.chain(windows) {
            let card = match cards.entry(vehicle) {
                Entry::Occupied(known) => known.get().clone(),
                Entry::Vacant(unknown) => unknown.insert(card_of(conn, fleet, vehicle).await?).clone(),
            };
            let Some(card) = card else { continue };
            let reason = match &subject {
                Subject::Item(item) => reason(conn, fleet, vehicle, &item.key.0).await?,
                Subject::Window(_) => None,
            };
            listed.push(Listed { vehicle: card, subject, reason });
        }
        Ok(listed)
    }
}
