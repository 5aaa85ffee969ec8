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
    /// The way is barred for every letter: the relay is away, out of order, or cannot be trusted.
    Barred {
        /// The reply or fault.
        reply: String,
    },
    /// The relay refuses us, whoever we write to: who signs in, the sender, or what we may do.
    SenderRefused {
        /// The reply.
        reply: String,
    },
    /// The address is refused for good.
    AddressRefused {
        /// The reply.
        reply: String,
    },
    /// It is larger than the relay, or the recipient's mailbox, takes.
    TooLarge {
        /// The reply.
        reply: String,
    },
    /// This letter is refused for good, and nothing is known to be wrong with its address.
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
            | Self::SenderRefused { reply }
            | Self::AddressRefused { reply }
            | Self::TooLarge { reply }
            | Self::LetterRefused { reply }
            | Self::Unknown { reply } => reply,
        }
    }

    /// What a reply at `step` means.
    pub fn of_reply(step: Step, code: u16, text: &str) -> Self {
        let reply = one_line(&format!("{code} {text}"), LONGEST_REPLY);
        match class(step, code, text) {
            Class::Sent => Self::Sent { reply },
            Class::NotNow => Self::NotNow { reply },
            Class::Barred => Self::Barred { reply },
            Class::Sender => Self::SenderRefused { reply },
            Class::Address => Self::AddressRefused { reply },
            Class::Size => Self::TooLarge { reply },
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

/// What a reply means, before it is said with its text.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Class {
    Sent,
    NotNow,
    Barred,
    Sender,
    Address,
    Size,
    Letter,
    Unknown,
}

/// An enhanced status code's subject and detail (RFC 3463): of `5.7.1` it is (7, 1).
type Enhanced = Option<(u16, u16)>;

/// The enhanced status code a reply's text begins with (RFC 2034), and whether it is of the persistent transient class.
fn enhanced(text: &str) -> (Enhanced, bool) {
    let read = || {
        let mut parts = text.split_whitespace().next()?.split('.');
        let class = parts.next()?;
        let number = |part: &str| part.parse().ok().filter(|_| part.len() <= 3);
        let found = (number(parts.next()?)?, number(parts.next()?)?);
        (matches!(class, "4" | "5") && parts.next().is_none()).then_some((found, class == "4"))
    };
    read().map_or((None, false), |(found, transient)| (Some(found), transient))
}

/// Reply codes by RFC 5321, 4.2; enhanced codes by RFC 3463 and the registry that RFC 5248 made. The enhanced code says
/// more and wins; where it and the reply code differ in being final (against RFC 2034, 4), the milder goes.
fn class(step: Step, code: u16, text: &str) -> Class {
    let (enhanced, is_transient) = enhanced(text);
    match (step, code) {
        (Step::Answer, 200..=299) => Class::Sent,
        (_, 421) => Class::Barred,
        // RFC 4954, 6: somebody has to sign in by hand first.
        (Step::SigningIn, 432) => Class::Sender,
        (_, 400..=499) => temporary(step, enhanced),
        (_, 500..=599) if is_transient => temporary(step, enhanced),
        (_, 500..=599) if is_about_us(step, code, enhanced, text) => Class::Sender,
        (Step::Connecting | Step::Greeting | Step::SigningIn, _) => Class::Barred,
        (Step::Sender, 500..=599) => refused_sender(code, enhanced),
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

/// Whether the relay means us: signing in is asked for or refused, the policy is against us (subject 7), the sender's
/// address is not accepted (1.7, 1.8), or we may not send anywhere else. Relays that say this last without an enhanced
/// code would otherwise seem to refuse every address in turn.
fn is_about_us(step: Step, code: u16, enhanced: Enhanced, text: &str) -> bool {
    let signing_in = matches!(code, 523..=525 | 530 | 534 | 535 | 538) || step == Step::SigningIn;
    match enhanced {
        Some((7, _) | (1, 7 | 8)) => true,
        Some(_) => signing_in,
        None => signing_in || step >= Step::Recipient && speaks_of_relaying(text),
    }
}

/// Words of common relays for "you may not send through here" (from memory).
fn speaks_of_relaying(text: &str) -> bool {
    let text = text.to_ascii_lowercase();
    ["relaying", "relay access", "relay not", "to relay", "not relay", "authenticat"]
        .iter()
        .any(|words| text.contains(words))
}

/// Our sender is the same for every letter, so that only a letter's size makes a difference between them here.
fn refused_sender(code: u16, enhanced: Enhanced) -> Class {
    match enhanced {
        Some((2, 3) | (3, 4)) => Class::Size,
        Some((6, _)) => Class::Letter,
        Some((3 | 5, _)) => Class::Barred,
        // RFC 1870, 6.1: larger than the relay takes.
        None if code == 552 => Class::Size,
        None if is_misunderstood(code) => Class::Barred,
        Some(_) | None => Class::Sender,
    }
}

fn refused_recipient(code: u16, enhanced: Enhanced) -> Class {
    match enhanced {
        Some(enhanced) => by_enhanced(enhanced),
        // RFC 5321, 4.5.3.1.10: 552 after RCPT is to be treated as 452. Where the mailbox is full its owner may see to it.
        None if code == 552 => Class::NotNow,
        None if is_misunderstood(code) => Class::Barred,
        None if matches!(code, 550 | 551 | 553 | 556) => Class::Address,
        None => Class::Letter,
    }
}

/// Some relays judge the recipient only once they have seen the letter.
fn refused_letter(step: Step, code: u16, enhanced: Enhanced) -> Class {
    match enhanced {
        Some(enhanced) => by_enhanced(enhanced),
        // RFC 5321, 4.5.3.1.9: too much mail data.
        None if code == 552 => Class::Size,
        None if step == Step::Data => Class::Barred,
        None => Class::Letter,
    }
}

/// Only what is said of the address alone suppresses it: it does not exist (subject 1), is disabled (2.1), or nobody
/// knows the way to it (4.4). A full mailbox (2.2) and too many recipients (5.3) are persistent transient conditions
/// (RFC 3463, 3.3 and 3.6), whatever the code begins with.
const fn by_enhanced(enhanced: (u16, u16)) -> Class {
    match enhanced {
        (1, 0..=4 | 6 | 10) | (2, 1) | (4, 4) => Class::Address,
        (2, 2) | (5, 3) => Class::NotNow,
        (2, 3) | (3, 4) => Class::Size,
        (3 | 5, _) => Class::Barred,
        _ => Class::Letter,
    }
}

/// The relay and we do not speak the same language, or it takes no mail at all (521: RFC 7504).
const fn is_misunderstood(code: u16) -> bool {
    matches!(code, 500..=504 | 521 | 555)
}

#[cfg(test)]
mod tests;
