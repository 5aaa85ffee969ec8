//! Derived rows, whole: as they are kept, and as a horizon wants them.

use super::hours::{self, HourRow};
use crate::parse::json_text;
use crate::{Conn, StoreError};
use chrono::{DateTime, Months, NaiveDate, NaiveTime, SubsecRound, Utc};
use model::horizon::{DueItem, Graded, Horizon, ItemKind, Moment, WindowOutlook};
use model::{DepotId, FleetId, Judgement, LAST_DAY, VehicleId, Verdict};
use serde::Serialize;
use uuid::Uuid;

statements! {
    JUDGEMENTS = {
        "SELECT reading_id, verdict, odometer_mm, detail FROM judgement WHERE fleet_id = $1 AND vehicle_id = $2"
    }
    GRADES = { "SELECT point, place, grade, body FROM grade WHERE fleet_id = $1 AND vehicle_id = $2" }
    USAGE = { "SELECT body FROM usage_outlook WHERE fleet_id = $1 AND vehicle_id = $2" }
    ITEMS = {
        "SELECT item_key, cycle, id, kind, depot_id, approaching_at, due_at, overdue_at, do_not_drive_from, sort_at, body"
        "FROM due_item WHERE fleet_id = $1 AND vehicle_id = $2"
    }
    WINDOWS = {
        "SELECT window_id, depot_id, ending_at, ended_at, early_end, sort_on, body FROM window_outlook"
        "WHERE fleet_id = $1 AND vehicle_id = $2"
    }
}

/// A row of a derived table.
pub(super) trait DerivedRow: Clone + PartialEq + Serialize {
    /// What the table is called.
    const TABLE: &'static str;

    /// What tells it from the vehicle's other rows of the table.
    fn key(&self) -> String;
}

#[derive(Debug, Clone, PartialEq, Eq, Serialize, sqlx::FromRow)]
pub(super) struct JudgementRow {
    pub(super) reading_id: Uuid,
    pub(super) verdict: String,
    pub(super) odometer_mm: Option<i64>,
    pub(super) detail: String,
}

impl DerivedRow for JudgementRow {
    const TABLE: &'static str = "judgement";

    fn key(&self) -> String {
        self.reading_id.to_string()
    }
}

impl From<&Judgement> for JudgementRow {
    fn from(judgement: &Judgement) -> Self {
        let (verdict, odometer) = match judgement.verdict {
            Verdict::Counted { odometer } => ("counted", Some(odometer)),
            Verdict::Held { .. } => ("held", None),
            Verdict::Withdrawn => ("withdrawn", None),
        };
        Self {
            reading_id: judgement.reading.0,
            verdict: verdict.to_owned(),
            odometer_mm: odometer.map(quantity::Distance::mm),
            detail: json_text(judgement),
        }
    }
}

#[derive(Debug, Clone, PartialEq, Eq, Serialize, sqlx::FromRow)]
pub(super) struct GradeRow {
    pub(super) point: String,
    pub(super) place: String,
    pub(super) grade: String,
    pub(super) body: String,
}

impl DerivedRow for GradeRow {
    const TABLE: &'static str = "grade";

    fn key(&self) -> String {
        format!("{}/{}", self.point, self.place)
    }
}

impl From<&Graded> for GradeRow {
    fn from(graded: &Graded) -> Self {
        Self {
            point: graded.point.clone(),
            place: graded.place.word().to_owned(),
            grade: graded.grade.word().to_owned(),
            body: json_text(graded),
        }
    }
}

#[derive(Debug, Clone, PartialEq, Eq, Serialize, sqlx::FromRow)]
pub(super) struct UsageRow {
    pub(super) body: String,
}

impl DerivedRow for UsageRow {
    const TABLE: &'static str = "usage_outlook";

    fn key(&self) -> String {
        "usage".to_owned()
    }
}

#[derive(Debug, Clone, PartialEq, Eq, Serialize, sqlx::FromRow)]
pub(super) struct ItemRow {
    pub(super) item_key: String,
    pub(super) cycle: String,
    pub(super) id: Uuid,
    pub(super) kind: String,
    pub(super) depot_id: Uuid,
    pub(super) approaching_at: Option<DateTime<Utc>>,
    pub(super) due_at: Option<DateTime<Utc>>,
    pub(super) overdue_at: Option<DateTime<Utc>>,
    pub(super) do_not_drive_from: Option<DateTime<Utc>>,
    pub(super) sort_at: DateTime<Utc>,
    pub(super) body: String,
}

impl DerivedRow for ItemRow {
    const TABLE: &'static str = "due_item";

    fn key(&self) -> String {
        self.item_key.clone()
    }
}

