//! Problem documents (RFC 9457): every kind there is, and what each looks like.

use crate::define::answer;
use crate::shape::{Schemas, Shape};
use serde::{Serialize, Serializer};
use serde_json::Value;
use utoipa::openapi::schema::Type;
use utoipa::openapi::{ObjectBuilder, RefOr, Schema};

answer! {
    /// What is wrong with one place of a request.
    Fault {
        /// JSON Pointer (RFC 6901) to the place in the body; empty for the whole body or a parameter.
        pointer: String = "/depot",
        /// The parameter or header that is at fault, where it is not the body.
        parameter: Option<String> = null,
        /// A stable word for what is wrong.
        code: String = "not-known",
        /// What is wrong, in a sentence.
        detail: String = "no depot of this fleet has this id",
    }
}

impl Fault {
    /// A fault of the body at `pointer`.
    pub fn at(pointer: &str, code: &str, detail: impl Into<String>) -> Self {
        Self { pointer: pointer.to_owned(), parameter: None, code: code.to_owned(), detail: detail.into() }
    }

    /// A fault of a parameter or header.
    pub fn of_parameter(name: &str, code: &str, detail: impl Into<String>) -> Self {
        Self {
            pointer: String::new(),
            parameter: Some(name.to_owned()),
            code: code.to_owned(),
            detail: detail.into(),
        }
    }
}

answer! {
    /// Why a request was not done (RFC 9457).
    Problem {
        /// What kind of problem: an address that explains it.
        r#type: String = "/problems/invalid-content",
        /// The kind in a few words.
        title: String = "The content is not valid",
        /// The HTTP status.
        status: u16 = 422,
        /// What happened this time.
        detail: String = "1 place of the request is not valid.",
        /// The id of the request, as in `X-Request-Id` and the server's log.
        instance: String = "01936f0a-7c3e-7d52-9b1f-3c5d8e2a4b60",
        /// Every fault found.
        errors: Vec<Fault>,
        /// Whether to send the request again.
        retry: Retry,
    }
}

/// Whether a client should send the same request again.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Retry {
    /// It will fail again: change it first.
    Never,
    /// The outcome is not known or was a fault of the server: again with the same `Idempotency-Key`.
    SameKey,
    /// Again with the same `Idempotency-Key`, once the time in `Retry-After` has passed.
    After,
}

impl Retry {
    const ALL: [Self; 3] = [Self::Never, Self::SameKey, Self::After];

    /// The word for it.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Never => "never",
            Self::SameKey => "same_key",
            Self::After => "after",
        }
    }
}

impl Serialize for Retry {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(self.word())
    }
}

impl Shape for Retry {
    fn schema(_: &mut Schemas) -> RefOr<Schema> {
        ObjectBuilder::new().schema_type(Type::String).enum_values(Some(Self::ALL.map(Self::word))).into()
    }

    fn example() -> Value {
        Self::Never.word().into()
    }
}

/// Defines the kinds of problem with all that is told about each.
macro_rules! kinds {
    ($($name:ident = $status:literal $slug:literal $retry:ident, $title:literal, $help:literal;)+) => {
        /// A kind of problem.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
        pub enum ProblemKind {
            $(#[doc = $title] $name),+
        }

        impl ProblemKind {
            /// Every kind, by status.
            pub const ALL: &'static [Self] = &[$(Self::$name),+];

            /// The HTTP status it is answered with.
            pub const fn status(self) -> u16 {
                match self { $(Self::$name => $status),+ }
            }

            /// Its stable name, the last part of its address.
            pub const fn slug(self) -> &'static str {
                match self { $(Self::$name => $slug),+ }
            }

            /// The kind in a few words.
            pub const fn title(self) -> &'static str {
                match self { $(Self::$name => $title),+ }
            }

            /// What it means and what to do, for the help page.
            pub const fn help(self) -> &'static str {
                match self { $(Self::$name => $help),+ }
            }

            /// Whether to send the same request again.
            pub const fn retry(self) -> Retry {
                match self { $(Self::$name => Retry::$retry),+ }
            }
        }
    };
}

