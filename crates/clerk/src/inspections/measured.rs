//! Reading the measurements of an entry: what cannot be right is set aside with its reason, the others count.

use super::fitted::Fitted;
use super::{Entry, MeasurementEntered, Observed};
use crate::Act;
use crate::error::Fault;
use chrono::NaiveDate;
use model::{
    Code, InspectionId, Measurement, MeasurementId, Place, SetAside, SetAsideId, SetAsideReason, VehicleId,
    Zone,
};
use quantity::{Entered, Unit};
use serde_json::Value;
use std::collections::BTreeMap;

/// The measurements of an entry: those that count, and those that wait for a person.
pub(super) struct Measured {
    pub(super) counted: Vec<Measurement>,
    pub(super) set_aside: Vec<SetAside>,
}

/// What is wrong with a measurement, and with which member of it.
pub(crate) struct Wrong {
    pub(crate) member: &'static str,
    pub(crate) reason: SetAsideReason,
    /// With the value written and what is allowed.
    pub(crate) detail: String,
}

/// What a part may measure there and then; none where the day is in doubt.
pub(super) struct Occasion<'a> {
    pub(super) vehicle: VehicleId,
    pub(super) day: Option<NaiveDate>,
    pub(super) fitted: &'a Fitted,
}

/// Reads the measurements of an entry; `raw` is the entry as received.
pub(super) fn measurements(act: &Act, entry: &Entry, raw: &Value, occasion: &Occasion<'_>) -> Measured {
    let mut counted: BTreeMap<(Code, Place, Zone), Entered> = BTreeMap::new();
    let mut measured = Measured { counted: Vec::new(), set_aside: Vec::new() };
    for (index, entered) in entry.measurements.iter().enumerate() {
        let read = read(act, entered).and_then(|one| {
            let spot = (one.point.clone(), one.place, one.zone);
            let wrong =
                counted.get(&spot).map(|first| twice(&one, *first)).or_else(|| too_deep(&one, occasion));
            match wrong {
                Some(wrong) => Err(vec![wrong]),
                None => Ok((spot, one)),
            }
        });
        match read {
            Ok((spot, one)) => {
                counted.insert(spot, one.entered);
                measured.counted.push(one);
            }
            Err(wrong) => {
                let written = raw.pointer(&format!("/measurements/{index}")).unwrap_or(&Value::Null);
                measured.set_aside.extend(set_aside(act, entry, index, written, &wrong));
            }
        }
    }
    measured
}

/// The first thing wrong gives the reason; the detail names them all.
fn set_aside(act: &Act, entry: &Entry, index: usize, written: &Value, wrong: &[Wrong]) -> Option<SetAside> {
    let first = wrong.first()?;
    let details: Vec<&str> = wrong.iter().map(|wrong| wrong.detail.as_str()).collect();
    Some(SetAside {
        id: SetAsideId(act.new_id()),
        inspection: InspectionId(entry.entry_id),
        ordinal: i64::try_from(index).unwrap_or(i64::MAX),
        pointer: format!("/measurements/{index}{}", first.member),
        written: written.to_string(),
        reason: first.reason,
        detail: details.join("; "),
        recorded_at: act.at(),
        settlement: None,
    })
}

/// An odometer that cannot be taken as it was written, after all measurements of its entry.
pub(super) fn odometer_aside(act: &Act, entry: &Entry, raw: &Value, fault: &Fault) -> SetAside {
    let reason = match fault.pointer.as_str() {
        "/odometer/unit" => SetAsideReason::Unit,
        "/odometer/value" => SetAsideReason::Implausible,
        _ => SetAsideReason::Form,
    };
    SetAside {
        id: SetAsideId(act.new_id()),
        inspection: InspectionId(entry.entry_id),
        ordinal: i64::try_from(entry.measurements.len()).unwrap_or(i64::MAX),
        pointer: fault.pointer.clone(),
        written: raw.pointer(ODOMETER).unwrap_or(&Value::Null).to_string(),
        reason,
        detail: fault.detail.clone(),
        recorded_at: act.at(),
        settlement: None,
    }
}

/// Where an entry says what the odometer showed.
pub(crate) const ODOMETER: &str = "/odometer";

fn twice(again: &Measurement, first: Entered) -> Wrong {
    let Measurement { point, place, zone, entered, .. } = again;
    let detail = format!(
        "{point} {place} {zone} was measured twice in this entry: the first, {}, counts, and {} does not",
        said(point, first),
        said(point, *entered)
    );
    Wrong { member: "", reason: SetAsideReason::Twice, detail }
}

