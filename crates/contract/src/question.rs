//! What a person is asked because facts alone do not tell, and what was answered.

use crate::component::Fitting;
use crate::define::{answer, request};
use crate::quantity::{Distance, Quantity};
use crate::reader::{Reader, Written};
use crate::shape::{Schemas, Shape};
use ::quantity::Unit;
use chrono::{DateTime, Utc};
use model::horizon::QuestionKind;
use model::{MeasurementChoice, MeasurementId, Place};
use serde::Serialize;
use serde_json::Value;
use utoipa::openapi::schema::Type;
use utoipa::openapi::{ObjectBuilder, RefOr, Schema};

answer! {
    /// A question to a person; one answer closes it.
    Question {
        /// What is asked.
        kind: QuestionKind,
        /// The measurement that raised it: where the answer goes.
        measurement: MeasurementId,
        /// The check point.
        point: String = "tread-depth",
        /// Where.
        place: Place,
        /// What was measured before, as entered.
        before: Quantity = {"value": 3.1, "unit": "mm"},
        /// What was measured now, as entered.
        now: Quantity = {"value": 7.8, "unit": "mm"},
        /// When.
        measured_at: DateTime<Utc>,
    }
}

impl From<&model::horizon::Question> for Question {
    fn from(question: &model::horizon::Question) -> Self {
        Self {
            kind: question.kind,
            measurement: question.measurement,
            point: question.point.clone(),
            place: question.place,
            before: question.before.into(),
            now: question.now.into(),
            measured_at: question.measured_at,
        }
    }
}

/// Why a measurement is better than the one before it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Explained {
    /// The component is another one, and new.
    New,
    /// The component came from another place on the vehicle.
    Moved,
    /// It was measured wrongly.
    Mistaken,
}

impl Shape for Explained {
    fn schema(schemas: &mut Schemas) -> RefOr<Schema> {
        schemas.named("Explained", |_| {
            ObjectBuilder::new()
                .schema_type(Type::String)
                .enum_values(Some(["new", "moved", "mistaken"]))
                .description(Some("Why a measurement is better than the one before it."))
                .into()
        })
    }

    fn example() -> Value {
        "new".into()
    }
}

impl Written for Explained {
    fn read(value: &Value, reader: &mut Reader) -> Option<Self> {
        match reader.text(value)? {
            "new" => Some(Self::New),
            "moved" => Some(Self::Moved),
            "mistaken" => Some(Self::Mistaken),
            _ => {
                reader.fault("not-one-of", "one of new, moved, mistaken is needed here");
                None
            }
        }
    }
}

request! {
    /// Why a measurement is better than the one before it. A new component is fitted, and a moved one moved, in the same
    /// act.
    NewMeasurementAnswer {
        /// `new`: another component of the same kind and product; `moved`: from another place; `mistaken`: measured wrongly.
        answer: Explained,
        /// Where it came from: needed with `moved`, and with nothing else.
        from: Option<Place> = null,
        /// The odometer when it was fitted; where none is said, the one read with the measurement or next before it.
        odometer: Option<Distance> = null,
    } checked by comes_from_somewhere
}

fn comes_from_somewhere(new: &NewMeasurementAnswer, reader: &mut Reader) {
    if (new.answer == Explained::Moved) == new.from.is_some() {
        return;
    }
    let detail =
        if new.from.is_some() { "only what was moved came from a place" } else { "say where it came from" };
    reader.within("from", |reader| reader.fault("not-with-answer", detail));
}

impl NewMeasurementAnswer {
    /// The answer in the model's terms; `None` for something moved from nowhere, which reading it has ruled out.
    pub fn choice(&self) -> Option<MeasurementChoice> {
        match self.answer {
            Explained::New => Some(MeasurementChoice::New),
            Explained::Moved => self.from.map(|from| MeasurementChoice::Moved { from }),
            Explained::Mistaken => Some(MeasurementChoice::Mistaken),
        }
    }
}

answer! {
    /// What was answered about a measurement. The newest answer holds.
    MeasurementAnswer {
        /// The measurement.
        measurement: MeasurementId,
        /// The answer.
        answer: Explained,
        /// Where the component came from.
        from: Option<Place> = null,
        /// The fitting that began with it; null where nothing was fitted.
        fitting: Option<Fitting>,
        /// When.
        recorded_at: DateTime<Utc>,
    }
}

impl MeasurementAnswer {
    /// The answer with what it fitted, distances in the unit of the vehicle's odometer.
    pub fn of(said: &model::MeasurementAnswer, fitted: Option<&model::Fitting>, unit: Unit) -> Self {
        let (answer, from) = match said.choice {
            MeasurementChoice::New => (Explained::New, None),
            MeasurementChoice::Moved { from } => (Explained::Moved, Some(from)),
            MeasurementChoice::Mistaken => (Explained::Mistaken, None),
        };
        let fitting = fitted.map(|fitting| Fitting::of(fitting, unit));
        Self { measurement: said.measurement, answer, from, fitting, recorded_at: said.recorded_at }
    }
}
