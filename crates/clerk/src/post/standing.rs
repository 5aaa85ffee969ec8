//! Whether a notice still stands, and whether what it says is about to be told anew.

use super::gathering::Subject;
use crate::error::ActError;
use crate::{audience, facts, retraction};
use chrono::{DateTime, Utc};
use model::{FleetId, VehicleId};
use std::collections::{BTreeMap, BTreeSet};
use store::Conn;
use store::derived::SubjectKind;
use store::notices::WaitingNotice;

/// What a notice is about, if its mark stands and has come.
pub(super) async fn subject_if_true(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    notice: &WaitingNotice,
    now: DateTime<Utc>,
) -> Result<Option<Subject>, ActError> {
    let Some(found) = subject_now(conn, fleet, notice).await? else { return Ok(None) };
    let mark = retraction::mark_of(&found, &notice.key).filter(|mark| mark.at <= now);
    let stands = match mark {
        Some(mark) => is_wanted(conn, fleet, notice, mark.at).await?,
        None => false,
    };
    let is_told = stands || cfg!(feature = "without-recheck");
    Ok(Some(found).filter(|_| is_told).map(|found| match found {
        SubjectKind::Item(item) => Subject::Item(item),
        SubjectKind::Window(window) => Subject::Window(window),
    }))
}

/// Whether it is to be told, as far as answers go: what is told for want of one is not once there is one.
async fn is_wanted(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    notice: &WaitingNotice,
    since: DateTime<Utc>,
) -> Result<bool, ActError> {
    if !audience::is_for_want_of_an_answer(&notice.key.mark) {
        return Ok(true);
    }
    let key = (notice.key.item_key.as_str(), notice.key.cycle.as_str());
    Ok(!store::replies::is_acknowledged(conn, fleet, notice.vehicle, key, since).await?)
}

/// What a notice is about: as it is derived, or as the facts give it where a renewal is still to come, since rules may
/// have been edited meanwhile.
async fn subject_now(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    notice: &WaitingNotice,
) -> Result<Option<SubjectKind>, ActError> {
    let (vehicle, key) = (notice.vehicle, &notice.key.item_key);
    if !store::states::is_behind(conn, fleet, vehicle, engine::ENGINE_VERSION).await? {
        return Ok(store::derived::subject(conn, fleet, vehicle, key).await?.map(|found| found.kind));
    }
    let policy = store::fleets::policy(conn, fleet).await?;
    let facts = facts::load(conn, fleet, &[vehicle], &policy).await?;
    let Some(horizon) = facts.first().map(|facts| engine::horizon(facts, &policy)) else { return Ok(None) };
    let item = horizon.items.into_iter().find(|item| item.key.0 == *key);
    let window = horizon.windows.into_iter().find(|window| window.key.0 == *key);
    Ok(item
        .map(|item| SubjectKind::Item(Box::new(item)))
        .or(window.map(|w| SubjectKind::Window(Box::new(w)))))
}

/// Marks that have come and are not worked off yet, as after a time in which no program ran: the highest rank by vehicle,
/// item and cycle.
pub(super) struct MarksDue(BTreeMap<(VehicleId, String, String), i16>);

impl MarksDue {
    /// Those of the vehicles of these notices.
    pub(super) async fn of(
        conn: &mut Conn<'_>,
        fleet: FleetId,
        notices: &[WaitingNotice],
        now: DateTime<Utc>,
    ) -> Result<Self, ActError> {
        let vehicles: BTreeSet<VehicleId> = notices.iter().map(|notice| notice.vehicle).collect();
        let vehicles: Vec<VehicleId> = vehicles.into_iter().collect();
        let mut highest = BTreeMap::new();
        for mark in store::marks::due(conn, fleet, &vehicles, now).await? {
            let rank = highest.entry((mark.vehicle, mark.key.item_key, mark.key.cycle)).or_insert(mark.rank);
            *rank = mark.rank.max(*rank);
        }
        Ok(Self(highest))
    }

    /// Whether one of them ranks above the notice's own: the scheduler is about to tell the person of the same thing
    /// again, and both go together. What cannot wait does not wait for that.
    pub(super) fn outrun(&self, notice: &WaitingNotice, subject: &Subject) -> bool {
        let marks = match subject {
            Subject::Item(item) => &item.marks,
            Subject::Window(window) => &window.marks,
        };
        let own = audience::standing_on(&notice.key.mark);
        let Some(own) = marks.iter().find(|mark| mark.code == own) else { return false };
        let key = (notice.vehicle, notice.key.item_key.clone(), notice.key.cycle.clone());
        !notice.urgent && self.0.get(&key).is_some_and(|rank| *rank > own.rank)
    }
}
