//! The OpenAPI document as the server gives it, read for making whole matrices of requests.

use crate::{Caller, OneOfEach, Request};
use serde_json::{Map, Value};
use std::collections::BTreeSet;

/// The OpenAPI document.
pub struct Document(pub Value);

/// One operation of the document.
#[derive(Debug, Clone)]
pub struct Operation {
    /// Its name.
    pub id: String,
    /// Its method, in capitals.
    pub method: String,
    /// Its path, with names of parameters in braces.
    pub path: String,
    /// The scope a key must bear; none for an operation open to all.
    pub scope: Option<String>,
    /// The names of its query parameters.
    pub query: Vec<String>,
    /// The headers that it must be sent with.
    pub headers: Vec<String>,
    /// The body it takes.
    pub body: Option<Body>,
    /// The schema of what it answers when it is done.
    pub gives: Option<Value>,
}

/// The body that an operation takes.
#[derive(Debug, Clone)]
pub struct Body {
    /// Its media type.
    pub media: String,
    /// Its schema.
    pub schema: Value,
    /// The document's own example of it.
    pub example: Value,
}

impl Document {
    /// The document that the server gives.
    ///
    /// # Panics
    /// When it gives none.
    pub async fn of(caller: &Caller) -> Self {
        Self(caller.send(Request::get("/v1/openapi.json")).await.with_status(200).json())
    }

    /// Every operation that needs a key.
    ///
    /// # Panics
    /// When the document names none: then nothing would be tried.
    pub fn operations(&self) -> Vec<Operation> {
        let paths = self.0["paths"].as_object().expect("the document has paths");
        let all = paths.iter().flat_map(|(path, item)| {
            let methods = item.as_object().expect("a path has methods");
            methods.iter().map(move |(method, operation)| Operation::of(path, method, operation))
        });
        let guarded: Vec<Operation> = all.filter(|operation| operation.scope.is_some()).collect();
        assert!(guarded.len() > 50, "the document names {} operations", guarded.len());
        guarded
    }

    /// The schema meant: a reference is followed, and of alternatives the one that is not null is taken.
    pub fn resolve<'d>(&'d self, schema: &'d Value) -> &'d Value {
        if let Some(name) = schema["$ref"].as_str().and_then(|to| to.strip_prefix("#/components/schemas/")) {
            return self.resolve(&self.0["components"]["schemas"][name]);
        }
        match schema["oneOf"].as_array().and_then(|all| all.iter().find(|one| one["type"] != "null")) {
            Some(one) => self.resolve(one),
            None => schema,
        }
    }

    /// The names of an object's members.
    pub fn members(&self, schema: &Value) -> BTreeSet<String> {
        let properties = self.resolve(schema)["properties"].as_object();
        properties.map(|all| all.keys().cloned().collect()).unwrap_or_default()
    }

    /// Every place of `value` with its schema, the value itself first.
    pub fn places<'d>(&'d self, value: &Value, schema: &'d Value) -> Vec<(String, &'d Value)> {
        let schema = self.resolve(schema);
        let mut all = vec![(String::new(), schema)];
        let mut below = |name: &str, value: &Value, schema: &'d Value| {
            let inner = self.places(value, schema);
            all.extend(inner.into_iter().map(|(pointer, schema)| (format!("/{name}{pointer}"), schema)));
        };
        for (name, member) in value.as_object().unwrap_or(&Map::new()) {
            below(name, member, &schema["properties"][name.as_str()]);
        }
        for (index, item) in value.as_array().unwrap_or(&Vec::new()).iter().enumerate() {
            below(&index.to_string(), item, &schema["items"]);
        }
        all
    }
}

impl Operation {
    fn of(path: &str, method: &str, operation: &Value) -> Self {
        let text = |value: &Value| value.as_str().unwrap_or_default().to_owned();
        let parameters = operation["parameters"].as_array().cloned().unwrap_or_default();
        let named = |place: &str, only_required: bool| {
            let wanted = |p: &&Value| p["in"] == place && (!only_required || p["required"] == true);
            parameters.iter().filter(wanted).map(|p| text(&p["name"])).collect::<Vec<String>>()
        };
        let content = operation["requestBody"]["content"].as_object();
        let responses = operation["responses"].as_object().expect("an operation has responses");
        let done = responses.iter().find(|(status, _)| status.starts_with('2')).map(|(_, response)| response);
        Self {
            id: text(&operation["operationId"]),
            method: method.to_uppercase(),
            path: path.to_owned(),
            scope: operation["x-scope"].as_str().map(str::to_owned),
            query: named("query", false),
            headers: named("header", true),
            body: content.and_then(|content| content.iter().next()).map(|(media, content)| Body {
                media: media.clone(),
                schema: content["schema"].clone(),
                example: content["example"].clone(),
            }),
            gives: done
                .map(|done| done["content"]["application/json"]["schema"].clone())
                .filter(Value::is_object),
        }
    }

    /// The names of the parameters in its path, from left to right.
    pub fn parameters(&self) -> Vec<&str> {
        self.path.split('{').skip(1).filter_map(|rest| rest.split_once('}')).map(|(name, _)| name).collect()
    }

    /// A request to it about these things, with the document's own example as its body.
    ///
    /// # Panics
    /// When a parameter of its path names a kind of thing that is not among them.
    pub fn request(&self, things: &OneOfEach) -> Request {
        let mut address = self.path.clone();
        for name in self.parameters() {
            address = address.replace(&format!("{{{name}}}"), things.id(name));
        }
        let mut request = Request::new(&self.method, &address);
        for header in &self.headers {
            request = match header.as_str() {
                "Idempotency-Key" => request.under_new_key(),
                "If-Match" => request.with("If-Match", "\"1\""),
                other => panic!("{} needs the header {other}, which no test knows", self.id),
            };
        }
        match &self.body {
            Some(body) => request.json(&body.media, &body.example),
            None => request,
        }
    }

    /// A request to it about these things with another body.
    ///
    /// # Panics
    /// When it takes none.
    pub fn request_with(&self, things: &OneOfEach, body: &Value) -> Request {
        let media = &self.body.as_ref().expect("it takes a body").media;
        self.request(things).json(media, body)
    }
}
