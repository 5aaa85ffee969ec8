//! Marks: moments at which somebody must be told, each accounted for. Waiting ones are derived; settled ones stay.

use crate::derived::Comparison;
use crate::notices::NoticeKey;
use crate::parse::{InRow, json_text};
use crate::rows::{each, id_list};
use crate::{Conn, StoreError};
use chrono::{DateTime, SubsecRound, Utc};
use model::horizon::{Cycle, ItemKey, Mark};
use model::{FleetId, MarkOutcome, VehicleId};
use std::collections::BTreeMap;
use uuid::Uuid;

statements! {
    OF_VEHICLE = {
        "SELECT vehicle_id, item_key, cycle, mark, rank, fires_at, outcome, reason, settled_at FROM mark"
        "WHERE fleet_id = $1 AND vehicle_id = $2 ORDER BY fires_at, item_key, cycle, mark"
    }
    DUE = {
        "SELECT vehicle_id, item_key, cycle, mark, rank, fires_at, outcome, reason, settled_at FROM mark"
        "WHERE fleet_id = $1 AND fires_at <= $3 AND outcome = 'waiting' AND vehicle_id IN" ids: "$2"
        "ORDER BY vehicle_id, item_key, cycle, rank, mark"
    }
    /// Settled marks that rank above one of the same item and cycle whose moment has come.
    SETTLED_ABOVE = {
        "SELECT s.vehicle_id, s.item_key, s.cycle, s.mark, s.rank, s.fires_at, s.outcome, s.reason, s.settled_at"
        "FROM mark AS s WHERE s.fleet_id = $1 AND s.outcome <> 'waiting' AND s.vehicle_id IN" ids: "$2"
        "AND EXISTS (SELECT 1 FROM mark AS d WHERE d.fleet_id = s.fleet_id AND d.vehicle_id = s.vehicle_id"
        "AND d.item_key = s.item_key AND d.cycle = s.cycle AND d.rank < s.rank AND d.outcome = 'waiting'"
        "AND d.fires_at <= $3) ORDER BY s.vehicle_id, s.item_key, s.cycle, s.rank, s.mark"
    }
    /// New marks wait, waiting ones move, and those laid aside untold wait again; what else was settled stays as it is.
    SYNC = {
        "INSERT INTO mark (fleet_id, vehicle_id, item_key, cycle, mark, rank, fires_at, outcome)"
        "VALUES ($1, $2, $3, $4, $5, $6, $7, $8)"
        "ON CONFLICT (fleet_id, vehicle_id, item_key, cycle, mark) DO UPDATE SET rank = excluded.rank,"
        "fires_at = excluded.fires_at, outcome = excluded.outcome, reason = NULL, settled_at = NULL"
        "WHERE mark.outcome = 'waiting' OR mark.reason = 'no longer true before it was told'"
    }
    /// The keys are a list of lists, since engines have no array of rows in common.
    DROP = {
        "DELETE FROM mark WHERE fleet_id = $1 AND vehicle_id = $2 AND outcome = 'waiting' AND (item_key, cycle, mark) IN"
        sqlite: "(SELECT value ->> 0, value ->> 1, value ->> 2 FROM json_each($3))"
        postgres: "(SELECT value ->> 0, value ->> 1, value ->> 2 FROM json_array_elements($3::json))"
    }
    /// The rows are there: whatever conflicts is settled, unless it was settled meanwhile.
    SETTLE = {
        "INSERT INTO mark (fleet_id, vehicle_id, item_key, cycle, mark, rank, fires_at, outcome, reason, settled_at)"
        "VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10)"
        "ON CONFLICT (fleet_id, vehicle_id, item_key, cycle, mark) DO UPDATE SET outcome = excluded.outcome,"
        "reason = excluded.reason, settled_at = excluded.settled_at WHERE mark.outcome = 'waiting'"
    }
    REOPEN = {
        "UPDATE mark SET outcome = 'waiting', fires_at = $6, reason = NULL, settled_at = NULL WHERE fleet_id = $1"
        "AND vehicle_id = $2 AND item_key = $3 AND cycle = $4 AND mark = $5 AND outcome <> 'waiting'"
    }
    LAY_ASIDE = {
        "UPDATE mark SET outcome = 'skipped', reason = 'no longer true before it was told' WHERE fleet_id = $1"
        "AND vehicle_id = $2 AND item_key = $3 AND cycle = $4 AND mark = $5 AND outcome <> 'waiting'"
    }
    NEXT_WAITING = {
        "SELECT MIN(fires_at) AS fires_at FROM mark WHERE fleet_id = $1 AND vehicle_id = $2 AND outcome = 'waiting'"
    }
}

