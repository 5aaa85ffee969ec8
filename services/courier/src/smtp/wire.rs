//! The stream a conversation runs over.

use super::dial::Talk;
use lettre::transport::smtp::client::AsyncTokioStream;
use std::io;
use std::net::SocketAddr;
use std::pin::Pin;
use std::task::{Context, Poll};
use tokio::io::{AsyncRead, AsyncWrite, ReadBuf};
use tokio::net::TcpStream;
use tokio_rustls::client::TlsStream;

/// What lettre reads first on a connection that was greeted before TLS began.
///
/// After STARTTLS a relay waits for EHLO and greets nobody again (RFC 3207, section 4.2), but lettre begins every
/// connection it is given by reading a greeting. The real one was read before TLS, where anybody could have written it;
/// this one says nothing and is followed by a new EHLO, through TLS, whose answer is what counts.
const GREETING: &[u8] = b"220 greeted before TLS\r\n";

/// A stream of our own: TCP without delay, plain or under TLS.
#[derive(Debug)]
pub struct Wire {
    stream: Stream,
    /// What is still to be read of [`GREETING`].
    greeting: &'static [u8],
}

#[derive(Debug)]
enum Stream {
    Plain(TcpStream),
    Protected(Box<TlsStream<TcpStream>>),
    Given(Box<dyn Talk>),
}

impl Wire {
    /// Without protection.
    pub fn plain(stream: TcpStream) -> Self {
        Self { stream: Stream::Plain(stream), greeting: &[] }
    }

    /// Over what somebody else opened.
    pub fn given(talk: Box<dyn Talk>) -> Self {
        Self { stream: Stream::Given(talk), greeting: &[] }
    }

    /// Under TLS from the beginning: the relay's own greeting comes through it.
    pub fn protected(stream: TlsStream<TcpStream>) -> Self {
        Self { stream: Stream::Protected(Box::new(stream)), greeting: &[] }
    }

    /// Under TLS since STARTTLS.
    pub fn greeted(stream: TlsStream<TcpStream>) -> Self {
        Self { stream: Stream::Protected(Box::new(stream)), greeting: GREETING }
    }
}

impl AsyncTokioStream for Wire {
    fn peer_addr(&self) -> io::Result<SocketAddr> {
        match &self.stream {
            Stream::Plain(stream) => stream.peer_addr(),
            Stream::Protected(stream) => stream.get_ref().0.peer_addr(),
            Stream::Given(talk) => talk.peer_addr(),
        }
    }
}

impl AsyncRead for Wire {
    fn poll_read(self: Pin<&mut Self>, cx: &mut Context<'_>, buf: &mut ReadBuf<'_>) -> Poll<io::Result<()>> {
        let wire = self.get_mut();
        if !wire.greeting.is_empty() {
            let (now, later) = wire.greeting.split_at(wire.greeting.len().min(buf.remaining()));
            buf.put_slice(now);
            wire.greeting = later;
            return Poll::Ready(Ok(()));
        }
        match &mut wire.stream {
            Stream::Plain(stream) => Pin::new(stream).poll_read(cx, buf),
            Stream::Protected(stream) => Pin::new(stream).poll_read(cx, buf),
            Stream::Given(talk) => Pin::new(talk).poll_read(cx, buf),
        }
    }
}

impl AsyncWrite for Wire {
    fn poll_write(self: Pin<&mut Self>, cx: &mut Context<'_>, bytes: &[u8]) -> Poll<io::Result<usize>> {
        match &mut self.get_mut().stream {
            Stream::Plain(stream) => Pin::new(stream).poll_write(cx, bytes),
            Stream::Protected(stream) => Pin::new(stream).poll_write(cx, bytes),
            Stream::Given(talk) => Pin::new(talk).poll_write(cx, bytes),
        }
    }

    fn poll_flush(self: Pin<&mut Self>, cx: &mut Context<'_>) -> Poll<io::Result<()>> {
        match &mut self.get_mut().stream {
            Stream::Plain(stream) => Pin::new(stream).poll_flush(cx),
            Stream::Protected(stream) => Pin::new(stream).poll_flush(cx),
            Stream::Given(talk) => Pin::new(talk).poll_flush(cx),
        }
    }

    fn poll_shutdown(self: Pin<&mut Self>, cx: &mut Context<'_>) -> Poll<io::Result<()>> {
        match &mut self.get_mut().stream {
            Stream::Plain(stream) => Pin::new(stream).poll_shutdown(cx),
            Stream::Protected(stream) => Pin::new(stream).poll_shutdown(cx),
            Stream::Given(talk) => Pin::new(talk).poll_shutdown(cx),
        }
    }
}
