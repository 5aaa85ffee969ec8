//! A request, as somebody sends it.

use serde_json::Value;
use std::sync::atomic::{AtomicU32, Ordering};

/// A request, complete but for the key of who sends it.
#[derive(Debug, Clone)]
pub struct Request {
    pub(crate) method: String,
    pub(crate) address: String,
    pub(crate) headers: Vec<(String, String)>,
    pub(crate) body: Option<Vec<u8>>,
}

impl Request {
    /// A request without headers and body to an address that begins with a slash.
    pub fn new(method: &str, address: &str) -> Self {
        Self { method: method.to_owned(), address: address.to_owned(), headers: Vec::new(), body: None }
    }

    /// `GET`.
    pub fn get(address: &str) -> Self {
        Self::new("GET", address)
    }

    /// `POST` of JSON under a key not used before.
    pub fn post(address: &str, body: &Value) -> Self {
        Self::new("POST", address).under_new_key().json("application/json", body)
    }

    /// `PATCH` of what has this `ETag`.
    pub fn patch(address: &str, etag: &str, body: &Value) -> Self {
        Self::new("PATCH", address).with("If-Match", etag).json("application/merge-patch+json", body)
    }

    /// With a header.
    #[must_use]
    pub fn with(mut self, name: &str, value: &str) -> Self {
        self.headers.push((name.to_owned(), value.to_owned()));
        self
    }

    /// Without a header.
    #[must_use]
    pub fn without(mut self, name: &str) -> Self {
        self.headers.retain(|(given, _)| !given.eq_ignore_ascii_case(name));
        self
    }

    /// Under this `Idempotency-Key` and no other.
    #[must_use]
    pub fn under_key(self, key: &str) -> Self {
        self.without("Idempotency-Key").with("Idempotency-Key", key)
    }

    /// Under an `Idempotency-Key` not used before.
    #[must_use]
    pub fn under_new_key(self) -> Self {
        static USED: AtomicU32 = AtomicU32::new(0);
        self.under_key(&format!("once-and-never-again-{:08}", USED.fetch_add(1, Ordering::Relaxed)))
    }

    /// With a body of this type.
    #[must_use]
    pub fn body(self, media: &str, body: impl Into<Vec<u8>>) -> Self {
        let mut request = self.without("Content-Type").with("Content-Type", media);
        request.body = Some(body.into());
        request
    }

    /// With JSON as its body.
    #[must_use]
    pub fn json(self, media: &str, body: &Value) -> Self {
        self.body(media, body.to_string())
    }
}
