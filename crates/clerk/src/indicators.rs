//! The dash's own service indicator: what it said was left of a rule's interval.

use crate::Act;
use crate::entered::read_odometer;
use crate::error::{ActError, Fault, none_of};
use crate::readings::{self, CLOCK_SLACK, NewReading};
use chrono::{DateTime, Utc};
use model::{Code, Facts, IndicatorId, IndicatorLeft, IndicatorReading, ReadingSource, VehicleId};
use quantity::Entered;

/// A reading of the indicator to be recorded.
#[derive(Debug, Clone)]
pub struct NewIndicator {
    /// The rule it speaks of.
    pub rule: Code,
    /// What it says is left.
    pub left: IndicatorLeft,
    /// What the odometer shows, if it was read as well.
    pub odometer: Option<Entered>,
    /// When.
    pub read_at: DateTime<Utc>,
    /// Where it came from.
    pub source: ReadingSource,
}

/// Records what the indicator says, and the odometer read along with it in the meter log.
///
/// # Errors
/// [`ActError::NotFound`]; faults for a rule that is not the vehicle's or has no indicator, for values out of range and
/// for a time in the future; storage errors.
pub async fn record(
    act: &mut Act,
    vehicle: VehicleId,
    new: NewIndicator,
) -> Result<IndicatorReading, ActError> {
    act.lock(&[vehicle]).await?;
    let (fleet, stamp) = (act.fleet(), act.stamp());
    let loaded = store::facts::load(&mut act.conn(), fleet, &[vehicle]).await?;
    let facts = loaded.first().ok_or(ActError::NotFound { kind: "vehicle" })?;
    none_of(check(act, facts, &new))?;
    let mut reading = None;
    if let Some(value) = new.odometer {
        let odometer = NewReading { value, read_at: new.read_at, source: new.source };
        reading = Some(readings::record(act, vehicle, odometer).await?.id);
    }
    let indicator = IndicatorReading {
        id: IndicatorId(act.new_id()),
        rule: new.rule,
        left: new.left,
        reading,
        read_at: new.read_at,
        recorded_at: act.at(),
    };
    store::indicators::insert(&mut act.conn(), fleet, vehicle, &indicator, &stamp).await?;
    act.note("indicator_reading", indicator.id, "record", None, Some(&indicator));
    Ok(indicator)
}

fn check(act: &Act, facts: &Facts, new: &NewIndicator) -> Vec<Fault> {
    let mut faults = Vec::new();
    match facts.rules.iter().find(|version| version.rule.code == new.rule) {
        None => {
            let detail = format!("the vehicle's rulebook has no rule {}", new.rule);
            faults.push(Fault::new("/rule", "unknown", detail));
        }
        Some(version) if !version.rule.indicator => {
            let detail = format!("by the rulebook the dash does not speak of {}", new.rule);
            faults.push(Fault::new("/rule", "no-indicator", detail));
        }
        Some(_) => {}
    }
    match new.left {
        IndicatorLeft::Percent { percent } if !(0.0..=100.0).contains(&percent) => {
            faults.push(Fault::new("/left/percent", "range", "what is left lies between 0 and 100 percent"));
        }
        IndicatorLeft::Distance { distance } => {
            read_odometer(Some(distance), "/left/distance", &mut faults);
        }
        IndicatorLeft::Percent { .. } | IndicatorLeft::Days { .. } => {}
    }
    if new.read_at > act.at() + CLOCK_SLACK {
        faults.push(Fault::new("/read_at", "future", format!("{} lies in the future", new.read_at)));
    }
    faults
}

/// Withdraws a reading of the indicator; the odometer read along with it stays.
///
/// # Errors
/// [`ActError::NotFound`]; storage errors.
pub async fn withdraw(act: &mut Act, vehicle: VehicleId, id: IndicatorId) -> Result<(), ActError> {
    act.lock(&[vehicle]).await?;
    let (fleet, at) = (act.fleet(), act.at());
    let Some(indicator) = store::indicators::find(&mut act.conn(), fleet, vehicle, id).await? else {
        return Err(ActError::NotFound { kind: "indicator reading" });
    };
    store::indicators::withdraw(&mut act.conn(), fleet, vehicle, id, at).await?;
    act.note("indicator_reading", id, "withdraw", Some(&indicator), None);
    Ok(())
}
