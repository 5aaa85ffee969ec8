//! Whether the program lives, and whether it can work.

use super::other_method;
use crate::app::App;
use crate::http::outer;
use crate::http::refusal::Refusal;
use actix_web::web::{self, Data, ServiceConfig};
use actix_web::{HttpRequest, HttpResponse};
use std::sync::Arc;
use store::{Reach, StoreError};

/// `/livez` and `/readyz`.
pub fn configure(config: &mut ServiceConfig) {
    config.service(web::resource("/livez").to(alive)).service(web::resource("/readyz").to(ready));
}

async fn alive(request: HttpRequest) -> HttpResponse {
    other_method(&request).unwrap_or_else(|| HttpResponse::Ok().json(serde_json::json!({"status": "alive"})))
}

async fn ready(request: HttpRequest, app: Data<App>) -> HttpResponse {
    if let Some(other) = other_method(&request) {
        return other;
    }
    let asked = app.into_inner();
    let app = Arc::clone(&asked);
    let read = app.spawn(async move { read_something(&asked).await });
    match tokio::time::timeout(app.settings.work_patience, read).await {
        Ok(Ok(Ok(()))) => HttpResponse::Ok().json(serde_json::json!({"status": "ready"})),
        Ok(Ok(Err(error))) => Refusal::from(error).response(&outer::request_id(&request)),
        _ => Refusal::unavailable().response(&outer::request_id(&request)),
    }
}

/// A read that goes all the way to the database.
async fn read_something(app: &App) -> Result<(), StoreError> {
    let mut reading = app.clerk.store().reader(Reach::All).await?;
    store::installation::secret(&mut reading.conn(), "readiness").await.map(|_| ())
}
