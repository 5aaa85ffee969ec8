//! Reading a request off JSON: every fault is found, each with its place.

use crate::problem::Fault;
use crate::shape::Shape;
use serde_json::{Map, Value};

/// Faults listed at most; a body that is wrong in more places is told so.
const MOST_FAULTS: usize = 200;

/// A type that a client may write.
pub trait Written: Shape + Sized {
    /// Whether its member may be left out.
    const MAY_BE_ABSENT: bool = false;

    /// The value read, or `None` after the reader was told every fault.
    fn read(value: &Value, reader: &mut Reader) -> Option<Self>;

    /// What it is when its member is left out.
    fn absent(reader: &mut Reader) -> Option<Self> {
        reader.fault("required", "this member is needed");
        None
    }
}

/// Where the reading is, and what was wrong so far.
#[derive(Debug, Default)]
pub struct Reader {
    place: Vec<String>,
    faults: Vec<Fault>,
    unknown: Vec<String>,
    manner: Manner,
}

/// How strictly to read.
#[derive(Debug, Default, Clone, Copy, PartialEq, Eq)]
enum Manner {
    /// Unknown members are faults.
    #[default]
    Strict,
    /// Unknown members are noted.
    Lenient,
    /// The members are parameters of an address: all are text, unknown ones are faults.
    Parameters,
}

impl Reader {
    /// Reads `value` as a `T`; an unknown member is a fault.
    ///
    /// # Errors
    /// Every fault found.
    pub fn strictly<T: Written>(value: &Value) -> Result<T, Vec<Fault>> {
        let mut reader = Self::default();
        let read = T::read(value, &mut reader);
        reader.finish(read)
    }

    /// Reads `value` as a `T`; gives the pointers of unknown members beside it.
    ///
    /// # Errors
    /// Every fault found.
    pub fn leniently<T: Written>(value: &Value) -> (Result<T, Vec<Fault>>, Vec<String>) {
        let mut reader = Self { manner: Manner::Lenient, ..Self::default() };
        let read = T::read(value, &mut reader);
        let unknown = std::mem::take(&mut reader.unknown);
        (reader.finish(read), unknown)
    }

    /// Reads the parameters of an address as a `T`. Faults name the parameter.
    ///
    /// # Errors
    /// Every fault found.
    pub fn parameters<T: Written>(given: Map<String, Value>) -> Result<T, Vec<Fault>> {
        let mut reader = Self { manner: Manner::Parameters, ..Self::default() };
        let read = T::read(&Value::Object(given), &mut reader);
        reader.finish(read)
    }

    fn finish<T>(self, read: Option<T>) -> Result<T, Vec<Fault>> {
        match read {
            Some(read) if self.faults.is_empty() => Ok(read),
            _ => Err(self.faults),
        }
    }

    /// Notes a fault at the present place.
    pub fn fault(&mut self, code: &'static str, detail: impl Into<String>) {
        if self.faults.len() >= MOST_FAULTS {
            return;
        }
        let detail = detail.into();
        self.faults.push(if self.faults.len() + 1 == MOST_FAULTS {
            Fault::at("", "too-many-faults", "there are more faults than are listed")
        } else if self.manner == Manner::Parameters {
            Fault::of_parameter(self.place.last().map_or("", String::as_str), code, detail)
        } else {
            Fault::at(&self.pointer(), code, detail)
        });
    }

    /// The JSON Pointer (RFC 6901) of the present place.
    pub fn pointer(&self) -> String {
        self.place.iter().fold(String::new(), |pointer, name| {
            format!("{pointer}/{}", name.replace('~', "~0").replace('/', "~1"))
        })
    }

    /// Does `read` one step further down, at the member or item `name`.
    pub fn within<T>(&mut self, name: impl Into<String>, read: impl FnOnce(&mut Self) -> T) -> T {
        self.place.push(name.into());
        let done = read(self);
        self.place.pop();
        done
    }

    /// The members of an object, whose names may be those in `known`.
    pub fn object<'v>(&mut self, value: &'v Value, known: &[&str]) -> Option<&'v Map<String, Value>> {
        let Value::Object(members) = value else {
            self.wrong_type(value, "an object");
            return None;
        };
        for name in members.keys().filter(|name| !known.contains(&name.as_str())) {
            self.within(name.as_str(), |reader| reader.unknown_member(known));
        }
        Some(members)
    }

    fn unknown_member(&mut self, known: &[&str]) {
        match self.manner {
            Manner::Lenient => self.unknown.push(self.pointer()),
            Manner::Strict => {
                self.fault("unknown-member", format!("no such member; allowed are {}", known.join(", ")));
            }
            Manner::Parameters if known.is_empty() => {
                self.fault("unknown-parameter", "this address takes no such parameter");
            }
            Manner::Parameters => {
                self.fault(
                    "unknown-parameter",
                    format!("no such parameter; allowed are {}", known.join(", ")),
                );
            }
        }
    }

    /// The member `name` of an object.
    pub fn member<T: Written>(&mut self, members: &Map<String, Value>, name: &'static str) -> Option<T> {
        self.within(name, |reader| match members.get(name) {
            Some(value) => T::read(value, reader),
            None => T::absent(reader),
        })
    }

    /// The text at the present place.
    pub fn text<'v>(&mut self, value: &'v Value) -> Option<&'v str> {
        if let Value::String(text) = value {
            return Some(text);
        }
        self.wrong_type(value, "a text");
        None
    }

    /// The number at the present place.
    pub fn number(&mut self, value: &Value) -> Option<f64> {
        let found = match value {
            Value::Number(number) => number.as_f64(),
            Value::String(text) if self.manner == Manner::Parameters => text.parse().ok(),
            _ => None,
        };
        if found.is_none() {
            self.wrong_type(value, "a number");
        }
        found.filter(|number: &f64| number.is_finite())
    }

    /// Whether the value is given as text because it stands in an address.
    pub fn reads_parameters(&self) -> bool {
        self.manner == Manner::Parameters
    }

    /// Notes that the value is of another type than wanted.
    pub fn wrong_type(&mut self, value: &Value, wanted: &str) {
        let found = match value {
            Value::Null => "null",
            Value::Bool(_) => "true or false",
            Value::Number(_) => "a number",
            Value::String(_) => "a text",
            Value::Array(_) => "a list",
            Value::Object(_) => "an object",
        };
        self.fault("wrong-type", format!("{wanted} is needed here, not {found}"));
    }
}

impl<T: Written> Written for Option<T> {
    const MAY_BE_ABSENT: bool = true;

    fn read(value: &Value, reader: &mut Reader) -> Option<Self> {
        match value {
            Value::Null => Some(None),
            value => T::read(value, reader).map(Some),
        }
    }

    fn absent(_: &mut Reader) -> Option<Self> {
        Some(None)
    }
}
