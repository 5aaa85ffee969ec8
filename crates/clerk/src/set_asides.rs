//! Settling measurements that were set aside: the right value is taken, or the measurement is dismissed.

use crate::Act;
use crate::error::{ActError, Fault, none_of};
use crate::inspections::MeasurementEntered;
use crate::inspections::measured::{ODOMETER, Wrong, read, said};
use model::{Measurement, SetAside, SetAsideId, Settled, Settlement, VehicleId};

/// What a person decides about a measurement that was set aside.
#[derive(Debug, Clone)]
pub enum Choice {
    /// This is what was measured.
    Take(MeasurementEntered),
    /// It is left out.
    Dismiss,
}

/// A measurement that was settled.
#[derive(Debug, Clone)]
pub struct SetAsideSettled {
    /// The vehicle.
    pub vehicle: VehicleId,
    /// What was set aside, with how it was settled.
    pub set_aside: SetAside,
    /// The measurement it became, if it was taken.
    pub measurement: Option<Measurement>,
}

/// Settles a measurement that was set aside. What is taken counts as measured in its inspection, from now on; a person's
/// word goes even for what is deeper than the part when new.
///
/// # Errors
/// [`ActError::NotFound`]; a conflict if it was settled already; faults for an empty reason, for a measurement that its
/// check point does not take, and for a spot that its inspection measured already; storage errors.
pub async fn settle_set_aside(
    act: &mut Act,
    id: SetAsideId,
    choice: Choice,
    reason: String,
) -> Result<SetAsideSettled, ActError> {
    let (vehicle, _) = find(act, id).await?;
    act.lock(&[vehicle]).await?;
    // Read again: somebody else may have settled it, or corrected its entry, before the lock was had.
    let (_, waiting) = find(act, id).await?;
    if waiting.settlement.is_some() {
        let detail = "this measurement was settled already".to_owned();
        return Err(ActError::Conflict { code: "already-settled", detail });
    }
    let mut faults = Vec::new();
    if reason.trim().is_empty() {
        faults.push(Fault::new("/reason", "empty", "say why, in a few words"));
    }
    let measurement = match choice {
        Choice::Take(_) if waiting.pointer.starts_with(ODOMETER) => {
            let detail =
                "this is no measurement: record what was read as an odometer reading, and dismiss this";
            faults.push(Fault::new("/point", "odometer", detail));
            None
        }
        Choice::Take(entered) => measured(act, vehicle, &waiting, &entered, &mut faults).await?,
        Choice::Dismiss => None,
    };
    none_of(faults)?;
    let (fleet, stamp) = (act.fleet(), act.stamp());
    if let Some(measurement) = &measurement {
        let conn = &mut act.conn();
        let inspection = waiting.inspection;
        store::inspections::insert_measurement(conn, fleet, vehicle, inspection, measurement, &stamp).await?;
    }
    let outcome =
        measurement.as_ref().map_or(Settled::Dismissed, |one| Settled::Taken { measurement: one.id });
    let settlement = Settlement { outcome, reason, recorded_at: act.at() };
    store::set_asides::settle(&mut act.conn(), fleet, id, &settlement, &stamp).await?;
    let set_aside = SetAside { settlement: Some(settlement), ..waiting.clone() };
    act.note("set_aside", id, "settle", Some(&waiting), Some(&set_aside));
    Ok(SetAsideSettled { vehicle, set_aside, measurement })
}

async fn find(act: &mut Act, id: SetAsideId) -> Result<(VehicleId, SetAside), ActError> {
    let fleet = act.fleet();
    let found = store::set_asides::find(&mut act.conn(), fleet, id).await?;
    found.ok_or(ActError::NotFound { kind: "held measurement" })
}

/// The measurement as a person says it should have been; nothing where that has faults.
async fn measured(
    act: &mut Act,
    vehicle: VehicleId,
    waiting: &SetAside,
    entered: &MeasurementEntered,
    faults: &mut Vec<Fault>,
) -> Result<Option<Measurement>, ActError> {
    let taken = match read(act, entered) {
        Ok(taken) => taken,
        Err(wrong) => {
            faults.extend(wrong.iter().map(fault));
            return Ok(None);
        }
    };
    let fleet = act.fleet();
    let found = store::inspections::find(&mut act.conn(), fleet, vehicle, waiting.inspection).await?;
    let inspection = found.ok_or(ActError::NotFound { kind: "inspection" })?;
    let spot =
        |one: &&Measurement| (&one.point, one.place, one.zone) == (&taken.point, taken.place, taken.zone);
    if let Some(there) = inspection.measurements.iter().find(spot) {
        let Measurement { point, place, zone, entered, .. } = there;
        let value = said(point, *entered);
        let detail = format!(
            "{point} {place} {zone} was measured in this inspection already: {value}, which counts; measure again, or let \
             the technician correct the entry"
        );
        faults.push(Fault::new("/place", "twice", detail));
        return Ok(None);
    }
    Ok(Some(taken))
}

fn fault(wrong: &Wrong) -> Fault {
    Fault::new(wrong.member, &wrong.reason.word().replace('_', "-"), &wrong.detail)
}
