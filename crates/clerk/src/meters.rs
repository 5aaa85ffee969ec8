//! Meters: that one was replaced, and what the engine's hour meter says.

use crate::Act;
use crate::entered::{read_odometer, read_running_time};
use crate::error::{ActError, Fault, none_of};
use crate::readings::CLOCK_SLACK;
use chrono::{DateTime, Utc};
use model::{
    HourReading, MeterQuantity, MeterReplacement, ReadingId, ReadingSource, ReplacementId, VehicleId,
};
use quantity::Entered;
use store::readings::ReadingLinks;

/// The replacement of a meter, to be recorded.
#[derive(Debug, Clone)]
pub struct NewReplacement {
    /// Which meter.
    pub quantity: MeterQuantity,
    /// When: readings from then on are of the new instrument.
    pub replaced_at: DateTime<Utc>,
    /// What the old one showed last.
    pub old_shows: Entered,
    /// What the new one showed first.
    pub new_shows: Entered,
    /// Why.
    pub reason: String,
}

/// Records that a meter was replaced.
///
/// # Errors
/// [`ActError::NotFound`]; a conflict if one of that quantity was replaced at that instant already; faults for a time in
/// the future, values that are none of the meter, an empty reason; storage errors.
pub async fn replace(
    act: &mut Act,
    vehicle: VehicleId,
    new: NewReplacement,
) -> Result<MeterReplacement, ActError> {
    act.lock(&[vehicle]).await?;
    let (fleet, stamp) = (act.fleet(), act.stamp());
    none_of(check(act, &new))?;
    let before = store::facts::load(&mut act.conn(), fleet, &[vehicle]).await?;
    let replaced = before.iter().flat_map(|facts| &facts.meter_replacements);
    if let Some(same) =
        replaced.into_iter().find(|one| (one.quantity, one.replaced_at) == (new.quantity, new.replaced_at))
    {
        let detail = format!("this meter was replaced at that instant already: {}", same.id);
        return Err(ActError::Conflict { code: "replaced-twice", detail });
    }
    let replacement = MeterReplacement {
        id: ReplacementId(act.new_id()),
        quantity: new.quantity,
        replaced_at: new.replaced_at,
        old_shows: new.old_shows,
        new_shows: new.new_shows,
        reason: new.reason,
        recorded_at: act.at(),
    };
    store::meters::insert(&mut act.conn(), fleet, vehicle, &replacement, &stamp).await?;
    act.note("meter_replacement", replacement.id, "record", None, Some(&replacement));
    Ok(replacement)
}

fn check(act: &Act, new: &NewReplacement) -> Vec<Fault> {
    let mut faults = Vec::new();
    for (pointer, shows) in [("/old_shows", new.old_shows), ("/new_shows", new.new_shows)] {
        match new.quantity {
            MeterQuantity::Distance => drop(read_odometer(Some(shows), pointer, &mut faults)),
            MeterQuantity::Hours => drop(read_running_time(Some(shows), pointer, &mut faults)),
        }
    }
    if new.replaced_at > act.at() + CLOCK_SLACK {
        faults.push(Fault::new("/replaced_at", "future", "a meter is replaced before it is recorded"));
    }
    if new.reason.trim().is_empty() {
        faults.push(Fault::new("/reason", "empty", "say why, in a few words"));
    }
    faults
}

/// Withdraws the replacement of a meter.
///
/// # Errors
/// [`ActError::NotFound`]; storage errors.
pub async fn withdraw(act: &mut Act, vehicle: VehicleId, id: ReplacementId) -> Result<(), ActError> {
    act.lock(&[vehicle]).await?;
    let (fleet, at) = (act.fleet(), act.at());
    let Some(replacement) = store::meters::find(&mut act.conn(), fleet, vehicle, id).await? else {
        return Err(ActError::NotFound { kind: "meter replacement" });
    };
    store::meters::withdraw(&mut act.conn(), fleet, vehicle, id, at).await?;
    act.note("meter_replacement", id, "withdraw", Some(&replacement), None);
    Ok(())
}

/// A reading of the hour meter to be recorded.
#[derive(Debug, Clone)]
pub struct NewHours {
    /// As entered.
    pub value: Entered,
    /// When it was read.
    pub read_at: DateTime<Utc>,
    /// Where it came from.
    pub source: ReadingSource,
}

/// Records what the hour meter shows. It is stored whatever it says.
///
/// # Errors
/// [`ActError::NotFound`]; a fault if the unit is none of running time; storage errors.
pub async fn record_hours(act: &mut Act, vehicle: VehicleId, new: NewHours) -> Result<HourReading, ActError> {
    act.lock(&[vehicle]).await?;
    let (fleet, stamp) = (act.fleet(), act.stamp());
    let mut faults = Vec::new();
    let seconds = read_running_time(Some(new.value), "/value", &mut faults);
    none_of(faults)?;
    let reading = HourReading {
        id: ReadingId(act.new_id()),
        entered: new.value,
        seconds,
        read_at: new.read_at,
        recorded_at: act.at(),
        source: new.source,
        clock_in_doubt: new.read_at > act.at() + CLOCK_SLACK,
    };
    let links = ReadingLinks::default();
    store::readings::hours::insert(&mut act.conn(), fleet, vehicle, &reading, &links, &stamp).await?;
    Ok(reading)
}
