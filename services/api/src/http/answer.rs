//! What an operation answers when it was done.

use super::conditional::{self, Tag};
use super::refusal::Refusal;
use actix_web::HttpResponse;
use actix_web::http::StatusCode;
use actix_web::http::header::{CACHE_CONTROL, CONTENT_TYPE, ETAG, HeaderName, HeaderValue, LINK, LOCATION};
use clerk::StoredAnswer;
use serde::Serialize;

/// The answer of an operation that was done.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Answer {
    status: u16,
    body: Option<String>,
    etag: Option<Tag>,
    location: Option<String>,
    link: Option<String>,
    replayed: bool,
}

/// Set on an answer that was given before.
const REPLAYED: HeaderName = HeaderName::from_static("idempotency-replayed");
const JSON: HeaderValue = HeaderValue::from_static("application/json");

impl Answer {
    /// An answer with a body.
    pub fn of<T: Serialize>(status: u16, told: &T) -> Result<Self, Refusal> {
        let body = serde_json::to_string(told).map_err(|error| {
            tracing::error!(error = &error as &dyn std::error::Error, "an answer cannot be written as JSON");
            Refusal::internal()
        })?;
        Ok(Self { status, body: Some(body), etag: None, location: None, link: None, replayed: false })
    }

    /// What was asked for, with the hash of its body as `ETag`.
    pub fn hashed<T: Serialize>(told: &T) -> Result<Self, Refusal> {
        let answer = Self::of(200, told)?;
        let tag = Tag::hash_of(answer.body.as_deref().unwrap_or_default());
        Ok(answer.tagged(tag))
    }

    /// What was asked for, in this version.
    pub fn versioned<T: Serialize>(version: i64, told: &T) -> Result<Self, Refusal> {
        Ok(Self::of(200, told)?.tagged(Tag::version(version)))
    }

    /// Done; there is nothing to say.
    pub const fn nothing() -> Self {
        Self { status: 204, body: None, etag: None, location: None, link: None, replayed: false }
    }

    /// With this `ETag`.
    pub fn tagged(mut self, tag: Tag) -> Self {
        self.etag = Some(tag);
        self
    }

    /// With this `Location`.
    pub fn at(mut self, location: impl Into<String>) -> Self {
        self.location = Some(location.into());
        self
    }

    /// With the next page at this address.
    pub fn followed_by(mut self, next: &str) -> Self {
        self.link = Some(format!("<{next}>; rel=\"next\""));
        self
    }

    /// The answer as it is kept beside its effect. A body that is not there is kept as an empty one: none at all
    /// means that it was kept too long ago.
    pub fn to_keep(&self) -> StoredAnswer {
        StoredAnswer {
            status: self.status,
            location: self.location.clone(),
            etag: self.etag.as_ref().map(Tag::to_string),
            content_type: "application/json".to_owned(),
            body: Some(self.body.clone().unwrap_or_default()),
        }
    }

    /// An answer that was kept.
    pub fn again(kept: StoredAnswer) -> Result<Self, Refusal> {
        let Some(body) = kept.body else { return Err(Refusal::answer_gone(kept.location.as_deref())) };
        Ok(Self {
            status: kept.status,
            body: Some(body).filter(|body| !body.is_empty()),
            etag: kept.etag.as_deref().and_then(Tag::parse),
            location: kept.location,
            link: None,
            replayed: true,
        })
    }

    /// The response; 304 without a body if the client already has what it would get.
    pub fn response(self, if_none_match: Option<&str>) -> HttpResponse {
        let known = self.status == 200
            && self.etag.as_ref().is_some_and(|tag| if_none_match.is_some_and(|m| conditional::has(m, tag)));
        let status = if known { 304 } else { self.status };
        let mut response =
            HttpResponse::build(StatusCode::from_u16(status).unwrap_or(StatusCode::INTERNAL_SERVER_ERROR));
        let kept = if self.etag.is_some() { "private, no-cache" } else { "no-store" };
        response.insert_header((CACHE_CONTROL, kept));
        let headers =
            [(ETAG, self.etag.map(|tag| tag.to_string())), (LOCATION, self.location), (LINK, self.link)];
        for (name, value) in headers {
            if let Some(value) = value {
                response.insert_header((name, value));
            }
        }
        if self.replayed {
            response.insert_header((REPLAYED, "true"));
        }
        match self.body {
            Some(body) if !known => response.insert_header((CONTENT_TYPE, JSON)).body(body),
            _ => response.finish(),
        }
    }
}
