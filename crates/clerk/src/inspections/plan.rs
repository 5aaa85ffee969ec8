//! What a batch will store: every entry judged against what is on record, before anything is written.

use super::clock::Timed;
use super::known::Known;
use super::{Batch, HeldReason, SheetUnknown, content};
use crate::Act;
use crate::error::{ActError, Fault};
use model::{Finding, Inspection, InspectionId, OdometerReading, ReadingId, SetAside, VehicleId};
use std::collections::BTreeSet;
use store::inspections::{BatchRow, EntryRow, InspectionRow, RejectedRow};
use store::readings::ReadingLinks;
use uuid::Uuid;

/// What will become of each entry, in order.
pub(super) struct Plan {
    pub(super) fates: Vec<(Option<String>, Fate)>,
}

/// What will become of one entry.
pub(super) enum Fate {
    Stored(Box<Stored>),
    Duplicate(InspectionId),
    Rejected { status: u16, code: &'static str, faults: Vec<Fault>, raw: String },
}

/// An entry that will be stored, whole or in part held.
pub(super) struct Stored {
    pub(super) vehicle: VehicleId,
    pub(super) inspection: Inspection,
    pub(super) timed: Timed,
    pub(super) set_aside: Vec<SetAside>,
    pub(super) sheet_unknown: Option<SheetUnknown>,
    pub(super) reading: Option<OdometerReading>,
    pub(super) findings: Vec<Finding>,
    pub(super) unknown_members: Vec<String>,
    pub(super) hash: [u8; 32],
    pub(super) correction: Option<Correction>,
}

/// What an entry that corrects another does to it.
pub(super) enum Correction {
    Replaces { vehicle: VehicleId, inspection: InspectionId, reading: Option<ReadingId> },
    NeedsManager,
}

impl Plan {
    pub(super) async fn make(act: &mut Act, batch: &Batch) -> Result<Self, ActError> {
        let mut known = Known::look_up(act, batch).await?;
        let mut fates = Vec::with_capacity(batch.entries.len());
        for raw in &batch.entries {
            let fate = match &raw.parsed {
                Ok(entry) => known.judge(act, batch, raw, entry),
                Err(faults) => rejected(422, "entry-invalid", faults.clone()),
            };
            let fate = match fate {
                Fate::Rejected { status, code, faults, .. } => {
                    Fate::Rejected { status, code, faults, raw: raw.raw.to_string() }
                }
                other => other,
            };
            fates.push((raw.entry_id_text.clone(), fate));
        }
        Ok(Self { fates })
    }

    /// The vehicles whose horizons change.
    pub(super) fn vehicles(&self) -> BTreeSet<VehicleId> {
        let mut touched = BTreeSet::new();
        for stored in self.stored() {
            touched.insert(stored.vehicle);
            if let Some(Correction::Replaces { vehicle, .. }) = &stored.correction {
                touched.insert(*vehicle);
            }
        }
        touched
    }

    fn stored(&self) -> impl Iterator<Item = &Stored> {
        self.fates.iter().filter_map(|(_, fate)| match fate {
            Fate::Stored(stored) => Some(&**stored),
            Fate::Duplicate(_) | Fate::Rejected { .. } => None,
        })
    }

    /// Stores it all, each table in one statement.
    pub(super) async fn store(&self, act: &mut Act, batch: &Batch) -> Result<(), ActError> {
        let (fleet, at, stamp) = (act.fleet(), act.at(), act.stamp());
        keep(act, batch).await?;
        for stored in self.stored() {
            if let Some(Correction::Replaces { vehicle, inspection, reading }) = &stored.correction {
                store::inspections::withdraw(&mut act.conn(), fleet, *inspection, at).await?;
                if let Some(reading) = reading {
                    store::readings::withdraw(&mut act.conn(), fleet, *vehicle, *reading, at).await?;
                }
            }
        }
        let readings: Vec<_> = self.stored().filter_map(Stored::reading_row).collect();
        store::readings::insert_many(&mut act.conn(), fleet, &readings, &stamp).await?;
        let inspections: Vec<InspectionRow> = self.stored().map(Stored::inspection_row).collect();
        store::inspections::insert_many(&mut act.conn(), fleet, &inspections, &stamp).await?;
        let set_aside: Vec<(VehicleId, SetAside)> =
            self.stored().flat_map(|s| s.set_aside.iter().map(|one| (s.vehicle, one.clone()))).collect();
        store::set_asides::insert_many(&mut act.conn(), fleet, &set_aside, &stamp).await?;
        let findings: Vec<(VehicleId, Finding)> =
            self.stored().flat_map(|s| s.findings.iter().map(|f| (s.vehicle, f.clone()))).collect();
        store::findings::insert_many(&mut act.conn(), fleet, &findings, &stamp).await?;
        let entries: Vec<EntryRow> = self.stored().map(|s| s.entry_row(batch.id)).collect();
        store::inspections::insert_entries(&mut act.conn(), fleet, &entries, &stamp).await?;
        store::inspections::insert_rejected(&mut act.conn(), fleet, &self.rejected_rows(batch.id), &stamp)
            .await?;
        Ok(())
    }

