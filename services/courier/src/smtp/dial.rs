//! A way to the relay that is no socket: a simulation gives one, and everything above it stays as it is.

use lettre::transport::smtp::client::AsyncTokioStream;
use std::fmt;
use std::io;
use std::pin::Pin;

/// What a conversation can run over.
pub trait Talk: AsyncTokioStream {}

impl<T: AsyncTokioStream> Talk for T {}

/// Reaching the relay.
pub type Dialled = Pin<Box<dyn Future<Output = io::Result<Box<dyn Talk>>> + Send>>;

/// Who reaches the relay in place of the network. Only for relays spoken to without protection, which by
/// [`Security::PlainForLoopbackOnly`](crate::Security::PlainForLoopbackOnly) are on this very machine.
pub trait Dial: fmt::Debug + Send + Sync {
    /// Opens a new conversation; an error is a relay that cannot be reached.
    fn dial(&self) -> Dialled;
}
