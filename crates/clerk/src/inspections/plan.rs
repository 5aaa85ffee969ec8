//! What a batch will store: every entry judged against what is on record, before anything is written.

use super::clock::{self, Timed};
use super::{Batch, Entry, FindingEntered, HeldReason, MeasurementEntered, content};
use crate::Act;
use crate::error::{ActError, Fault};
use chrono::{DateTime, TimeDelta, Utc};
use model::{
    CheckSheet, Code, Finding, FindingId, Inspection, InspectionId, Measurement, MeasurementId,
    OdometerReading, Place, ReadingId, ReadingSource, Vehicle, VehicleId, Zone, day_start,
};
use quantity::{Distance, Entered, Unit};
use std::collections::{BTreeMap, BTreeSet};
use store::inspections::{EntryRow, InspectionRow, RejectedRow};
use store::readings::ReadingLinks;
use uuid::Uuid;

/// One may correct one's own entries for so long.
const CORRECTABLE: TimeDelta = TimeDelta::days(7);

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

/// What is on record that entries are judged against.
struct Known {
    by_text: BTreeMap<(String, chrono::NaiveDate), Vec<VehicleId>>,
    vehicles: BTreeMap<VehicleId, Vehicle>,
    sheets: BTreeMap<(Code, Option<i64>), Option<CheckSheet>>,
    entries: BTreeMap<Uuid, ([u8; 32], InspectionId)>,
    corrected: BTreeMap<Uuid, Option<Earlier>>,
}

/// An earlier inspection that an entry wants to correct.
struct Earlier {
    inspection: Inspection,
    vehicle: VehicleId,
    recorded_by: Option<Uuid>,
}

