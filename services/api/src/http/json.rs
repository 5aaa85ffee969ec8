//! JSON as requests bring it: not too deep, and no member twice.

use serde::de::{DeserializeSeed, Deserializer, Error, MapAccess, SeqAccess, Visitor};
use serde_json::{Map, Number, Value};
use std::fmt;

/// Arrays and objects may lie this deep in each other.
pub const MOST_NESTING: usize = 16;

/// Reads JSON text.
///
/// # Errors
/// What is wrong with it, for a person.
pub fn parse(text: &[u8]) -> Result<Value, String> {
    if depth(text) > MOST_NESTING {
        return Err(format!("lists and objects lie deeper in each other than {MOST_NESTING}"));
    }
    let mut reader = serde_json::Deserializer::from_slice(text);
    let value = Whole.deserialize(&mut reader).map_err(|error| error.to_string())?;
    reader.end().map_err(|error| error.to_string())?;
    Ok(value)
}

/// How deep arrays and objects lie in each other. Counted on the bytes, so that deep text is never parsed.
fn depth(text: &[u8]) -> usize {
    let (mut open, mut deepest) = (0_usize, 0);
    let (mut in_string, mut escaped) = (false, false);
    for byte in text {
        match byte {
            _ if escaped => escaped = false,
            b'\\' if in_string => escaped = true,
            b'"' => in_string = !in_string,
            b'[' | b'{' if !in_string => {
                open += 1;
                deepest = deepest.max(open);
            }
            b']' | b'}' if !in_string => open = open.saturating_sub(1),
            _ => {}
        }
    }
    deepest
}

/// A value in which no object has a member twice: RFC 8259 leaves open which would count.
struct Whole;

impl<'de> DeserializeSeed<'de> for Whole {
    type Value = Value;
    fn deserialize<D: Deserializer<'de>>(self, deserializer: D) -> Result<Value, D::Error> {
        deserializer.deserialize_any(self)
    }
}

impl<'de> Visitor<'de> for Whole {
    type Value = Value;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("JSON")
    }

    fn visit_unit<E>(self) -> Result<Value, E> {
        Ok(Value::Null)
    }

    fn visit_bool<E>(self, yes: bool) -> Result<Value, E> {
        Ok(Value::Bool(yes))
    }

    fn visit_i64<E>(self, number: i64) -> Result<Value, E> {
        Ok(number.into())
    }

    fn visit_u64<E>(self, number: u64) -> Result<Value, E> {
        Ok(number.into())
    }

    fn visit_f64<E>(self, number: f64) -> Result<Value, E> {
        Ok(Number::from_f64(number).map_or(Value::Null, Value::Number))
    }

    fn visit_str<E>(self, text: &str) -> Result<Value, E> {
        Ok(text.into())
    }

    fn visit_string<E>(self, text: String) -> Result<Value, E> {
        Ok(text.into())
    }

    fn visit_seq<A: SeqAccess<'de>>(self, mut items: A) -> Result<Value, A::Error> {
        let mut list = Vec::new();
        while let Some(item) = items.next_element_seed(Whole)? {
            list.push(item);
        }
        Ok(Value::Array(list))
    }

    fn visit_map<A: MapAccess<'de>>(self, mut members: A) -> Result<Value, A::Error> {
        let mut object = Map::new();
        while let Some(name) = members.next_key::<String>()? {
            let value = members.next_value_seed(Whole)?;
            if object.contains_key(&name) {
                return Err(A::Error::custom(format!("the member {name:?} stands twice in one object")));
            }
            object.insert(name, value);
        }
        Ok(Value::Object(object))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    #[test]
    fn what_is_read_equals_what_the_common_reader_reads() {
        let texts = [
            r#"{"a": [1, -2, 3.5, 1e3, true, null, "x\u00e9\n"], "b": {"c": {}}}"#,
            "0",
            "\"\"",
            " [ ] ",
            "18446744073709551615",
        ];
        for text in texts {
            assert_eq!(
                parse(text.as_bytes()),
                Ok(serde_json::from_str::<Value>(text).expect(text)),
                "{text}"
            );
        }
    }

    #[test]
    fn a_member_that_stands_twice_is_refused_by_name() {
        let refusal = parse(br#"{"a": {"odometer": 1, "odometer": 2}}"#).expect_err("twice");
        assert!(refusal.contains("\"odometer\" stands twice"), "{refusal}");
    }

    #[test]
    fn nesting_is_allowed_to_sixteen_and_no_deeper() {
        let nested = |depth: usize| format!("{}1{}", "[".repeat(depth), "]".repeat(depth));
        assert!(parse(nested(MOST_NESTING).as_bytes()).is_ok());
        assert!(parse(nested(MOST_NESTING + 1).as_bytes()).is_err());
        assert!(parse(nested(100_000).as_bytes()).is_err());
        let brackets_in_text = json!({"note": "[".repeat(50), "quoted \" { name": "\\"}).to_string();
        assert!(parse(brackets_in_text.as_bytes()).is_ok());
    }

    #[test]
    fn broken_text_is_refused_with_its_place() {
        for text in
            ["", "{", "{\"a\":}", "[1,]", "nul", "{} {}", "\"\\ud800\"", "1e999", "{'a': 1}", "\u{feff}{}"]
        {
            let refusal = parse(text.as_bytes()).expect_err(text);
            assert!(refusal.contains("column"), "{text}: {refusal}");
        }
    }
}
