//! What is on record that the entries of a batch are judged against, and the judging of each.

use super::clock::{self, Timed};
use super::fitted::Fitted;
use super::measured::{Occasion, measurements, odometer_aside};
use super::plan::{Correction, Fate, Stored, rejected};
use super::{Batch, Entry, FindingEntered, RawEntry, SheetRef, SheetUnknown, content};
use crate::Act;
use crate::error::{ActError, Fault};
use chrono::{DateTime, NaiveDate, TimeDelta, Utc};
use model::{
    CheckSheet, Code, Finding, FindingId, Inspection, InspectionId, OdometerReading, Place, ReadingId,
    ReadingSource, Vehicle, VehicleId, day_start, local_day,
};
use quantity::{Distance, Entered};
use std::collections::BTreeMap;
use uuid::Uuid;

/// One may correct one's own entries for so long.
const CORRECTABLE: TimeDelta = TimeDelta::days(7);

/// What is on record that entries are judged against.
#[derive(Default)]
pub(super) struct Known {
    by_text: BTreeMap<(String, NaiveDate), Vec<VehicleId>>,
    vehicles: BTreeMap<VehicleId, Vehicle>,
    sheets: BTreeMap<(Code, Option<i64>), Option<CheckSheet>>,
    entries: BTreeMap<Uuid, ([u8; 32], InspectionId)>,
    corrected: BTreeMap<Uuid, Option<Earlier>>,
    fitted: Fitted,
}

/// An earlier inspection that an entry wants to correct.
struct Earlier {
    inspection: Inspection,
    vehicle: VehicleId,
    recorded_by: Option<Uuid>,
}

/// The version of a check sheet that an inspection is kept under.
struct Followed {
    version: i64,
    unknown: Option<SheetUnknown>,
}

impl Known {
    pub(super) async fn look_up(act: &mut Act, batch: &Batch) -> Result<Self, ActError> {
        let fleet = act.fleet();
        let entries: Vec<&Entry> = batch.entries.iter().filter_map(|raw| raw.parsed.as_ref().ok()).collect();
        let mut known = Self::default();
        for entry in &entries {
            known.look_up_vehicle(act, entry).await?;
            known.look_up_sheet(act, entry).await?;
            if let Some(id) = entry.corrects {
                let found = earlier(act, id).await?;
                known.corrected.insert(id, found);
            }
        }
        let vehicles: Vec<VehicleId> = known.vehicles.keys().copied().collect();
        known.fitted = Fitted::look_up(act, &vehicles).await?;
        let ids: Vec<Uuid> = entries.iter().map(|entry| entry.entry_id).collect();
        let used = store::inspections::entries_by_ids(&mut act.conn(), fleet, &ids).await?;
        known.entries = used
            .into_iter()
            .filter_map(|row| Some((row.id, (row.content_hash.try_into().ok()?, row.inspection))))
            .collect();
        Ok(known)
    }

    async fn look_up_vehicle(&mut self, act: &mut Act, entry: &Entry) -> Result<(), ActError> {
        let key = (entry.vehicle.clone(), entry.performed_at.date_naive());
        if self.by_text.contains_key(&key) {
            return Ok(());
        }
        let fleet = act.fleet();
        let found = store::vehicles::resolve(&mut act.conn(), fleet, &key.0, key.1).await?;
        for id in &found {
            let vehicle = crate::vehicles::find(act, *id).await?;
            self.vehicles.insert(*id, vehicle);
        }
        self.by_text.insert(key, found);
        Ok(())
    }

    async fn look_up_sheet(&mut self, act: &mut Act, entry: &Entry) -> Result<(), ActError> {
        let SheetRef { code, version } = &entry.check_sheet;
        let key = (code.clone(), *version);
        if self.sheets.contains_key(&key) {
            return Ok(());
        }
        let fleet = act.fleet();
        let said = match version {
            Some(version) => store::sheets::find(&mut act.conn(), fleet, code, *version).await?,
            None => None,
        };
        let found = match said {
            Some(sheet) => Some(sheet),
            None => store::sheets::newest(&mut act.conn(), fleet, code).await?,
        };
        self.sheets.insert(key, found);
        Ok(())
    }