impl Plan {
    pub(super) async fn make(act: &mut Act, batch: &Batch) -> Result<Self, ActError> {
        let mut known = Known::look_up(act, batch).await?;
        let mut fates = Vec::with_capacity(batch.entries.len());
        for raw in &batch.entries {
            let fate = match &raw.parsed {
                Ok(entry) => known.judge(act, batch, entry, content::hash(&raw.raw)),
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
        let raw = store::inspections::BatchRow {
            id: batch.id,
            device_id: batch.device_id.clone(),
            device_seq: batch.device_seq,
            device_sent_at: batch.device_sent_at,
            received_at: batch.received_at,
            clock_offset_seconds: (batch.received_at - batch.device_sent_at).num_seconds(),
            entries: i64::try_from(batch.entries.len()).unwrap_or(i64::MAX),
            raw: batch.raw.clone(),
        };
        store::inspections::insert_batch(&mut act.conn(), fleet, &raw, &stamp).await?;
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
        let held = self.timed.in_doubt || matches!(self.correction, Some(Correction::NeedsManager));
        EntryRow {
            id: self.inspection.id.0,
            content_hash: self.hash.to_vec(),
            inspection: self.inspection.id,
            batch_id: Some(batch),
            held,
        }
    }
}

impl Known {
    async fn look_up(act: &mut Act, batch: &Batch) -> Result<Self, ActError> {
        let fleet = act.fleet();
        let entries: Vec<&Entry> = batch.entries.iter().filter_map(|raw| raw.parsed.as_ref().ok()).collect();
        let mut by_text = BTreeMap::new();
        let mut vehicles = BTreeMap::new();
        let mut sheets = BTreeMap::new();
        let mut corrected = BTreeMap::new();
        for entry in &entries {
            let key = (entry.vehicle.clone(), entry.performed_at.date_naive());
            if !by_text.contains_key(&key) {
                let found = store::vehicles::resolve(&mut act.conn(), fleet, &key.0, key.1).await?;
                for id in &found {
                    if !vehicles.contains_key(id) {
                        vehicles.insert(*id, crate::vehicles::find(act, *id).await?);
                    }
                }
                by_text.insert(key, found);
            }
            let sheet = (entry.check_sheet.code.clone(), entry.check_sheet.version);
            if !sheets.contains_key(&sheet) {
                let found = match sheet.1 {
                    Some(version) => store::sheets::find(&mut act.conn(), fleet, &sheet.0, version).await?,
                    None => store::sheets::newest(&mut act.conn(), fleet, &sheet.0).await?,
                };
                sheets.insert(sheet, found);
            }
            if let Some(id) = entry.corrects {
                corrected.insert(id, earlier(act, id).await?);
            }
        }
        let ids: Vec<Uuid> = entries.iter().map(|entry| entry.entry_id).collect();
        let used = store::inspections::entries_by_ids(&mut act.conn(), fleet, &ids).await?;
        let entries = used
            .into_iter()
            .filter_map(|row| Some((row.id, (row.content_hash.try_into().ok()?, row.inspection))))
            .collect();
        Ok(Self { by_text, vehicles, sheets, entries, corrected })
    }

    fn judge(&mut self, act: &Act, batch: &Batch, entry: &Entry, hash: [u8; 32]) -> Fate {
        if let Some((earlier, inspection)) = self.entries.get(&entry.entry_id) {
            if *earlier == hash {
                return Fate::Duplicate(*inspection);
            }
            let detail = "this entry id was used before with other content; a new entry needs a new id";
            return rejected(409, "entry-content-differs", vec![Fault::new("/entry_id", "used", detail)]);
        }
        let mut faults = Vec::new();
        let vehicle = match self.vehicle_of(entry) {
            Ok(vehicle) => vehicle,
            Err((404, fault)) => return rejected(404, "vehicle-unknown", vec![fault]),
            Err((_, fault)) => return rejected(422, "vehicle-ambiguous", vec![fault]),
        };
        let sheet = self.sheet_of(entry, &mut faults);
        let first = vehicle.in_service_on.map(|day| day_start(day, vehicle.zone));
        let timed = clock::judge(entry.performed_at, batch.device_sent_at, batch.received_at, first);
        let measurements = measurements(act, entry, &mut faults);
        let odometer = entry.odometer.and_then(|entered| odometer(entered, &mut faults));
        if !faults.is_empty() {
            return rejected(422, "entry-invalid", faults);
        }
        let id = InspectionId(entry.entry_id);
        let reading = odometer.map(|(entered, odometer)| OdometerReading {
            id: ReadingId(act.new_id()),
            entered,
            odometer,
            read_at: timed.at,
            recorded_at: act.at(),
            source: ReadingSource::Technician,
            clock_in_doubt: timed.in_doubt,
        });
        let inspection = Inspection {
            id,
            sheet: entry.check_sheet.code.clone(),
            sheet_version: sheet,
            performed_at: timed.at,
            recorded_at: act.at(),
            clock_in_doubt: timed.in_doubt,
            reading: reading.as_ref().map(|reading| reading.id),
            measurements,
            note: entry.note.clone(),
        };
        let vehicle = vehicle.id;
        self.entries.insert(entry.entry_id, (hash, id));
        Fate::Stored(Box::new(Stored {
            vehicle,
            inspection,
            timed,
            reading,
            findings: entry.findings.iter().map(|found| finding(act, id, timed.at, found)).collect(),
            unknown_members: entry.unknown_members.clone(),
            hash,
            correction: entry.corrects.map(|id| self.correction(act, id)),
        }))
    }

    fn vehicle_of(&self, entry: &Entry) -> Result<&Vehicle, (u16, Fault)> {
        let key = (entry.vehicle.clone(), entry.performed_at.date_naive());
        let found = self.by_text.get(&key).map(Vec::as_slice).unwrap_or_default();
        let vehicles: Vec<&Vehicle> = found.iter().filter_map(|id| self.vehicles.get(id)).collect();
        match vehicles.as_slice() {
            [one] => Ok(one),
            [] => {
                let detail = "no vehicle of this fleet bore this id, plate, label or VIN at that time";
                Err((404, Fault::new("/vehicle", "unknown", detail)))
            }
            several => {
                let labels: Vec<String> = several.iter().map(|vehicle| vehicle.id.to_string()).collect();
                let detail = format!("it may mean any of {}; use the vehicle's id", labels.join(", "));
                Err((422, Fault::new("/vehicle", "ambiguous", detail)))
            }
        }
    }

    fn sheet_of(&self, entry: &Entry, faults: &mut Vec<Fault>) -> i64 {
        let key = (entry.check_sheet.code.clone(), entry.check_sheet.version);
        if let Some(Some(sheet)) = self.sheets.get(&key) {
            return sheet.version;
        }
        let version = key.1.map_or_else(String::new, |version| format!(" in version {version}"));
        let detail = format!("there is no check sheet {}{version} in this fleet", key.0);
        faults.push(Fault::new("/check_sheet", "unknown", detail));
        0
    }

    fn correction(&self, act: &Act, corrects: Uuid) -> Correction {
        let own = |earlier: &&Earlier| {
            let by = act.stamp().recorded_by;
            by.is_some() && earlier.recorded_by == by
        };
        let recent = |earlier: &&Earlier| act.at() - earlier.inspection.recorded_at <= CORRECTABLE;
        match self.corrected.get(&corrects).and_then(Option::as_ref).filter(own).filter(recent) {
            Some(earlier) => Correction::Replaces {
                vehicle: earlier.vehicle,
                inspection: earlier.inspection.id,
                reading: earlier.inspection.reading,
            },
            None => Correction::NeedsManager,
        }
    }
}

async fn earlier(act: &mut Act, id: Uuid) -> Result<Option<Earlier>, ActError> {
    let fleet = act.fleet();
    let found = store::inspections::find_with_author(&mut act.conn(), fleet, InspectionId(id)).await?;
    Ok(found.map(|(vehicle, inspection, recorded_by)| Earlier { inspection, vehicle, recorded_by }))
}

fn rejected(status: u16, code: &'static str, faults: Vec<Fault>) -> Fate {
    Fate::Rejected { status, code, faults, raw: String::new() }
}

fn odometer(entered: Entered, faults: &mut Vec<Fault>) -> Option<(Entered, Distance)> {
    let before = faults.len();
    let distance = crate::vehicles::read_odometer(Some(entered), "/odometer", faults);
    (faults.len() == before).then_some((entered, distance))
}

fn finding(act: &Act, inspection: InspectionId, at: DateTime<Utc>, entered: &FindingEntered) -> Finding {
    Finding {
        id: FindingId(act.new_id()),
        inspection: Some(inspection),
        code: entered.code.clone(),
        component: entered.component.clone(),
        place: entered.place.unwrap_or(Place::Vehicle),
        weight: entered.weight,
        note: entered.note.clone(),
        found_at: at,
        closed_at: None,
    }
}

/// Reads the measurements of an entry, naming every fault and what is allowed.
fn measurements(act: &Act, entry: &Entry, faults: &mut Vec<Fault>) -> Vec<Measurement> {
    let mut seen = BTreeSet::new();
    let mut read = Vec::with_capacity(entry.measurements.len());
    for (index, entered) in entry.measurements.iter().enumerate() {
        match measurement(act, entered, &format!("/measurements/{index}")) {
            Ok(measured) if !seen.insert((measured.point.clone(), measured.place, measured.zone)) => {
                let detail = format!(
                    "{} {} {} was measured twice in this entry",
                    measured.point, measured.place, measured.zone
                );
                faults.push(Fault::new(format!("/measurements/{index}"), "twice", detail));
            }
            Ok(measured) => read.push(measured),
            Err(found) => faults.extend(found),
        }
    }
    read
}

fn measurement(act: &Act, entered: &MeasurementEntered, pointer: &str) -> Result<Measurement, Vec<Fault>> {
    let point = gauge::point(&entered.point).ok_or_else(|| {
        let known: Vec<&str> = gauge::points().iter().map(|point| point.code).collect();
        let detail = format!("there is no check point {:?}; there are {}", entered.point, known.join(", "));
        vec![Fault::new(format!("{pointer}/point"), "unknown", detail)]
    })?;
    let mut faults = Vec::new();
    let place = word(
        Place::from_word(&entered.place),
        Place::ALL,
        &entered.place,
        format!("{pointer}/place"),
        &mut faults,
    );
    let zone_text = entered.zone.as_deref().unwrap_or(Zone::Whole.word());
    let zone = word(Zone::from_word(zone_text), Zone::ALL, zone_text, format!("{pointer}/zone"), &mut faults);
    let unit = word(
        Unit::from_code(&entered.unit),
        &Unit::ALL,
        &entered.unit,
        format!("{pointer}/unit"),
        &mut faults,
    );
    let (Some(place), Some(zone), Some(unit)) = (place, zone, unit) else { return Err(faults) };
    let value = Entered::new(entered.value, unit);
    point.accepts(place, zone, value).map_err(|error| vec![Fault::new(pointer, error.code(), &error)])?;
    let exact = value.exact().map_err(|error| vec![Fault::quantity(pointer, &error)])?;
    let code = Code::new(point.code).map_err(|error| vec![Fault::code(pointer, &error)])?;
    Ok(Measurement { id: MeasurementId(act.new_id()), point: code, place, zone, entered: value, exact })
}

/// `found`, or a fault that lists the words allowed.
fn word<T: std::fmt::Display>(
    found: Option<T>,
    all: &[T],
    text: &str,
    pointer: String,
    faults: &mut Vec<Fault>,
) -> Option<T> {
    if found.is_none() {
        let allowed: Vec<String> = all.iter().map(ToString::to_string).collect();
        faults.push(Fault::new(pointer, "unknown", format!("{text:?} is none of {}", allowed.join(", "))));
    }
    found
}

impl Correction {
    pub(super) const fn held(&self) -> Option<HeldReason> {
        match self {
            Self::NeedsManager => Some(HeldReason::CorrectionNeedsManager),
            Self::Replaces { .. } => None,
        }
    }
}
