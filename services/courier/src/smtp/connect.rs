//! Opening a connection: an address, no delay, protection, and who we are.

use super::dial::Dial;
use super::dialogue;
use super::wire::Wire;
use super::{Failure, answered};
use crate::outcome::Step;
use crate::settings::{Security, SmtpSettings};
use lettre::transport::smtp::authentication::{Credentials, Mechanism};
use lettre::transport::smtp::client::AsyncSmtpConnection;
use lettre::transport::smtp::extension::ClientId;
use rustls::ClientConfig;
use rustls::pki_types::ServerName;
use std::sync::Arc;
use tokio::net::TcpStream;
use tokio::time::timeout;
use tokio_rustls::TlsConnector;
use tokio_rustls::client::TlsStream;

/// A connection to the relay, protected as set and signed in.
pub async fn open(
    settings: &SmtpSettings,
    tls: &Arc<ClientConfig>,
    dial: Option<&dyn Dial>,
) -> Result<AsyncSmtpConnection, Failure> {
    let protecting = async {
        match settings.security {
            Security::PlainForLoopbackOnly if dial.is_some() => dialled(dial).await,
            Security::PlainForLoopbackOnly => Ok(Wire::plain(reach(settings).await?)),
            Security::Tls => Ok(Wire::protected(protect(reach(settings).await?, settings, tls).await?)),
            Security::StartTls => {
                let mut stream = reach(settings).await?;
                dialogue::start_tls(&mut stream, &settings.helo).await?;
                Ok(Wire::greeted(protect(stream, settings, tls).await?))
            }
        }
    };
    let wire = in_time(settings, Step::Connecting, protecting).await?;
    let helo = ClientId::Domain(settings.helo.clone());
    let greeting = async {
        let connected = AsyncSmtpConnection::connect_with_transport(Box::new(wire), &helo).await;
        connected.map_err(|error| Failure::of(Step::Greeting, &error))
    };
    let mut connection = in_time(settings, Step::Greeting, greeting).await?;
    sign_in(&mut connection, settings).await?;
    Ok(connection)
}

async fn in_time<T>(
    settings: &SmtpSettings,
    step: Step,
    doing: impl Future<Output = Result<T, Failure>>,
) -> Result<T, Failure> {
    let late = |_| Failure::fault(step, format!("no answer within {} s", settings.timeout.as_secs()));
    timeout(settings.timeout, doing).await.map_err(late)?
}

async fn dialled(dial: Option<&dyn Dial>) -> Result<Wire, Failure> {
    let fault = |text: String| Failure::fault(Step::Connecting, text);
    let dial = dial.ok_or_else(|| fault("nobody dials".to_owned()))?;
    let talk = dial.dial().await.map_err(|error| fault(format!("the relay cannot be reached: {error}")))?;
    Ok(Wire::given(talk))
}

/// The first address of the relay that can be reached, with small packets sent at once: the conversation goes to and fro
/// in short lines, and waiting to fill a packet costs 40 ms a line.
async fn reach(settings: &SmtpSettings) -> Result<TcpStream, Failure> {
    let fault = |text: String| Failure::fault(Step::Connecting, text);
    let host = settings.host.trim_start_matches('[').trim_end_matches(']');
    let found = tokio::net::lookup_host((host, settings.port)).await;
    let found = found.map_err(|error| fault(format!("{host} has no address: {error}")))?;
    let mut last = format!("{host} has no address");
    for address in found {
        if settings.security == Security::PlainForLoopbackOnly && !address.ip().is_loopback() {
            last = format!("{address} is not this machine, and nothing goes there without TLS");
            continue;
        }
        match TcpStream::connect(address).await.and_then(|stream| stream.set_nodelay(true).map(|()| stream)) {
            Ok(stream) => return Ok(stream),
            Err(error) => last = format!("{address} cannot be reached: {error}"),
        }
    }
    Err(fault(last))
}

/// TLS over `stream`; the certificate must be the relay's and vouched for.
async fn protect(
    stream: TcpStream,
    settings: &SmtpSettings,
    tls: &Arc<ClientConfig>,
) -> Result<TlsStream<TcpStream>, Failure> {
    let host = settings.host.trim_start_matches('[').trim_end_matches(']').to_owned();
    let name = ServerName::try_from(host).map_err(|_| {
        Failure::fault(Step::Connecting, format!("{:?} cannot be a certificate's name", settings.host))
    })?;
    TlsConnector::from(Arc::clone(tls)).connect(name, stream).await.map_err(|error| {
        Failure::fault(Step::Connecting, format!("TLS with {} failed: {error}", settings.host))
    })
}

/// Signs in, where there is something to sign in with; over TLS only.
async fn sign_in(connection: &mut AsyncSmtpConnection, settings: &SmtpSettings) -> Result<(), Failure> {
    let Some((user, password)) = &settings.credentials else { return Ok(()) };
    if settings.security == Security::PlainForLoopbackOnly {
        return Err(Failure::fault(Step::SigningIn, "a password is never sent without TLS"));
    }
    let credentials = Credentials::new(user.clone(), password.reveal().to_owned());
    let auth = connection.auth(&[Mechanism::Plain, Mechanism::Login], &credentials);
    answered(Step::SigningIn, settings.timeout, auth).await.map(|_| ())
}
