//! What stands beside the operations: health, the document and the page that shows it, help about problems.

use crate::http::outer;
use crate::http::refusal::Refusal;
use actix_web::http::Method;
use actix_web::http::header::ALLOW;
use actix_web::{HttpRequest, HttpResponse};

pub mod docs;
pub mod health;
pub mod help;

/// What these addresses take.
const METHODS: &str = "GET, HEAD, OPTIONS";

/// The answer to a method other than GET and HEAD; none for those two.
fn other_method(request: &HttpRequest) -> Option<HttpResponse> {
    match *request.method() {
        Method::GET | Method::HEAD => None,
        Method::OPTIONS => Some(HttpResponse::NoContent().insert_header((ALLOW, METHODS)).finish()),
        _ => Some(Refusal::wrong_method(METHODS).response(&outer::request_id(request))),
    }
}
