//! From a request at a place to the operation that does it, and back.

use super::auth;
use super::body;
use super::call::{Call, Outcome};
use super::conditional;
use super::deed;
use super::operation::Operation;
use super::outer;
use super::refusal::{Refusal, Stop};
use crate::app::App;
use actix_web::http::Method;
use actix_web::http::header::{ALLOW, HeaderMap, IF_MATCH, IF_NONE_MATCH};
use actix_web::web::{Bytes, Payload, Query};
use actix_web::{HttpRequest, HttpResponse};
use contract::Fault;
use model::FleetId;
use std::sync::Arc;

/// An address and the operations that stand there.
pub struct Place {
    operations: Vec<Arc<Operation>>,
}

impl Place {
    /// The place of these operations, which share one path.
    pub const fn of(operations: Vec<Arc<Operation>>) -> Self {
        Self { operations }
    }

    fn operation(&self, method: &Method) -> Option<&Arc<Operation>> {
        let wanted = if method == Method::HEAD { &Method::GET } else { method };
        self.operations.iter().find(|operation| operation.method == *wanted)
    }

    /// The methods it takes, for `Allow`.
    fn methods(&self) -> String {
        let own = self.operations.iter().map(|operation| operation.method.as_str());
        let head = self.operation(&Method::GET).map(|_| "HEAD");
        own.chain(head).chain(["OPTIONS"]).collect::<Vec<_>>().join(", ")
    }
}

/// Answers a request at a place.
pub async fn answer(
    app: Arc<App>,
    place: Arc<Place>,
    request: HttpRequest,
    payload: Payload,
) -> HttpResponse {
    let request_id = outer::request_id(&request);
    match try_answer(&app, &place, &request, payload, &request_id).await {
        Ok(response) => response,
        Err(refusal) => refusal.response(&request_id),
    }
}

async fn try_answer(
    app: &Arc<App>,
    place: &Place,
    request: &HttpRequest,
    payload: Payload,
    request_id: &str,
) -> Result<HttpResponse, Refusal> {
    let Some(operation) = place.operation(request.method()) else {
        let methods = place.methods();
        if request.method() == Method::OPTIONS {
            return Ok(HttpResponse::NoContent().insert_header((ALLOW, methods)).finish());
        }
        return Err(Refusal::wrong_method(&methods));
    };
    let call = prepare(app, operation, request, payload, request_id).await?;
    let if_none_match = text_of(request.headers(), IF_NONE_MATCH.as_str());
    match run(app, operation, call).await {
        Ok(answer) => Ok(answer.response(if_none_match.as_deref())),
        Err(Stop::Answered(answer)) => Ok(answer.response(None)),
        Err(Stop::Refused(refusal)) => Err(*refusal),
    }
}

/// Lets the caller in and reads the body.
async fn prepare(
    app: &Arc<App>,
    operation: &Arc<Operation>,
    request: &HttpRequest,
    payload: Payload,
    request_id: &str,
) -> Result<Call, Refusal> {
    let headers = request.headers();
    let parameters: Vec<(String, String)> =
        request.match_info().iter().map(|(name, value)| (name.to_owned(), value.to_owned())).collect();
    let named = |name: &str| parameters.iter().find(|(n, _)| n == name).map(|(_, value)| value.as_str());
    let fleet = named("fleet").and_then(contract::parse_id).map(FleetId);
    let holder = auth::admit(app, headers, operation, fleet, named("vehicle")).await?;
    let idempotency_key = text_of(headers, "Idempotency-Key");
    if operation.keyed {
        deed::key_of(idempotency_key.as_deref())?;
    }
    let if_match = text_of(headers, IF_MATCH.as_str());
    if operation.versioned {
        conditional::version_wanted(if_match.as_deref())?;
    }
    let body = match &operation.takes {
        Some(takes) => body::read(headers, payload, takes.media, app.settings.body_patience).await?,
        None => Bytes::new(),
    };
    let query = Query::<Vec<(String, String)>>::from_query(request.query_string())
        .map(Query::into_inner)
        .unwrap_or_default();
    refuse_unknown(operation, &query)?;
    Ok(Call {
        app: Arc::clone(app),
        operation: Arc::clone(operation),
        holder,
        request_id: request_id.to_owned(),
        path: request.path().to_owned(),
        parameters,
        query,
        idempotency_key,
        if_match,
        body,
    })
}

/// An operation without filters of its own takes no parameters but those of paging; others look themselves.
fn refuse_unknown(operation: &Operation, query: &[(String, String)]) -> Result<(), Refusal> {
    if operation.query.is_some() {
        return Ok(());
    }
    let known = |name: &str| operation.paged && (name == "limit" || name == "cursor");
    let faults: Vec<Fault> = query
        .iter()
        .filter(|(name, _)| !known(name))
        .map(|(name, _)| {
            Fault::of_parameter(name, "unknown-parameter", "this address takes no such parameter")
        })
        .collect();
    if faults.is_empty() { Ok(()) } else { Err(Refusal::invalid(faults)) }
}

/// A header's value; what is no text counts as one that cannot be right.
fn text_of(headers: &HeaderMap, name: &str) -> Option<String> {
    headers.get(name).map(|value| value.to_str().unwrap_or("\u{fffd}").trim().to_owned())
}

