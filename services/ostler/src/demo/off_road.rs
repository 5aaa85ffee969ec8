//! Stays of the demo fleet, and what its dashes and hour meters say.

use super::calendar::Calendar;
use super::file::VehiclePart;
use anyhow::Context;
use clerk::Act;
use clerk::indicators::NewIndicator;
use clerk::meters::NewHours;
use clerk::stays::NewStay;
use model::{ReadingSource, VehicleId, WorkshopId};
use quantity::{Entered, Unit};
use std::collections::BTreeMap;

/// Records when the vehicle was off the road.
pub(super) async fn enter_stays(
    act: &mut Act,
    vehicle: VehicleId,
    part: &VehiclePart,
    workshops: &BTreeMap<String, WorkshopId>,
    calendar: &Calendar,
) -> anyhow::Result<()> {
    for stay in &part.stays {
        let out = stay.out_days_ago.zip(stay.out_time.as_deref());
        let new = NewStay {
            workshop: stay.workshop.as_ref().and_then(|name| workshops.get(name)).copied(),
            in_at: calendar.instant(stay.in_days_ago, &stay.in_time)?,
            out_at: out.map(|(days_ago, time)| calendar.instant(days_ago, time)).transpose()?,
            reason: stay.reason.clone(),
            waiting_for: stay.waiting_for.clone(),
        };
        clerk::stays::open(act, vehicle, new).await?;
    }
    Ok(())
}

/// Records what the dash's own service indicator said.
pub(super) async fn enter_indicators(
    act: &mut Act,
    vehicle: VehicleId,
    part: &VehiclePart,
    calendar: &Calendar,
) -> anyhow::Result<()> {
    for said in &part.indicators {
        let new = NewIndicator {
            rule: said.rule.clone(),
            left: said.left,
            odometer: None,
            read_at: calendar.instant(said.days_ago, &said.time)?,
            source: ReadingSource::Driver,
        };
        clerk::indicators::record(act, vehicle, new).await?;
    }
    Ok(())
}

/// Records what the hour meter showed.
pub(super) async fn enter_hours(
    act: &mut Act,
    vehicle: VehicleId,
    part: &VehiclePart,
    calendar: &Calendar,
) -> anyhow::Result<()> {
    for (days_ago, time, value, source) in &part.hours {
        let source = ReadingSource::from_word(source).with_context(|| format!("no source {source}"))?;
        let value = Entered::new(*value, Unit::Hour);
        let read_at = calendar.instant(*days_ago, time)?;
        clerk::meters::record_hours(act, vehicle, NewHours { value, read_at, source }).await?;
    }
    Ok(())
}
