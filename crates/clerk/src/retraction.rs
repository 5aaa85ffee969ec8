//! Taking back what was to be told and is no longer true: it waits, and is told under the same key when it is true again.

use crate::audience::standing_on;
use crate::error::ActError;
use chrono::{DateTime, Utc};
use model::horizon::{Cycle, Mark};
use model::{FleetId, NoticeId, VehicleId};
use std::collections::{BTreeMap, BTreeSet};
use store::Conn;
use store::derived::SubjectKind;
use store::notices::{NoticeKey, WaitingNotice};

/// Withdraws notices that no letter carries; their marks wait again.
pub(crate) async fn take_back(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    untrue: &[WaitingNotice],
    now: DateTime<Utc>,
) -> Result<(), ActError> {
    let ids: Vec<NoticeId> = untrue.iter().map(|notice| notice.id).collect();
    store::notices::withdraw(conn, fleet, &ids, now).await?;
    reopen_marks(conn, fleet, untrue).await
}

/// Asks for new horizons of vehicles whose notices are taken back: a mark that waits again may be the next thing a
/// vehicle wakes for, and only a renewal says when that is. For those who take notices back outside one.
pub(crate) async fn raise_needed(
    conn: &mut Conn<'_>,
    vehicles: BTreeSet<(FleetId, VehicleId)>,
) -> Result<(), ActError> {
    let mut by_fleet: BTreeMap<FleetId, Vec<VehicleId>> = BTreeMap::new();
    for (fleet, vehicle) in vehicles {
        by_fleet.entry(fleet).or_default().push(vehicle);
    }
    for (fleet, vehicles) in by_fleet {
        store::states::raise_needed(conn, fleet, &vehicles).await?;
    }
    Ok(())
}

/// The marks behind these notices wait for the moment their item gives them now; while the item is gone, they are laid
/// aside until it comes back.
pub(crate) async fn reopen_marks(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    untrue: &[WaitingNotice],
) -> Result<(), ActError> {
    let marks: BTreeSet<(VehicleId, &NoticeKey)> = untrue.iter().map(|n| (n.vehicle, &n.key)).collect();
    for (vehicle, key) in marks {
        let expected = mark_now(conn, fleet, vehicle, key).await?;
        store::marks::reopen(conn, fleet, vehicle, key, expected.map(|mark| mark.at)).await?;
    }
    Ok(())
}

/// The mark of that key as the vehicle's derived rows give it now.
pub(crate) async fn mark_now(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    vehicle: VehicleId,
    key: &NoticeKey,
) -> Result<Option<Mark>, ActError> {
    let found = store::derived::subject(conn, fleet, vehicle, &key.item_key).await?;
    Ok(found.and_then(|subject| mark_of(&subject.kind, key)))
}

/// The mark of that key on an item or window, if it is of the same cycle. What is told to the next people stands and falls
/// with what was told to the first.
pub(crate) fn mark_of(subject: &SubjectKind, key: &NoticeKey) -> Option<Mark> {
    let (Cycle(cycle), marks) = match subject {
        SubjectKind::Item(item) => (&item.cycle, &item.marks),
        SubjectKind::Window(window) => (&window.cycle, &window.marks),
    };
    let code = standing_on(&key.mark);
    (*cycle == key.cycle).then(|| marks.iter().find(|mark| mark.code == code).cloned()).flatten()
}
