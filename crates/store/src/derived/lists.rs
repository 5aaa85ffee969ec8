//! Lists over derived rows: what is due across the fleet, which windows end, what is held.

use crate::pages::behind;
use crate::parse::InRow;
use crate::rows::each;
use crate::{Conn, StoreError};
use chrono::{DateTime, NaiveDate, Utc};
use model::horizon::{DueItem, Graded, WindowOutlook};
use model::{DepotId, Doubt, FleetId, Judgement, LAST_DAY, ReadingId, VehicleId, Verdict};
use quantity::Entered;
use uuid::Uuid;

statements! {
    // A stage is read off its moments: reached are those at or before $5.
    DUE_ITEMS = {
        "SELECT id, vehicle_id, depot_id, sort_at, body FROM due_item WHERE fleet_id = $1 AND (sort_at, id) > ($2, $3)"
        "AND ($4 = CASE WHEN overdue_at <= $5 THEN 'overdue' WHEN due_at <= $5 THEN 'due'"
        "WHEN approaching_at <= $5 THEN 'approaching' ELSE 'clear' END OR $4 IS NULL)"
        "AND (depot_id = $6 OR $6 IS NULL) AND (vehicle_id = $7 OR $7 IS NULL) AND sort_at < $8"
        "ORDER BY sort_at, id LIMIT $9"
    }
    WINDOWS = {
        "SELECT window_id, vehicle_id, depot_id, sort_on, body FROM window_outlook WHERE fleet_id = $1"
        "AND (sort_on, window_id) > ($2, $3)"
        "AND ($4 = CASE WHEN ended_at <= $5 THEN 'ended' WHEN ending_at <= $5 THEN 'ending'"
        "ELSE 'in_force' END OR $4 IS NULL) AND (depot_id = $6 OR $6 IS NULL) AND (vehicle_id = $7 OR $7 IS NULL)"
        "ORDER BY sort_on, window_id LIMIT $8"
    }
    JUDGEMENTS = {
        "SELECT reading_id, detail FROM judgement WHERE fleet_id = $1 AND vehicle_id = $2 ORDER BY reading_id"
    }
    GRADES = { "SELECT body FROM grade WHERE fleet_id = $1 AND vehicle_id = $2 ORDER BY point, place" }
    HELD = {
        "SELECT j.vehicle_id, j.reading_id, j.detail, r.value, r.unit, r.read_at, r.reading_source, r.recorded_at"
        "FROM judgement AS j JOIN odometer_reading AS r ON r.fleet_id = j.fleet_id AND r.id = j.reading_id"
        "WHERE j.fleet_id = $1 AND j.verdict = 'held' AND (r.recorded_at, r.id) > ($2, $3)"
        "ORDER BY r.recorded_at, r.id LIMIT $4"
    }
}

/// Which due items to list.
#[derive(Debug, Clone, Default)]
pub struct ItemFilter {
    /// Only those in this stage (by its word) at `now`.
    pub stage: Option<&'static str>,
    /// Only those of vehicles standing at this depot.
    pub depot: Option<DepotId>,
    /// Only those of this vehicle.
    pub vehicle: Option<VehicleId>,
    /// Only those due, or forbidding to drive, before this instant.
    pub before: Option<DateTime<Utc>>,
}

/// Which coverage windows to list.
#[derive(Debug, Clone, Default)]
pub struct WindowFilter {
    /// Only those in this stage (by its word) at `now`.
    pub stage: Option<&'static str>,
    /// Only those of vehicles standing at this depot.
    pub depot: Option<DepotId>,
    /// Only those of this vehicle.
    pub vehicle: Option<VehicleId>,
}

/// A due item in a list across the fleet.
#[derive(Debug, Clone, PartialEq)]
pub struct DueItemRow {
    /// Its public id.
    pub id: Uuid,
    /// Its vehicle.
    pub vehicle: VehicleId,
    /// Where the vehicle stands.
    pub depot: DepotId,
    /// What it is listed by.
    pub sort_at: DateTime<Utc>,
    /// The item.
    pub item: DueItem,
}

/// A coverage window in a list across the fleet.
#[derive(Debug, Clone, PartialEq)]
pub struct WindowRow {
    /// Its vehicle.
    pub vehicle: VehicleId,
    /// Where the vehicle stands.
    pub depot: DepotId,
    /// What it is listed by.
    pub sort_on: NaiveDate,
    /// Where it leads.
    pub window: WindowOutlook,
}

/// A reading that waits for a person.
#[derive(Debug, Clone, PartialEq)]
pub struct HeldRow {
    /// Its vehicle.
    pub vehicle: VehicleId,
    /// The reading.
    pub reading: ReadingId,
    /// As entered.
    pub entered: Entered,
    /// When it was read.
    pub read_at: DateTime<Utc>,
    /// Where it came from, as a word.
    pub source: String,
    /// When it was recorded.
    pub recorded_at: DateTime<Utc>,
    /// Why it is held.
    pub doubt: Doubt,
    /// What was probably meant.
    pub suggested: Option<Entered>,
}

