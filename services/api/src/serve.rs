//! The server: from a listening socket to answers.

use crate::app::{App, Settings};
use crate::http::dispatch::{self, Place};
use crate::http::operation::Operation;
use crate::http::outer;
use crate::http::refusal::Refusal;
use crate::site::{docs, health, help};
use crate::{document, routes};
use actix_web::dev::{Server, ServerHandle};
use actix_web::middleware::{Compress, from_fn};
use actix_web::web::{self, Payload, ServiceConfig};
use actix_web::{HttpRequest, HttpResponse, HttpServer};
use clerk::Clerk;
use std::collections::BTreeMap;
use std::io;
use std::net::{SocketAddr, TcpListener};
use std::sync::Arc;
use std::time::Duration;

/// Headers of a request must arrive within this time.
const HEADER_PATIENCE: Duration = Duration::from_secs(10);
/// An idle connection is kept open for this long.
const KEEP_ALIVE: Duration = Duration::from_secs(30);
/// Connections of one worker at most.
const MOST_CONNECTIONS: usize = 10_000;

/// A server that is bound, and answers as long as it is run.
pub struct Served {
    address: SocketAddr,
    server: Server,
    app: Arc<App>,
}

/// Stops a server.
#[derive(Clone)]
pub struct Stopper(ServerHandle);

impl Stopper {
    /// Takes no more requests and lets those under way end.
    pub async fn stop(&self) {
        self.0.stop(true).await;
    }
}

impl Served {
    /// Where it listens.
    pub const fn address(&self) -> SocketAddr {
        self.address
    }

    /// What stops it.
    pub fn stopper(&self) -> Stopper {
        Stopper(self.server.handle())
    }

    /// Answers until it is stopped and all that was begun is done.
    ///
    /// # Errors
    /// When the socket fails.
    pub async fn run(self) -> io::Result<()> {
        let farewell = self.app.settings.farewell;
        self.server.await?;
        // Work whose client has hung up goes on without a connection.
        let _ = tokio::time::timeout(farewell, self.app.quiet()).await;
        Ok(())
    }
}

/// Serves the interface on `listener`. Must be called within a tokio runtime, which then does the work.
///
/// # Errors
/// When the socket cannot be used.
pub fn serve(listener: TcpListener, clerk: Clerk, settings: Settings) -> io::Result<Served> {
    serve_beside(listener, clerk, settings, |_| {})
}

/// Serves the interface as [`serve`] does, and what `beside` puts beside it.
///
/// # Errors
/// When the socket cannot be used.
pub fn serve_beside(
    listener: TcpListener,
    clerk: Clerk,
    settings: Settings,
    beside: impl Fn(&mut ServiceConfig) + Clone + Send + 'static,
) -> io::Result<Served> {
    let address = listener.local_addr()?;
    let workers = settings.workers.max(1);
    let farewell = settings.farewell.as_secs();
    let operations: Vec<Arc<Operation>> = routes::operations().map(Arc::new).collect();
    let app = Arc::new(App::new(clerk, settings, document::text_of(&operations)));
    let shared = Arc::clone(&app);
    let server = HttpServer::new(move || {
        let (app, around) = (Arc::clone(&shared), Arc::clone(&shared));
        let (operations, beside) = (operations.clone(), beside.clone());
        actix_web::App::new()
            .configure(beside)
            .configure(move |config| configure(config, &app, &operations))
            .wrap(Compress::default())
            .wrap(from_fn(move |request, next| outer::around(Arc::clone(&around), request, next)))
    })
    .workers(workers)
    .max_connections(MOST_CONNECTIONS)
    .client_request_timeout(HEADER_PATIENCE)
    .keep_alive(KEEP_ALIVE)
    .shutdown_timeout(farewell)
    .disable_signals()
    .listen(listener)?
    .run();
    Ok(Served { address, server, app })
}

fn configure(config: &mut ServiceConfig, app: &Arc<App>, operations: &[Arc<Operation>]) {
    config.app_data(web::Data::from(Arc::clone(app)));
    let mut places: BTreeMap<&str, Vec<Arc<Operation>>> = BTreeMap::new();
    for operation in operations {
        places.entry(&operation.path).or_default().push(Arc::clone(operation));
    }
    for (path, operations) in places {
        let (app, place) = (Arc::clone(app), Arc::new(Place::of(operations)));
        config.service(web::resource(pattern(path)).to(move |request: HttpRequest, payload: Payload| {
            dispatch::answer(Arc::clone(&app), Arc::clone(&place), request, payload)
        }));
    }
    health::configure(config);
    docs::configure(config);
    help::configure(config);
    config.default_service(web::to(nothing_here));
}

/// A path's pattern for the router: a parameter reaches to the next slash or to the colon before a verb.
fn pattern(path: &str) -> String {
    path.replace('}', ":[^/:]+}")
}

async fn nothing_here(request: HttpRequest) -> HttpResponse {
    Refusal::not_found().response(&outer::request_id(&request))
}
