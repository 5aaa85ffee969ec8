//! What an attempt came to: replies and faults, each with its class.

use letters::text::one_line;

/// Longest reply kept, in characters.
const LONGEST_REPLY: usize = 500;

/// How far a conversation with a relay had come.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Step {
    /// Looking up its name, connecting, agreeing on TLS.
    Connecting,
    /// Its greeting, EHLO, STARTTLS.
    Greeting,
    /// Signing in.
    SigningIn,
    /// MAIL: the sender.
    Sender,
    /// RCPT: the recipient.
    Recipient,
    /// DATA, and the letter up to its final dot.
    Data,
    /// After the final dot.
    Answer,
}

/// What an attempt came to.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Outcome {
    /// It was taken.
    Sent {
        /// The reply.
        reply: String,
    },
    /// Not now: the same bytes may be taken later.
    NotNow {
        /// The reply or fault.
        reply: String,
    },
    /// The way is barred for every letter: the relay is away, refuses us or the sender, or cannot be trusted.
    Barred {
        /// The reply or fault.
        reply: String,
    },
    /// The address is refused for good.
    AddressRefused {
        /// The reply.
        reply: String,
    },
    /// This letter is refused for good, wherever it goes.
    LetterRefused {
        /// The reply.
        reply: String,
    },
    /// The final dot went out and no answer came: it may have been taken.
    Unknown {
        /// What was seen.
        reply: String,
    },
}

impl Outcome {
    /// The reply or fault, in one line.
    pub fn reply(&self) -> &str {
        match self {
            Self::Sent { reply }
            | Self::NotNow { reply }
            | Self::Barred { reply }
            | Self::AddressRefused { reply }
            | Self::LetterRefused { reply }
            | Self::Unknown { reply } => reply,
        }
    }

    /// What a reply at `step` means.
    pub fn of_reply(step: Step, code: u16, text: &str) -> Self {
        let reply = one_line(&format!("{code} {text}"), LONGEST_REPLY);
        match class(step, code, enhanced(text)) {
            Class::Sent => Self::Sent { reply },
            Class::NotNow => Self::NotNow { reply },
            Class::Barred => Self::Barred { reply },
            Class::Address => Self::AddressRefused { reply },
            Class::Letter => Self::LetterRefused { reply },
            Class::Unknown => Self::Unknown { reply },
        }
    }

    /// What it means that no reply came at `step`: after the final dot nobody knows, before it nothing was taken.
    pub fn of_fault(step: Step, fault: &str) -> Self {
        let reply = one_line(fault, LONGEST_REPLY);
        match step {
            Step::Answer => Self::Unknown { reply },
            Step::Recipient | Step::Data => Self::NotNow { reply },
            Step::Connecting | Step::Greeting | Step::SigningIn | Step::Sender => Self::Barred { reply },
        }
    }
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Class {
    Sent,
    NotNow,
    Barred,
    Address,
    Letter,
    Unknown,
}

/// An enhanced status code's subject and detail (RFC 3463): of `5.7.1` it is (7, 1).
type Enhanced = Option<(u16, u16)>;

/// The enhanced status code a reply's text begins with (RFC 2034).
fn enhanced(text: &str) -> Enhanced {
    let mut parts = text.split_whitespace().next()?.split('.');
    let class = parts.next()?;
    let number = |part: &str| part.parse().ok().filter(|_| part.len() <= 3);
    let found = (number(parts.next()?)?, number(parts.next()?)?);
    (matches!(class, "2" | "4" | "5") && parts.next().is_none()).then_some(found)
}

/// Reply codes by RFC 5321, 4.2; enhanced codes by RFC 3463, 5248, 7372 and 7504.
fn class(step: Step, code: u16, enhanced: Enhanced) -> Class {
    match (step, code) {
        (Step::Answer, 200..=299) => Class::Sent,
        (_, 421) => Class::Barred,
        (_, 400..=499) => temporary(step, enhanced),
        (Step::Connecting | Step::Greeting | Step::SigningIn, _) => Class::Barred,
        (Step::Sender, 500..=599) => refused_sender(enhanced),
        (Step::Recipient, 500..=599) => refused_recipient(code, enhanced),
        (Step::Data | Step::Answer, 500..=599) => refused_letter(step, code, enhanced),
        (Step::Answer, _) => Class::Unknown,
        (Step::Sender | Step::Recipient | Step::Data, _) => Class::NotNow,
    }
}

/// A system that is out of order is so for every letter (subject 3); what comes before the recipient, too.
fn temporary(step: Step, enhanced: Enhanced) -> Class {
    let system = matches!(enhanced, Some((3, _)));
    if step <= Step::Sender || system { Class::Barred } else { Class::NotNow }
}

fn refused_sender(enhanced: Enhanced) -> Class {
    if is_about_the_letter(enhanced) { Class::Letter } else { Class::Barred }
}

/// The recipient is at fault unless the relay says that it is somebody else.
fn refused_recipient(code: u16, enhanced: Enhanced) -> Class {
    match (code, enhanced) {
        _ if is_about_us(code, enhanced) => Class::Barred,
        _ if is_about_the_letter(enhanced) => Class::Letter,
        // 500 to 504 and 521: the relay and we do not speak the same language, or it takes no mail at all.
        (_, Some((3 | 5, _))) | (500..=504 | 521, None) => Class::Barred,
        _ => Class::Address,
    }
}

/// Some relays judge the recipient, or the sender, only once they have seen the letter.
fn refused_letter(step: Step, code: u16, enhanced: Enhanced) -> Class {
    match enhanced {
        _ if is_about_us(code, enhanced) => Class::Barred,
        _ if is_about_the_letter(enhanced) => Class::Letter,
        Some((1 | 2 | 4, _)) => Class::Address,
        Some((3 | 5, _)) => Class::Barred,
        _ if step == Step::Data && code != 552 => Class::Barred,
        _ => Class::Letter,
    }
}

/// Signing in is asked for, refused, or the policy is against us (subject 7), or the sender's address is not accepted.
fn is_about_us(code: u16, enhanced: Enhanced) -> bool {
    matches!(code, 530 | 534 | 535 | 538) || matches!(enhanced, Some((7, _) | (1, 7 | 8)))
}

/// Its size (2.3, 3.4) or its content (subject 6).
fn is_about_the_letter(enhanced: Enhanced) -> bool {
    matches!(enhanced, Some((2, 3) | (3, 4) | (6, _)))
}

#[cfg(test)]
mod tests;