#[derive(sqlx::FromRow)]
struct ItemRow {
    id: Uuid,
    vehicle_id: Uuid,
    depot_id: Uuid,
    sort_at: DateTime<Utc>,
    body: String,
}

#[derive(sqlx::FromRow)]
struct OutlookRow {
    window_id: Uuid,
    vehicle_id: Uuid,
    depot_id: Uuid,
    sort_on: NaiveDate,
    body: String,
}

#[derive(sqlx::FromRow)]
struct HeldSqlRow {
    vehicle_id: Uuid,
    reading_id: Uuid,
    detail: String,
    value: f64,
    unit: String,
    read_at: DateTime<Utc>,
    reading_source: String,
    recorded_at: DateTime<Utc>,
}

impl TryFrom<ItemRow> for DueItemRow {
    type Error = StoreError;

    fn try_from(row: ItemRow) -> Result<Self, StoreError> {
        let item = InRow::new("due_item", row.id).json("body", &row.body)?;
        let (vehicle, depot) = (VehicleId(row.vehicle_id), DepotId(row.depot_id));
        Ok(Self { id: row.id, vehicle, depot, sort_at: row.sort_at, item })
    }
}

impl TryFrom<OutlookRow> for WindowRow {
    type Error = StoreError;

    fn try_from(row: OutlookRow) -> Result<Self, StoreError> {
        let window = InRow::new("window_outlook", row.window_id).json("body", &row.body)?;
        let (vehicle, depot) = (VehicleId(row.vehicle_id), DepotId(row.depot_id));
        Ok(Self { vehicle, depot, sort_on: row.sort_on, window })
    }
}

impl TryFrom<HeldSqlRow> for HeldRow {
    type Error = StoreError;

    fn try_from(row: HeldSqlRow) -> Result<Self, StoreError> {
        let at = InRow::new("judgement", row.reading_id);
        let judgement: Judgement = at.json("detail", &row.detail)?;
        let Verdict::Held { doubt, suggested } = judgement.verdict else {
            return Err(at.fault("detail", "the verdict is held but the detail is not"));
        };
        Ok(Self {
            vehicle: VehicleId(row.vehicle_id),
            reading: ReadingId(row.reading_id),
            entered: at.entered("value", row.value, &row.unit)?,
            read_at: row.read_at,
            source: row.reading_source,
            recorded_at: row.recorded_at,
            doubt,
            suggested,
        })
    }
}

/// Due items of the fleet behind `after`, the most urgent first; stages are those at `now`.
pub async fn due_items(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    filter: &ItemFilter,
    now: DateTime<Utc>,
    after: Option<(DateTime<Utc>, Uuid)>,
    limit: i64,
) -> Result<Vec<DueItemRow>, StoreError> {
    let (at, id) = behind(after);
    let depot = filter.depot.map(|depot| depot.0);
    let vehicle = filter.vehicle.map(|vehicle| vehicle.0);
    let day_after_last = LAST_DAY.succ_opt().unwrap_or(LAST_DAY).and_time(chrono::NaiveTime::MIN).and_utc();
    let before = filter.before.unwrap_or(day_after_last);
    let (fleet, stage) = (fleet.0, filter.stage);
    each(fetch!(
        fetch_all, conn, ItemRow, DUE_ITEMS, fleet, at, id, stage, now, depot, vehicle, before, limit
    )?)
}

/// Coverage windows of the fleet behind `after`, the soonest early end first; stages are those at `now`.
pub async fn windows(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    filter: &WindowFilter,
    now: DateTime<Utc>,
    after: Option<(NaiveDate, Uuid)>,
    limit: i64,
) -> Result<Vec<WindowRow>, StoreError> {
    let (on, id) = behind(after);
    let depot = filter.depot.map(|depot| depot.0);
    let vehicle = filter.vehicle.map(|vehicle| vehicle.0);
    let (fleet, stage) = (fleet.0, filter.stage);
    each(fetch!(fetch_all, conn, OutlookRow, WINDOWS, fleet, on, id, stage, now, depot, vehicle, limit)?)
}

/// How each reading of a vehicle was judged.
pub async fn judgements(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    vehicle: VehicleId,
) -> Result<Vec<Judgement>, StoreError> {
    let rows = fetch!(fetch_all, conn, (Uuid, String), JUDGEMENTS, fleet.0, vehicle.0)?;
    rows.into_iter().map(|(id, detail)| InRow::new("judgement", id).json("detail", &detail)).collect()
}

/// What the newest measurements of a vehicle mean.
pub async fn grades(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    vehicle: VehicleId,
) -> Result<Vec<Graded>, StoreError> {
    let rows = fetch!(fetch_all, conn, (String,), GRADES, fleet.0, vehicle.0)?;
    rows.into_iter().map(|(body,)| InRow::new("grade", vehicle).json("body", &body)).collect()
}

/// Readings of the fleet that wait for a person, behind `after`, in the order they were recorded.
pub async fn held(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    after: Option<(DateTime<Utc>, Uuid)>,
    limit: i64,
) -> Result<Vec<HeldRow>, StoreError> {
    let (at, id) = behind(after);
    each(fetch!(fetch_all, conn, HeldSqlRow, HELD, fleet.0, at, id, limit)?)
}