/// Why a mark that was fired but told to nobody is skipped: it waits again when its item comes back. The statements
/// above say the same.
const NO_LONGER_TRUE: &str = "no longer true before it was told";

/// A mark as it stands.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct MarkRow {
    /// The vehicle.
    pub vehicle: VehicleId,
    /// Item, cycle and mark.
    pub key: NoticeKey,
    /// Its place in the item's order.
    pub rank: i16,
    /// When it fires.
    pub fires_at: DateTime<Utc>,
    /// What became of it.
    pub outcome: MarkOutcome,
    /// Why, where a reason is kept.
    pub reason: Option<String>,
    /// When it was settled.
    pub settled_at: Option<DateTime<Utc>>,
}

#[derive(sqlx::FromRow)]
struct Row {
    vehicle_id: Uuid,
    item_key: String,
    cycle: String,
    mark: String,
    rank: i64,
    fires_at: DateTime<Utc>,
    outcome: String,
    reason: Option<String>,
    settled_at: Option<DateTime<Utc>>,
}

impl TryFrom<Row> for MarkRow {
    type Error = StoreError;

    fn try_from(row: Row) -> Result<Self, StoreError> {
        let at = InRow::new("mark", row.vehicle_id);
        Ok(Self {
            vehicle: VehicleId(row.vehicle_id),
            rank: at.whole("rank", row.rank)?,
            outcome: at.word("outcome", &row.outcome, MarkOutcome::from_word)?,
            key: NoticeKey { item_key: row.item_key, cycle: row.cycle, mark: row.mark },
            fires_at: row.fires_at,
            reason: row.reason,
            settled_at: row.settled_at,
        })
    }
}

/// Every mark of a vehicle, in order of time.
pub async fn of_vehicle(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    vehicle: VehicleId,
) -> Result<Vec<MarkRow>, StoreError> {
    each(fetch!(fetch_all, conn, Row, OF_VEHICLE, fleet.0, vehicle.0)?)
}

/// Makes the waiting marks of a vehicle those of its horizon: new ones wait, moved ones move, those gone are dropped.
/// What was settled stays settled, but for what was laid aside untold: that waits again. Writes only what differs, and
/// says how many rows that was.
pub async fn sync(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    vehicle: VehicleId,
    wanted: &[(ItemKey, Cycle, Mark)],
) -> Result<u64, StoreError> {
    let kept = of_vehicle(conn, fleet, vehicle).await?;
    let mut kept: BTreeMap<NoticeKey, MarkRow> = kept.into_iter().map(|row| (row.key.clone(), row)).collect();
    let mut changed = Vec::new();
    for (item, cycle, mark) in wanted {
        let key = NoticeKey { item_key: item.0.clone(), cycle: cycle.0.clone(), mark: mark.code.clone() };
        if kept.remove(&key).is_none_or(|row| has_to_change(&row, mark)) {
            changed.push((key, mark));
        }
    }
    let touched = batch!(conn, SYNC, changed, |(key, mark)| [
        fleet.0,
        vehicle.0,
        &key.item_key,
        &key.cycle,
        &key.mark,
        i64::from(mark.rank),
        mark.at.trunc_subsecs(6),
        MarkOutcome::Waiting.word()
    ])?;
    kept.retain(|_, row| row.outcome == MarkOutcome::Waiting);
    if kept.is_empty() {
        return Ok(touched);
    }
    let gone: Vec<_> = kept.keys().map(|key| (&key.item_key, &key.cycle, &key.mark)).collect();
    Ok(touched + execute!(conn, DROP, fleet.0, vehicle.0, json_text(&gone))?)
}