/// A value as it was said: the word where the point is answered by words.
pub(crate) fn said(point: &Code, value: Entered) -> String {
    let kept = gauge::point(point.as_str()).zip(value.exact().ok());
    let answer = kept.and_then(|(point, exact)| point.answer_kept(exact));
    answer.map_or_else(|| value.to_string(), |answer| answer.word.to_owned())
}

fn too_deep(measured: &Measurement, occasion: &Occasion<'_>) -> Option<Wrong> {
    let detail = occasion.fitted.too_deep(occasion.vehicle, occasion.day?, measured)?;
    Some(Wrong { member: "/value", reason: SetAsideReason::DeeperThanNew, detail })
}

/// A measurement as it was written, with everything that is wrong with it; members in the order point, place, zone,
/// unit or answer, value.
pub(crate) fn read(act: &Act, entered: &MeasurementEntered) -> Result<Measurement, Vec<Wrong>> {
    if let Observed::Unread { member, detail } = &entered.observed {
        return Err(vec![Wrong { member, reason: SetAsideReason::Form, detail: detail.clone() }]);
    }
    let point = gauge::point(&entered.point).ok_or_else(|| {
        let known: Vec<&str> = gauge::points().map(|point| point.code).collect();
        let detail = format!("there is no check point {:?}; there are {}", entered.point, known.join(", "));
        vec![Wrong { member: "/point", reason: SetAsideReason::PointUnknown, detail }]
    })?;
    let mut wrong = Vec::new();
    let place = word(
        Place::from_word(&entered.place),
        point.places,
        &entered.place,
        ("/place", SetAsideReason::Place),
    );
    let zone_text = entered.zone.as_deref().unwrap_or(Zone::Whole.word());
    let zone = word(Zone::from_word(zone_text), point.zones, zone_text, ("/zone", SetAsideReason::Zone));
    let value = match &entered.observed {
        Observed::Seen(word) => point.answered(word).map_err(|error| of_point(&error)),
        // Refused above: what has no form has no value either.
        Observed::Unread { member, detail } => {
            Err(Wrong { member, reason: SetAsideReason::Form, detail: detail.clone() })
        }
        Observed::Measured { value, unit } => {
            let unit = word(Unit::from_code(unit), point.units, unit, ("/unit", SetAsideReason::Unit));
            unit.map(|unit| Entered::new(*value, unit))
        }
    };
    let (place, zone, value) = (kept(place, &mut wrong), kept(zone, &mut wrong), kept(value, &mut wrong));
    let (Some(place), Some(zone), Some(value)) = (place, zone, value) else { return Err(wrong) };
    let taken = point.accepts(place, zone, value.unit).and_then(|()| point.plausible(value));
    let exact = taken.map_err(|error| vec![of_point(&error)])?;
    // Every check point's code is one; a test of the catalogue reads them all.
    let code = Code::new(point.code).map_err(|error| {
        vec![Wrong { member: "/point", reason: SetAsideReason::PointUnknown, detail: error.to_string() }]
    })?;
    Ok(Measurement { id: MeasurementId(act.new_id()), point: code, place, zone, entered: value, exact })
}

fn kept<T>(read: Result<T, Wrong>, wrong: &mut Vec<Wrong>) -> Option<T> {
    read.map_err(|found| wrong.push(found)).ok()
}

/// The member of a measurement that an error of its check point is about, and what kind of error it is.
fn of_point(error: &gauge::PointError) -> Wrong {
    let (member, reason) = match error {
        gauge::PointError::Place { .. } => ("/place", SetAsideReason::Place),
        gauge::PointError::Zone { .. } => ("/zone", SetAsideReason::Zone),
        gauge::PointError::Unit { .. } => ("/unit", SetAsideReason::Unit),
        gauge::PointError::Answer { .. } | gauge::PointError::Measured { .. } => {
            ("/seen", SetAsideReason::Answer)
        }
        gauge::PointError::Implausible { .. } | gauge::PointError::Quantity(..) => {
            ("/value", SetAsideReason::Implausible)
        }
    };
    Wrong { member, reason, detail: error.to_string() }
}

/// `found`, or what is wrong with a word that is none at all, with those that the check point takes.
fn word<T: std::fmt::Display>(
    found: Option<T>,
    allowed: &[T],
    text: &str,
    (member, reason): (&'static str, SetAsideReason),
) -> Result<T, Wrong> {
    found.ok_or_else(|| {
        let allowed: Vec<String> = allowed.iter().map(ToString::to_string).collect();
        let detail = format!("{text:?} is none of {}", allowed.join(", "));
        Wrong { member, reason, detail }
    })
}