/// Does the work apart from the connection: a client that hangs up does not stop it half-way, and a panic ends it alone.
async fn run(app: &Arc<App>, operation: &Operation, call: Call) -> Outcome {
    let span = tracing::info_span!("request", id = %call.request_id);
    let Some(work) = operation.run(call) else {
        tracing::error!(operation = operation.id, "an operation has no handler");
        return Err(Refusal::internal().into());
    };
    let task = app.spawn(tracing::Instrument::instrument(work, span));
    match tokio::time::timeout(app.settings.work_patience, task).await {
        Ok(Ok(outcome)) => outcome,
        Ok(Err(broken)) => {
            tracing::error!(
                operation = operation.id,
                error = &broken as &dyn std::error::Error,
                "an operation broke off"
            );
            Err(Refusal::internal().into())
        }
        Err(_) => {
            tracing::error!(operation = operation.id, "an operation takes too long; it goes on unwatched");
            let detail = "The work takes longer than the server waits; it goes on.";
            Err(Refusal::new(contract::ProblemKind::TimedOut, detail).into())
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::app::Settings;
    use crate::http::answer::Answer;
    use actix_web::dev::Service;
    use actix_web::test::{TestRequest, init_service};
    use actix_web::{App as Web, web};
    use clerk::keys::{NewKey, create_key};
    use model::{KeyKind, Scope};
    use std::time::Duration;
    use testkit::World;
    use tokio::sync::Notify;

    struct Bench {
        path: String,
        key: String,
        app: Arc<App>,
    }

    async fn bench(settings: Settings) -> Bench {
        let world = World::in_store(testkit::sqlite::in_memory().await).await;
        let mut act = world.act().await;
        let scopes = vec![Scope::Read];
        let label = "Story".to_owned();
        let new =
            NewKey { kind: KeyKind::Script, person: None, vehicle: None, label, scopes, expires_at: None };
        let (_, key) = create_key(&mut act, new).await.expect("a key");
        act.commit().await.expect("committed");
        let path = format!("/v1/fleets/{}/story", world.fleet);
        Bench { path, key, app: Arc::new(App::new(world.clerk.clone(), settings, String::new())) }
    }

    /// A server of one operation. A macro, since the type of its requests has no name here.
    macro_rules! serving {
        ($bench:expr, $operation:expr) => {{
            let (app, place) = (Arc::clone(&$bench.app), Arc::new(Place::of(vec![Arc::new($operation)])));
            let at = web::resource("/v1/fleets/{fleet}/story");
            init_service(Web::new().service(at.to(move |request: HttpRequest, payload: Payload| {
                answer(Arc::clone(&app), Arc::clone(&place), request, payload)
            })))
            .await
        }};
    }

    macro_rules! request {
        ($bench:expr) => {
            TestRequest::get()
                .uri(&$bench.path)
                .insert_header(("Authorization", format!("Bearer {}", $bench.key)))
                .to_request()
        };
    }

    fn operation() -> Operation {
        Operation::get::<contract::Fleet>(Scope::Read, "story", "/story")
    }

    #[actix_web::test]
    async fn a_mistake_that_panics_is_told_as_a_fault_of_the_server_and_ends_nothing_else() {
        let bench = bench(Settings::default()).await;
        let service = serving!(bench, operation().does(|_| async { panic!("a mistake of the story") }));
        for _ in 0..2 {
            let told = service.call(request!(bench)).await.expect("an answer");
            assert_eq!(told.status(), 500);
        }
    }

    #[actix_web::test]
    async fn work_that_takes_too_long_goes_on_and_the_client_is_told_to_ask_again() {
        let patience = Settings { work_patience: Duration::from_millis(1), ..Settings::default() };
        let bench = bench(patience).await;
        let (go_on, done) = (Arc::new(Notify::new()), Arc::new(Notify::new()));
        let (wait, tell) = (Arc::clone(&go_on), Arc::clone(&done));
        let slow = operation().does(move |_| {
            let (wait, tell) = (Arc::clone(&wait), Arc::clone(&tell));
            async move {
                wait.notified().await;
                tell.notify_one();
                Ok(Answer::nothing())
            }
        });
        let told = serving!(bench, slow).call(request!(bench)).await.expect("an answer");
        assert_eq!(told.status(), 504);
        go_on.notify_one();
        done.notified().await;
    }

    #[actix_web::test]
    async fn a_client_that_hangs_up_does_not_stop_the_work() {
        let bench = bench(Settings::default()).await;
        let [begun, go_on, done] = [(); 3].map(|()| Arc::new(Notify::new()));
        let (begins, waits, ends) = (Arc::clone(&begun), Arc::clone(&go_on), Arc::clone(&done));
        let work = operation().does(move |_| {
            let (begins, waits, ends) = (Arc::clone(&begins), Arc::clone(&waits), Arc::clone(&ends));
            async move {
                begins.notify_one();
                waits.notified().await;
                ends.notify_one();
                Ok(Answer::nothing())
            }
        });
        let service = serving!(bench, work);
        let mut answering = Box::pin(service.call(request!(bench)));
        tokio::select! {
            _ = &mut answering => panic!("it cannot be answered yet"),
            () = begun.notified() => {}
        }
        drop(answering);
        go_on.notify_one();
        done.notified().await;
        bench.app.quiet().await;
    }
}