    fn rejected_rows(&self, batch: Uuid) -> Vec<RejectedRow> {
        let rows = self.fates.iter().enumerate().filter_map(|(ordinal, (entry_id, fate))| match fate {
            Fate::Rejected { status, code, faults, raw } => {
                let problem = serde_json::json!({"status": status, "code": code, "faults": faults});
                Some(RejectedRow {
                    batch_id: batch,
                    ordinal: i64::try_from(ordinal).unwrap_or(i64::MAX),
                    entry_id: entry_id.clone(),
                    raw: raw.clone(),
                    problem: problem.to_string(),
                })
            }
            Fate::Stored(_) | Fate::Duplicate(_) => None,
        });
        rows.collect()
    }
}

/// Keeps the batch as it came. One that comes again with the same entries is on record already: a phone that heard no
/// answer may send it under a new key, with a new time of sending.
async fn keep(act: &mut Act, batch: &Batch) -> Result<(), ActError> {
    let (fleet, stamp) = (act.fleet(), act.stamp());
    let row = BatchRow {
        id: batch.id,
        device_id: batch.device_id.clone(),
        device_seq: batch.device_seq,
        device_sent_at: batch.device_sent_at,
        received_at: batch.received_at,
        clock_offset_seconds: (batch.received_at - batch.device_sent_at).num_seconds(),
        entries: i64::try_from(batch.entries.len()).unwrap_or(i64::MAX),
        raw: batch.raw.clone(),
    };
    let Some(earlier) = store::inspections::find_batch(&mut act.conn(), fleet, batch.id).await? else {
        return Ok(store::inspections::insert_batch(&mut act.conn(), fleet, &row, &stamp).await?);
    };
    if entries_of(&earlier.raw) == entries_of(&batch.raw) {
        return Ok(());
    }
    let detail =
        "a batch of this id came in before with other entries; a new batch needs a new id".to_owned();
    Err(ActError::Conflict { code: "batch-content-differs", detail })
}

/// The hash of a batch's entries; none of a body that holds none.
fn entries_of(raw: &str) -> Option<[u8; 32]> {
    let body: serde_json::Value = serde_json::from_str(raw).ok()?;
    body.get("entries").map(content::hash)
}

impl Stored {
    fn reading_row(&self) -> Option<(VehicleId, OdometerReading, ReadingLinks)> {
        let links = ReadingLinks {
            inspection: Some(self.inspection.id),
            service: None,
            sent_at: Some(self.timed.sent),
            clock_offset_seconds: self.timed.offset_seconds,
        };
        self.reading.clone().map(|reading| (self.vehicle, reading, links))
    }

    fn inspection_row(&self) -> InspectionRow {
        InspectionRow {
            vehicle: self.vehicle,
            inspection: self.inspection.clone(),
            sent_at: self.timed.sent,
            clock_offset_seconds: self.timed.offset_seconds,
            clock_corrected: self.timed.corrected,
            unknown_members: self.unknown_members.clone(),
            supersedes: match &self.correction {
                Some(Correction::Replaces { inspection, .. }) => Some(*inspection),
                Some(Correction::NeedsManager) | None => None,
            },
        }
    }

    fn entry_row(&self, batch: Uuid) -> EntryRow {
        let held = self.timed.in_doubt
            || !self.set_aside.is_empty()
            || self.sheet_unknown.is_some()
            || matches!(self.correction, Some(Correction::NeedsManager));
        EntryRow {
            id: self.inspection.id.0,
            content_hash: self.hash.to_vec(),
            inspection: self.inspection.id,
            batch_id: Some(batch),
            held,
        }
    }
}

impl Correction {
    pub(super) const fn held(&self) -> Option<HeldReason> {
        match self {
            Self::NeedsManager => Some(HeldReason::CorrectionNeedsManager),
            Self::Replaces { .. } => None,
        }
    }
}

/// An entry that is refused; its raw text is added when the plan is made.
pub(super) fn rejected(status: u16, code: &'static str, faults: Vec<Fault>) -> Fate {
    Fate::Rejected { status, code, faults, raw: String::new() }
}
