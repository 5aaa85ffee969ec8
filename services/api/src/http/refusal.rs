//! Every way in which a request is not done, turned into a problem document in this one place.

use super::answer::Answer;
use actix_web::HttpResponse;
use actix_web::http::StatusCode;
use actix_web::http::header::{ACCEPT_ENCODING, ALLOW, HeaderName, LOCATION, RETRY_AFTER, WWW_AUTHENTICATE};
use clerk::ActError;
use contract::{Fault, ProblemKind};
use store::StoreError;

/// Why an operation stops: a refusal, or an answer that was given before.
pub enum Stop {
    /// It is refused.
    Refused(Box<Refusal>),
    /// It was done before: this was the answer.
    Answered(Box<Answer>),
}

/// A problem that is to be told.
#[derive(Debug)]
pub struct Refusal {
    kind: ProblemKind,
    detail: String,
    faults: Vec<Fault>,
    headers: Vec<(HeaderName, String)>,
}

/// Seconds after which a client may ask again while the store is busy.
const STORE_BUSY_SECONDS: u32 = 2;

impl Refusal {
    /// A problem of this kind; `detail` says what happened this time.
    pub fn new(kind: ProblemKind, detail: impl Into<String>) -> Self {
        Self { kind, detail: detail.into(), faults: Vec::new(), headers: Vec::new() }
    }

    /// With these faults.
    pub fn because(mut self, faults: Vec<Fault>) -> Self {
        self.faults = faults;
        self
    }

    /// With one fault of a parameter or header.
    pub fn because_of(self, parameter: &str, code: &str, detail: impl Into<String>) -> Self {
        self.because(vec![Fault::of_parameter(parameter, code, detail)])
    }

    fn with(mut self, name: HeaderName, value: impl Into<String>) -> Self {
        self.headers.push((name, value.into()));
        self
    }

    /// Nothing is there. One text for all: what belongs to another fleet must look like what never was.
    pub fn not_found() -> Self {
        Self::new(ProblemKind::NotFound, "Nothing of this fleet is known under this address.")
    }

    /// No good access key came along.
    pub fn not_signed_in() -> Self {
        Self::new(ProblemKind::NotSignedIn, "The access key is missing, misspelt, expired or revoked.")
            .with(WWW_AUTHENTICATE, "Bearer realm=\"ostler\"")
    }

    /// The key lacks a scope.
    pub fn not_allowed(detail: impl Into<String>) -> Self {
        Self::new(ProblemKind::NotAllowed, detail)
    }

    /// The path takes other methods.
    pub fn wrong_method(allowed: &str) -> Self {
        Self::new(ProblemKind::MethodNotAllowed, format!("This address takes {allowed}."))
            .with(ALLOW, allowed)
    }

    /// Content that cannot be right.
    pub fn invalid(faults: Vec<Fault>) -> Self {
        let detail = match faults.len() {
            1 => "1 place of the request is not valid.".to_owned(),
            number => format!("{number} places of the request are not valid."),
        };
        Self::new(ProblemKind::InvalidContent, detail).because(faults)
    }

    /// A body of a type or coding that is not taken.
    pub fn wrong_type(detail: impl Into<String>, coding: bool) -> Self {
        let refusal = Self::new(ProblemKind::UnsupportedMediaType, detail);
        if coding { refusal.with(ACCEPT_ENCODING, "gzip") } else { refusal }
    }

    /// The same request is being worked on.
    pub fn still_running() -> Self {
        Self::new(ProblemKind::StillRunning, "A request with this Idempotency-Key is still running.")
            .with(RETRY_AFTER, "1")
    }

    /// The request was done, and its answer is no longer kept.
    pub fn answer_gone(location: Option<&str>) -> Self {
        let refusal =
            Self::new(ProblemKind::AnswerGone, "This was done; the answer is kept for 30 days only.");
        match location {
            Some(location) => refusal.with(LOCATION, location),
            None => refusal,
        }
    }

    /// The store cannot answer now.
    pub fn unavailable() -> Self {
        Self::new(ProblemKind::Unavailable, "The store cannot answer now.")
            .with(RETRY_AFTER, STORE_BUSY_SECONDS.to_string())
    }

    /// A fault of the server. What it was stands in the log alone.
    pub fn internal() -> Self {
        Self::new(
            ProblemKind::Internal,
            "The server met a fault of its own; it is in its log under this request id.",
        )
    }

    /// The kind of problem.
    #[cfg(test)]
    pub const fn kind(&self) -> ProblemKind {
        self.kind
    }

    /// The answer that tells it.
    pub fn response(self, request_id: &str) -> HttpResponse {
        let status = StatusCode::from_u16(self.kind.status()).unwrap_or(StatusCode::INTERNAL_SERVER_ERROR);
        let mut response = HttpResponse::build(status);
        for (name, value) in self.headers {
            response.insert_header((name, value));
        }
        let problem = self.kind.happened(self.detail, request_id, self.faults);
        response
            .content_type("application/problem+json")
            .body(serde_json::to_string(&problem).unwrap_or_else(|_| "{}".to_owned()))
    }
}

impl From<Refusal> for Stop {
    fn from(refusal: Refusal) -> Self {
        Self::Refused(Box::new(refusal))
    }
}

impl From<Answer> for Stop {
    fn from(answer: Answer) -> Self {
        Self::Answered(Box::new(answer))
    }
}

impl From<StoreError> for Refusal {
    fn from(error: StoreError) -> Self {
        if error.is_unavailable() {
            tracing::warn!(error = &error as &dyn std::error::Error, "the store is not available");
            return Self::unavailable();
        }
        tracing::error!(error = &error as &dyn std::error::Error, "the store failed");
        Self::internal()
    }
}

impl From<StoreError> for Stop {
    fn from(error: StoreError) -> Self {
        Refusal::from(error).into()
    }
}

impl From<ActError> for Refusal {
    fn from(error: ActError) -> Self {
        match error {
            ActError::NotFound { .. } => Self::not_found(),
            ActError::Faults(faults) => {
                Self::invalid(faults.into_iter().map(|f| Fault::at(&f.pointer, &f.code, f.detail)).collect())
            }
            ActError::Conflict { code, detail } => {
                let fault = Fault::at("", code, detail.clone());
                Self::new(ProblemKind::Conflict, detail).because(vec![fault])
            }
            ActError::Stale => Self::new(
                ProblemKind::StaleVersion,
                "It has another version now than the one named in If-Match.",
            ),
            ActError::KeyReused => {
                Self::new(ProblemKind::KeyReused, "This Idempotency-Key came before with another request.")
            }
            ActError::Raced(_) => Self::still_running(),
            ActError::Unavailable(error) | ActError::Store(error) => error.into(),
        }
    }
}

impl From<ActError> for Stop {
    fn from(error: ActError) -> Self {
        Refusal::from(error).into()
    }
}
