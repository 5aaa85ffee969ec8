//! When two entries say the same: the hash of their canonical content.

use serde_json::Value;
use sha2::{Digest, Sha256};

/// SHA-256 of the entry with its members in order and its numbers in one form, so that `48210` and `48210.0`, or
/// another order of members, are the same content.
pub(super) fn hash(entry: &Value) -> [u8; 32] {
    let mut text = String::new();
    write(entry, &mut text);
    Sha256::digest(text.as_bytes()).into()
}

fn write(value: &Value, out: &mut String) {
    match value {
        Value::Object(members) => {
            let mut names: Vec<&String> = members.keys().collect();
            names.sort();
            out.push('{');
            for name in names {
                if let Some(member) = members.get(name).filter(|member| !member.is_null()) {
                    out.push_str(&Value::from(name.as_str()).to_string());
                    out.push(':');
                    write(member, out);
                    out.push(',');
                }
            }
            out.push('}');
        }
        Value::Array(elements) => {
            out.push('[');
            for element in elements {
                write(element, out);
                out.push(',');
            }
            out.push(']');
        }
        Value::Number(number) => match number.as_f64() {
            Some(float) => write_float(float, out),
            None => out.push_str(&number.to_string()),
        },
        other => out.push_str(&other.to_string()),
    }
}

/// The shortest text that reads back as the same number.
fn write_float(float: f64, out: &mut String) {
    out.push_str(&Value::from(float).to_string());
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    #[test]
    fn order_of_members_and_form_of_numbers_do_not_matter() {
        assert_eq!(hash(&json!({"a": 48210, "b": [1, 2]})), hash(&json!({"b": [1.0, 2], "a": 48210.0})));
    }

    #[test]
    fn another_value_or_another_order_of_elements_is_other_content() {
        assert_ne!(hash(&json!({"a": 1})), hash(&json!({"a": 2})));
        assert_ne!(hash(&json!([1, 2])), hash(&json!([2, 1])));
        assert_ne!(hash(&json!({"a": "1"})), hash(&json!({"a": 1})));
    }
}
