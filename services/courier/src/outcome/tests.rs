//! R18: each reply and fault gets its class from a table.

use super::*;

fn word(outcome: &Outcome) -> &'static str {
    match outcome {
        Outcome::Sent { .. } => "sent",
        Outcome::NotNow { .. } => "not now",
        Outcome::Barred { .. } => "barred",
        Outcome::AddressRefused { .. } => "address",
        Outcome::LetterRefused { .. } => "letter",
        Outcome::Unknown { .. } => "unknown",
    }
}

/// Subjects and details of the enhanced status codes (RFC 3463, with those registered by RFC 3886, 4954, 5248, 6531,
/// 6710, 7293, 7372, 7505, 8617 and 8689; the list is from memory), with the class of a permanent refusal after RCPT and
/// after the final dot. Which class a code gets is our reading of its text.
const PERMANENT: &[(&str, &str, &str)] = &[
    ("1.0", "address", "address"),
    ("1.1", "address", "address"),
    ("1.2", "address", "address"),
    ("1.3", "address", "address"),
    ("1.4", "address", "address"),
    ("1.5", "address", "address"),
    ("1.6", "address", "address"),
    ("1.7", "barred", "barred"),
    ("1.8", "barred", "barred"),
    ("1.9", "address", "address"),
    ("1.10", "address", "address"),
    ("2.0", "address", "address"),
    ("2.1", "address", "address"),
    ("2.2", "address", "address"),
    ("2.3", "letter", "letter"),
    ("2.4", "address", "address"),
    ("3.0", "barred", "barred"),
    ("3.1", "barred", "barred"),
    ("3.2", "barred", "barred"),
    ("3.3", "barred", "barred"),
    ("3.4", "letter", "letter"),
    ("3.5", "barred", "barred"),
    ("3.6", "barred", "barred"),
    ("4.0", "address", "address"),
    ("4.1", "address", "address"),
    ("4.2", "address", "address"),
    ("4.3", "address", "address"),
    ("4.4", "address", "address"),
    ("4.5", "address", "address"),
    ("4.6", "address", "address"),
    ("4.7", "address", "address"),
    ("5.0", "barred", "barred"),
    ("5.1", "barred", "barred"),
    ("5.2", "barred", "barred"),
    ("5.3", "barred", "barred"),
    ("5.4", "barred", "barred"),
    ("5.5", "barred", "barred"),
    ("5.6", "barred", "barred"),
    ("6.0", "letter", "letter"),
    ("6.1", "letter", "letter"),
    ("6.2", "letter", "letter"),
    ("6.3", "letter", "letter"),
    ("6.4", "letter", "letter"),
    ("6.5", "letter", "letter"),
    ("6.6", "letter", "letter"),
    ("6.7", "letter", "letter"),
    ("6.8", "letter", "letter"),
    ("6.9", "letter", "letter"),
    ("6.10", "letter", "letter"),
    ("7.0", "barred", "barred"),
    ("7.1", "barred", "barred"),
    ("7.2", "barred", "barred"),
    ("7.3", "barred", "barred"),
    ("7.4", "barred", "barred"),
    ("7.5", "barred", "barred"),
    ("7.6", "barred", "barred"),
    ("7.7", "barred", "barred"),
    ("7.8", "barred", "barred"),
    ("7.9", "barred", "barred"),
    ("7.10", "barred", "barred"),
    ("7.11", "barred", "barred"),
    ("7.13", "barred", "barred"),
    ("7.14", "barred", "barred"),
    ("7.15", "barred", "barred"),
    ("7.17", "barred", "barred"),
    ("7.18", "barred", "barred"),
    ("7.20", "barred", "barred"),
    ("7.23", "barred", "barred"),
    ("7.25", "barred", "barred"),
    ("7.26", "barred", "barred"),
    ("7.27", "barred", "barred"),
    ("7.28", "barred", "barred"),
    ("7.30", "barred", "barred"),
];

#[test]
fn r18_permanent_refusals_by_enhanced_code() {
    for (code, at_recipient, at_answer) in PERMANENT {
        let text = format!("5.{code} refused");
        assert_eq!(word(&Outcome::of_reply(Step::Recipient, 550, &text)), *at_recipient, "RCPT 550 {text}");
        assert_eq!(word(&Outcome::of_reply(Step::Answer, 554, &text)), *at_answer, "dot 554 {text}");
        let wanted = if *at_recipient == "letter" { "letter" } else { "barred" };
        assert_eq!(word(&Outcome::of_reply(Step::Sender, 550, &text)), wanted, "MAIL 550 {text}");
    }
}

// RFC 5321, 4.2.1: 4yz may be tried again. What concerns the whole system (subject 3) bars the way meanwhile.
#[test]
fn r18_temporary_refusals_by_enhanced_code() {
    for (code, ..) in PERMANENT {
        let text = format!("4.{code} later");
        let wanted = if code.starts_with("3.") { "barred" } else { "not now" };
        for step in [Step::Recipient, Step::Data, Step::Answer] {
            assert_eq!(word(&Outcome::of_reply(step, 450, &text)), wanted, "{step:?} 450 {text}");
        }
    }
}

