//! A vehicle off the road: nobody is reminded of it, but of what must not be driven and of what is to be seen to before it
//! goes out again.

use crate::error::ActError;
use crate::{audience, retraction};
use chrono::{DateTime, Utc};
use model::horizon::{DueItem, Horizon, ItemKind};
use model::{Facts, FleetId, Stay};
use store::Conn;
use store::derived::SubjectKind;
use store::marks::MarkRow;

/// Whether a mark of this name is told while its vehicle is off the road.
fn is_told_all_the_same(mark: &str, item: Option<&DueItem>) -> bool {
    audience::is_urgent(mark) || item.is_some_and(|item| item.kind == ItemKind::BeforeOut)
}

/// Why a mark that has come is folded, if its vehicle is off the road.
pub(crate) async fn reason_to_fold(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    mark: &MarkRow,
    subject: &SubjectKind,
    now: DateTime<Utc>,
) -> Result<Option<String>, ActError> {
    let item = match subject {
        SubjectKind::Item(item) => Some(&**item),
        SubjectKind::Window(_) => None,
    };
    if is_told_all_the_same(&mark.key.mark, item) {
        return Ok(None);
    }
    let stays = store::stays::of(conn, fleet, &[mark.vehicle]).await?;
    Ok(stays.iter().map(|(_, stay)| stay).find(|stay| stay.is_on(now)).map(reason))
}

fn reason(stay: &Stay) -> String {
    let since = stay.in_at.format("%Y-%m-%d");
    format!("off the road since {since}: see what is to be done before it goes out again")
}

/// Takes back what waits to be told about a vehicle that went off the road meanwhile; its marks are folded when they are
/// next looked at.
pub(crate) async fn hush(
    conn: &mut Conn<'_>,
    facts: &Facts,
    horizon: &Horizon,
    now: DateTime<Utc>,
) -> Result<(), ActError> {
    if !engine::folded(facts, now) {
        return Ok(());
    }
    let (fleet, vehicle) = (facts.vehicle.fleet, facts.vehicle.id);
    let mut waiting = store::notices::waiting_about(conn, fleet, vehicle).await?;
    waiting.retain(|notice| {
        let item = horizon.items.iter().find(|item| item.key.0 == notice.key.item_key);
        !is_told_all_the_same(&notice.key.mark, item)
    });
    retraction::take_back(conn, fleet, &waiting, now).await
}
