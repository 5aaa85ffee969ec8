//! Whether the program lives, and whether it can work.

use super::other_method;
use crate::app::App;
use crate::http::outer;
use crate::http::refusal::Refusal;
use actix_web::web::{self, Data, ServiceConfig};
use actix_web::{HttpRequest, HttpResponse};
use clerk::ActError;
use serde_json::{Value, json};
use std::sync::Arc;

/// `/livez` and `/readyz`.
pub fn configure(config: &mut ServiceConfig) {
    config.service(web::resource("/livez").to(alive)).service(web::resource("/readyz").to(ready));
}

async fn alive(request: HttpRequest) -> HttpResponse {
    other_method(&request).unwrap_or_else(|| HttpResponse::Ok().json(json!({"status": "alive"})))
}

async fn ready(request: HttpRequest, app: Data<App>) -> HttpResponse {
    if let Some(other) = other_method(&request) {
        return other;
    }
    let asked = app.into_inner();
    let app = Arc::clone(&asked);
    let read = app.spawn(async move { state(&asked).await });
    match tokio::time::timeout(app.settings.work_patience, read).await {
        Ok(Ok(Ok(state))) => HttpResponse::Ok().json(state),
        Ok(Ok(Err(error))) => Refusal::from(error).response(&outer::request_id(&request)),
        _ => Refusal::unavailable().response(&outer::request_id(&request)),
    }
}

/// What a read that goes all the way to the database tells of all running programs, and of this one's clock: in numbers
/// alone, since anybody may ask.
async fn state(app: &App) -> Result<Value, ActError> {
    let heard = clerk::beats::heard(&app.clerk).await?;
    let silent = heard.iter().filter(|one| !one.silences.is_empty()).count();
    let look = app.clerk.look_at_clock();
    Ok(json!({
        "status": "ready",
        "replicas": heard.len(),
        "silent": silent,
        "clock": look.verdict().word(),
        "letters_held": look.holds(),
    }))
}
