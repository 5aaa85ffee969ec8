//! One letter to one recipient through a relay, step by step, so that it is always known whether the final dot went out.

mod connect;
mod dial;
mod dialogue;
mod trust;
mod wire;

pub use dial::{Dial, Dialled, Talk};
pub use trust::trusted;

use crate::outcome::{Outcome, Step};
use crate::settings::SmtpSettings;
use lettre::Address;
use lettre::transport::smtp::client::AsyncSmtpConnection;
use lettre::transport::smtp::commands::{Data, Mail, Quit, Rcpt};
use lettre::transport::smtp::response::Response;
use rustls::ClientConfig;
use std::future::Future;
use std::pin::pin;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::Duration;
use tokio::time::timeout;

/// How long a farewell may take.
const FAREWELL: Duration = Duration::from_secs(2);

/// The bit of a letter's bytes that the relay adds again: it ends the data with CR LF, a dot and CR LF.
const LINE_END: &[u8] = b"\r\n";

/// Whether the final dot of the letter in hand may have gone out. It stays readable when the sending is cut short.
#[derive(Debug, Clone, Default)]
pub struct FinalDot(Arc<AtomicBool>);

impl FinalDot {
    /// Whether it may have gone out.
    pub fn is_out(&self) -> bool {
        self.0.load(Ordering::SeqCst)
    }

    fn goes_out(&self) {
        self.0.store(true, Ordering::SeqCst);
    }
}

/// A way to a relay; the connection is opened with the first letter and used for the next.
pub struct Relay {
    settings: SmtpSettings,
    tls: Arc<ClientConfig>,
    from: Address,
    dial: Option<Arc<dyn Dial>>,
    line: Option<Line>,
}

/// An open connection, and whether it has served a letter.
struct Line {
    connection: AsyncSmtpConnection,
    served: bool,
}

/// What ended a conversation early.
#[derive(Debug)]
struct Failure {
    step: Step,
    code: Option<u16>,
    text: String,
}

impl Failure {
    fn fault(step: Step, text: impl Into<String>) -> Self {
        Self { step, code: None, text: text.into() }
    }

    fn of(step: Step, error: &lettre::transport::smtp::Error) -> Self {
        let code = error.status().map(u16::from);
        let cause = std::error::Error::source(error).map(ToString::to_string);
        let text = match (code, cause) {
            (Some(_), Some(text)) => text,
            (Some(_), None) => String::new(),
            (None, _) => error.to_string(),
        };
        Self { step, code, text }
    }

    fn outcome(&self) -> Outcome {
        match self.code {
            Some(code) => Outcome::of_reply(self.step, code, &self.text),
            None => Outcome::of_fault(self.step, &self.text),
        }
    }

    /// Whether a connection that served a letter before may just have been closed behind it: nothing was taken, and a
    /// new connection may do.
    fn is_stale(&self) -> bool {
        self.step == Step::Sender && matches!(self.code, None | Some(421))
    }
}

impl Relay {
    /// A way to the relay of `settings`, trusting what `tls` trusts. Nothing is opened yet.
    pub const fn new(settings: SmtpSettings, tls: Arc<ClientConfig>, from: Address) -> Self {
        Self { settings, tls, from, dial: None, line: None }
    }

    /// The same way, reached by `dial` instead of the network.
    #[must_use]
    pub fn dialled(mut self, dial: Option<Arc<dyn Dial>>) -> Self {
        self.dial = dial;
        self
    }

    /// Opens the connection and signs in, if that has not been done.
    ///
    /// # Errors
    /// The outcome a letter would have had.
    pub async fn ready(&mut self) -> Result<(), Outcome> {
        let line = self.open().await.map_err(|failure| failure.outcome())?;
        self.line = Some(line);
        Ok(())
    }

    /// Hands the letter over. `dot` tells, even if this is cut short, whether the final dot may have gone out.
    pub async fn deliver(&mut self, to: &Address, bytes: &[u8], dot: &FinalDot) -> Outcome {
        let mut tried = self.attempt(to, bytes, dot).await;
        if matches!(&tried, Err((true, failure)) if failure.is_stale()) {
            tried = self.attempt(to, bytes, dot).await;
        }
        tried.unwrap_or_else(|(_, failure)| failure.outcome())
    }

