//! Quantities: a value with its unit.

use crate::reader::{Reader, Written};
use crate::shape::{Schemas, Shape};
use ::quantity::{Dimension, Entered, Unit};
use serde::Serialize;
use serde_json::{Value, json};
use utoipa::openapi::schema::{AdditionalProperties, KnownFormat, SchemaFormat, Type};
use utoipa::openapi::{ObjectBuilder, RefOr, Schema};

/// A quantity in an answer: `{"value": 48210, "unit": "km"}`. Whole values have no decimals.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Quantity {
    /// The number.
    value: Tidy,
    /// What it counts.
    unit: Unit,
}

/// A number without decimals where it is whole, and without digits that only conversion made.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Tidy(f64);

impl Serialize for Tidy {
    fn serialize<S: serde::Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let rounded = (self.0 * 1e6).round() / 1e6;
        if rounded.fract() == 0.0 && rounded.abs() < 9e15 {
            #[expect(clippy::cast_possible_truncation, reason = "whole and within 2^53")]
            return serializer.serialize_i64(rounded as i64);
        }
        serializer.serialize_f64(rounded)
    }
}

impl From<Entered> for Quantity {
    fn from(entered: Entered) -> Self {
        Self { value: Tidy(entered.value), unit: entered.unit }
    }
}

fn quantity_schema(units: &[Unit], least: f64, most: f64, closed: bool) -> ObjectBuilder {
    let value = ObjectBuilder::new()
        .schema_type(Type::Number)
        .format(Some(SchemaFormat::KnownFormat(KnownFormat::Double)))
        .minimum(Some(least).filter(|_| closed))
        .maximum(Some(most).filter(|_| closed))
        .description(Some("The number."));
    let unit = ObjectBuilder::new()
        .schema_type(Type::String)
        .enum_values(Some(units.iter().map(|unit| unit.code())))
        .description(Some("What it counts."));
    ObjectBuilder::new()
        .schema_type(Type::Object)
        .required("value")
        .property("value", value)
        .required("unit")
        .property("unit", unit)
        .additional_properties(Some(AdditionalProperties::FreeForm(false)).filter(|_| closed))
}

impl Shape for Quantity {
    fn schema(schemas: &mut Schemas) -> RefOr<Schema> {
        schemas.named("Quantity", |_| {
            quantity_schema(&Unit::ALL, 0.0, 0.0, false).description(Some("A value with its unit.")).into()
        })
    }

    fn example() -> Value {
        json!({"value": 48210, "unit": "km"})
    }
}

