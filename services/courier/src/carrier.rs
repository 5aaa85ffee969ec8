//! What carries letters out of the house, as the settings say.

use crate::folder;
use crate::outcome::{Outcome, Step};
use crate::settings::{Mail, Security, Settings, SettingsError, SmtpSettings};
use crate::smtp::{Dial, FinalDot, Relay, trusted};
use lettre::Address;
use model::LetterId;
use rustls::ClientConfig;
use rustls::pki_types::ServerName;
use std::path::PathBuf;
use std::sync::Arc;

/// Checked settings, from which a [`Carrier`] is made for each tick.
#[derive(Debug, Clone)]
pub struct Carriage(Means, Option<Arc<dyn Dial>>);

#[derive(Debug, Clone)]
enum Means {
    Folder(PathBuf),
    Relay { settings: SmtpSettings, tls: Arc<ClientConfig>, from: Address },
}

impl Carriage {
    /// Checks the settings, reading the file of certificates if one is set.
    ///
    /// # Errors
    /// See [`SettingsError`].
    pub fn new(settings: &Settings) -> Result<Self, SettingsError> {
        let domain = letters::sender_domain(&settings.from)?;
        settings.base_url.as_deref().map(letters::checked_url).transpose()?;
        let smtp = match &settings.mail {
            Mail::Folder(folder) => return Ok(Self(Means::Folder(folder.clone()), None)),
            Mail::Smtp(smtp) => smtp,
        };
        check(smtp)?;
        let tls = trusted(smtp.ca_file.as_deref())?;
        let from = letters::sender_address(&settings.from)?;
        let from = from.parse().map_err(|_| SettingsError::Host(domain))?;
        Ok(Self(Means::Relay { settings: smtp.clone(), tls, from }, None))
    }

    /// The same, with the relay reached by `dial` instead of the network.
    #[must_use]
    pub fn dialled(self, dial: Arc<dyn Dial>) -> Self {
        Self(self.0, Some(dial))
    }

    /// A carrier with no connection yet.
    pub fn carrier(&self) -> Carrier {
        Carrier(match self.0.clone() {
            Means::Folder(folder) => Way::Folder(folder),
            Means::Relay { settings, tls, from } => {
                Way::Relay(Box::new(Relay::new(settings, tls, from).dialled(self.1.clone())))
            }
        })
    }
}

fn check(smtp: &SmtpSettings) -> Result<(), SettingsError> {
    if smtp.security == Security::PlainForLoopbackOnly && smtp.credentials.is_some() {
        return Err(SettingsError::PlainPassword);
    }
    let plain = |c: char| c.is_ascii_alphanumeric() || "-.:[]_".contains(c);
    if smtp.helo.is_empty() || smtp.helo.len() > 255 || !smtp.helo.chars().all(plain) {
        return Err(SettingsError::Helo(smtp.helo.clone()));
    }
    let host = smtp.host.trim_start_matches('[').trim_end_matches(']');
    match ServerName::try_from(host.to_owned()) {
        Ok(_) => Ok(()),
        Err(_) => Err(SettingsError::Host(smtp.host.clone())),
    }
}

/// Carries letters one after the other.
pub struct Carrier(Way);

enum Way {
    Folder(PathBuf),
    Relay(Box<Relay>),
}

impl Carrier {
    /// Whether the way is open, at the cost of a connection but of no letter.
    ///
    /// # Errors
    /// What bars it.
    pub async fn ready(&mut self) -> Result<(), Outcome> {
        match &mut self.0 {
            Way::Folder(_) => Ok(()),
            Way::Relay(relay) => relay.ready().await,
        }
    }

    /// Carries the letter to its one address.
    pub async fn deliver(
        &mut self,
        letter: LetterId,
        address: &str,
        bytes: &[u8],
        dot: &FinalDot,
    ) -> Outcome {
        match &mut self.0 {
            Way::Folder(folder) => folder::put(folder, letter, bytes).await,
            Way::Relay(relay) => match address.parse() {
                Ok(to) => relay.deliver(&to, bytes, dot).await,
                Err(_) => Outcome::of_reply(Step::Recipient, 553, "5.1.3 not an address; nothing was sent"),
            },
        }
    }

    /// Ends what is still open.
    pub async fn close(&mut self) {
        match &mut self.0 {
            Way::Folder(_) => {}
            Way::Relay(relay) => relay.close().await,
        }
    }
}
