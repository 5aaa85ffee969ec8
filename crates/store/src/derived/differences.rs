//! How kept rows differ from those that are wanted.

use super::rows::DerivedRow;
use crate::parse::json_text;
use serde::Serialize;
use std::collections::BTreeMap;

/// A row that is kept otherwise than it is computed; as JSON of its columns, none where there is no such row.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Difference {
    /// Its table.
    pub table: &'static str,
    /// What tells it from the vehicle's other rows of that table.
    pub key: String,
    /// As it is kept.
    pub stored: Option<String>,
    /// As it is computed.
    pub computed: Option<String>,
}

/// What comparing rows came to.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Comparison {
    /// How many rows were compared: those kept, and those computed beyond them.
    pub rows: usize,
    /// Where they differ.
    pub differences: Vec<Difference>,
}

impl Comparison {
    /// Notes one row: the same where both texts are.
    pub(crate) fn note(&mut self, table: &'static str, key: String, texts: [Option<String>; 2]) {
        self.rows += 1;
        let [stored, computed] = texts;
        if stored != computed {
            self.differences.push(Difference { table, key, stored, computed });
        }
    }

    /// Compares the rows of one table.
    pub(super) fn add<R: DerivedRow>(&mut self, kept: Vec<R>, wanted: &[R]) {
        let mut kept: BTreeMap<String, R> = kept.into_iter().map(|row| (row.key(), row)).collect();
        for row in wanted {
            let stored = kept.remove(&row.key());
            self.note(R::TABLE, row.key(), [text(stored.as_ref()), text(Some(row))]);
        }
        for (key, row) in kept {
            self.note(R::TABLE, key, [text(Some(&row)), None]);
        }
    }
}

fn text<R: Serialize>(row: Option<&R>) -> Option<String> {
    row.map(json_text)
}

/// What must change so that the kept rows are the wanted ones.
pub(super) struct Changes<R> {
    /// Rows no longer wanted.
    pub(super) gone: Vec<R>,
    /// Rows that are new or otherwise now.
    pub(super) changed: Vec<R>,
}

impl<R: DerivedRow> Changes<R> {
    pub(super) fn between(kept: Vec<R>, wanted: Vec<R>) -> Self {
        let mut kept: BTreeMap<String, R> = kept.into_iter().map(|row| (row.key(), row)).collect();
        let changed =
            wanted.into_iter().filter(|row| kept.remove(&row.key()).as_ref() != Some(row)).collect();
        Self { gone: kept.into_values().collect(), changed }
    }
}
