//! How letters leave the house: into a folder, or through a relay.

use letters::links::LinkKey;
use std::fmt;
use std::path::PathBuf;
use std::time::Duration;

/// Settings of the courier.
#[derive(Debug, Clone)]
pub struct Settings {
    /// Where letters go.
    pub mail: Mail,
    /// The sender: `Name <address>` or an address alone. Ids of letters are made under its domain.
    pub from: String,
    /// Where the list is shown, `https://…`; none leaves the link out of letters.
    pub base_url: Option<String>,
    /// What links are signed with; none, like no base address, leaves them out.
    pub link_key: Option<LinkKey>,
    /// The longest sleep between two ticks: covers the wakings that were missed.
    pub poll: Duration,
    /// How long the letter in hand may still take when the courier is told to stop.
    pub grace: Duration,
}

impl Settings {
    /// Settings with a poll of 30 seconds, 20 seconds of grace and no links.
    pub fn new(mail: Mail, from: impl Into<String>) -> Self {
        let (poll, grace) = (Duration::from_secs(30), Duration::from_secs(20));
        Self { mail, from: from.into(), base_url: None, link_key: None, poll, grace }
    }
}

/// Where letters go.
#[derive(Debug, Clone)]
pub enum Mail {
    /// Each letter becomes a file `<id>.eml` in this folder.
    Folder(PathBuf),
    /// Letters are handed to a relay.
    Smtp(SmtpSettings),
}

/// How the connection to the relay is protected.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Security {
    /// STARTTLS, required (RFC 3207): a relay that does not offer it gets nothing.
    StartTls,
    /// TLS from the first byte (RFC 8314).
    Tls,
    /// No protection, to a relay on this very machine and without a password.
    PlainForLoopbackOnly,
}

/// A relay and how to speak to it.
#[derive(Debug, Clone)]
pub struct SmtpSettings {
    /// Its name: looked up, and checked against its certificate.
    pub host: String,
    /// Its port: 587 with STARTTLS, 465 with TLS.
    pub port: u16,
    /// How the connection is protected.
    pub security: Security,
    /// User and password, where the relay asks for them.
    pub credentials: Option<(String, Secret)>,
    /// A file of certificates (PEM) trusted besides the public authorities.
    pub ca_file: Option<PathBuf>,
    /// The name this machine gives itself.
    pub helo: String,
    /// How long each step before the final dot may take.
    pub timeout: Duration,
    /// How long to wait for the answer to the final dot (RFC 5321, 4.5.3.2.6: 10 minutes). Shorter makes copies.
    pub final_answer: Duration,
}

impl SmtpSettings {
    /// A relay with STARTTLS on port 587, nobody signed in, a minute a step and ten for the final answer.
    pub fn new(host: impl Into<String>) -> Self {
        Self {
            host: host.into(),
            port: 587,
            security: Security::StartTls,
            credentials: None,
            ca_file: None,
            helo: "localhost".to_owned(),
            timeout: Duration::from_mins(1),
            final_answer: Duration::from_mins(10),
        }
    }
}

/// A text that must not be shown.
#[derive(Clone, PartialEq, Eq)]
pub struct Secret(String);

impl Secret {
    /// Keeps `text` from being shown.
    pub fn new(text: impl Into<String>) -> Self {
        Self(text.into())
    }

    /// The text, for use.
    pub fn reveal(&self) -> &str {
        &self.0
    }
}

impl fmt::Debug for Secret {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("•••")
    }
}

/// Why the settings cannot be used.
#[derive(Debug, thiserror::Error)]
pub enum SettingsError {
    /// The sender is no mailbox, or the address of the pages cannot stand in a letter.
    #[error(transparent)]
    Letter(#[from] letters::LetterError),
    /// A password would go out unprotected.
    #[error(
        "a password is never sent without TLS: set security to starttls or tls, or leave user and password out"
    )]
    PlainPassword,
    /// The name given to the relay cannot be one.
    #[error(
        "{0:?} is no name for this machine: letters, digits, hyphens and dots, such as van-office.example"
    )]
    Helo(String),
    /// The relay's name is neither a host name nor an IP address.
    #[error("{0:?} is no host: a name such as mail.example, or an IP address")]
    Host(String),
    /// The file of trusted certificates cannot be used.
    #[error("no certificates could be read from {path}")]
    Certificates {
        /// The file.
        path: PathBuf,
        /// Why.
        source: Box<dyn std::error::Error + Send + Sync>,
    },
    /// The TLS library refuses its own defaults.
    #[error("TLS cannot be set up")]
    Tls(#[from] rustls::Error),
}

#[cfg(test)]
mod tests {
    use super::*;

    // R50: the settings are logged at start.
    #[test]
    fn a_password_is_not_shown() {
        let mut smtp = SmtpSettings::new("mail.example");
        smtp.credentials = Some(("ada".to_owned(), Secret::new("hunter2-canary")));
        let shown = format!("{:?}", Settings::new(Mail::Smtp(smtp), "ostler@fleet.example"));
        assert!(shown.contains("•••") && !shown.contains("canary"), "{shown}");
    }
}
