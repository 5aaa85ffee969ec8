//! A relay that follows a script and remembers what it was told.

use std::collections::VecDeque;
use std::path::PathBuf;
use std::sync::{Arc, Mutex};
use tokio::io::{AsyncRead, AsyncReadExt, AsyncWrite, AsyncWriteExt};
use tokio::net::{TcpListener, TcpStream};
use tokio_rustls::TlsAcceptor;
use tokio_rustls::rustls::ServerConfig;
use tokio_rustls::rustls::pki_types::pem::PemObject;
use tokio_rustls::rustls::pki_types::{CertificateDer, PrivateKeyDer};

/// What the relay does when its turn comes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Act {
    /// Says this.
    Say(&'static str),
    /// Closes the connection.
    Cut,
    /// Says nothing, for good.
    Hang,
}

/// How one connection goes.
#[derive(Clone)]
pub struct Script {
    pub greeting: Act,
    /// Further lines of the answer to EHLO.
    pub offers: &'static [&'static str],
    pub certificate: Option<Arc<ServerConfig>>,
    /// TLS from the first byte.
    pub tls_at_once: bool,
    pub start_tls: Act,
    pub auth: Act,
    pub mail: Act,
    pub rcpt: Act,
    pub data: Act,
    /// In the middle of the letter.
    pub body: Option<Act>,
    pub end: Act,
    /// The answer to MAIL once a letter has been taken on this connection.
    pub mail_again: Act,
}

impl Default for Script {
    fn default() -> Self {
        Self {
            greeting: Act::Say("220 relay.example ready"),
            offers: &["SIZE 1000000", "AUTH PLAIN LOGIN"],
            certificate: None,
            tls_at_once: false,
            start_tls: Act::Say("220 go ahead"),
            auth: Act::Say("235 2.7.0 welcome"),
            mail: Act::Say("250 2.1.0 ok"),
            rcpt: Act::Say("250 2.1.5 ok"),
            data: Act::Say("354 end with a dot"),
            body: None,
            end: Act::Say("250 2.0.0 queued"),
            mail_again: Act::Say("250 2.1.0 ok"),
        }
    }
}

/// A letter that arrived whole, whatever was answered.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Arrived {
    pub from: String,
    pub to: String,
    pub bytes: Vec<u8>,
}

#[derive(Debug, Default)]
struct Memory {
    connections: usize,
    arrived: Vec<Arrived>,
    /// Every command, with `tls ` before those that came through TLS.
    commands: Vec<String>,
}

/// A running relay.
pub struct Relay {
    pub port: u16,
    memory: Arc<Mutex<Memory>>,
}

impl Relay {
    /// Starts a relay whose connections follow these scripts in turn, the last for all that come after.
    pub async fn start(scripts: Vec<Script>) -> Self {
        let listener = TcpListener::bind("127.0.0.1:0").await.expect("a port");
        let port = listener.local_addr().expect("an address").port();
        let memory = Arc::new(Mutex::new(Memory::default()));
        let shared = Arc::clone(&memory);
        tokio::spawn(async move {
            let mut scripts = VecDeque::from(scripts);
            while let Ok((stream, _)) = listener.accept().await {
                let script = if scripts.len() > 1 { scripts.pop_front() } else { scripts.front().cloned() };
                let memory = Arc::clone(&shared);
                memory.lock().expect("memory").connections += 1;
                tokio::spawn(async move {
                    let mut talk = Talk { script: script.expect("a script"), memory, tls: false, mail: None };
                    talk.serve(stream).await;
                });
            }
        });
        Self { port, memory }
    }

    pub fn connections(&self) -> usize {
        self.memory.lock().expect("memory").connections
    }

    pub fn arrived(&self) -> Vec<Arrived> {
        self.memory.lock().expect("memory").arrived.clone()
    }

    pub fn commands(&self) -> Vec<String> {
        self.memory.lock().expect("memory").commands.clone()
    }
}

/// A certificate of the tests, by name.
pub fn certificate(name: &str) -> Arc<ServerConfig> {
    let chain = vec![CertificateDer::from_pem_file(file(&format!("{name}.pem"))).expect("a certificate")];
    let key = PrivateKeyDer::from_pem_file(file(&format!("{name}-key.pem"))).expect("a key");
    let provider = Arc::new(tokio_rustls::rustls::crypto::ring::default_provider());
    let config = ServerConfig::builder_with_provider(provider)
        .with_safe_default_protocol_versions()
        .expect("versions");
    Arc::new(config.with_no_client_auth().with_single_cert(chain, key).expect("a fitting key"))
}

pub fn file(name: &str) -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("tests/certificates").join(name)
}

trait Stream: AsyncRead + AsyncWrite + Unpin + Send {}
impl<S: AsyncRead + AsyncWrite + Unpin + Send> Stream for S {}

/// One conversation, seen from the relay.
struct Talk {
    script: Script,
    memory: Arc<Mutex<Memory>>,
    tls: bool,
    mail: Option<(String, String)>,
}

