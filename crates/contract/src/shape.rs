//! What a type looks like in the OpenAPI document.

use serde_json::{Map, Value};
use std::collections::BTreeMap;
use utoipa::openapi::schema::{AdditionalProperties, OneOfBuilder, SchemaType, Type};
use utoipa::openapi::{ObjectBuilder, Ref, RefOr, Schema};

/// A type of the interface: what it looks like, and an example of it.
pub trait Shape {
    /// Its schema; a named one is put among `schemas` and referred to.
    fn schema(schemas: &mut Schemas) -> RefOr<Schema>;

    /// An example, as it stands in a message.
    fn example() -> Value;
}

/// A type made of named members.
pub trait Object {
    /// Its name in the document.
    const NAME: &'static str;

    /// What it is, in a sentence.
    const ABOUT: &'static str;

    /// Its members, in the order of the documentation.
    fn members(schemas: &mut Schemas) -> Vec<Member>;
}

/// One member of an object.
pub struct Member {
    /// Its name.
    pub name: &'static str,
    /// What it is.
    pub says: String,
    /// Whether it is always there.
    pub required: bool,
    /// Its schema, without the words of `says`.
    pub schema: RefOr<Schema>,
    /// An example of it.
    pub example: Value,
}

/// The named schemas met so far.
#[derive(Default)]
pub struct Schemas(BTreeMap<String, RefOr<Schema>>);

impl Schemas {
    /// The schema of this name, made if it is not there yet, as a reference.
    pub fn named(&mut self, name: &str, make: impl FnOnce(&mut Self) -> RefOr<Schema>) -> RefOr<Schema> {
        if !self.0.contains_key(name) {
            // Holds the place, so that a type that contains itself comes to an end.
            self.0.insert(name.to_owned(), RefOr::T(Schema::default()));
            let schema = make(self);
            self.0.insert(name.to_owned(), schema);
        }
        Ref::from_schema_name(name).into()
    }

    /// All of them by name.
    pub fn into_map(self) -> BTreeMap<String, RefOr<Schema>> {
        self.0
    }
}

/// The schema of an object read from a request: no other members than its own.
pub fn closed_object<T: Object>(schemas: &mut Schemas) -> RefOr<Schema> {
    schemas.named(T::NAME, |schemas| {
        object::<T>(schemas).additional_properties(Some(AdditionalProperties::FreeForm(false))).into()
    })
}

/// The schema of an object in an answer: members may be added later.
pub fn open_object<T: Object>(schemas: &mut Schemas) -> RefOr<Schema> {
    schemas.named(T::NAME, |schemas| object::<T>(schemas).into())
}

fn object<T: Object>(schemas: &mut Schemas) -> ObjectBuilder {
    let members = T::members(schemas);
    let example = example_of(&members);
    let start = ObjectBuilder::new().schema_type(Type::Object).description(Some(words(T::ABOUT)));
    members
        .into_iter()
        .fold(start, |object, member| {
            let object = if member.required { object.required(member.name) } else { object };
            object.property(member.name, described(member.schema, &member.says))
        })
        .examples([example])
}

/// The example of an object: its members' examples.
pub fn example_of(members: &[Member]) -> Value {
    Value::Object(
        members.iter().map(|m| (m.name.to_owned(), m.example.clone())).collect::<Map<String, Value>>(),
    )
}

/// Documentation lines as one text.
pub fn words(lines: &str) -> String {
    lines.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// `schema` with these words as its description.
pub fn described(schema: RefOr<Schema>, says: &str) -> RefOr<Schema> {
    let says = Some(words(says)).filter(|says| !says.is_empty());
    let Some(says) = says else { return schema };
    match schema {
        RefOr::Ref(mut to) => {
            to.description = says;
            RefOr::Ref(to)
        }
        RefOr::T(mut schema) => {
            let place = match &mut schema {
                Schema::Array(array) => Some(&mut array.description),
                Schema::Object(object) => Some(&mut object.description),
                Schema::OneOf(one) => Some(&mut one.description),
                Schema::AllOf(all) => Some(&mut all.description),
                Schema::AnyOf(any) => Some(&mut any.description),
                _ => None,
            };
            if let Some(place) = place {
                *place = Some(match place.take() {
                    Some(general) => format!("{says} {general}"),
                    None => says,
                });
            }
            RefOr::T(schema)
        }
    }
}

/// `schema`, or null.
pub fn nullable(schema: RefOr<Schema>) -> RefOr<Schema> {
    match schema {
        RefOr::T(Schema::Object(mut object)) if object.enum_values.is_none() => {
            object.schema_type = or_null(object.schema_type);
            RefOr::T(Schema::Object(object))
        }
        RefOr::T(Schema::Array(mut array)) => {
            array.schema_type = or_null(array.schema_type);
            RefOr::T(Schema::Array(array))
        }
        other => OneOfBuilder::new().item(ObjectBuilder::new().schema_type(Type::Null)).item(other).into(),
    }
}

fn or_null(schema_type: SchemaType) -> SchemaType {
    match schema_type {
        SchemaType::Type(one) => SchemaType::from_iter([one, Type::Null]),
        SchemaType::Array(mut several) => {
            if !several.contains(&Type::Null) {
                several.push(Type::Null);
            }
            SchemaType::Array(several)
        }
        SchemaType::AnyValue => SchemaType::AnyValue,
    }
}

impl<T: Shape> Shape for Option<T> {
    fn schema(schemas: &mut Schemas) -> RefOr<Schema> {
        nullable(T::schema(schemas))
    }

    fn example() -> Value {
        T::example()
    }
}

impl<T: Shape> Shape for Vec<T> {
    fn schema(schemas: &mut Schemas) -> RefOr<Schema> {
        utoipa::openapi::schema::ArrayBuilder::new().items(T::schema(schemas)).into()
    }

    fn example() -> Value {
        Value::Array(vec![T::example()])
    }
}
