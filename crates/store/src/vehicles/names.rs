//! Which vehicle a text means: by id, VIN, plate or label.

use crate::parse::json_text;
use crate::{Conn, StoreError, id_list};
use chrono::NaiveDate;
use model::{FleetId, Vehicle, VehicleId};
use std::collections::{BTreeMap, BTreeSet};
use uuid::Uuid;

statements! {
    /// Whoever bears or once bore one of the texts; whether on the day in question is seen from the vehicle.
    BEARERS = {
        "SELECT id FROM vehicle WHERE fleet_id = $1 AND (id IN" ids: "$2"
        "OR vin IN"
        sqlite: "(SELECT value FROM json_each($3))"
        postgres: "(SELECT json_array_elements_text($3::json))"
        ") UNION SELECT vehicle_id FROM vehicle_attributes WHERE fleet_id = $1 AND (label IN"
        sqlite: "(SELECT value FROM json_each($3))"
        postgres: "(SELECT json_array_elements_text($3::json))"
        "OR plate IN"
        sqlite: "(SELECT value FROM json_each($3))"
        postgres: "(SELECT json_array_elements_text($3::json))"
        ") ORDER BY 1"
    }
}

/// The vehicles that `text` means on `day`: by id or VIN, or by the plate or label then in force; retired ones no
/// longer bear a plate or label.
pub async fn resolve(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    text: &str,
    day: NaiveDate,
) -> Result<Vec<VehicleId>, StoreError> {
    let mut found = resolve_many(conn, fleet, &[(text.to_owned(), day)]).await?;
    Ok(found.pop().unwrap_or_default())
}

/// The same for many texts, each on its own day: one list of vehicles for each, in the order asked.
pub async fn resolve_many(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    asked: &[(String, NaiveDate)],
) -> Result<Vec<Vec<VehicleId>>, StoreError> {
    let texts: BTreeSet<&str> = asked.iter().map(|(text, _)| text.as_str()).collect();
    let ids = id_list(texts.iter().filter_map(|text| Uuid::parse_str(text).ok()));
    let rows = fetch!(fetch_all, conn, (Uuid,), BEARERS, fleet.0, ids, json_text(&texts))?;
    let vehicles =
        super::of_ids(conn, fleet, &id_list(rows.into_iter().map(|(id,)| id)), crate::AsKnown::NOW).await?;
    let mut answers: BTreeMap<&(String, NaiveDate), Vec<VehicleId>> = BTreeMap::new();
    for question in asked {
        answers.entry(question).or_insert_with(|| bearers(&vehicles, &question.0, question.1));
    }
    Ok(asked.iter().map(|question| answers.get(question).cloned().unwrap_or_default()).collect())
}

fn bearers(vehicles: &[Vehicle], text: &str, day: NaiveDate) -> Vec<VehicleId> {
    let id = Uuid::parse_str(text).ok();
    vehicles
        .iter()
        .filter(|vehicle| Some(vehicle.id.0) == id || bears(vehicle, text, day))
        .map(|v| v.id)
        .collect()
}

fn bears(vehicle: &Vehicle, text: &str, day: NaiveDate) -> bool {
    if vehicle.vin.as_ref().is_some_and(|vin| vin.as_str() == text) {
        return true;
    }
    let here = vehicle.retired_on.is_none_or(|left| day <= left);
    let named = |then: &model::Attributes| then.label == text || then.plate.as_deref() == Some(text);
    here && vehicle.attributes_on(day).is_some_and(named)
}
