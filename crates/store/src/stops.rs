//! Moments of a transaction at which a simulation can hold a program up or let it die.

use std::pin::Pin;
use std::sync::Arc;

/// A moment of a transaction.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Stop {
    /// A transaction that only reads is about to begin.
    BeforeReading,
    /// A transaction that may write is about to begin: it holds no lock yet.
    BeforeWriting,
    /// Everything is written and nothing of it lasts yet.
    BeforeCommit,
    /// It lasts, and nobody knows yet.
    AfterCommit,
}

/// Who is asked at each moment. A store has none unless a simulation gives it one.
pub trait Stops: Send + Sync {
    /// Resolves when the transaction may go on; dropping everything that waits for it is how a program dies there.
    fn reached(&self, stop: Stop) -> Pin<Box<dyn Future<Output = ()> + Send>>;
}

pub(crate) async fn reached(stops: Option<&Arc<dyn Stops>>, stop: Stop) {
    if let Some(stops) = stops {
        stops.reached(stop).await;
    }
}