macro_rules! written_quantities {
    ($($(#[doc = $doc:literal])+ $name:ident, $($dimension:ident)|+, $least:literal, $most:literal, $example:tt;)+) => {$(
        $(#[doc = $doc])+
        #[derive(Debug, Clone, Copy, PartialEq)]
        pub struct $name(pub Entered);

        impl Shape for $name {
            fn schema(schemas: &mut Schemas) -> RefOr<Schema> {
                schemas.named(concat!(stringify!($name), "Quantity"), |_| {
                    quantity_schema(&units_of(&[$(Dimension::$dimension),+]), $least, $most, true)
                        .description(Some($crate::shape::words(concat!($($doc),+))))
                        .into()
                })
            }

            fn example() -> Value {
                json!($example)
            }
        }

        impl Written for $name {
            fn read(value: &Value, reader: &mut Reader) -> Option<Self> {
                read_quantity(value, reader, &[$(Dimension::$dimension),+], $least, $most).map(Self)
            }
        }
    )+};
}

written_quantities! {
    /// A distance driven, with its unit.
    Distance, Distance, 0.0, 10_000_000.0, {"value": 48210, "unit": "km"};
    /// A depth of tread, pad or lining, with its unit.
    Depth, Depth, 0.0, 1000.0, {"value": 8, "unit": "mm"};
    /// A running time of the engine, with its unit.
    RunningTime, RunningTime, 0.0, 1_000_000.0, {"value": 1812.5, "unit": "h"};
    /// What a meter shows: a distance, or a running time of the engine.
    MeterValue, Distance | RunningTime, 0.0, 10_000_000.0, {"value": 118_240, "unit": "km"};
    /// A cold tyre pressure, gauge, with its unit.
    Pressure, Pressure, 0.0, 2000.0, {"value": 240, "unit": "kPa"};
    /// A temperature, with its unit.
    Temperature, Temperature, -200.0, 200.0, {"value": -25, "unit": "degC"};
    /// A number that a measurement is held to, with its unit.
    AnyQuantity, Distance | Depth | Pressure | Temperature | Voltage | Share | RunningTime | Count | Volume | Current,
        -1000.0, 1_000_000.0, {"value": 4, "unit": "mm"};
}

fn read_quantity(
    value: &Value,
    reader: &mut Reader,
    dimensions: &[Dimension],
    least: f64,
    most: f64,
) -> Option<Entered> {
    let members = reader.object(value, &["value", "unit"])?;
    let number = reader.within("value", |reader| match members.get("value") {
        None => {
            reader.fault("required", "this member is needed");
            None
        }
        Some(value) => reader.number(value).and_then(|number| {
            if (least..=most).contains(&number) {
                return Some(number);
            }
            reader.fault("out-of-range", format!("a number from {least} to {most} is needed here"));
            None
        }),
    });
    let unit = reader.within("unit", |reader| match members.get("unit") {
        None => {
            reader.fault("required", "this member is needed");
            None
        }
        Some(value) => read_unit(value, reader, dimensions),
    });
    Some(Entered::new(number?, unit?))
}

/// The unit an odometer shows: `km` or `mi`.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct OdometerUnit(pub Unit);

impl Shape for OdometerUnit {
    fn schema(schemas: &mut Schemas) -> RefOr<Schema> {
        schemas.named("OdometerUnit", |_| {
            let units = Unit::ALL.iter().filter(|unit| unit.dimension() == Dimension::Distance);
            ObjectBuilder::new()
                .schema_type(Type::String)
                .enum_values(Some(units.map(|unit| unit.code())))
                .description(Some("The unit an odometer shows."))
                .into()
        })
    }

    fn example() -> Value {
        "km".into()
    }
}

impl Written for OdometerUnit {
    fn read(value: &Value, reader: &mut Reader) -> Option<Self> {
        read_unit(value, reader, &[Dimension::Distance]).map(Self)
    }
}

/// A unit that a check point may be measured in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct PointUnit(pub Unit);

impl Shape for PointUnit {
    fn schema(schemas: &mut Schemas) -> RefOr<Schema> {
        Unit::schema(schemas)
    }

    fn example() -> Value {
        "mm".into()
    }
}

impl Written for PointUnit {
    fn read(value: &Value, reader: &mut Reader) -> Option<Self> {
        let code = reader.text(value)?;
        let unit = Unit::from_code(code);
        if unit.is_none() {
            let allowed: Vec<&str> = Unit::ALL.iter().map(|unit| unit.code()).collect();
            reader.fault("not-one-of", format!("one of {} is needed here", allowed.join(", ")));
        }
        unit.map(Self)
    }
}

/// Every unit of these dimensions.
fn units_of(dimensions: &[Dimension]) -> Vec<Unit> {
    Unit::ALL.into_iter().filter(|unit| dimensions.contains(&unit.dimension())).collect()
}

fn read_unit(value: &Value, reader: &mut Reader, dimensions: &[Dimension]) -> Option<Unit> {
    let code = reader.text(value)?;
    let allowed = units_of(dimensions);
    let unit = Unit::from_code(code).filter(|unit| allowed.contains(unit));
    if unit.is_none() {
        let allowed: Vec<&str> = allowed.iter().map(|unit| unit.code()).collect();
        reader.fault("not-one-of", format!("one of {} is needed here", allowed.join(", ")));
    }
    unit
}

impl Shape for Unit {
    fn schema(schemas: &mut Schemas) -> RefOr<Schema> {
        schemas.named("Unit", |_| {
            ObjectBuilder::new()
                .schema_type(Type::String)
                .enum_values(Some(Unit::ALL.map(Unit::code)))
                .description(Some("A unit of measurement."))
                .into()
        })
    }

    fn example() -> Value {
        "km".into()
    }
}