    /// Says farewell, if there is anybody to say it to.
    pub async fn close(&mut self) {
        if let Some(mut line) = self.line.take() {
            // Whether the relay answers makes no difference any more.
            let _ = timeout(FAREWELL, line.connection.command(Quit)).await;
        }
    }

    /// One conversation; a failure comes with whether the connection had served before. The connection is kept only after
    /// a conversation that went well: one that was cut short must not be gone on with.
    async fn attempt(
        &mut self,
        to: &Address,
        bytes: &[u8],
        dot: &FinalDot,
    ) -> Result<Outcome, (bool, Failure)> {
        let mut line = self.open().await.map_err(|failure| (false, failure))?;
        let served = line.served;
        let said = converse(&mut line.connection, &self.settings, self.from.clone(), to, bytes, dot).await;
        if said.is_ok() || said.as_ref().is_err_and(|failure| failure.code.is_some()) {
            line.served = true;
            self.line = Some(line);
        }
        if said.is_err() {
            self.close().await;
        }
        said.map_err(|failure| (served, failure))
    }

    /// The open connection, taken out, or a new one.
    async fn open(&mut self) -> Result<Line, Failure> {
        if let Some(line) = self.line.take() {
            return Ok(line);
        }
        let connection = connect::open(&self.settings, &self.tls, self.dial.as_deref()).await?;
        Ok(Line { connection, served: false })
    }
}

async fn converse(
    connection: &mut AsyncSmtpConnection,
    settings: &SmtpSettings,
    from: Address,
    to: &Address,
    bytes: &[u8],
    dot: &FinalDot,
) -> Result<Outcome, Failure> {
    if !bytes.is_ascii() {
        return Ok(Outcome::LetterRefused { reply: "the letter is not plain ASCII".to_owned() });
    }
    let wait = settings.timeout;
    let mail = connection.command(Mail::new(Some(from), Vec::new()));
    answered(Step::Sender, wait, mail).await?;
    let rcpt = connection.command(Rcpt::new(to.clone(), Vec::new()));
    answered(Step::Recipient, wait, rcpt).await?;
    let go_ahead = answered(Step::Data, wait, connection.command(Data)).await?;
    if !go_ahead.has_code(354) {
        let text = format!("DATA was answered {}", u16::from(go_ahead.code()));
        return Err(Failure::fault(Step::Data, text));
    }
    let reply = hand_over(connection, settings, bytes, dot).await?;
    let text: Vec<&str> = reply.message().collect();
    Ok(Outcome::of_reply(Step::Answer, reply.code().into(), &text.join(" ")))
}

async fn answered<E>(step: Step, wait: Duration, answer: E) -> Result<Response, Failure>
where
    E: Future<Output = Result<Response, lettre::transport::smtp::Error>>,
{
    match timeout(wait, answer).await {
        Ok(answer) => answer.map_err(|error| Failure::of(step, &error)),
        Err(_) => Err(Failure::fault(step, format!("no answer within {} s", wait.as_secs()))),
    }
}

/// Sends the letter and waits for the answer to its final dot.
///
/// `message_iter` writes the parts of the iterator and then the dot: that the iterator was asked for one part more than
/// there are says that the dot comes next. From then on the letter may have been taken.
async fn hand_over(
    connection: &mut AsyncSmtpConnection,
    settings: &SmtpSettings,
    bytes: &[u8],
    dot: &FinalDot,
) -> Result<Response, Failure> {
    let letter = bytes.strip_suffix(LINE_END).unwrap_or(bytes);
    let last = std::iter::from_fn(|| {
        dot.goes_out();
        None
    });
    let mut sending = pin!(connection.message_iter(std::iter::once(letter).chain(last)));
    let step = || if dot.is_out() { Step::Answer } else { Step::Data };
    let sent = match timeout(settings.timeout, &mut sending).await {
        Ok(sent) => sent,
        Err(_) if !dot.is_out() => {
            let text = format!("the letter could not be sent within {} s", settings.timeout.as_secs());
            return Err(Failure::fault(Step::Data, text));
        }
        Err(_) => match timeout(settings.final_answer, &mut sending).await {
            Ok(sent) => sent,
            Err(_) => return Err(Failure::fault(Step::Answer, "no answer to the final dot")),
        },
    };
    sent.map_err(|error| Failure::of(step(), &error))
}
