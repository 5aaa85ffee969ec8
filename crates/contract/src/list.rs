//! Lists with bounds, pages of lists, and what a merge patch says about a member.

use crate::reader::{Reader, Written};
use crate::shape::{Schemas, Shape, nullable, words};
use serde::Serialize;
use serde_json::{Value, json};
use utoipa::openapi::schema::{ArrayBuilder, Type};
use utoipa::openapi::{ObjectBuilder, RefOr, Schema};

/// A list of `LEAST` to `MOST` items; one that may be empty may also be left out.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(transparent)]
pub struct Many<T, const LEAST: usize, const MOST: usize>(pub Vec<T>);

impl<T: Shape, const LEAST: usize, const MOST: usize> Shape for Many<T, LEAST, MOST> {
    fn schema(schemas: &mut Schemas) -> RefOr<Schema> {
        let least = Some(LEAST).filter(|least| *least > 0);
        ArrayBuilder::new().items(T::schema(schemas)).min_items(least).max_items(Some(MOST)).into()
    }

    fn example() -> Value {
        json!([T::example()])
    }
}

impl<T: Written, const LEAST: usize, const MOST: usize> Written for Many<T, LEAST, MOST> {
    const MAY_BE_ABSENT: bool = LEAST == 0;

    fn read(value: &Value, reader: &mut Reader) -> Option<Self> {
        let Value::Array(items) = value else {
            reader.wrong_type(value, "a list");
            return None;
        };
        if !(LEAST..=MOST).contains(&items.len()) {
            let wanted = format!("{} items; from {LEAST} to {MOST} are allowed", items.len());
            reader.fault("wrong-length", wanted);
            return None;
        }
        let read: Vec<Option<T>> = items
            .iter()
            .enumerate()
            .map(|(index, item)| reader.within(index.to_string(), |reader| T::read(item, reader)))
            .collect();
        read.into_iter().collect::<Option<Vec<T>>>().map(Self)
    }

    fn absent(reader: &mut Reader) -> Option<Self> {
        if LEAST == 0 {
            return Some(Self(Vec::new()));
        }
        reader.fault("required", "this member is needed");
        None
    }
}

/// What a merge patch (RFC 7396) says about a member: nothing, or its new value. For a member that may have none,
/// `Change<Option<T>>`: null takes it away.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Change<T> {
    /// It stays as it is.
    Keep,
    /// It becomes this.
    To(T),
}

impl<T> Change<T> {
    /// The new value, if there is one.
    pub fn wanted(self) -> Option<T> {
        match self {
            Self::Keep => None,
            Self::To(value) => Some(value),
        }
    }

    /// The new value made into another type, if there is one.
    pub fn map<U>(self, make: impl FnOnce(T) -> U) -> Option<U> {
        self.wanted().map(make)
    }
}

impl<T: Shape> Shape for Change<T> {
    fn schema(schemas: &mut Schemas) -> RefOr<Schema> {
        T::schema(schemas)
    }

    fn example() -> Value {
        T::example()
    }
}

impl<T: Written> Written for Change<T> {
    const MAY_BE_ABSENT: bool = true;

    fn read(value: &Value, reader: &mut Reader) -> Option<Self> {
        T::read(value, reader).map(Self::To)
    }

    fn absent(_: &mut Reader) -> Option<Self> {
        Some(Self::Keep)
    }
}

/// One page of a list.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Page<T> {
    /// The items of the page, in order.
    pub items: Vec<T>,
    /// What to send as `cursor` for the next page; none on the last.
    pub next_cursor: Option<String>,
}

impl<T: Shape> Shape for Page<T> {
    fn schema(schemas: &mut Schemas) -> RefOr<Schema> {
        let cursor = ObjectBuilder::new()
            .schema_type(Type::String)
            .description(Some("What to send as `cursor` for the next page; null on the last."));
        let items = ArrayBuilder::new().items(T::schema(schemas)).max_items(Some(200));
        ObjectBuilder::new()
            .schema_type(Type::Object)
            .description(Some(words("One page of a list.")))
            .required("items")
            .property("items", items)
            .required("next_cursor")
            .property("next_cursor", nullable(cursor.into()))
            .into()
    }

    fn example() -> Value {
        json!({"items": [T::example()], "next_cursor": null})
    }
}
