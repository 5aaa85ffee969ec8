//! From a request at a link to its page.

use crate::desk::{Asked, Desk, Press};
use crate::form;
use crate::page::Page;
use crate::words::Notice;
use actix_web::http::header::{
    ACCEPT_LANGUAGE, ALLOW, CACHE_CONTROL, CONTENT_SECURITY_POLICY, HeaderMap, HeaderName, HeaderValue,
    REFERRER_POLICY, RETRY_AFTER, X_CONTENT_TYPE_OPTIONS,
};
use actix_web::http::{Method, StatusCode};
use actix_web::web::{Data, Path, Payload};
use actix_web::{HttpRequest, HttpResponse, HttpResponseBuilder};
use letters::Language;
use std::time::Duration;

/// A page runs nothing, loads its stylesheet alone, posts to its own server alone, and stands in no frame.
const POLICY: HeaderValue = HeaderValue::from_static(
    "default-src 'none'; style-src 'self'; form-action 'self'; frame-ancestors 'none'; base-uri 'none'",
);

const ROBOTS: HeaderName = HeaderName::from_static("x-robots-tag");

/// Where a browser says a request comes from (Fetch Metadata).
const FETCH_SITE: &str = "Sec-Fetch-Site";

const METHODS: &str = "GET, HEAD, POST, OPTIONS";
const METHODS_OF_LOOK: &str = "GET, HEAD, OPTIONS";

const STYLESHEET: &str = include_str!("../look/look.css");

/// A page must be made within this time; what is under way then goes on unwatched.
const PATIENCE: Duration = Duration::from_secs(30);

/// The stylesheet.
pub async fn look(request: HttpRequest) -> HttpResponse {
    match *request.method() {
        Method::GET | Method::HEAD => careful(&mut HttpResponse::Ok())
            .insert_header((CACHE_CONTROL, "max-age=3600"))
            .content_type("text/css; charset=utf-8")
            .body(STYLESHEET),
        ref other => other_method(other, METHODS_OF_LOOK),
    }
}

/// The page of a link.
pub async fn answer(
    desk: Data<Desk>,
    request: HttpRequest,
    token: Path<String>,
    payload: Payload,
) -> HttpResponse {
    let language = preferred(request.headers());
    let press = match *request.method() {
        Method::GET | Method::HEAD => Press::None,
        Method::POST if is_cross_site(request.headers()) => return shown(&Notice::Elsewhere.page(language)),
        Method::POST => match form::read(request.headers(), payload).await {
            Ok(form) => Press::Form(form),
            Err(error) => return shown(&Notice::Unreadable(error).page(language)),
        },
        ref other => return other_method(other, METHODS),
    };
    // On the program's own runtime: neither a client that hangs up nor a worker that ends breaks an act off.
    let asked = Asked { token: token.into_inner(), language, press };
    let runtime = desk.runtime().clone();
    let work = runtime.spawn(desk.into_inner().page(asked));
    match tokio::time::timeout(PATIENCE, work).await {
        Ok(Ok(page)) => shown(&page),
        Ok(Err(broken)) => {
            tracing::error!(error = &broken as &dyn std::error::Error, "a page broke off");
            shown(&Notice::Fault.page(language))
        }
        Err(_) => shown(&Notice::Busy.page(language)),
    }
}

fn shown(page: &Page) -> HttpResponse {
    let status = StatusCode::from_u16(page.status).unwrap_or(StatusCode::INTERNAL_SERVER_ERROR);
    let mut response = HttpResponse::build(status);
    if status == StatusCode::SERVICE_UNAVAILABLE {
        response.insert_header((RETRY_AFTER, "30"));
    }
    careful(&mut response)
        .insert_header((CACHE_CONTROL, "no-store"))
        .content_type("text/html; charset=utf-8")
        .body(page.html())
}

fn other_method(method: &Method, allowed: &'static str) -> HttpResponse {
    let mut response = match *method {
        Method::OPTIONS => HttpResponse::NoContent(),
        _ => HttpResponse::MethodNotAllowed(),
    };
    careful(&mut response).insert_header((ALLOW, allowed)).finish()
}

fn careful(response: &mut HttpResponseBuilder) -> &mut HttpResponseBuilder {
    response
        .insert_header((CONTENT_SECURITY_POLICY, POLICY))
        .insert_header((X_CONTENT_TYPE_OPTIONS, "nosniff"))
        .insert_header((REFERRER_POLICY, "no-referrer"))
        .insert_header((ROBOTS, "noindex, nofollow"))
}

/// Whether a browser says that another site sent the request. `Origin` would not do: with no referrer it is null.
fn is_cross_site(headers: &HeaderMap) -> bool {
    let site = headers.get(FETCH_SITE).and_then(|site| site.to_str().ok());
    matches!(site, Some("cross-site" | "same-site"))
}

/// The language a browser names first (RFC 9110, 12.5.4), for who is not known yet.
fn preferred(headers: &HeaderMap) -> Language {
    let named = headers.get(ACCEPT_LANGUAGE).and_then(|named| named.to_str().ok()).unwrap_or_default();
    let first = named.split([',', ';']).next().unwrap_or_default();
    Language::of(first)
}
