//! Help about each kind of problem, at the address its `type` names.

use super::other_method;
use crate::http::outer;
use crate::http::refusal::Refusal;
use actix_web::http::header::{CACHE_CONTROL, CONTENT_SECURITY_POLICY};
use actix_web::web::{self, ServiceConfig};
use actix_web::{HttpRequest, HttpResponse};
use contract::{ProblemKind, Retry};

/// Plain pages: they load nothing.
const POLICY: &str = "default-src 'none'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'";

/// `/problems` and `/problems/{slug}`.
pub fn configure(config: &mut ServiceConfig) {
    config
        .service(web::resource("/problems").to(list))
        .service(web::resource("/problems/{slug:[^/]+}").to(page));
}

async fn list(request: HttpRequest) -> HttpResponse {
    other_method(&request).unwrap_or_else(|| {
        let lines = ProblemKind::ALL.iter().map(|kind| {
            format!("<li>{} <a href=\"/problems/{}\">{}</a></li>", kind.status(), kind.slug(), kind.title())
        });
        html("Problems", &format!("<h1>Problems</h1><ul>{}</ul>", lines.collect::<String>()))
    })
}

async fn page(request: HttpRequest, slug: web::Path<String>) -> HttpResponse {
    if let Some(other) = other_method(&request) {
        return other;
    }
    let Some(kind) = ProblemKind::from_slug(&slug) else {
        return Refusal::not_found().response(&outer::request_id(&request));
    };
    let retry = match kind.retry() {
        Retry::Never => "Sent again unchanged, the request will fail again.",
        Retry::SameKey => "Send the request again with the same <code>Idempotency-Key</code>.",
        Retry::After => {
            "Send the request again with the same <code>Idempotency-Key</code> once the time in \
             <code>Retry-After</code> has passed."
        }
    };
    let body = format!(
        "<h1>{title}</h1><p>HTTP status {status}.</p><p>{help}</p><p>{retry}</p><p><a href=\"/problems\">All problems</a></p>",
        title = kind.title(),
        status = kind.status(),
        help = with_code(kind.help()),
    );
    html(kind.title(), &body)
}

/// Text of the program's own with words between backticks as code. It holds nothing that needs escaping; a test sees
/// to that.
fn with_code(text: &str) -> String {
    let parts = text.split('`').enumerate();
    parts
        .map(|(at, part)| if at % 2 == 1 { format!("<code>{part}</code>") } else { part.to_owned() })
        .collect()
}

fn html(title: &str, body: &str) -> HttpResponse {
    let page = format!(
        "<!doctype html><html lang=\"en\"><head><meta charset=\"utf-8\"><title>{title}</title>\
         <meta name=\"viewport\" content=\"width=device-width, initial-scale=1\"></head><body><main>{body}</main></body></html>"
    );
    HttpResponse::Ok()
        .insert_header((CONTENT_SECURITY_POLICY, POLICY))
        .insert_header((CACHE_CONTROL, "no-cache"))
        .content_type("text/html; charset=utf-8")
        .body(page)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_words_about_problems_need_no_escaping_and_close_their_code() {
        for kind in ProblemKind::ALL {
            let words = format!("{}{}{}", kind.title(), kind.help(), kind.slug());
            assert!(!words.contains(['<', '>', '&', '"']), "{words}");
            assert_eq!(words.matches('`').count() % 2, 0, "{words}");
        }
    }
}
