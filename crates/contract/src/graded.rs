//! What measurements mean.

use crate::define::answer;
use crate::quantity::Quantity;
use chrono::{DateTime, Utc};
use model::horizon::Graded as Meaning;
use model::{Grade, InspectionId, MeasurementId, Place};

answer! {
    /// What a set of measurements at one place means.
    GradedMeasurement {
        /// The inspection it was measured in.
        inspection: InspectionId,
        /// The measurement that governs.
        measurement: MeasurementId,
        /// The check point.
        point: String = "tread-depth",
        /// Where.
        place: Place,
        /// What it means.
        grade: Grade = "attend",
        /// What governs, as entered.
        measured: Quantity = {"value": 2.2, "unit": "mm"},
        /// What was answered, where the point is answered by a word; `measured` then holds its number.
        seen: Option<String> = null,
        /// The limit compared with, in the unit entered.
        limit: Option<Quantity> = {"value": 1.6, "unit": "mm"},
        /// Measured less limit; negative below the limit.
        margin: Option<Quantity> = {"value": 0.6, "unit": "mm"},
        /// Why, in a sentence.
        reason: String = "Less than 0.8 mm above the legal limit.",
        /// What would change it, in a sentence.
        changes_when: String = "At or above 2.4 mm it would be better.",
        /// What to do.
        advice: Vec<String> = ["Fit a new tyre soon; two new tyres go to the rear."],
        /// Where the limit comes from.
        source: String = "Regulation of the depot's jurisdiction",
        /// How well that source is known: verified, computed, memory or common practice.
        standing: String = "verified",
        /// What can hurt.
        caution: Option<String> = "Chock the wheels before jacking, never work under a jack alone.",
        /// When it was measured.
        measured_at: DateTime<Utc>,
    }
}

impl From<&Meaning> for GradedMeasurement {
    fn from(graded: &Meaning) -> Self {
        Self {
            inspection: graded.inspection,
            measurement: graded.measurement,
            point: graded.point.clone(),
            place: graded.place,
            grade: graded.grade,
            measured: graded.measured.into(),
            seen: graded.seen.clone(),
            limit: graded.limit.map(Quantity::from),
            margin: graded.margin.map(Quantity::from),
            reason: graded.reason.clone(),
            changes_when: graded.changes_when.clone(),
            advice: graded.advice.clone(),
            source: graded.source.clone(),
            standing: graded.standing.clone(),
            caution: graded.caution.clone(),
            measured_at: graded.measured_at,
        }
    }
}
