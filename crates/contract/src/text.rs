//! Texts with a bound: one line, several lines, an e-mail address, a language, a currency.

use crate::reader::{Reader, Written};
use crate::shape::{Schemas, Shape};
use serde::Serialize;
use serde_json::Value;
use utoipa::openapi::schema::Type;
use utoipa::openapi::{ObjectBuilder, RefOr, Schema};

/// One line of 1 to `MOST` characters: no control characters, not only blanks.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[serde(transparent)]
pub struct Line<const MOST: usize>(pub String);

/// A text of 1 to `MOST` characters that may have several lines: no control characters but line ends and tabs.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[serde(transparent)]
pub struct Text<const MOST: usize>(pub String);

/// An address for e-mail (the form of RFC 5321 without quoted parts and address literals).
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[serde(transparent)]
pub struct EmailAddress(pub String);

/// A language tag (the common form of BCP 47).
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[serde(transparent)]
pub struct LanguageTag(pub String);

/// A currency's three letters (ISO 4217).
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[serde(transparent)]
pub struct Currency(pub String);

/// A text type's schema.
pub(crate) fn text_schema(least: usize, most: usize, pattern: &str) -> ObjectBuilder {
    ObjectBuilder::new()
        .schema_type(Type::String)
        .min_length(Some(least))
        .max_length(Some(most))
        .pattern(Some(pattern).filter(|pattern| !pattern.is_empty()))
}

/// The text at the present place, if its length is within bounds.
pub(crate) fn bounded<'v>(value: &'v Value, reader: &mut Reader, most: usize) -> Option<&'v str> {
    let text = reader.text(value)?;
    let length = text.chars().count();
    if length > most {
        reader.fault("too-long", format!("{length} characters, at most {most} are allowed"));
        return None;
    }
    if text.trim_matches(' ').is_empty() {
        reader.fault("empty", "at least one character that is no blank is needed");
        return None;
    }
    Some(text)
}

fn without_control(text: &str, reader: &mut Reader, allowed: &[char]) -> Option<String> {
    match text.chars().find(|c| c.is_control() && !allowed.contains(c)) {
        Some(found) => {
            let code = u32::from(found);
            reader.fault(
                "control-character",
                format!("the control character U+{code:04X} is not allowed here"),
            );
            None
        }
        None => Some(text.to_owned()),
    }
}

/// The text at the present place, if `good`; otherwise the fault says what is `wanted`.
fn of_form(
    value: &Value,
    reader: &mut Reader,
    most: usize,
    good: fn(&str) -> bool,
    wanted: &str,
) -> Option<String> {
    let text = bounded(value, reader, most)?;
    if good(text) {
        return Some(text.to_owned());
    }
    reader.fault("wrong-form", format!("{wanted} is needed here"));
    None
}

impl<const MOST: usize> Shape for Line<MOST> {
    fn schema(_: &mut Schemas) -> RefOr<Schema> {
        // Control characters are U+0000 to U+001F and U+007F to U+009F (general category Cc).
        let pattern =
            r"^[^\u0000-\u001f\u007f-\u009f]*[^\u0000-\u0020\u007f-\u009f][^\u0000-\u001f\u007f-\u009f]*$";
        text_schema(1, MOST, pattern).into()
    }

    fn example() -> Value {
        "North yard".into()
    }
}

impl<const MOST: usize> Written for Line<MOST> {
    fn read(value: &Value, reader: &mut Reader) -> Option<Self> {
        let text = bounded(value, reader, MOST)?;
        without_control(text, reader, &[]).map(Self)
    }
}

impl<const MOST: usize> Shape for Text<MOST> {
    fn schema(_: &mut Schemas) -> RefOr<Schema> {
        let pattern = r"^[^\u0000-\u0008\u000b\u000c\u000e-\u001f\u007f-\u009f]*[^\u0000-\u0008\u000b\u000c\u000e-\u0020\u007f-\u009f][^\u0000-\u0008\u000b\u000c\u000e-\u001f\u007f-\u009f]*$";
        text_schema(1, MOST, pattern).into()
    }

    fn example() -> Value {
        "Seen in daylight, engine cold.".into()
    }
}

impl<const MOST: usize> Written for Text<MOST> {
    fn read(value: &Value, reader: &mut Reader) -> Option<Self> {
        let text = bounded(value, reader, MOST)?;
        without_control(text, reader, &['\n', '\r', '\t']).map(Self)
    }
}

impl Shape for EmailAddress {
    fn schema(_: &mut Schemas) -> RefOr<Schema> {
        text_schema(3, 254, r"^[A-Za-z0-9.!#$%&'*+/=?^_`{|}~-]{1,64}@[A-Za-z0-9-]+(\.[A-Za-z0-9-]+)+$").into()
    }

    fn example() -> Value {
        "ann@fleet.example".into()
    }
}

impl Written for EmailAddress {
    fn read(value: &Value, reader: &mut Reader) -> Option<Self> {
        of_form(value, reader, 254, is_address, "an e-mail address such as ann@fleet.example").map(Self)
    }
}

fn is_address(text: &str) -> bool {
    let local_part = |c: char| c.is_ascii_alphanumeric() || ".!#$%&'*+/=?^_`{|}~-".contains(c);
    let label =
        |label: &str| !label.is_empty() && label.chars().all(|c| c.is_ascii_alphanumeric() || c == '-');
    text.split_once('@').is_some_and(|(local, domain)| {
        (1..=64).contains(&local.len())
            && local.chars().all(local_part)
            && domain.contains('.')
            && domain.split('.').all(label)
    })
}

impl Shape for LanguageTag {
    fn schema(_: &mut Schemas) -> RefOr<Schema> {
        text_schema(2, 35, "^[A-Za-z]{2,3}(-[A-Za-z0-9]{2,8})*$").into()
    }

    fn example() -> Value {
        "en".into()
    }
}

impl Written for LanguageTag {
    fn read(value: &Value, reader: &mut Reader) -> Option<Self> {
        of_form(value, reader, 35, is_language, "a language tag such as en or de-AT").map(Self)
    }
}

fn is_language(text: &str) -> bool {
    let mut parts = text.split('-');
    let first = parts
        .next()
        .is_some_and(|p| (2..=3).contains(&p.len()) && p.chars().all(|c| c.is_ascii_alphabetic()));
    first && parts.all(|p| (2..=8).contains(&p.len()) && p.chars().all(|c| c.is_ascii_alphanumeric()))
}

impl Shape for Currency {
    fn schema(_: &mut Schemas) -> RefOr<Schema> {
        text_schema(3, 3, "^[A-Z]{3}$").into()
    }

    fn example() -> Value {
        "EUR".into()
    }
}

impl Written for Currency {
    fn read(value: &Value, reader: &mut Reader) -> Option<Self> {
        let good = |text: &str| text.len() == 3 && text.chars().all(|c| c.is_ascii_uppercase());
        of_form(value, reader, 3, good, "a currency's three letters (ISO 4217)").map(Self)
    }
}

impl Shape for String {
    fn schema(_: &mut Schemas) -> RefOr<Schema> {
        ObjectBuilder::new().schema_type(Type::String).into()
    }

    fn example() -> Value {
        "text".into()
    }
}