impl ItemRow {
    fn of(vehicle: VehicleId, depot: DepotId, item: &DueItem) -> Self {
        Self {
            item_key: item.key.0.clone(),
            cycle: item.cycle.0.clone(),
            id: super::item_id(vehicle, item),
            kind: item.kind.word().to_owned(),
            depot_id: depot.0,
            approaching_at: item.timeline.approaching.map(kept),
            due_at: item.timeline.due.map(kept),
            overdue_at: item.timeline.overdue.map(kept),
            do_not_drive_from: item.do_not_drive_from.map(|from| from.trunc_subsecs(6)),
            sort_at: urgency(item).trunc_subsecs(6),
            body: json_text(item),
        }
    }
}

#[derive(Debug, Clone, PartialEq, Eq, Serialize, sqlx::FromRow)]
pub(super) struct WindowRow {
    pub(super) window_id: Uuid,
    pub(super) depot_id: Uuid,
    pub(super) ending_at: Option<DateTime<Utc>>,
    pub(super) ended_at: Option<DateTime<Utc>>,
    pub(super) early_end: Option<NaiveDate>,
    pub(super) sort_on: NaiveDate,
    pub(super) body: String,
}

impl DerivedRow for WindowRow {
    const TABLE: &'static str = "window_outlook";

    fn key(&self) -> String {
        self.window_id.to_string()
    }
}

impl WindowRow {
    fn of(depot: DepotId, window: &WindowOutlook) -> Self {
        Self {
            window_id: window.window.0,
            depot_id: depot.0,
            ending_at: window.ending.map(kept),
            ended_at: window.ended.map(kept),
            early_end: window.ends.early,
            sort_on: window.ends.early.or(window.last_day).unwrap_or(LAST_DAY),
            body: json_text(window),
        }
    }
}

/// The instant of a moment as both engines keep it: to the microsecond.
fn kept(moment: Moment) -> DateTime<Utc> {
    moment.at.trunc_subsecs(6)
}

/// What sorts lists of due items: the moment driving is forbidden or the item is due; the end of the calendar for
/// what is neither within ten years. What a measurement or finding forbids to drive comes before everything else,
/// the longest standing first: its moment counts as a century earlier.
fn urgency(item: &DueItem) -> DateTime<Utc> {
    if let (ItemKind::Condition, Some(from)) = (item.kind, item.do_not_drive_from) {
        return from.checked_sub_months(Months::new(1200)).unwrap_or(from);
    }
    let due = item.timeline.due.map(|moment| moment.at);
    let moments = item.do_not_drive_from.into_iter().chain(due);
    moments.min().unwrap_or_else(|| LAST_DAY.and_time(NaiveTime::MIN).and_utc())
}

/// Every derived row of one vehicle but its marks.
pub(super) struct Rows {
    pub(super) judgements: Vec<JudgementRow>,
    pub(super) hours: Vec<HourRow>,
    pub(super) grades: Vec<GradeRow>,
    pub(super) usage: Vec<UsageRow>,
    pub(super) items: Vec<ItemRow>,
    pub(super) windows: Vec<WindowRow>,
}

impl Rows {
    /// As the horizon of a vehicle at that depot wants them.
    pub(super) fn of(depot: DepotId, horizon: &Horizon) -> Self {
        let usage = horizon.usage.as_ref().map(|usage| UsageRow { body: json_text(usage) });
        Self {
            judgements: horizon.judgements.iter().map(JudgementRow::from).collect(),
            hours: horizon.hour_judgements.iter().map(HourRow::from).collect(),
            grades: horizon.grades.iter().map(GradeRow::from).collect(),
            usage: usage.into_iter().collect(),
            items: horizon.items.iter().map(|item| ItemRow::of(horizon.vehicle, depot, item)).collect(),
            windows: horizon.windows.iter().map(|window| WindowRow::of(depot, window)).collect(),
        }
    }

    /// As they are kept.
    pub(super) async fn kept(
        conn: &mut Conn<'_>,
        fleet: FleetId,
        vehicle: VehicleId,
    ) -> Result<Self, StoreError> {
        let (fleet, vehicle) = (fleet.0, vehicle.0);
        Ok(Self {
            judgements: fetch!(fetch_all, conn, JudgementRow, JUDGEMENTS, fleet, vehicle)?,
            hours: hours::kept(conn, fleet, vehicle).await?,
            grades: fetch!(fetch_all, conn, GradeRow, GRADES, fleet, vehicle)?,
            usage: fetch!(fetch_all, conn, UsageRow, USAGE, fleet, vehicle)?,
            items: fetch!(fetch_all, conn, ItemRow, ITEMS, fleet, vehicle)?,
            windows: fetch!(fetch_all, conn, WindowRow, WINDOWS, fleet, vehicle)?,
        })
    }
}
