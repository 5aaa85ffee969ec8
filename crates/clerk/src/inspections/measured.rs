//! Reading the measurements of an entry: every fault named with what is allowed.

use super::{Entry, MeasurementEntered, Observed};
use crate::Act;
use crate::error::Fault;
use model::{Code, Measurement, MeasurementId, Place, Zone};
use quantity::{Entered, Unit};
use std::collections::BTreeSet;

/// Reads the measurements of an entry, naming every fault and what is allowed.
pub(super) fn measurements(act: &Act, entry: &Entry, faults: &mut Vec<Fault>) -> Vec<Measurement> {
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
        let known: Vec<&str> = gauge::points().map(|point| point.code).collect();
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
    let value = match &entered.observed {
        Observed::Seen(word) => {
            let answered = point.answered(word);
            answered.map_err(|error| faults.push(Fault::new(format!("{pointer}/seen"), "point", &error))).ok()
        }
        Observed::Measured { value, unit } => {
            let (known, at) = (Unit::from_code(unit), format!("{pointer}/unit"));
            word(known, &Unit::ALL, unit, at, &mut faults).map(|unit| Entered::new(*value, unit))
        }
    };
    let (Some(place), Some(zone), Some(value)) = (place, zone, value) else { return Err(faults) };
    let taken = point.accepts(place, zone, value.unit).and_then(|()| point.plausible(value));
    let exact =
        taken.map_err(|error| vec![Fault::new(format!("{pointer}{}", member(&error)), "point", &error)])?;
    let code = Code::new(point.code).map_err(|error| vec![Fault::code(pointer, &error)])?;
    Ok(Measurement { id: MeasurementId(act.new_id()), point: code, place, zone, entered: value, exact })
}

/// The member of a measurement that an error of its check point is about.
const fn member(error: &gauge::PointError) -> &'static str {
    match error {
        gauge::PointError::Place { .. } => "/place",
        gauge::PointError::Zone { .. } => "/zone",
        gauge::PointError::Unit { .. } => "/unit",
        gauge::PointError::Answer { .. } | gauge::PointError::Measured { .. } => "/seen",
        gauge::PointError::Implausible { .. } | gauge::PointError::Quantity(..) => "/value",
    }
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
