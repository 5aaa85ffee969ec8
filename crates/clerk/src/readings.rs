//! Odometer readings and what people decide about them.

use crate::Act;
use crate::entered::{read_odometer, read_running_time};
use crate::error::{ActError, Fault, none_of};
use chrono::{DateTime, TimeDelta, Utc};
use model::{Decision, DecisionId, OdometerReading, ReadingDecision, ReadingId, ReadingSource, VehicleId};
use quantity::Entered;
use store::readings::ReadingLinks;

/// A phone's clock may run ahead by so much before a time counts as lying in the future.
pub(crate) const CLOCK_SLACK: TimeDelta = TimeDelta::seconds(120);

/// A reading to be recorded.
#[derive(Debug, Clone)]
pub struct NewReading {
    /// As entered.
    pub value: Entered,
    /// When it was read.
    pub read_at: DateTime<Utc>,
    /// Where it came from.
    pub source: ReadingSource,
}

/// Records a reading. It is stored whatever it says; whether it counts is judged in the renewal.
///
/// # Errors
/// [`ActError::NotFound`]; a fault if the unit is none of an odometer; storage errors.
pub async fn record(act: &mut Act, vehicle: VehicleId, new: NewReading) -> Result<OdometerReading, ActError> {
    act.lock(&[vehicle]).await?;
    let mut faults = Vec::new();
    let odometer = read_odometer(Some(new.value), "/value", &mut faults);
    none_of(faults)?;
    let reading = OdometerReading {
        id: ReadingId(act.new_id()),
        entered: new.value,
        odometer,
        read_at: new.read_at,
        recorded_at: act.at(),
        source: new.source,
        clock_in_doubt: new.read_at > act.at() + CLOCK_SLACK,
    };
    insert(act, vehicle, &reading, &ReadingLinks::default()).await?;
    Ok(reading)
}

/// Stores a reading with what it belongs to.
pub(crate) async fn insert(
    act: &mut Act,
    vehicle: VehicleId,
    reading: &OdometerReading,
    links: &ReadingLinks,
) -> Result<(), ActError> {
    let (fleet, stamp) = (act.fleet(), act.stamp());
    store::readings::insert(&mut act.conn(), fleet, vehicle, reading, links, &stamp).await?;
    Ok(())
}

/// Records a person's decision about a reading of the odometer; it wins over judging.
///
/// # Errors
/// [`ActError::NotFound`]; faults for an empty reason or a value that is no odometer; storage errors.
pub async fn decide(
    act: &mut Act,
    vehicle: VehicleId,
    reading: ReadingId,
    decision: Decision,
    reason: String,
) -> Result<ReadingDecision, ActError> {
    act.lock(&[vehicle]).await?;
    let fleet = act.fleet();
    if store::readings::find(&mut act.conn(), fleet, vehicle, reading).await?.is_none() {
        return Err(ActError::NotFound { kind: "odometer reading" });
    }
    let mut faults = Vec::new();
    if let Decision::Correct { value } = decision {
        read_odometer(Some(value), "/value", &mut faults);
    }
    keep_decision(act, vehicle, reading, decision, reason, faults).await
}

/// Records a person's decision about a reading of running hours; it wins over judging.
///
/// # Errors
/// [`ActError::NotFound`]; faults for an empty reason or a value that is no running time; storage errors.
pub async fn decide_hours(
    act: &mut Act,
    vehicle: VehicleId,
    reading: ReadingId,
    decision: Decision,
    reason: String,
) -> Result<ReadingDecision, ActError> {
    act.lock(&[vehicle]).await?;
    let fleet = act.fleet();
    if store::readings::hours::find(&mut act.conn(), fleet, vehicle, reading).await?.is_none() {
        return Err(ActError::NotFound { kind: "reading of running hours" });
    }
    let mut faults = Vec::new();
    if let Decision::Correct { value } = decision {
        read_running_time(Some(value), "/value", &mut faults);
    }
    keep_decision(act, vehicle, reading, decision, reason, faults).await
}

async fn keep_decision(
    act: &mut Act,
    vehicle: VehicleId,
    reading: ReadingId,
    decision: Decision,
    reason: String,
    mut faults: Vec<Fault>,
) -> Result<ReadingDecision, ActError> {
    if reason.trim().is_empty() {
        faults.push(Fault::new("/reason", "empty", "say why, in a few words"));
    }
    none_of(faults)?;
    let decided =
        ReadingDecision { id: DecisionId(act.new_id()), reading, decision, reason, recorded_at: act.at() };
    let (fleet, stamp) = (act.fleet(), act.stamp());
    store::readings::insert_decision(&mut act.conn(), fleet, vehicle, &decided, &stamp).await?;
    act.note("odometer_reading", reading, "decide", None, Some(&decided));
    Ok(decided)
}
