//! Why something stands where it does: one step from the facts to the dates.

use crate::define::answer;
use crate::shape::{Schemas, Shape};
use serde::Serialize;
use serde_json::{Map, Value, json};
use utoipa::openapi::schema::{AdditionalProperties, Type};
use utoipa::openapi::{ObjectBuilder, RefOr, Schema};

answer! {
    /// One step from the facts to the dates.
    Reason {
        /// What kind of step: `anchor`, `interval`, `date_limit`, `odometer_limit`, `usage`, `quantile`, ...
        kind: String = "odometer_limit",
        /// The step in words.
        says: String = "By distance: 30,000 km + 15,000 km = 45,000 km.",
        /// What it reckons with, by name: ids of facts, rule and version, parameters, limits. A distance bears its
        /// unit, km; `check` is the one line of Python that reproduces a quantile.
        values: Values,
    }
}

/// Named values of one step.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(transparent)]
pub struct Values(pub Map<String, Value>);

impl Shape for Values {
    fn schema(_: &mut Schemas) -> RefOr<Schema> {
        ObjectBuilder::new()
            .schema_type(Type::Object)
            .additional_properties(Some(AdditionalProperties::FreeForm(true)))
            .into()
    }

    fn example() -> Value {
        let km = |value| json!({"value": value, "unit": "km"});
        json!({"from": km(30_000), "distance": km(15_000), "limit": km(45_000)})
    }
}

impl Reason {
    /// A step as `written`, with its words. The kind of a step within a step is told behind that of the outer one.
    pub fn new(written: Value, says: String) -> Self {
        let mut values = match written {
            Value::Object(values) => values,
            other => Map::from_iter([("value".to_owned(), other)]),
        };
        let mut taken = |name: &str| match values.remove(name) {
            Some(Value::String(word)) => Some(word),
            _ => None,
        };
        let kinds = [taken("kind"), taken("step")];
        let kind = kinds.into_iter().flatten().collect::<Vec<_>>().join("_");
        Self { kind, says, values: Values(values) }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_step_within_a_step_is_named_behind_it() {
        let written = json!({"kind": "wear", "step": "limit", "limit_mm": 1.6});
        let reason = Reason::new(written, "The limit is 1.6 mm.".to_owned());
        let expected =
            json!({"kind": "wear_limit", "says": "The limit is 1.6 mm.", "values": {"limit_mm": 1.6}});
        assert_eq!(serde_json::to_value(reason).unwrap(), expected);
    }
}