    pub(super) fn judge(&mut self, act: &Act, batch: &Batch, raw: &RawEntry, entry: &Entry) -> Fate {
        let hash = content::hash(&raw.raw);
        if let Some(fate) = self.fate_of_used(entry.entry_id, hash) {
            return fate;
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
        let day = (!timed.in_doubt).then(|| local_day(timed.at, vehicle.zone));
        let occasion = Occasion { vehicle: vehicle.id, day, fitted: &self.fitted };
        let measured = measurements(act, entry, &raw.raw, &occasion);
        if !faults.is_empty() {
            return rejected(422, "entry-invalid", faults);
        }
        let odometer = odometer(entry);
        let mut set_aside = measured.set_aside;
        let unread = odometer.as_ref().err().map(|fault| odometer_aside(act, entry, &raw.raw, fault));
        set_aside.extend(unread);
        let id = InspectionId(entry.entry_id);
        let reading = odometer.ok().flatten().map(|shown| reading(act, timed, shown));
        let inspection = Inspection {
            id,
            sheet: entry.check_sheet.code.clone(),
            sheet_version: sheet.version,
            performed_at: timed.at,
            recorded_at: act.at(),
            clock_in_doubt: timed.in_doubt,
            reading: reading.as_ref().map(|reading| reading.id),
            measurements: measured.counted,
            note: entry.note.clone(),
        };
        let vehicle = vehicle.id;
        self.entries.insert(entry.entry_id, (hash, id));
        Fate::Stored(Box::new(Stored {
            vehicle,
            inspection,
            timed,
            set_aside,
            sheet_unknown: sheet.unknown,
            reading,
            findings: entry.findings.iter().map(|found| finding(act, id, timed.at, found)).collect(),
            unknown_members: entry.unknown_members.clone(),
            hash,
            correction: entry.corrects.map(|id| self.correction(act, id)),
        }))
    }

    /// What becomes of an entry whose id was used before.
    fn fate_of_used(&self, entry_id: Uuid, hash: [u8; 32]) -> Option<Fate> {
        let (earlier, inspection) = self.entries.get(&entry_id)?;
        if *earlier == hash {
            return Some(Fate::Duplicate(*inspection));
        }
        let detail = "this entry id was used before with other content; a new entry needs a new id";
        Some(rejected(409, "entry-content-differs", vec![Fault::new("/entry_id", "used", detail)]))
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

    /// The sheet in the version followed; in the newest where that one is unknown, which is then said.
    fn sheet_of(&self, entry: &Entry, faults: &mut Vec<Fault>) -> Followed {
        let SheetRef { code, version } = &entry.check_sheet;
        let Some(Some(sheet)) = self.sheets.get(&(code.clone(), *version)) else {
            let detail = format!("there is no check sheet {code} in this fleet");
            faults.push(Fault::new("/check_sheet", "unknown", detail));
            return Followed { version: 0, unknown: None };
        };
        let unknown = version.filter(|said| *said != sheet.version);
        let unknown = unknown.map(|said| SheetUnknown { code: code.clone(), said, newest: sheet.version });
        Followed { version: sheet.version, unknown }
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

/// What the odometer showed, if anything was entered, or what is wrong with it.
fn odometer(entry: &Entry) -> Result<Option<(Entered, Distance)>, Fault> {
    if let Some(fault) = &entry.unread_odometer {
        return Err(fault.clone());
    }
    let Some(entered) = entry.odometer else { return Ok(None) };
    let mut faults = Vec::new();
    let distance = crate::entered::read_odometer(Some(entered), "/odometer", &mut faults);
    match faults.pop() {
        Some(fault) => Err(fault),
        None => Ok(Some((entered, distance))),
    }
}

fn reading(act: &Act, timed: Timed, (entered, odometer): (Entered, Distance)) -> OdometerReading {
    OdometerReading {
        id: ReadingId(act.new_id()),
        entered,
        odometer,
        read_at: timed.at,
        recorded_at: act.at(),
        source: ReadingSource::Technician,
        clock_in_doubt: timed.in_doubt,
    }
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
