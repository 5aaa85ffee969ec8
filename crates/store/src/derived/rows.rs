//! Comparing derived rows that are kept with those that are wanted.

use crate::parse::json_text;
use model::{DepotId, Verdict};
use serde::Serialize;
use std::collections::BTreeMap;
use uuid::Uuid;

/// A kept row with the depot it is listed under.
#[derive(sqlx::FromRow)]
pub(super) struct Kept<K> {
    id: K,
    body: String,
    depot_id: Uuid,
}

/// Keys and bodies of kept rows; a row listed under another depot counts as having no body, so that it is written anew.
pub(super) fn of_depot<K>(kept: Vec<Kept<K>>, depot: DepotId) -> Vec<(K, String)> {
    let body = |row: &mut Kept<K>| {
        if row.depot_id == depot.0 { std::mem::take(&mut row.body) } else { String::new() }
    };
    kept.into_iter().map(|mut row| (body(&mut row), row)).map(|(body, row)| (row.id, body)).collect()
}

/// What must change so that the kept rows are the wanted ones.
pub(super) struct Differences<'a, K, T> {
    /// Keys of rows no longer wanted.
    pub(super) gone: Vec<K>,
    /// Rows that are new or say something else now, with their bodies.
    pub(super) changed: Vec<(K, &'a T, String)>,
}

impl<'a, K: Ord, T: Serialize> Differences<'a, K, T> {
    pub(super) fn between(kept: Vec<(K, String)>, wanted: impl Iterator<Item = (K, &'a T)>) -> Self {
        let mut kept: BTreeMap<K, String> = kept.into_iter().collect();
        let mut changed = Vec::new();
        for (key, value) in wanted {
            let body = json_text(value);
            if kept.remove(&key).is_none_or(|old| old != body) {
                changed.push((key, value, body));
            }
        }
        Self { gone: kept.into_keys().collect(), changed }
    }
}

/// The word of a verdict.
pub(super) const fn verdict_word(verdict: &Verdict) -> &'static str {
    match verdict {
        Verdict::Counted { .. } => "counted",
        Verdict::Held { .. } => "held",
        Verdict::Withdrawn => "withdrawn",
    }
}

/// The value that counts, in millimetres.
pub(super) const fn counted_mm(verdict: &Verdict) -> Option<i64> {
    match verdict {
        Verdict::Counted { odometer } => Some(odometer.mm()),
        Verdict::Held { .. } | Verdict::Withdrawn => None,
    }
}
