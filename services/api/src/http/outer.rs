//! What every answer bears, whoever gives it: the request's id and headers that keep browsers careful.

use super::refusal::Refusal;
use crate::app::App;
use actix_web::body::{BoxBody, MessageBody};
use actix_web::dev::{ServiceRequest, ServiceResponse};
use actix_web::error::InternalError;
use actix_web::http::header::{
    CACHE_CONTROL, CONTENT_SECURITY_POLICY, HeaderMap, HeaderName, HeaderValue, REFERRER_POLICY,
    X_CONTENT_TYPE_OPTIONS,
};
use actix_web::middleware::Next;
use actix_web::{Error, HttpMessage, HttpRequest};
use std::sync::Arc;
use std::time::Instant;

const REQUEST_ID: HeaderName = HeaderName::from_static("x-request-id");
const NO_SNIFF: HeaderValue = HeaderValue::from_static("nosniff");
const NO_STORE: HeaderValue = HeaderValue::from_static("no-store");
const NO_REFERRER: HeaderValue = HeaderValue::from_static("no-referrer");
/// What is no page loads nothing and stands in no frame.
const NOTHING: HeaderValue = HeaderValue::from_static("default-src 'none'; frame-ancestors 'none'");

#[derive(Clone)]
struct RequestId(String);

/// The id of a request.
pub fn request_id(request: &HttpRequest) -> String {
    request.extensions().get::<RequestId>().map(|id| id.0.clone()).unwrap_or_default()
}

/// Goes around every request: gives it an id, writes one line about it, and completes the headers of the answer.
pub async fn around(
    app: Arc<App>,
    request: ServiceRequest,
    next: Next<impl MessageBody + 'static>,
) -> Result<ServiceResponse<BoxBody>, Error> {
    let id = app.clerk.new_id().to_string();
    request.extensions_mut().insert(RequestId(id.clone()));
    let (method, path) = (request.method().clone(), told_of(request.path()).to_owned());
    let started = Instant::now();
    let answered = next.call(request).await;
    let mut response = match answered {
        Ok(response) => response.map_into_boxed_body(),
        Err(error) => {
            tracing::error!(request = %id, %error, "a request failed outside of its operation");
            let problem = Refusal::internal().response(&id);
            return Err(InternalError::from_response(error, problem).into());
        }
    };
    complete(response.headers_mut(), &id);
    let micros = u64::try_from(started.elapsed().as_micros()).unwrap_or(u64::MAX);
    tracing::info!(request = %id, %method, path, status = response.status().as_u16(), micros, "answered");
    Ok(response)
}

/// What the log says of a path: a link's token lets whoever reads it in, and is left out.
fn told_of(path: &str) -> &str {
    const LINKS: &str = "/links/";
    if path.starts_with(LINKS) { LINKS } else { path }
}

fn complete(headers: &mut HeaderMap, id: &str) {
    if let Ok(id) = HeaderValue::from_str(id) {
        headers.insert(REQUEST_ID, id);
    }
    headers.insert(X_CONTENT_TYPE_OPTIONS, NO_SNIFF);
    headers.insert(REFERRER_POLICY, NO_REFERRER);
    for (name, value) in [(CACHE_CONTROL, NO_STORE), (CONTENT_SECURITY_POLICY, NOTHING)] {
        if !headers.contains_key(&name) {
            headers.insert(name, value);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    // R50: whoever reads the log must not be let in by it.
    #[test]
    fn the_log_keeps_no_token_of_a_link() {
        assert_eq!(told_of("/links/AQEAAAAA-canary"), "/links/");
        assert_eq!(told_of("/v1/fleets/x"), "/v1/fleets/x");
    }
}
