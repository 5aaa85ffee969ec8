//! How the readings of running hours were judged.

use super::rows::Differences;
use crate::parse::InRow;
use crate::{Conn, StoreError};
use model::horizon::Horizon;
use model::{FleetId, HourJudgement, HourVerdict, VehicleId};
use uuid::Uuid;

statements! {
    KEPT = { "SELECT reading_id AS id, detail AS body FROM hour_judgement WHERE fleet_id = $1 AND vehicle_id = $2" }
    DROP = { "DELETE FROM hour_judgement WHERE fleet_id = $1 AND vehicle_id = $2 AND reading_id IN" ids: "$3" }
    KEEP = {
        "INSERT INTO hour_judgement (fleet_id, vehicle_id, reading_id, verdict, seconds, detail)"
        "VALUES ($1, $2, $3, $4, $5, $6) ON CONFLICT (fleet_id, vehicle_id, reading_id) DO UPDATE SET"
        "verdict = excluded.verdict, seconds = excluded.seconds, detail = excluded.detail"
    }
    JUDGEMENTS = {
        "SELECT reading_id, detail FROM hour_judgement WHERE fleet_id = $1 AND vehicle_id = $2 ORDER BY reading_id"
    }
}

/// Makes the judgements kept those of the horizon; says how many rows had to change.
pub(super) async fn replace(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    horizon: &Horizon,
) -> Result<u64, StoreError> {
    let vehicle = horizon.vehicle.0;
    let kept = fetch!(fetch_all, conn, (Uuid, String), KEPT, fleet.0, vehicle)?;
    let wanted = horizon.hour_judgements.iter().map(|judgement| (judgement.reading.0, judgement));
    let Differences { gone, changed } = Differences::between(kept, wanted);
    let mut touched = 0;
    if !gone.is_empty() {
        touched += execute!(conn, DROP, fleet.0, vehicle, crate::id_list(gone))?;
    }
    touched += batch!(conn, KEEP, changed, |(reading, judgement, detail)| [
        fleet.0,
        vehicle,
        *reading,
        word(&judgement.verdict),
        counted_seconds(&judgement.verdict),
        detail.as_str()
    ])?;
    Ok(touched)
}

const fn word(verdict: &HourVerdict) -> &'static str {
    match verdict {
        HourVerdict::Counted { .. } => "counted",
        HourVerdict::Held { .. } => "held",
        HourVerdict::Withdrawn => "withdrawn",
    }
}

const fn counted_seconds(verdict: &HourVerdict) -> Option<i64> {
    match verdict {
        HourVerdict::Counted { seconds } => Some(*seconds),
        HourVerdict::Held { .. } | HourVerdict::Withdrawn => None,
    }
}

/// How each reading of a vehicle's running hours was judged.
pub async fn hour_judgements(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    vehicle: VehicleId,
) -> Result<Vec<HourJudgement>, StoreError> {
    let rows = fetch!(fetch_all, conn, (Uuid, String), JUDGEMENTS, fleet.0, vehicle.0)?;
    rows.into_iter().map(|(id, detail)| InRow::new("hour_judgement", id).json("detail", &detail)).collect()
}
