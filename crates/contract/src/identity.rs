//! Ids, codes and vehicle identification numbers.

use crate::reader::{Reader, Written};
use crate::shape::{Schemas, Shape};
use crate::text::text_schema;
use model::{Code, Vin};
use serde_json::Value;
use utoipa::openapi::schema::{KnownFormat, SchemaFormat, Type};
use utoipa::openapi::{ObjectBuilder, RefOr, Schema};
use uuid::Uuid;

const EXAMPLE: &str = "01936f0a-7c3e-7d52-9b1f-3c5d8e2a4b60";

fn id_schema() -> RefOr<Schema> {
    ObjectBuilder::new()
        .schema_type(Type::String)
        .format(Some(SchemaFormat::KnownFormat(KnownFormat::Uuid)))
        .max_length(Some(36))
        .into()
}

/// The id written `text`, in the one form with hyphens.
pub fn parse_id(text: &str) -> Option<Uuid> {
    Some(text).filter(|text| text.len() == 36).and_then(|text| Uuid::parse_str(text).ok())
}

impl Shape for Uuid {
    fn schema(_: &mut Schemas) -> RefOr<Schema> {
        id_schema()
    }

    fn example() -> Value {
        EXAMPLE.into()
    }
}

impl Written for Uuid {
    fn read(value: &Value, reader: &mut Reader) -> Option<Self> {
        let id = parse_id(reader.text(value)?);
        if id.is_none() {
            reader.fault("no-id", format!("a UUID is needed here, such as {EXAMPLE}"));
        }
        id
    }
}

macro_rules! ids {
    ($($id:ident),+ $(,)?) => {$(
        impl Shape for model::$id {
            fn schema(_: &mut Schemas) -> RefOr<Schema> {
                id_schema()
            }

            fn example() -> Value {
                EXAMPLE.into()
            }
        }

        impl Written for model::$id {
            fn read(value: &Value, reader: &mut Reader) -> Option<Self> {
                Uuid::read(value, reader).map(Self)
            }
        }
    )+};
}

ids! {
    FleetId, DepotId, PersonId, KeyId, WorkshopId, VehicleId, ReadingId, DecisionId, RulebookId, OverrideId,
    BaselineId, ServiceId, PaperId, WindowId, InspectionId, MeasurementId, FindingId, ComponentId, FittingId,
    NoticeId, LetterId, BatchId, StayId, ReplacementId, IndicatorId,
    SetAsideId,
}

impl Shape for Code {
    fn schema(_: &mut Schemas) -> RefOr<Schema> {
        text_schema(1, 64, "^[a-z][a-z0-9]*(-[a-z0-9]+)*$").into()
    }

    fn example() -> Value {
        "engine-oil".into()
    }
}

impl Written for Code {
    fn read(value: &Value, reader: &mut Reader) -> Option<Self> {
        let text = reader.text(value)?;
        Code::new(text).map_err(|wrong| reader.fault("no-code", wrong.to_string())).ok()
    }
}

impl Shape for Vin {
    fn schema(_: &mut Schemas) -> RefOr<Schema> {
        text_schema(17, 40, "^[ -]*([A-HJ-NPR-Za-hj-npr-z0-9][ -]*){17}$").into()
    }

    fn example() -> Value {
        "G0011A2B3C4D00017".into()
    }
}

impl Written for Vin {
    fn read(value: &Value, reader: &mut Reader) -> Option<Self> {
        let text = crate::text::bounded(value, reader, 40)?;
        Vin::parse(text).map_err(|wrong| reader.fault("no-vin", wrong.to_string())).ok()
    }
}
