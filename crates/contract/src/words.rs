//! The closed lists of words: enums of the model as they stand in messages.

use crate::reader::{Reader, Written};
use crate::shape::{Schemas, Shape};
use serde_json::Value;
use utoipa::openapi::schema::Type;
use utoipa::openapi::{ObjectBuilder, RefOr, Schema};

macro_rules! words {
    ($($type:ty, $name:literal, $about:literal;)+) => {$(
        impl Shape for $type {
            fn schema(schemas: &mut Schemas) -> RefOr<Schema> {
                schemas.named($name, |_| {
                    ObjectBuilder::new()
                        .schema_type(Type::String)
                        .enum_values(Some(<$type>::ALL.iter().map(|one| one.word())))
                        .description(Some($about))
                        .into()
                })
            }

            fn example() -> Value {
                <$type>::ALL.first().map_or(Value::Null, |one| one.word().into())
            }
        }

        impl Written for $type {
            fn read(value: &Value, reader: &mut Reader) -> Option<Self> {
                let word = reader.text(value)?;
                let found = <$type>::from_word(word);
                if found.is_none() {
                    let allowed: Vec<&str> = <$type>::ALL.iter().map(|one| one.word()).collect();
                    reader.fault("not-one-of", format!("one of {} is needed here", allowed.join(", ")));
                }
                found
            }
        }
    )+};
}

words! {
    model::Jurisdiction, "Jurisdiction", "Whose law applies to the vehicles of a depot.";
    model::Role, "Role", "A person's duty.";
    model::Scope, "Scope", "What an access key may do.";
    model::KeyKind, "KeyKind", "Whom an access key was made for.";
    model::WorkshopKind, "WorkshopKind", "What a workshop is.";
    model::Powertrain, "Powertrain", "What drives a vehicle.";
    model::Duty, "Duty", "What a vehicle is used for. Delivery and rideshare start under severe intervals.";
    model::ReadingSource, "ReadingSource", "Where an odometer reading came from, from the most trusted on.";
    model::PaperKind, "PaperKind", "What a paper is.";
    model::WindowKind, "WindowKind", "Whether a coverage window is a warranty or a lease.";
    model::DistanceFrom, "DistanceFrom", "From where the distance limit of a coverage window counts.";
    model::LastDay, "LastDay", "Which day of a coverage window is the last one covered.";
    model::BaselineDefault, "BaselineDefault", "What the baseline check proposes for a rule without history.";
    model::Anchoring, "Anchoring", "From where an interval counts.";
    model::MeterQuantity, "MeterQuantity", "What a meter counts.";
    model::ReductionCause, "ReductionCause", "What reduces the limits of a coverage window.";
    model::Transfer, "Transfer", "What becomes of a coverage window when the vehicle changes hands.";
    model::horizon::QuestionKind, "QuestionKind", "What is asked because facts alone do not tell.";
    model::Grade, "Grade", "What a measurement means, from best to worst.";
    model::Place, "Place", "Where on a vehicle; left and right as seen from the driver's seat.";
    model::Zone, "Zone", "Where at a place: across a tyre's tread, or which pad of a caliper.";
    model::EndReason, "EndReason", "Why a component was taken off for good. What was worn or failed had reached the end of its life; all others would have gone on.";
    model::Position, "Position", "Where a component did its work: left and right are alike, front and rear are not.";
    model::NoDistance, "NoDistance", "Why a distance run is not known.";
    model::LifeWithheld, "LifeWithheldReason", "Why no achieved life is told.";
    model::NoLifeLaw, "NoLifeLaw", "Why no Weibull law of lives is told.";
    model::FindingWeight, "FindingWeight", "How heavily a finding weighs.";
    model::SetAsideReason, "HeldMeasurementReason", "Why a measurement is held.";
    model::OptionalLetter, "OptionalLetter", "A kind of letter that whoever gets it may do without.";
    model::Ladder, "Ladder", "What a reminder is about.";
    model::NoticeState, "NoticeState", "Where a notice stands.";
    model::LetterState, "LetterState", "Where a letter stands.";
    model::FitLevel, "FitLevel", "Whose data a usage prior came from.";
    model::horizon::Stage, "Stage", "Where a due item stands.";
    model::horizon::WindowStage, "WindowStage", "Where a coverage window stands.";
    model::horizon::Basis, "Basis", "What a moment rests on.";
    model::horizon::ItemKind, "ItemKind", "What kind of duty a due item is.";
}
