//! Inspections, findings, check sheets and check points.

use crate::define::{answer, request};
use crate::list::Many;
use crate::quantity::{PointUnit, Quantity};
use crate::text::{Line, Text};
use ::quantity::Unit;
use chrono::{DateTime, Utc};
use model::{
    Code, FindingId, FindingWeight, Grade, InspectionId, MeasurementId, Place, ReadingId, ServiceId,
    VehicleId, Zone,
};

answer! {
    /// One measured value.
    Measurement {
        /// Its id.
        id: MeasurementId,
        /// The check point.
        point: Code = "tread-depth",
        /// Where on the vehicle.
        place: Place,
        /// Where at the place.
        zone: Zone,
        /// What was measured, as entered; the number of the answer where the point is answered by a word.
        measured: Quantity = {"value": 4.2, "unit": "mm"},
    }
}

answer! {
    /// Which version of a check sheet was followed.
    SheetFollowed {
        /// Its code.
        code: Code = "yard-walk",
        /// Its version.
        version: i64,
    }
}

answer! {
    /// One check of one vehicle on one occasion.
    Inspection {
        /// Its id: the entry id the phone made.
        id: InspectionId,
        /// The check sheet followed.
        check_sheet: SheetFollowed,
        /// When, corrected for the clock of the device.
        performed_at: DateTime<Utc>,
        /// When it was recorded.
        recorded_at: DateTime<Utc>,
        /// Whether the time cannot be trusted.
        clock_in_doubt: bool,
        /// The entry it made in the meter log.
        reading: Option<ReadingId>,
        /// What was measured.
        measurements: Vec<Measurement>,
        /// Free text.
        note: Option<String> = "Scuffed wheel arch.",
    }
}

impl From<model::Measurement> for Measurement {
    fn from(measurement: model::Measurement) -> Self {
        let model::Measurement { id, point, place, zone, entered, .. } = measurement;
        Self { id, point, place, zone, measured: entered.into() }
    }
}

impl From<model::Inspection> for Inspection {
    fn from(inspection: model::Inspection) -> Self {
        Self {
            id: inspection.id,
            check_sheet: SheetFollowed { code: inspection.sheet, version: inspection.sheet_version },
            performed_at: inspection.performed_at,
            recorded_at: inspection.recorded_at,
            clock_in_doubt: inspection.clock_in_doubt,
            reading: inspection.reading,
            measurements: inspection.measurements.into_iter().map(Measurement::from).collect(),
            note: inspection.note,
        }
    }
}

answer! {
    /// Something wrong, until it is fixed or dismissed.
    Finding {
        /// Its id.
        id: FindingId,
        /// The vehicle.
        vehicle: VehicleId,
        /// The inspection that reported it.
        inspection: Option<InspectionId>,
        /// What is wrong.
        code: Code = "suspension-noise",
        /// The component concerned.
        component: Option<Code> = "suspension",
        /// Where.
        place: Place,
        /// How heavily it weighs.
        weight: FindingWeight,
        /// In the words of the person who found it.
        note: String = "Knocks over speed bumps.",
        /// When it was found.
        found_at: DateTime<Utc>,
        /// When it was fixed or dismissed.
        closed_at: Option<DateTime<Utc>> = null,
    }
}

impl Finding {
    /// The finding of this vehicle.
    pub fn of(vehicle: VehicleId, finding: model::Finding) -> Self {
        let model::Finding { id, inspection, code, component, place, weight, note, found_at, closed_at } =
            finding;
        Self { id, vehicle, inspection, code, component, place, weight, note, found_at, closed_at }
    }
}

/// How a finding was closed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Closing {
    /// It was mended.
    Fixed,
    /// It was nothing, or is borne with.
    Dismissed,
}

impl crate::shape::Shape for Closing {
    fn schema(_: &mut crate::shape::Schemas) -> utoipa::openapi::RefOr<utoipa::openapi::Schema> {
        utoipa::openapi::ObjectBuilder::new()
            .schema_type(utoipa::openapi::schema::Type::String)
            .enum_values(Some(["fixed", "dismissed"]))
            .into()
    }

    fn example() -> serde_json::Value {
        "fixed".into()
    }
}

