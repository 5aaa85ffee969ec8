//! The few lines spoken before TLS (RFC 3207), by hand: nothing learnt in them is kept.

use super::Failure;
use crate::outcome::Step;
use tokio::io::{AsyncRead, AsyncReadExt, AsyncWrite, AsyncWriteExt};

/// Longest reply read before TLS, in octets.
const LONGEST_REPLY: usize = 16 * 1024;

/// Asks for TLS. An error unless the relay offers it and agrees: to go on without it is never tried.
pub async fn start_tls<S: AsyncRead + AsyncWrite + Unpin>(stream: &mut S, helo: &str) -> Result<(), Failure> {
    let greeting = reply(stream).await?;
    greeting.expect(220)?;
    say(stream, &format!("EHLO {helo}\r\n")).await?;
    let answer = reply(stream).await?;
    answer.expect(250)?;
    if !answer.lines.iter().skip(1).any(|line| line.trim().eq_ignore_ascii_case("STARTTLS")) {
        return Err(Failure::fault(
            Step::Greeting,
            "the relay does not offer STARTTLS, and nothing is sent without it",
        ));
    }
    say(stream, "STARTTLS\r\n").await?;
    // What a man in the middle appends to this reply would be read as if it came through TLS; `reply` refuses it.
    reply(stream).await?.expect(220)
}

struct Reply {
    code: u16,
    lines: Vec<String>,
}

impl Reply {
    fn expect(&self, code: u16) -> Result<(), Failure> {
        if self.code == code {
            return Ok(());
        }
        Err(Failure { step: Step::Greeting, code: Some(self.code), text: self.lines.join(" ") })
    }
}

async fn say<S: AsyncWrite + Unpin>(stream: &mut S, line: &str) -> Result<(), Failure> {
    let said = async {
        stream.write_all(line.as_bytes()).await?;
        stream.flush().await
    };
    said.await.map_err(|error| Failure::fault(Step::Greeting, format!("the connection broke: {error}")))
}

/// One whole reply and not a byte more: nothing may follow it before we speak again.
async fn reply<S: AsyncRead + Unpin>(stream: &mut S) -> Result<Reply, Failure> {
    let fault = |text: String| Failure::fault(Step::Greeting, text);
    let mut bytes = Vec::new();
    loop {
        let mut chunk = [0; 1024];
        let read =
            stream.read(&mut chunk).await.map_err(|error| fault(format!("the connection broke: {error}")))?;
        bytes.extend_from_slice(&chunk[..read]);
        match whole(&bytes) {
            Whole::Reply(reply) => return Ok(reply),
            Whole::Nonsense => return Err(fault("what the relay says is no reply of SMTP".to_owned())),
            Whole::NotYet if read == 0 => return Err(fault("the relay closed the connection".to_owned())),
            Whole::NotYet if bytes.len() > LONGEST_REPLY => {
                return Err(fault("the relay's reply has no end".to_owned()));
            }
            Whole::NotYet => {}
        }
    }
}

enum Whole {
    Reply(Reply),
    NotYet,
    Nonsense,
}

fn whole(bytes: &[u8]) -> Whole {
    let Some(complete) = bytes.strip_suffix(b"\n") else {
        // A reply that has ended and goes on is as bad as none; it is seen once its next line is complete or too long.
        return Whole::NotYet;
    };
    let text = String::from_utf8_lossy(complete);
    let mut lines = Vec::new();
    let mut code = None;
    let mut ended = false;
    for line in text.split('\n').map(|line| line.trim_end_matches('\r')) {
        let number = line.get(..3).and_then(|digits| digits.parse::<u16>().ok());
        let sign = line.as_bytes().get(3).copied().unwrap_or(b' ');
        let (Some(number), false, b' ' | b'-') = (number, ended, sign) else { return Whole::Nonsense };
        if code.is_some_and(|code| code != number) {
            return Whole::Nonsense;
        }
        code = Some(number);
        ended = sign == b' ';
        lines.push(line.get(4..).unwrap_or_default().to_owned());
    }
    match code {
        Some(code) if ended => Whole::Reply(Reply { code, lines }),
        Some(_) | None => Whole::NotYet,
    }
}
