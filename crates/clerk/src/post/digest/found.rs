//! What a digest lists.

use super::{Ahead, Listed, Tally};
use crate::audience::{self, Rungs};
use crate::error::ActError;
use crate::post::gathering::{Subject, VehicleCard, card_of, reason};
use crate::unreachable::{self, Unreachable};
use chrono::{DateTime, NaiveDate, TimeDelta, Utc};
use model::horizon::{DueItem, ItemKind, Mark, Stage, WindowOutlook, WindowStage};
use model::{DepotId, FleetId, Person, VehicleId, day_after};
use std::collections::btree_map::Entry;
use std::collections::{BTreeMap, BTreeSet};
use store::Conn;
use store::derived::{DueItemRow, ItemFilter, WindowFilter, WindowRow};

/// Things listed of each stage; what is beyond is on the list itself.
pub(super) const MOST: i64 = 1_000;

fn is_stopped(item: &DueItem, now: DateTime<Utc>) -> bool {
    item.do_not_drive_from.is_some_and(|from| from <= now)
}

/// Whether somebody has put it off until later.
fn is_put_off(marks: &[Mark], now: DateTime<Utc>) -> bool {
    marks.iter().any(|mark| mark.code.starts_with("postponed_") && mark.at > now)
}

/// Whether by `end` it is due, or forbids to drive.
fn is_to_do_by(item: &DueItem, end: DateTime<Utc>) -> bool {
    let is_due = matches!(item.timeline.stage_at(end).0, Stage::Due | Stage::Overdue);
    is_due || is_stopped(item, end)
}

/// Coverage windows that are near their end.
async fn ending(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    depot: Option<DepotId>,
    now: DateTime<Utc>,
) -> Result<Vec<WindowRow>, ActError> {
    let stage = Some(WindowStage::Ending.word());
    let filter = WindowFilter { stage, depot, ..WindowFilter::default() };
    Ok(store::derived::windows(conn, fleet, &filter, now, None, MOST).await?)
}

/// What there is to do, as it stands.
#[derive(Default)]
pub(super) struct Found {
    items: Vec<DueItemRow>,
    windows: Vec<WindowRow>,
    off_road: BTreeSet<VehicleId>,
    pub(super) unreachable: Vec<Unreachable>,
}

impl Found {
    pub(super) async fn of(
        conn: &mut Conn<'_>,
        fleet: FleetId,
        person: &Person,
        ahead: Ahead,
        now: DateTime<Utc>,
    ) -> Result<Self, ActError> {
        let all = [None];
        let own: Vec<Option<DepotId>> = person.depots.iter().copied().map(Some).collect();
        let depots = if own.is_empty() { all.as_slice() } else { own.as_slice() };
        let mut found = match ahead {
            Ahead::Week(_) => Self::in_the_week(conn, fleet, depots, now).await?,
            Ahead::Day(day) => Self::on_the_day(conn, fleet, person, (depots, day), now).await?,
        };
        found.leave_out_what_is_off_the_road(conn, fleet, now).await?;
        found.items.retain(|row| is_stopped(&row.item, now) || !is_put_off(&row.item.marks, now));
        found.windows.retain(|row| !is_put_off(&row.window.marks, now));
        Ok(found)
    }

    /// Everything that comes up, and whom no letter reaches.
    async fn in_the_week(
        conn: &mut Conn<'_>,
        fleet: FleetId,
        depots: &[Option<DepotId>],
        now: DateTime<Utc>,
    ) -> Result<Self, ActError> {
        let mut found = Self { unreachable: unreachable::all(conn, fleet).await?, ..Self::default() };
        for depot in depots.iter().copied() {
            for stage in [Stage::Overdue, Stage::Due, Stage::Approaching] {
                let filter = ItemFilter { stage: Some(stage.word()), depot, ..ItemFilter::default() };
                found.items.extend(store::derived::due_items(conn, fleet, &filter, now, None, MOST).await?);
            }
            found.windows.extend(ending(conn, fleet, depot, now).await?);
        }
        Ok(found)
    }

    /// What the person can do by the end of the day, of what people of that duty are told by then: what must not be driven,
    /// what falls due or has, and the windows to be acted on.
    async fn on_the_day(
        conn: &mut Conn<'_>,
        fleet: FleetId,
        person: &Person,
        (depots, day): (&[Option<DepotId>], NaiveDate),
        now: DateTime<Utc>,
    ) -> Result<Self, ActError> {
        let next_day = day_after(day, person.zone);
        // As finely as moments are kept.
        let end = next_day - TimeDelta::microseconds(1);
        let policy = store::fleets::policy(conn, fleet).await?;
        let is_told = |of: Rungs<'_>| audience::is_told_by(&policy, person.role, of, end);
        let mut found = Self::default();
        for depot in depots.iter().copied() {
            let filter = ItemFilter { depot, before: Some(next_day), ..ItemFilter::default() };
            let items = store::derived::due_items(conn, fleet, &filter, now, None, MOST).await?;
            let to_do =
                items.into_iter().filter(|row| is_to_do_by(&row.item, end) && is_told((&row.item).into()));
            found.items.extend(to_do);
            let windows = ending(conn, fleet, depot, now).await?.into_iter();
            let to_act_on = |window: &WindowOutlook| window.act_by.is_some_and(|act| act.book_by <= day);
            let to_act = windows.filter(|row| to_act_on(&row.window) && is_told((&row.window).into()));
            found.windows.extend(to_act);
        }
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

    pub(super) fn tally(&self, held: usize, now: DateTime<Utc>) -> Tally {
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
    pub(super) fn names(&self, now: DateTime<Utc>) -> Vec<String> {
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

    pub(super) async fn listed(self, conn: &mut Conn<'_>, fleet: FleetId) -> Result<Vec<Listed>, ActError> {
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