/// Replies as relays give them, with and without enhanced codes (codes by RFC 5321, 4.2.3, RFC 4954 and RFC 7504; the
/// texts are invented).
const REPLIES: &[(Step, u16, &str, &str)] = &[
    (Step::Greeting, 554, "no service here", "barred"),
    (Step::Greeting, 521, "this host takes no mail", "barred"),
    (Step::Greeting, 421, "4.3.2 shutting down", "barred"),
    (Step::Greeting, 450, "try later", "barred"),
    (Step::Greeting, 502, "EHLO not implemented", "barred"),
    (Step::Greeting, 550, "5.7.1 your name is not welcome", "barred"),
    (Step::Greeting, 454, "4.7.0 TLS not available now", "barred"),
    (Step::SigningIn, 535, "5.7.8 wrong password", "barred"),
    (Step::SigningIn, 534, "5.7.9 mechanism too weak", "barred"),
    (Step::SigningIn, 538, "5.7.11 encryption needed", "barred"),
    (Step::SigningIn, 454, "4.7.0 temporary failure", "barred"),
    (Step::SigningIn, 504, "5.5.4 unknown mechanism", "barred"),
    (Step::Sender, 530, "5.7.0 sign in first", "barred"),
    (Step::Sender, 530, "must issue STARTTLS first", "barred"),
    (Step::Sender, 535, "authentication failed", "barred"),
    (Step::Sender, 550, "sender refused", "barred"),
    (Step::Sender, 553, "5.7.1 not your address", "barred"),
    (Step::Sender, 501, "5.1.7 bad sender", "barred"),
    (Step::Sender, 451, "4.3.0 out of order", "barred"),
    (Step::Sender, 452, "insufficient storage", "barred"),
    (Step::Sender, 552, "5.3.4 too big", "letter"),
    (Step::Sender, 421, "too many connections", "barred"),
    (Step::Recipient, 550, "no such user", "address"),
    (Step::Recipient, 550, "5.1.1 <nobody@fleet.example>: unknown", "address"),
    (Step::Recipient, 551, "user not local", "address"),
    (Step::Recipient, 552, "5.2.2 mailbox full", "address"),
    (Step::Recipient, 553, "mailbox name not allowed", "address"),
    (Step::Recipient, 554, "5.7.1 relay access denied", "barred"),
    (Step::Recipient, 550, "5.7.1 relaying denied", "barred"),
    (Step::Recipient, 530, "5.7.0 sign in first", "barred"),
    (Step::Recipient, 535, "5.7.8 sign in again", "barred"),
    (Step::Recipient, 556, "5.1.10 domain takes no mail", "address"),
    (Step::Recipient, 503, "bad sequence", "barred"),
    (Step::Recipient, 450, "4.2.0 greylisted", "not now"),
    (Step::Recipient, 450, "4.7.1 greylisted, come back in 5 minutes", "not now"),
    (Step::Recipient, 451, "local error", "not now"),
    (Step::Recipient, 452, "4.5.3 too many recipients", "not now"),
    (Step::Recipient, 452, "4.3.1 disk full", "barred"),
    (Step::Recipient, 421, "4.4.2 time is up", "barred"),
    (Step::Recipient, 550, "5.1.1.1 no enhanced code at all", "address"),
    (Step::Data, 554, "no valid recipients", "barred"),
    (Step::Data, 503, "5.5.1 RCPT first", "barred"),
    (Step::Data, 451, "4.3.0 queue full", "barred"),
    (Step::Data, 550, "5.1.1 unknown after all", "address"),
    (Step::Data, 552, "too much data", "letter"),
    (Step::Answer, 250, "2.0.0 queued as 4F", "sent"),
    (Step::Answer, 250, "OK", "sent"),
    (Step::Answer, 251, "will forward", "sent"),
    (Step::Answer, 354, "go ahead", "unknown"),
    (Step::Answer, 450, "4.2.0 try later", "not now"),
    (Step::Answer, 451, "4.7.1 scanner is away", "not now"),
    (Step::Answer, 452, "4.3.1 disk full", "barred"),
    (Step::Answer, 421, "4.3.0 closing", "barred"),
    (Step::Answer, 552, "5.3.4 too big", "letter"),
    (Step::Answer, 552, "too big", "letter"),
    (Step::Answer, 554, "5.6.0 malformed", "letter"),
    (Step::Answer, 554, "transaction failed", "letter"),
    (Step::Answer, 550, "content refused", "letter"),
    (Step::Answer, 550, "5.7.1 this looks like spam", "barred"),
    (Step::Answer, 550, "5.7.26 sender not authenticated", "barred"),
    (Step::Answer, 550, "5.1.1 no such user", "address"),
    (Step::Answer, 530, "5.7.0 sign in first", "barred"),
];

#[test]
fn r18_replies_as_relays_give_them() {
    for (step, code, text, wanted) in REPLIES {
        let outcome = Outcome::of_reply(*step, *code, text);
        assert_eq!(word(&outcome), *wanted, "{step:?} {code} {text}");
        assert_eq!(outcome.reply(), format!("{code} {text}"));
    }
}

#[test]
fn r17_silence_is_unknown_only_after_the_final_dot() {
    let cases = [
        (Step::Connecting, "barred"),
        (Step::Greeting, "barred"),
        (Step::SigningIn, "barred"),
        (Step::Sender, "barred"),
        (Step::Recipient, "not now"),
        (Step::Data, "not now"),
        (Step::Answer, "unknown"),
    ];
    for (step, wanted) in cases {
        assert_eq!(word(&Outcome::of_fault(step, "the connection broke")), wanted, "{step:?}");
    }
}

#[test]
fn a_reply_is_kept_in_one_line_of_bounded_length() {
    let outcome = Outcome::of_reply(Step::Recipient, 550, &format!("no\r\nsuch\0user {}", "x".repeat(5_000)));
    let reply = outcome.reply();
    assert!(reply.starts_with("550 no such user xxx"), "{reply}");
    assert_eq!(reply.chars().count(), LONGEST_REPLY);
}