impl crate::reader::Written for Closing {
    fn read(value: &serde_json::Value, reader: &mut crate::reader::Reader) -> Option<Self> {
        match reader.text(value)? {
            "fixed" => Some(Self::Fixed),
            "dismissed" => Some(Self::Dismissed),
            _ => {
                reader.fault("not-one-of", "one of fixed, dismissed is needed here");
                None
            }
        }
    }
}

request! {
    /// The end of a finding.
    FindingClosure {
        /// How it ended.
        kind: Closing,
        /// What was done, or why nothing is.
        reason: Text<1000> = "Drop link renewed.",
        /// The service record of the work.
        service: Option<ServiceId> = null,
    }
}

answer! {
    /// One line of a check sheet.
    SheetPoint {
        /// The check point.
        point: Code = "tread-depth",
        /// Where to look; empty: every place of the point.
        places: Vec<Place>,
        /// The units to offer; empty: every unit of the point.
        units: Vec<Unit> = ["mm", "in32"],
        /// How to measure.
        how: String = "In the main grooves, at three places across the tread.",
        /// What can hurt.
        caution: Option<String> = "Wheels chocked, engine off.",
    }
}

answer! {
    /// A list of what a technician looks at. Old versions stay readable.
    CheckSheet {
        /// Its code.
        code: Code = "yard-walk",
        /// Its version, counted from 1.
        version: i64,
        /// Its title.
        title: String = "Yard walk",
        /// What to look at.
        points: Vec<SheetPoint>,
    }
}

impl From<model::CheckSheet> for CheckSheet {
    fn from(sheet: model::CheckSheet) -> Self {
        let line = |p: model::SheetPoint| SheetPoint {
            point: p.point,
            places: p.places,
            units: p.units,
            how: p.how,
            caution: p.caution,
        };
        Self {
            code: sheet.code,
            version: sheet.version,
            title: sheet.title,
            points: sheet.points.into_iter().map(line).collect(),
        }
    }
}

request! {
    /// One line of a check sheet.
    NewSheetPoint {
        /// The check point.
        point: Code = "tread-depth",
        /// Where to look; none: every place of the point.
        places: Many<Place, 0, 6>,
        /// The units to offer; none: every unit of the point.
        units: Many<PointUnit, 0, 6>,
        /// How to measure.
        how: Text<500> = "In the main grooves, at three places across the tread.",
        /// What can hurt.
        caution: Option<Text<500>> = "Wheels chocked, engine off.",
    }
}

impl From<NewSheetPoint> for model::SheetPoint {
    fn from(point: NewSheetPoint) -> Self {
        Self {
            point: point.point,
            places: point.places.0,
            units: point.units.0.into_iter().map(|unit| unit.0).collect(),
            how: point.how.0,
            caution: point.caution.map(|text| text.0),
        }
    }
}

request! {
    /// A check sheet to be published; under a code that is there already it becomes the next version.
    NewCheckSheet {
        /// Its code.
        code: Code = "yard-walk",
        /// Its title.
        title: Line<120> = "Yard walk",
        /// What to look at.
        points: Many<NewSheetPoint, 1, 200>,
    }
}

answer! {
    /// A word that a check point is answered by.
    AnswerWord {
        /// As written.
        word: String = "bulge",
        /// As a person reads it.
        title: String = "bump or bulge",
        /// What it means.
        grade: Grade = "do_not_drive",
    }
}

answer! {
    /// Something that can be measured on a vehicle, or seen.
    CheckPoint {
        /// Its code.
        code: String = "tread-depth",
        /// As a person reads it.
        title: String = "Tread depth in the main grooves",
        /// Where it is measured.
        places: Vec<Place>,
        /// Where at a place.
        zones: Vec<Zone>,
        /// Units it may be given in.
        units: Vec<Unit> = ["mm", "in32"],
        /// The words it is answered by; none where it is measured.
        answers: Vec<AnswerWord>,
        /// The lowest plausible value.
        least: Quantity = {"value": 0, "unit": "mm"},
        /// The highest plausible value.
        most: Quantity = {"value": 25, "unit": "mm"},
    }
}
