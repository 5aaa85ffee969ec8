//! What the server answered.

use reqwest::header::HeaderMap;
use serde_json::Value;

/// An answer, read to its end.
#[derive(Debug, Clone)]
pub struct Answer {
    /// The status.
    pub status: u16,
    /// The headers.
    pub headers: HeaderMap,
    /// The body.
    pub bytes: Vec<u8>,
}

/// One fault of a problem document: the pointer, or the name of the parameter, and the code.
pub type Fault = (String, String);

impl Answer {
    /// A header as text; empty if it is not there.
    pub fn header(&self, name: &str) -> &str {
        self.headers.get(name).and_then(|value| value.to_str().ok()).unwrap_or_default()
    }

    /// The body as text.
    pub fn text(&self) -> String {
        String::from_utf8_lossy(&self.bytes).into_owned()
    }

    /// The body as JSON.
    ///
    /// # Panics
    /// When it is none.
    pub fn json(&self) -> Value {
        serde_json::from_slice(&self.bytes)
            .unwrap_or_else(|error| panic!("no JSON ({error}) with status {}: {}", self.status, self.text()))
    }

    /// The same answer, which has this status.
    ///
    /// # Panics
    /// When it has another.
    #[must_use]
    pub fn with_status(self, status: u16) -> Self {
        self.has_status(status);
        self
    }

    /// Sees that it has this status.
    ///
    /// # Panics
    /// When it has another.
    pub fn has_status(&self, status: u16) {
        assert_eq!(self.status, status, "{}", self.text());
    }

    /// Everything that two answers to different requests may have in common: not the request's id, nor the date, nor
    /// whether the connection stays open, which hangs on how much of a refused body had come by then.
    ///
    /// # Panics
    /// When the answer bears no request id.
    pub fn without_request_id(&self) -> (u16, Vec<(String, String)>, String) {
        let id = self.header("x-request-id");
        assert!(!id.is_empty(), "an answer without a request id: {self:?}");
        let told =
            |value: &reqwest::header::HeaderValue| String::from_utf8_lossy(value.as_bytes()).into_owned();
        let mut headers: Vec<(String, String)> = self
            .headers
            .iter()
            .filter(|(name, _)| !["x-request-id", "date", "connection"].contains(&name.as_str()))
            .map(|(name, value)| (name.to_string(), told(value)))
            .collect();
        headers.sort();
        (self.status, headers, self.text().replace(id, "THE REQUEST"))
    }

    /// The problem document of this status and kind, which is as RFC 9457 and the interface want it.
    ///
    /// # Panics
    /// When there is none, or another.
    pub fn problem(&self, status: u16, slug: &str) -> Value {
        let told = self.text();
        assert_eq!(self.status, status, "{told}");
        assert_eq!(self.header("content-type"), "application/problem+json", "{told}");
        let problem = self.json();
        assert_eq!(problem["type"], format!("/problems/{slug}"), "{told}");
        assert_eq!(problem["status"], status, "{told}");
        assert_eq!(problem["instance"], self.header("x-request-id"), "{told}");
        for member in ["title", "detail"] {
            assert!(problem[member].as_str().is_some_and(|text| !text.is_empty()), "{member}: {told}");
        }
        assert!(["never", "same_key", "after"].iter().any(|retry| problem["retry"] == *retry), "{told}");
        problem
    }

    /// The faults of a problem document.
    ///
    /// # Panics
    /// When there is none.
    pub fn faults(&self) -> Vec<Fault> {
        let problem = self.json();
        let text = |fault: &Value, member: &str| fault[member].as_str().unwrap_or_default().to_owned();
        let errors = problem["errors"].as_array().expect("a problem document lists errors");
        let place =
            |fault: &Value| text(fault, if fault["parameter"].is_string() { "parameter" } else { "pointer" });
        errors.iter().map(|fault| (place(fault), text(fault, "code"))).collect()
    }

    /// The places of the faults.
    ///
    /// # Panics
    /// When it is no problem document.
    pub fn places(&self) -> Vec<String> {
        self.faults().into_iter().map(|(place, _)| place).collect()
    }
}
