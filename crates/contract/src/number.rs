//! Numbers with bounds, and yes or no.

use crate::reader::{Reader, Written};
use crate::shape::{Schemas, Shape};
use serde::Serialize;
use serde_json::Value;
use utoipa::openapi::schema::{KnownFormat, SchemaFormat, Type};
use utoipa::openapi::{ObjectBuilder, RefOr, Schema};

/// A whole number from `LEAST` to `MOST`. `12.0` is whole, as in JSON Schema.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(transparent)]
pub struct Whole<const LEAST: i64, const MOST: i64>(pub i64);

/// A share from 0 to 100 percent.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
#[serde(transparent)]
pub struct Percent(pub f64);

/// How many of something: more than 0, at most 100,000.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
#[serde(transparent)]
pub struct Amount(pub f64);

impl<const LEAST: i64, const MOST: i64> Whole<LEAST, MOST> {
    /// As an unsigned number; what is negative becomes zero.
    pub fn unsigned(self) -> u32 {
        u32::try_from(self.0).unwrap_or(0)
    }
}

impl<const LEAST: i64, const MOST: i64> From<u32> for Whole<LEAST, MOST> {
    fn from(number: u32) -> Self {
        Self(i64::from(number))
    }
}

impl<const LEAST: i64, const MOST: i64> Shape for Whole<LEAST, MOST> {
    fn schema(_: &mut Schemas) -> RefOr<Schema> {
        ObjectBuilder::new()
            .schema_type(Type::Integer)
            .format(Some(SchemaFormat::KnownFormat(KnownFormat::Int64)))
            .minimum(Some(bound(LEAST)))
            .maximum(Some(bound(MOST)))
            .into()
    }

    fn example() -> Value {
        LEAST.max(12).min(MOST).into()
    }
}

fn bound(number: i64) -> utoipa::Number {
    utoipa::Number::Int(isize::try_from(number).unwrap_or(isize::MAX))
}

impl<const LEAST: i64, const MOST: i64> Written for Whole<LEAST, MOST> {
    fn read(value: &Value, reader: &mut Reader) -> Option<Self> {
        let number = match value {
            Value::Number(number) => number.as_i64().or_else(|| number.as_f64().and_then(whole)),
            Value::String(text) if reader.reads_parameters() => text.parse().ok(),
            other => {
                reader.wrong_type(other, "a whole number");
                return None;
            }
        };
        match number {
            Some(number) if (LEAST..=MOST).contains(&number) => Some(Self(number)),
            _ => {
                reader.fault("out-of-range", format!("a whole number from {LEAST} to {MOST} is needed here"));
                None
            }
        }
    }
}

/// The whole number `number` stands for, if it is one and exact in a double.
fn whole(number: f64) -> Option<i64> {
    let exact = number.fract() == 0.0 && number.abs() <= 9_007_199_254_740_991.0;
    #[expect(clippy::cast_possible_truncation, reason = "whole and within 2^53, checked above")]
    exact.then_some(number as i64)
}

fn real_schema(least: f64, most: f64) -> ObjectBuilder {
    ObjectBuilder::new()
        .schema_type(Type::Number)
        .format(Some(SchemaFormat::KnownFormat(KnownFormat::Double)))
        .minimum(Some(least))
        .maximum(Some(most))
}

impl Shape for Percent {
    fn schema(_: &mut Schemas) -> RefOr<Schema> {
        real_schema(0.0, 100.0).into()
    }

    fn example() -> Value {
        70.into()
    }
}

impl Written for Percent {
    fn read(value: &Value, reader: &mut Reader) -> Option<Self> {
        let number = reader.number(value)?;
        if (0.0..=100.0).contains(&number) {
            return Some(Self(number));
        }
        reader.fault("out-of-range", "a number from 0 to 100 is needed here");
        None
    }
}

impl Shape for Amount {
    fn schema(_: &mut Schemas) -> RefOr<Schema> {
        real_schema(0.000_001, 100_000.0).into()
    }

    fn example() -> Value {
        1.into()
    }
}

impl Written for Amount {
    fn read(value: &Value, reader: &mut Reader) -> Option<Self> {
        let number = reader.number(value)?;
        if (0.000_001..=100_000.0).contains(&number) {
            return Some(Self(number));
        }
        reader.fault("out-of-range", "a number above 0 and at most 100000 is needed here");
        None
    }
}

impl Shape for bool {
    fn schema(_: &mut Schemas) -> RefOr<Schema> {
        ObjectBuilder::new().schema_type(Type::Boolean).into()
    }

    fn example() -> Value {
        false.into()
    }
}

impl Written for bool {
    fn read(value: &Value, reader: &mut Reader) -> Option<Self> {
        match value {
            Value::Bool(yes) => Some(*yes),
            Value::String(text) if reader.reads_parameters() && text == "true" => Some(true),
            Value::String(text) if reader.reads_parameters() && text == "false" => Some(false),
            other => {
                reader.wrong_type(other, "true or false");
                None
            }
        }
    }
}

macro_rules! answered_numbers {
    ($($number:ty, $kind:ident, $format:ident, $example:expr;)+) => {$(
        impl Shape for $number {
            fn schema(_: &mut Schemas) -> RefOr<Schema> {
                ObjectBuilder::new()
                    .schema_type(Type::$kind)
                    .format(Some(SchemaFormat::KnownFormat(KnownFormat::$format)))
                    .into()
            }

            fn example() -> Value {
                $example.into()
            }
        }
    )+};
}

answered_numbers! {
    i64, Integer, Int64, 3;
    i32, Integer, Int32, 2024;
    u32, Integer, Int64, 3;
    u16, Integer, Int32, 200;
    f64, Number, Double, 0.42;
}