kinds! {
    MalformedRequest = 400 "malformed-request" Never, "The request cannot be read",
        "The body is not JSON, is nested too deeply, or a header is not of the form it must have. \
         `errors` says where. Mend it and send it again.";
    KeyMissing = 400 "idempotency-key-missing" Never, "An Idempotency-Key is needed",
        "Every POST that creates something or acts needs a header `Idempotency-Key`: a UUID, or 16 to 64 visible ASCII \
         characters, new for each thing you want done and the same when you send it again.";
    NotSignedIn = 401 "not-signed-in" Never, "A valid access key is needed",
        "Send `Authorization: Bearer` with an access key of this fleet. The key is missing, misspelt, expired or \
         revoked; a manager can make a new one.";
    NotAllowed = 403 "not-allowed" Never, "This key may not do that",
        "The access key is good, but lacks the scope this operation needs. The API document names the scope of each \
         operation; somebody with the scope `admin` can make another key.";
    NotFound = 404 "not-found" Never, "There is no such thing",
        "Nothing is known under this address. It may never have been there, or belong to another fleet: the answer is \
         the same on purpose.";
    MethodNotAllowed = 405 "method-not-allowed" Never, "The address does not take this method",
        "The header `Allow` names the methods it takes.";
    RequestTimeout = 408 "request-timeout" SameKey, "The request took too long to arrive",
        "The connection was too slow or was cut. Nothing was done. Send it again with the same `Idempotency-Key`.";
    Conflict = 409 "conflict" Never, "It does not go together with what is there",
        "The request is in order, but the present state does not allow it. `detail` says why. Load the present \
         state and decide anew.";
    StillRunning = 409 "still-running" After, "The same request is being worked on",
        "A request with this `Idempotency-Key` is still running. Wait as long as `Retry-After` says and send it again \
         with the same key: you will get its answer.";
    AnswerGone = 409 "answer-gone" Never, "This was done long ago",
        "The request with this `Idempotency-Key` was done, and its answer is no longer kept. The header `Location`, \
         where there is one, says what it made.";
    StaleVersion = 412 "stale-version" Never, "It was changed in the meantime",
        "Somebody changed it after you loaded it. Load it again, look at what is different, and send your change with \
         the new `ETag`.";
    TooLarge = 413 "too-large" Never, "The body is too large",
        "A body may have 1 MiB at most, also once it is decompressed. Send a large batch in parts.";
    UnsupportedMediaType = 415 "unsupported-media-type" Never, "The body is of the wrong type",
        "Send `application/json`, or `application/merge-patch+json` with PATCH, plain or compressed with gzip.";
    InvalidContent = 422 "invalid-content" Never, "The content is not valid",
        "The body could be read, but some of its content cannot be right. `errors` lists every place with what is \
         wrong there. Let a person mend it.";
    KeyReused = 422 "idempotency-key-reused" Never, "The Idempotency-Key was used for something else",
        "This key came before with another body. A new request needs a new key.";
    VersionMissing = 428 "version-missing" Never, "Say which version you change",
        "Send `If-Match` with the `ETag` you got when you loaded it, so that nobody's work is overwritten unseen.";
    TooManyRequests = 429 "too-many-requests" After, "Too many requests",
        "Wait as long as `Retry-After` says, then go on with the same `Idempotency-Key`.";
    Internal = 500 "internal-fault" SameKey, "Something went wrong in the server",
        "This is a fault of the server, not of the request. Whether it was done is not known: send it again with the \
         same `Idempotency-Key`, which does it at most once. Tell the operator the request id.";
    Unavailable = 503 "unavailable" After, "The server cannot answer now",
        "The store is busy, full or being restarted. Wait as long as `Retry-After` says and send it again with the \
         same `Idempotency-Key`.";
    TimedOut = 504 "timed-out" SameKey, "The work took too long",
        "Whether it was done is not known: send it again with the same `Idempotency-Key`, which does it at most once.";
}

impl ProblemKind {
    /// The kind of this name.
    pub fn from_slug(slug: &str) -> Option<Self> {
        Self::ALL.iter().copied().find(|kind| kind.slug() == slug)
    }

    /// A problem of this kind.
    pub fn happened(
        self,
        detail: impl Into<String>,
        instance: impl Into<String>,
        errors: Vec<Fault>,
    ) -> Problem {
        Problem {
            r#type: format!("/problems/{}", self.slug()),
            title: self.title().to_owned(),
            status: self.status(),
            detail: detail.into(),
            instance: instance.into(),
            errors,
            retry: self.retry(),
        }
    }
}
