//! Records that are changed in place, as they stood in the past: rebuilt from the record of changes.
//!
//! Each change keeps what it found. The first change after an instant therefore tells how the record stood at it.

use crate::parse::{InRow, json_text};
use crate::{AsKnown, Conn, StoreError};
use model::FleetId;
use serde::Serialize;
use serde::de::DeserializeOwned;
use serde_json::Value;
use std::collections::BTreeMap;

statements! {
    FOUND_BY_CHANGES = {
        "SELECT a.subject_id, a.before FROM audit AS a JOIN act AS c ON c.fleet_id = a.fleet_id AND c.id = a.act_id"
        "WHERE a.fleet_id = $1 AND a.subject = $2 AND a.before IS NOT NULL AND c.recorded_at > $3 AND a.subject_id IN"
        sqlite: "(SELECT value FROM json_each($4))"
        postgres: "(SELECT json_array_elements_text($4::json))"
        "ORDER BY a.subject_id, c.seq, a.ordinal"
    }
}

/// A record that is changed in place.
pub(crate) trait Patched: Serialize + DeserializeOwned {
    /// What the record of changes calls its kind.
    const SUBJECT: &'static str;
    /// Members that come from elsewhere, and are left as they are.
    const FROM_ELSEWHERE: &'static [&'static str];

    /// Its id, as the record of changes writes it.
    fn subject_id(&self) -> String;
}

impl Patched for model::Vehicle {
    const SUBJECT: &'static str = "vehicle";
    const FROM_ELSEWHERE: &'static [&'static str] = &["attributes", "zone", "jurisdiction", "design_low"];

    fn subject_id(&self) -> String {
        self.id.to_string()
    }
}

impl Patched for model::Depot {
    const SUBJECT: &'static str = "depot";
    const FROM_ELSEWHERE: &'static [&'static str] = &[];

    fn subject_id(&self) -> String {
        self.id.to_string()
    }
}

impl Patched for model::Workshop {
    const SUBJECT: &'static str = "workshop";
    const FROM_ELSEWHERE: &'static [&'static str] = &[];

    fn subject_id(&self) -> String {
        self.id.to_string()
    }
}

/// The records as they stood then. Today's are given back as they are, without asking.
pub(crate) async fn restored<T: Patched>(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    records: Vec<T>,
    known: AsKnown,
) -> Result<Vec<T>, StoreError> {
    if known == AsKnown::NOW || records.is_empty() {
        return Ok(records);
    }
    let ids: Vec<String> = records.iter().map(Patched::subject_id).collect();
    let found = found_by_changes(conn, fleet, T::SUBJECT, &ids, known).await?;
    let restore = |record: T| match found.get(&record.subject_id()) {
        Some(before) => overlaid(&record, T::FROM_ELSEWHERE, before, &record.subject_id()),
        None => Ok(record),
    };
    records.into_iter().map(restore).collect()
}

/// The policy as it stood then.
pub(crate) async fn restored_policy(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    policy: model::Policy,
    known: AsKnown,
) -> Result<model::Policy, StoreError> {
    if known == AsKnown::NOW {
        return Ok(policy);
    }
    let id = fleet.to_string();
    let found = found_by_changes(conn, fleet, "policy", std::slice::from_ref(&id), known).await?;
    found.get(&id).map_or(Ok(policy.clone()), |before| overlaid(&policy, &[], before, &id))
}

/// What the first change of each record after that instant found, by id.
async fn found_by_changes(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    subject: &str,
    ids: &[String],
    known: AsKnown,
) -> Result<BTreeMap<String, String>, StoreError> {
    let list = json_text(&ids);
    let rows =
        fetch!(fetch_all, conn, (String, String), FOUND_BY_CHANGES, fleet.0, subject, known.bound(), list)?;
    let mut first = BTreeMap::new();
    for (id, before) in rows {
        first.entry(id).or_insert(before);
    }
    Ok(first)
}

/// The record with the members that `before` gives them. A member that was not yet kept then stays as it is today, and
/// one that is no longer kept is left out.
fn overlaid<T: Serialize + DeserializeOwned>(
    today: &T,
    from_elsewhere: &[&str],
    before: &str,
    id: &str,
) -> Result<T, StoreError> {
    let at = InRow::new("audit of", id);
    let mut record: Value = at.json("record", &json_text(today))?;
    let before: BTreeMap<String, Value> = at.json("before", before)?;
    for (name, value) in before {
        if from_elsewhere.contains(&name.as_str()) {
            continue;
        }
        if let Some(member) = record.get_mut(&name) {
            *member = value;
        }
    }
    serde_json::from_value(record).map_err(|problem| at.fault("before", problem))
}