/// How the marks of a vehicle that wait differ from those of its horizon, and when the vehicle wakes by the horizon's.
/// What was settled is a decision and not compared, but for what was laid aside untold and is wanted again.
pub async fn compare(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    vehicle: VehicleId,
    wanted: &[(ItemKey, Cycle, Mark)],
) -> Result<(Comparison, Option<DateTime<Utc>>), StoreError> {
    let kept = of_vehicle(conn, fleet, vehicle).await?;
    let mut kept: BTreeMap<NoticeKey, MarkRow> = kept.into_iter().map(|row| (row.key.clone(), row)).collect();
    let (mut comparison, mut wakes_at) = (Comparison::default(), None);
    for (item, cycle, mark) in wanted {
        let key = NoticeKey { item_key: item.0.clone(), cycle: cycle.0.clone(), mark: mark.code.clone() };
        let row = kept.remove(&key);
        let computed = (MarkOutcome::Waiting, mark.at.trunc_subsecs(6), mark.rank, None::<&str>);
        let is_settled =
            row.as_ref().is_some_and(|row| row.outcome != MarkOutcome::Waiting && !has_to_change(row, mark));
        if is_settled {
            continue;
        }
        wakes_at = wakes_at.into_iter().chain([computed.1]).min();
        let stored =
            row.as_ref().map(|row| json_text(&(row.outcome, row.fires_at, row.rank, row.reason.as_deref())));
        comparison.note("mark", name_of(&key), [stored, Some(json_text(&computed))]);
    }
    for (key, row) in kept.into_iter().filter(|(_, row)| row.outcome == MarkOutcome::Waiting) {
        let stored = json_text(&(row.outcome, row.fires_at, row.rank, row.reason.as_deref()));
        comparison.note("mark", name_of(&key), [Some(stored), None]);
    }
    Ok((comparison, wakes_at))
}

fn name_of(key: &NoticeKey) -> String {
    format!("{} {} {}", key.item_key, key.cycle, key.mark)
}

/// Whether a kept mark must be written so that it waits as wanted.
fn has_to_change(row: &MarkRow, wanted: &Mark) -> bool {
    match row.outcome {
        MarkOutcome::Waiting => (row.fires_at, row.rank) != (wanted.at.trunc_subsecs(6), wanted.rank),
        MarkOutcome::Skipped => row.reason.as_deref() == Some(NO_LONGER_TRUE),
        MarkOutcome::Told | MarkOutcome::Folded | MarkOutcome::Overtaken => false,
    }
}

/// The waiting marks of these vehicles whose moment has come, by vehicle, item and rank.
pub async fn due(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    vehicles: &[VehicleId],
    now: DateTime<Utc>,
) -> Result<Vec<MarkRow>, StoreError> {
    let ids = id_list(vehicles.iter().map(|vehicle| vehicle.0));
    each(fetch!(fetch_all, conn, Row, DUE, fleet.0, ids.as_str(), now)?)
}

/// The settled marks of these vehicles that rank above one of [`due`], by vehicle, item and rank.
pub async fn settled_above(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    vehicles: &[VehicleId],
    now: DateTime<Utc>,
) -> Result<Vec<MarkRow>, StoreError> {
    let ids = id_list(vehicles.iter().map(|vehicle| vehicle.0));
    each(fetch!(fetch_all, conn, Row, SETTLED_ABOVE, fleet.0, ids.as_str(), now)?)
}

/// Settles waiting marks with their outcomes and reasons; says how many were still waiting.
pub async fn settle(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    settled: &[(MarkRow, MarkOutcome, Option<String>)],
    at: DateTime<Utc>,
) -> Result<u64, StoreError> {
    batch!(conn, SETTLE, settled, |(mark, outcome, reason)| [
        fleet.0,
        mark.vehicle.0,
        &mark.key.item_key,
        &mark.key.cycle,
        &mark.key.mark,
        i64::from(mark.rank),
        mark.fires_at,
        outcome.word(),
        reason.as_deref(),
        at
    ])
}

/// A fired mark that nobody was told of: it waits for `fires_at`, or is laid aside while its item is gone.
pub async fn reopen(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    vehicle: VehicleId,
    key: &NoticeKey,
    fires_at: Option<DateTime<Utc>>,
) -> Result<(), StoreError> {
    let NoticeKey { item_key, cycle, mark } = key;
    match fires_at {
        Some(at) => execute!(conn, REOPEN, fleet.0, vehicle.0, item_key, cycle, mark, at)?,
        None => execute!(conn, LAY_ASIDE, fleet.0, vehicle.0, item_key, cycle, mark)?,
    };
    Ok(())
}

/// When the vehicle's next waiting mark fires.
pub async fn next_waiting(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    vehicle: VehicleId,
) -> Result<Option<DateTime<Utc>>, StoreError> {
    let row = fetch!(fetch_one, conn, (Option<DateTime<Utc>>,), NEXT_WAITING, fleet.0, vehicle.0)?;
    Ok(row.0)
}