impl Talk {
    async fn serve(&mut self, stream: TcpStream) {
        stream.set_nodelay(true).expect("no delay");
        let mut stream: Box<dyn Stream> = Box::new(stream);
        if self.script.tls_at_once {
            let Some(protected) = self.protect(stream).await else { return };
            stream = protected;
        }
        if !act(&mut stream, self.script.greeting).await {
            return;
        }
        while let Some(line) = read_line(&mut stream).await {
            self.remember(&line);
            let verb = line.split([' ', ':']).next().unwrap_or_default().to_ascii_uppercase();
            let goes_on = match verb.as_str() {
                "EHLO" => self.hello(&mut stream).await,
                "AUTH" => act(&mut stream, self.script.auth).await,
                "MAIL" => self.mail(&mut stream, &line).await,
                "RCPT" => self.rcpt(&mut stream, &line).await,
                "DATA" => self.data(&mut stream).await,
                "QUIT" => {
                    act(&mut stream, Act::Say("221 bye")).await;
                    false
                }
                "STARTTLS" => {
                    let agreed = matches!(self.script.start_tls, Act::Say(text) if text.starts_with("220"));
                    let goes_on = act(&mut stream, self.script.start_tls).await;
                    if agreed && goes_on {
                        let Some(protected) = self.protect(stream).await else { return };
                        stream = protected;
                    }
                    goes_on
                }
                _ => act(&mut stream, Act::Say("502 5.5.1 what?")).await,
            };
            if !goes_on {
                return;
            }
        }
    }

    fn remember(&self, line: &str) {
        let line = if self.tls { format!("tls {line}") } else { line.to_owned() };
        self.memory.lock().expect("memory").commands.push(line);
    }

    async fn protect(&mut self, stream: Box<dyn Stream>) -> Option<Box<dyn Stream>> {
        let config = Arc::clone(self.script.certificate.as_ref()?);
        let protected = TlsAcceptor::from(config).accept(stream).await.ok()?;
        self.tls = true;
        Some(Box::new(protected))
    }

    async fn hello(&self, stream: &mut Box<dyn Stream>) -> bool {
        let mut lines = vec!["relay.example"];
        lines.extend(self.script.offers);
        if !self.tls && self.script.certificate.is_some() {
            lines.push("STARTTLS");
        }
        let last = lines.len() - 1;
        for (place, line) in lines.iter().enumerate() {
            let sign = if place == last { ' ' } else { '-' };
            if !say(stream, &format!("250{sign}{line}")).await {
                return false;
            }
        }
        true
    }

    async fn mail(&mut self, stream: &mut Box<dyn Stream>, line: &str) -> bool {
        let again = self.mail.is_some();
        self.mail = Some((address(line), String::new()));
        act(stream, if again { self.script.mail_again } else { self.script.mail }).await
    }

    async fn rcpt(&mut self, stream: &mut Box<dyn Stream>, line: &str) -> bool {
        if let Some((_, to)) = &mut self.mail {
            *to = address(line);
        }
        act(stream, self.script.rcpt).await
    }

    async fn data(&mut self, stream: &mut Box<dyn Stream>) -> bool {
        if !act(stream, self.script.data).await {
            return false;
        }
        if !matches!(self.script.data, Act::Say(text) if text.starts_with("354")) {
            return true;
        }
        if let Some(midway) = self.script.body {
            read_line(stream).await;
            return act(stream, midway).await;
        }
        let mut bytes = Vec::new();
        loop {
            let Some(line) = read_line(stream).await else { return false };
            if line == "." {
                break;
            }
            // RFC 5321, 4.5.2: the dot that was doubled is taken away.
            bytes.extend_from_slice(line.strip_prefix('.').unwrap_or(&line).as_bytes());
            bytes.extend_from_slice(b"\r\n");
        }
        let (from, to) = self.mail.clone().unwrap_or_default();
        self.memory.lock().expect("memory").arrived.push(Arrived { from, to, bytes });
        act(stream, self.script.end).await
    }
}

fn address(line: &str) -> String {
    let inner = line.split_once('<').and_then(|(_, rest)| rest.split_once('>'));
    inner.map_or_else(String::new, |(address, _)| address.to_owned())
}

/// Whether the conversation goes on.
async fn act(stream: &mut Box<dyn Stream>, act: Act) -> bool {
    match act {
        Act::Say(text) => say(stream, text).await,
        Act::Cut => false,
        Act::Hang => std::future::pending().await,
    }
}

async fn say(stream: &mut Box<dyn Stream>, line: &str) -> bool {
    let written = stream.write_all(format!("{line}\r\n").as_bytes()).await;
    written.is_ok() && stream.flush().await.is_ok()
}

/// A line without its CR LF, read byte by byte so that nothing of a TLS handshake is swallowed.
async fn read_line(stream: &mut Box<dyn Stream>) -> Option<String> {
    let mut bytes = Vec::new();
    while !bytes.ends_with(b"\r\n") {
        bytes.push(stream.read_u8().await.ok()?);
    }
    bytes.truncate(bytes.len() - 2);
    String::from_utf8(bytes).ok()
}
