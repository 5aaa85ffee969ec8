//! The OpenAPI document, and the page that shows it. The page's files lie in the program: it needs no internet.

use super::other_method;
use crate::app::App;
use crate::http::conditional::{Tag, has};
use crate::http::outer;
use crate::http::refusal::Refusal;
use actix_web::http::header::{
    CACHE_CONTROL, CONTENT_ENCODING, CONTENT_SECURITY_POLICY, ETAG, IF_NONE_MATCH, LOCATION,
};
use actix_web::web::{self, Data, ServiceConfig};
use actix_web::{HttpRequest, HttpResponse};
use std::sync::Arc;
use utoipa_swagger_ui::Config;

/// Where the document is.
pub const DOCUMENT: &str = "/v1/openapi.json";

/// The page runs its own scripts and asks this server, nothing else. Its stylesheet brings icons as `data:`.
const PAGE_POLICY: &str = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; \
                           connect-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'";

/// `/`, `/docs` and the document.
pub fn configure(config: &mut ServiceConfig) {
    config
        .service(web::resource("/").to(to_docs))
        .service(web::resource("/docs").to(to_docs))
        .service(web::resource("/docs/{file:[^/]*}").to(page))
        .service(web::resource(DOCUMENT).to(document));
}

async fn to_docs(request: HttpRequest) -> HttpResponse {
    other_method(&request)
        .unwrap_or_else(|| HttpResponse::TemporaryRedirect().insert_header((LOCATION, "/docs/")).finish())
}

async fn document(request: HttpRequest, app: Data<App>) -> HttpResponse {
    if let Some(other) = other_method(&request) {
        return other;
    }
    let tag = Tag::hash_of(&app.document);
    let known = request.headers().get(IF_NONE_MATCH).and_then(|named| named.to_str().ok());
    let mut response = if known.is_some_and(|named| has(named, &tag)) {
        HttpResponse::NotModified()
    } else {
        HttpResponse::Ok()
    };
    response.insert_header((ETAG, tag.to_string())).insert_header((CACHE_CONTROL, "no-cache"));
    if known.is_some_and(|named| has(named, &tag)) {
        return response.finish();
    }
    response.content_type("application/json").body(app.document.clone())
}

async fn page(request: HttpRequest, file: web::Path<String>) -> HttpResponse {
    if let Some(other) = other_method(&request) {
        return other;
    }
    // Without the top bar: the page is ours and shows one document.
    let config = Config::from(DOCUMENT).use_base_layout().try_it_out_enabled(false).validator_url("none");
    match utoipa_swagger_ui::serve(&file, Arc::new(config)) {
        Ok(Some(file)) => {
            let mut response = HttpResponse::Ok();
            response
                .insert_header((CONTENT_SECURITY_POLICY, PAGE_POLICY))
                .insert_header((CACHE_CONTROL, "no-cache"))
                .content_type(file.content_type);
            if file.gzpipped {
                response.insert_header((CONTENT_ENCODING, "gzip"));
            }
            response.body(file.bytes.into_owned())
        }
        Ok(None) => Refusal::not_found().response(&outer::request_id(&request)),
        Err(error) => {
            tracing::error!(%error, "the page of the document cannot be made");
            Refusal::internal().response(&outer::request_id(&request))
        }
    }
}
