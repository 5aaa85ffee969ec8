//! Whether a notice still stands, and whether what it says is about to be told anew.

use super::gathering::Subject;
use crate::error::ActError;
use crate::{audience, facts, retraction};
use chrono::{DateTime, Utc};
use model::{FleetId, VehicleId};
use std::collections::BTreeSet;
use store::Conn;
use store::derived::SubjectKind;
use store::marks::MarkRow;
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

/// The marks of the vehicles told of that have come and are not worked off yet, as after a time in which no program ran.
pub(super) async fn marks_due(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    notices: &[WaitingNotice],
    now: DateTime<Utc>,
) -> Result<Vec<MarkRow>, ActError> {
    let vehicles: BTreeSet<VehicleId> = notices.iter().map(|notice| notice.vehicle).collect();
    let vehicles: Vec<VehicleId> = vehicles.into_iter().collect();
    Ok(store::marks::due(conn, fleet, &vehicles, now).await?)
}

/// Whether a mark that ranks above the notice's own is among those `due`: the scheduler is about to tell the person of
/// the same thing again, and both go together. What cannot wait does not wait for that.
pub(super) fn is_outrun(notice: &WaitingNotice, subject: &Subject, due: &[MarkRow]) -> bool {
    let marks = match subject {
        Subject::Item(item) => &item.marks,
        Subject::Window(window) => &window.marks,
    };
    let own = audience::standing_on(&notice.key.mark);
    let Some(rank) = marks.iter().find(|mark| mark.code == own).map(|mark| mark.rank) else { return false };
    let key = (&notice.key.item_key, &notice.key.cycle);
    let is_above = |mark: &MarkRow| {
        mark.rank > rank && mark.vehicle == notice.vehicle && (&mark.key.item_key, &mark.key.cycle) == key
    };
    !notice.urgent && due.iter().any(is_above)
}
