//! One connection: what the relay has heard and what it says, with a wait before it acts and one before it is heard.

use super::{Fault, Relay};
use crate::stage::{Point, Waiting};
use lettre::transport::smtp::client::AsyncTokioStream;
use std::collections::VecDeque;
use std::future::Future;
use std::io;
use std::net::{Ipv4Addr, SocketAddr};
use std::pin::Pin;
use std::task::{Context, Poll, Waker};
use tokio::io::{AsyncRead, AsyncWrite, ReadBuf};

/// What ends a letter (RFC 5321, 4.1.1.4).
const END: &str = "\r\n.\r\n";

/// One connection to the relay.
#[derive(Debug)]
pub(super) struct Conversation {
    relay: Relay,
    fault: Option<(&'static str, Fault)>,
    heard: String,
    said: VecDeque<u8>,
    to: String,
    awaits_letter: bool,
    is_cut: bool,
    turn: Turn,
    reader: Option<Waker>,
}

/// Whose turn it is.
#[derive(Debug)]
enum Turn {
    /// The courier's.
    Theirs,
    /// A verb was heard: nothing is done until the wait is over.
    Heard(&'static str, String, Waiting),
    /// It is done; nobody hears of it until the wait is over.
    Done(Option<String>, Waiting),
}

impl Conversation {
    pub(super) fn new(relay: Relay, fault: Option<(&'static str, Fault)>) -> Self {
        let wait = relay.stage.wait(Point::Verb("greeting"));
        let (heard, said, to) = (String::new(), VecDeque::new(), String::new());
        let turn = Turn::Heard("greeting", String::new(), wait);
        Self { relay, fault, heard, said, to, awaits_letter: false, is_cut: false, turn, reader: None }
    }

    /// The next whole verb, or the letter with its final dot.
    fn next_heard(&mut self) -> Option<(&'static str, String)> {
        let (end, skip) = if self.awaits_letter {
            (self.heard.find(END)?, END.len())
        } else {
            (self.heard.find("\r\n")?, 2)
        };
        let text = self.heard[..end].to_owned();
        self.heard.drain(..end + skip);
        if self.awaits_letter {
            return Some(("the dot", text));
        }
        let verb = ["EHLO", "MAIL", "RCPT", "DATA", "QUIT"].into_iter().find(|verb| text.starts_with(verb));
        Some((verb.unwrap_or("another"), text))
    }

    /// Does what the verb asks, unless something goes wrong; the reply, or none where the connection dies.
    fn act(&mut self, verb: &'static str, text: &str) -> Option<String> {
        let drawn = self.fault.take_if(|(at, _)| *at == verb).map(|(_, fault)| fault);
        let fault = drawn.or_else(|| self.relay.scripted());
        if let Some(fault) = fault {
            self.relay.count(fault);
        }
        match fault {
            Some(Fault::CutBefore) => None,
            Some(Fault::Reply(reply)) => {
                self.awaits_letter = false;
                Some(format!("{reply}\r\n"))
            }
            Some(Fault::CutAfter) => {
                self.do_as_asked(verb, text);
                None
            }
            None => Some(self.do_as_asked(verb, text).to_owned()),
        }
    }

    fn do_as_asked(&mut self, verb: &'static str, text: &str) -> &'static str {
        match verb {
            "greeting" => "220 relay.example at your service\r\n",
            "EHLO" => "250 relay.example\r\n",
            "RCPT" => {
                text.split(['<', '>']).nth(1).unwrap_or_default().clone_into(&mut self.to);
                "250 2.1.5 fine\r\n"
            }
            "DATA" => {
                self.awaits_letter = true;
                "354 go ahead\r\n"
            }
            "the dot" => {
                self.awaits_letter = false;
                self.relay.take(&self.to, text);
                "250 2.0.0 taken\r\n"
            }
            "QUIT" => "221 2.0.0 farewell\r\n",
            _ => "250 2.0.0 fine\r\n",
        }
    }

    /// Gets on as far as it can; whether there is something to read now.
    fn get_on(&mut self, context: &mut Context<'_>) -> bool {
        loop {
            if !self.said.is_empty() || self.is_cut {
                return true;
            }
            let heard = if matches!(self.turn, Turn::Theirs) { self.next_heard() } else { None };
            match &mut self.turn {
                Turn::Theirs => match heard {
                    Some((verb, text)) => {
                        self.turn = Turn::Heard(verb, text, self.relay.stage.wait(Point::Verb(verb)));
                    }
                    None => return false,
                },
                Turn::Heard(verb, text, waiting) => {
                    if Pin::new(waiting).poll(context).is_pending() {
                        return false;
                    }
                    let (verb, text) = (*verb, std::mem::take(text));
                    let reply = self.act(verb, &text);
                    self.turn = Turn::Done(reply, self.relay.stage.wait(Point::Answer(verb)));
                }
                Turn::Done(reply, waiting) => {
                    if Pin::new(waiting).poll(context).is_pending() {
                        return false;
                    }
                    match reply.take() {
                        Some(reply) => self.said.extend(reply.bytes()),
                        None => self.is_cut = true,
                    }
                    self.turn = Turn::Theirs;
                }
            }
        }
    }
}

/// A courier that dies has sent what it has sent: the relay may still take a letter whose final dot it was given.
impl Drop for Conversation {
    fn drop(&mut self) {
        let heard = match std::mem::replace(&mut self.turn, Turn::Theirs) {
            Turn::Heard("the dot", text, _) => Some(("the dot", text)),
            Turn::Theirs if self.awaits_letter => self.next_heard(),
            Turn::Theirs | Turn::Heard(..) | Turn::Done(..) => None,
        };
        if let Some(("the dot", text)) = heard
            && self.relay.dice.percent(50)
        {
            self.act("the dot", &text);
        }
    }
}

impl AsyncTokioStream for Conversation {
    fn peer_addr(&self) -> io::Result<SocketAddr> {
        Ok(SocketAddr::from((Ipv4Addr::LOCALHOST, 25)))
    }
}

impl AsyncRead for Conversation {
    fn poll_read(self: Pin<&mut Self>, cx: &mut Context<'_>, buf: &mut ReadBuf<'_>) -> Poll<io::Result<()>> {
        let this = self.get_mut();
        if !this.get_on(cx) {
            this.reader = Some(cx.waker().clone());
            return Poll::Pending;
        }
        let length = this.said.len().min(buf.remaining());
        let bytes: Vec<u8> = this.said.drain(..length).collect();
        buf.put_slice(&bytes);
        Poll::Ready(Ok(()))
    }
}

impl AsyncWrite for Conversation {
    fn poll_write(self: Pin<&mut Self>, _: &mut Context<'_>, bytes: &[u8]) -> Poll<io::Result<usize>> {
        let this = self.get_mut();
        if this.is_cut {
            return Poll::Ready(Err(io::Error::from(io::ErrorKind::BrokenPipe)));
        }
        this.heard.push_str(&String::from_utf8_lossy(bytes));
        if let Some(waker) = this.reader.take() {
            waker.wake();
        }
        Poll::Ready(Ok(bytes.len()))
    }

    fn poll_flush(self: Pin<&mut Self>, _: &mut Context<'_>) -> Poll<io::Result<()>> {
        Poll::Ready(Ok(()))
    }

    fn poll_shutdown(self: Pin<&mut Self>, _: &mut Context<'_>) -> Poll<io::Result<()>> {
        Poll::Ready(Ok(()))
    }
}
