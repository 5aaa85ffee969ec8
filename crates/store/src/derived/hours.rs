//! How the readings of running hours were judged.

use super::differences::Changes;
use super::rows::DerivedRow;
use crate::parse::{InRow, json_text};
use crate::{Conn, StoreError};
use model::{FleetId, HourJudgement, HourVerdict, VehicleId};
use serde::Serialize;
use uuid::Uuid;

statements! {
    OF_VEHICLE = {
        "SELECT reading_id, verdict, seconds, detail FROM hour_judgement WHERE fleet_id = $1 AND vehicle_id = $2"
        "ORDER BY reading_id"
    }
    DROP = { "DELETE FROM hour_judgement WHERE fleet_id = $1 AND vehicle_id = $2 AND reading_id IN" ids: "$3" }
    KEEP = {
        "INSERT INTO hour_judgement (fleet_id, vehicle_id, reading_id, verdict, seconds, detail)"
        "VALUES ($1, $2, $3, $4, $5, $6) ON CONFLICT (fleet_id, vehicle_id, reading_id) DO UPDATE SET"
        "verdict = excluded.verdict, seconds = excluded.seconds, detail = excluded.detail"
    }
}

#[derive(Debug, Clone, PartialEq, Eq, Serialize, sqlx::FromRow)]
pub(super) struct HourRow {
    reading_id: Uuid,
    verdict: String,
    seconds: Option<i64>,
    detail: String,
}

impl DerivedRow for HourRow {
    const TABLE: &'static str = "hour_judgement";

    fn key(&self) -> String {
        self.reading_id.to_string()
    }
}

impl From<&HourJudgement> for HourRow {
    fn from(judgement: &HourJudgement) -> Self {
        let (verdict, seconds) = match judgement.verdict {
            HourVerdict::Counted { seconds } => ("counted", Some(seconds)),
            HourVerdict::Held { .. } => ("held", None),
            HourVerdict::Withdrawn => ("withdrawn", None),
        };
        let (reading_id, verdict) = (judgement.reading.0, verdict.to_owned());
        Self { reading_id, verdict, seconds, detail: json_text(judgement) }
    }
}

/// The rows of a vehicle, as they are kept.
pub(super) async fn kept(
    conn: &mut Conn<'_>,
    fleet: Uuid,
    vehicle: Uuid,
) -> Result<Vec<HourRow>, StoreError> {
    fetch!(fetch_all, conn, HourRow, OF_VEHICLE, fleet, vehicle)
}

/// Makes the changes; says how many rows that were.
pub(super) async fn replace(
    conn: &mut Conn<'_>,
    fleet: Uuid,
    vehicle: Uuid,
    changes: Changes<HourRow>,
) -> Result<u64, StoreError> {
    let mut touched = 0;
    if !changes.gone.is_empty() {
        let gone = crate::id_list(changes.gone.iter().map(|row| row.reading_id));
        touched += execute!(conn, DROP, fleet, vehicle, gone)?;
    }
    touched += batch!(conn, KEEP, changes.changed, |row| [
        fleet,
        vehicle,
        row.reading_id,
        row.verdict.as_str(),
        row.seconds,
        row.detail.as_str()
    ])?;
    Ok(touched)
}

/// How each reading of a vehicle's running hours was judged.
pub async fn hour_judgements(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    vehicle: VehicleId,
) -> Result<Vec<HourJudgement>, StoreError> {
    let rows = kept(conn, fleet.0, vehicle.0).await?;
    rows.iter().map(|row| InRow::new("hour_judgement", row.reading_id).json("detail", &row.detail)).collect()
}
