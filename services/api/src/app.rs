//! What all requests share.

use crate::http::deed::UnderWay;
use clerk::Clerk;
use std::time::Duration;
use tokio::runtime::Handle;
use tokio::sync::watch;
use tokio::task::JoinHandle;

/// How the server behaves.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Settings {
    /// Threads that talk to clients.
    pub workers: usize,
    /// A body must arrive within this time.
    pub body_patience: Duration,
    /// An operation must be done within this time; it is not broken off, but the client is told to ask again.
    pub work_patience: Duration,
    /// When stopping, requests under way get this time.
    pub farewell: Duration,
}

impl Default for Settings {
    fn default() -> Self {
        Self {
            workers: 2,
            body_patience: Duration::from_secs(30),
            work_patience: Duration::from_secs(30),
            farewell: Duration::from_secs(20),
        }
    }
}

/// What all requests share.
pub struct App {
    /// Does the acts.
    pub clerk: Clerk,
    /// How the server behaves.
    pub settings: Settings,
    /// The OpenAPI document.
    pub document: String,
    /// Requests with an `Idempotency-Key` that are being worked on.
    pub under_way: UnderWay,
    runtime: Handle,
    tasks: watch::Sender<usize>,
}

impl App {
    /// The app of a server that works on the runtime at hand.
    pub fn new(clerk: Clerk, settings: Settings, document: String) -> Self {
        let (runtime, tasks) = (Handle::current(), watch::Sender::new(0));
        Self { clerk, settings, document, under_way: UnderWay::default(), runtime, tasks }
    }

    /// Does `work` on the program's own runtime, not on that of the connection it came by.
    pub fn spawn<T: Send + 'static>(&self, work: impl Future<Output = T> + Send + 'static) -> JoinHandle<T> {
        let counted = Counted::among(&self.tasks);
        self.runtime.spawn(async move {
            let _counted = counted;
            work.await
        })
    }

    /// Waits until no work is under way.
    pub async fn quiet(&self) {
        // The sender lives as long as this does, so that waiting cannot fail.
        let _ = self.tasks.subscribe().wait_for(|tasks| *tasks == 0).await;
    }
}

struct Counted(watch::Sender<usize>);

impl Counted {
    fn among(tasks: &watch::Sender<usize>) -> Self {
        tasks.send_modify(|tasks| *tasks += 1);
        Self(tasks.clone())
    }
}

impl Drop for Counted {
    fn drop(&mut self) {
        self.0.send_modify(|tasks| *tasks -= 1);
    }
}
