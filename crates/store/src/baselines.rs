//! Answers to the baseline check of used vehicles.

use crate::acts::Stamp;
use crate::pages::behind_id;
use crate::parse::{InRow, json_text};
use crate::rows::{each, each_fact, one_fact};
use crate::{AsKnown, Conn, StoreError};
use chrono::{DateTime, Utc};
use model::{BaselineAnswer, BaselineId, FleetId, VehicleId};
use uuid::Uuid;

statements! {
    INSERT = {
        "INSERT INTO baseline_answer (fleet_id, id, vehicle_id, rule_code, choice, recorded_at, recorded_by, source,"
        "act_id) VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9)"
    }
    FIND = {
        "SELECT id, vehicle_id, rule_code, choice, recorded_at FROM baseline_answer"
        "WHERE fleet_id = $1 AND vehicle_id = $2 AND id = $3 AND withdrawn_at IS NULL"
    }
    PAGE = {
        "SELECT id, vehicle_id, rule_code, choice, recorded_at FROM baseline_answer"
        "WHERE fleet_id = $1 AND vehicle_id = $2 AND withdrawn_at IS NULL AND id > $3 ORDER BY id LIMIT $4"
    }
    OF_VEHICLES = {
        "SELECT id, vehicle_id, rule_code, choice, recorded_at FROM baseline_answer"
        "WHERE fleet_id = $1 AND vehicle_id IN" ids: "$2"
        "AND recorded_at <= $3 AND (withdrawn_at IS NULL OR withdrawn_at > $3)"
        "ORDER BY vehicle_id, recorded_at, id"
    }
}

#[derive(sqlx::FromRow)]
struct Row {
    id: Uuid,
    vehicle_id: Uuid,
    rule_code: String,
    choice: String,
    recorded_at: DateTime<Utc>,
}

impl TryFrom<Row> for (VehicleId, BaselineAnswer) {
    type Error = StoreError;

    fn try_from(row: Row) -> Result<Self, StoreError> {
        let at = InRow::new("baseline_answer", row.id);
        let answer = BaselineAnswer {
            id: BaselineId(row.id),
            rule: at.code("rule_code", &row.rule_code)?,
            choice: at.json("choice", &row.choice)?,
            recorded_at: row.recorded_at,
        };
        Ok((VehicleId(row.vehicle_id), answer))
    }
}

/// Keeps answers in one statement.
pub async fn insert(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    vehicle: VehicleId,
    answers: &[BaselineAnswer],
    stamp: &Stamp,
) -> Result<(), StoreError> {
    batch!(conn, INSERT, answers, |answer| [
        fleet.0,
        answer.id.0,
        vehicle.0,
        answer.rule.as_str(),
        json_text(&answer.choice),
        stamp.recorded_at,
        stamp.recorded_by,
        &stamp.source,
        stamp.act.0,
    ])?;
    Ok(())
}

/// The answer of this id, unless it was withdrawn.
pub async fn find(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    vehicle: VehicleId,
    id: BaselineId,
) -> Result<Option<BaselineAnswer>, StoreError> {
    one_fact(fetch!(fetch_optional, conn, Row, FIND, fleet.0, vehicle.0, id.0)?)
}

/// A vehicle's answers behind `after`, in order of ids.
pub async fn page(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    vehicle: VehicleId,
    after: Option<BaselineId>,
    limit: i64,
) -> Result<Vec<BaselineAnswer>, StoreError> {
    let after = behind_id(after.map(|id| id.0));
    each_fact(fetch!(fetch_all, conn, Row, PAGE, fleet.0, vehicle.0, after, limit)?)
}

/// Answers of the vehicles on a list that are not withdrawn.
pub(crate) async fn of_vehicles(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    list: &str,
    known: AsKnown,
) -> Result<Vec<(VehicleId, BaselineAnswer)>, StoreError> {
    each(fetch!(fetch_all, conn, Row, OF_VEHICLES, fleet.0, list, known.bound())?)
}
