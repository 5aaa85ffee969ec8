//! Laws of the classes; which reply has which is the table's business (`tests/replies.csv`).

use super::*;

const STEPS: [Step; 7] = [
    Step::Connecting,
    Step::Greeting,
    Step::SigningIn,
    Step::Sender,
    Step::Recipient,
    Step::Data,
    Step::Answer,
];

/// Reply codes by RFC 5321, 4.2.3, RFC 4954, 6, and RFC 7504, and some that nobody gives.
const CODES: [u16; 37] = [
    200, 211, 220, 250, 251, 252, 299, 300, 354, 399, 421, 432, 450, 451, 452, 454, 455, 499, 500, 501, 502,
    503, 504, 521, 524, 530, 534, 535, 538, 550, 551, 552, 553, 554, 555, 556, 599,
];

/// Every such code with no enhanced code, and with each that could be one.
fn replies() -> impl Iterator<Item = (Step, u16, String)> {
    let texts = || {
        let enhanced = (0..=9).flat_map(|subject| (0..=12).map(move |detail| (subject, detail)));
        let texts = enhanced.flat_map(|(subject, detail)| {
            ["2", "4", "5"].map(|class| format!("{class}.{subject}.{detail} says it"))
        });
        texts.chain(["says nothing".to_owned()])
    };
    STEPS.into_iter().flat_map(move |step| {
        CODES.into_iter().flat_map(move |code| texts().map(move |text| (step, code, text)))
    })
}

#[test]
fn r17_silence_is_unknown_only_after_the_final_dot() {
    for step in STEPS {
        let outcome = Outcome::of_fault(step, "the connection broke");
        assert_eq!(matches!(outcome, Outcome::Unknown { .. }), step == Step::Answer, "{step:?}");
    }
}

#[test]
fn r18_laws_of_every_reply() {
    for (step, code, text) in replies() {
        let outcome = Outcome::of_reply(step, code, &text);
        let said = format!("{step:?} {code} {text}: {outcome:?}");
        let is_final = matches!(
            outcome,
            Outcome::AddressRefused { .. } | Outcome::LetterRefused { .. } | Outcome::TooLarge { .. }
        );
        assert!(!is_final || code >= 500 && !text.starts_with('4'), "4yz may be tried again: {said}");
        let is_sent = matches!(outcome, Outcome::Sent { .. });
        assert_eq!(is_sent, step == Step::Answer && (200..300).contains(&code), "{said}");
        let is_unknown = matches!(outcome, Outcome::Unknown { .. });
        assert_eq!(is_unknown, step == Step::Answer && (300..400).contains(&code), "{said}");
        if text.starts_with("5.7.") && code >= 500 {
            assert!(matches!(outcome, Outcome::SenderRefused { .. }), "5.7.x suppresses nobody: {said}");
        }
        if step < Step::Recipient {
            assert!(!matches!(outcome, Outcome::AddressRefused { .. }), "no address was named yet: {said}");
        }
    }
}

#[test]
fn a_reply_is_kept_in_one_line_of_bounded_length() {
    let outcome = Outcome::of_reply(Step::Recipient, 550, &format!("no\r\nsuch\0user {}", "x".repeat(5_000)));
    let reply = outcome.reply();
    assert!(reply.starts_with("550 no such user xxx"), "{reply}");
    assert_eq!(reply.chars().count(), LONGEST_REPLY);
}
