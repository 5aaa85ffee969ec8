//! What becomes of a letter when the conversation goes well, goes wrong, or ends in the middle.

use crate::classes::class;
use crate::relay::{Act, Relay, Script};
use courier::carrier::{Carriage, Carrier};
use courier::outcome::Outcome;
use courier::settings::{Mail, Security, Settings, SmtpSettings};
use courier::smtp::FinalDot;
use model::LetterId;
use std::time::Duration;

pub const LETTER: &[u8] =
    b"From: Ostler <ostler@fleet.example>\r\nTo: <ada@fleet.example>\r\nSubject: Van 7\r\n\r\n\
    Do not drive.\r\n.\r\n..two dots\r\n.one\r\nthe end\r\n";

pub fn plain(relay: &Relay) -> SmtpSettings {
    SmtpSettings {
        port: relay.port,
        security: Security::PlainForLoopbackOnly,
        helo: "courier.example".to_owned(),
        timeout: Duration::from_millis(400),
        final_answer: Duration::from_millis(400),
        ..SmtpSettings::new("127.0.0.1")
    }
}

pub fn carrier(settings: SmtpSettings) -> Carrier {
    let settings = Settings::new(Mail::Smtp(settings), "Ostler <ostler@fleet.example>");
    Carriage::new(&settings).expect("good settings").carrier()
}

pub fn letter_id() -> LetterId {
    "01890000-0000-7000-8000-000000000001".parse().expect("an id")
}

pub async fn deliver(carrier: &mut Carrier, dot: &FinalDot) -> Outcome {
    carrier.deliver(letter_id(), "ada@fleet.example", LETTER, dot).await
}

#[tokio::test]
async fn a_letter_arrives_with_its_exact_bytes_and_one_recipient() {
    let relay = Relay::start(vec![Script::default()]).await;
    let outcome = deliver(&mut carrier(plain(&relay)), &FinalDot::default()).await;
    assert_eq!(outcome, Outcome::Sent { reply: "250 2.0.0 queued".to_owned() });
    let arrived = relay.arrived();
    assert_eq!(arrived.len(), 1);
    assert_eq!(
        (arrived[0].from.as_str(), arrived[0].to.as_str()),
        ("ostler@fleet.example", "ada@fleet.example")
    );
    assert_eq!(arrived[0].bytes, LETTER);
}

/// R17: a script, what becomes of the letter, whether the final dot may have gone out.
fn faults() -> Vec<(&'static str, Script, &'static str, bool)> {
    let good = Script::default;
    let mut cases = Vec::new();
    for act in [Act::Cut, Act::Hang] {
        cases.push(("greeting", Script { greeting: act, ..good() }, "barred", false));
        cases.push(("MAIL", Script { mail: act, ..good() }, "barred", false));
        cases.push(("RCPT", Script { rcpt: act, ..good() }, "temporary", false));
        cases.push(("DATA", Script { data: act, ..good() }, "temporary", false));
        cases.push(("dot", Script { end: act, ..good() }, "uncertain", true));
    }
    let say = Act::Say;
    cases.extend([
        ("greeting", Script { greeting: say("554 no"), ..good() }, "barred", false),
        ("greeting", Script { greeting: say("it is a fine day"), ..good() }, "barred", false),
        ("MAIL", Script { mail: say("530 5.7.0 sign in"), ..good() }, "sender", false),
        ("MAIL", Script { mail: say("451 later"), ..good() }, "barred", false),
        ("RCPT", Script { rcpt: say("550 5.1.1 unknown"), ..good() }, "address", false),
        ("RCPT", Script { rcpt: say("550 5.7.1 relaying denied"), ..good() }, "sender", false),
        ("RCPT", Script { rcpt: say("450 4.7.1 greylisted"), ..good() }, "temporary", false),
        ("DATA", Script { data: say("451 later"), ..good() }, "temporary", false),
        ("DATA", Script { data: say("250 fine"), ..good() }, "temporary", false),
        ("dot", Script { end: say("450 later"), ..good() }, "temporary", true),
        ("dot", Script { end: say("554 5.6.0 malformed"), ..good() }, "content", true),
        ("dot", Script { end: say("552 5.3.4 too big"), ..good() }, "size", true),
        ("dot", Script { end: say("550 5.7.1 policy"), ..good() }, "sender", true),
        ("dot", Script { end: say("what was that?"), ..good() }, "uncertain", true),
        ("dot", Script { end: say("251-never"), ..good() }, "uncertain", true),
    ]);
    cases
}

#[tokio::test]
async fn r17_a_fault_at_each_step_gets_its_class() {
    for (step, script, wanted, dot_out) in faults() {
        let acts = format!(
            "{step}: {:?} {:?} {:?} {:?} {:?}",
            script.greeting, script.mail, script.rcpt, script.data, script.end
        );
        let relay = Relay::start(vec![script]).await;
        let dot = FinalDot::default();
        let outcome = deliver(&mut carrier(plain(&relay)), &dot).await;
        assert_eq!((class(&outcome), dot.is_out()), (wanted, dot_out), "{acts}: {outcome:?}");
        assert!(relay.arrived().len() <= 1, "{acts}");
    }
}

// A letter longer than what the sockets hold: the connection breaks, or the relay stops reading, before the dot goes out.
#[tokio::test]
async fn r17_a_connection_lost_within_the_letter_took_nothing() {
    let long: Vec<u8> = b"A line of a long letter.\r\n".repeat(1_000_000);
    for act in [Act::Cut, Act::Hang] {
        let relay = Relay::start(vec![Script { body: Some(act), ..Script::default() }]).await;
        let dot = FinalDot::default();
        let outcome = carrier(plain(&relay)).deliver(letter_id(), "ada@fleet.example", &long, &dot).await;
        assert_eq!((class(&outcome), dot.is_out()), ("temporary", false), "{act:?}: {outcome:?}");
    }
}

#[tokio::test]
async fn r17_a_letter_without_an_answer_is_not_repeated_by_itself() {
    let relay = Relay::start(vec![Script { end: Act::Cut, ..Script::default() }, Script::default()]).await;
    let outcome = deliver(&mut carrier(plain(&relay)), &FinalDot::default()).await;
    assert_eq!(class(&outcome), "uncertain");
    assert_eq!((relay.connections(), relay.arrived().len()), (1, 1));
}

#[tokio::test]
async fn letters_that_follow_use_the_open_connection() {
    let relay = Relay::start(vec![Script::default()]).await;
    let mut carrier = carrier(plain(&relay));
    for _ in 0..5 {
        assert_eq!(class(&deliver(&mut carrier, &FinalDot::default()).await), "sent");
    }
    carrier.close().await;
    assert_eq!((relay.connections(), relay.arrived().len()), (1, 5));
    assert_eq!(relay.commands().last().map(String::as_str), Some("QUIT"));
}

#[tokio::test]
async fn a_relay_that_closes_after_each_letter_is_called_again() {
    for act in [Act::Cut, Act::Say("421 4.7.0 one letter a call")] {
        let relay = Relay::start(vec![Script { mail_again: act, ..Script::default() }]).await;
        let mut carrier = carrier(plain(&relay));
        for _ in 0..3 {
            assert_eq!(class(&deliver(&mut carrier, &FinalDot::default()).await), "sent", "{act:?}");
        }
        assert_eq!((relay.connections(), relay.arrived().len()), (3, 3), "{act:?}");
    }
}

#[tokio::test]
async fn after_a_refusal_the_next_letter_is_not_held_back() {
    let refusing = Script { rcpt: Act::Say("550 5.1.1 unknown"), ..Script::default() };
    let relay = Relay::start(vec![refusing, Script::default()]).await;
    let mut carrier = carrier(plain(&relay));
    assert_eq!(class(&deliver(&mut carrier, &FinalDot::default()).await), "address");
    assert_eq!(class(&deliver(&mut carrier, &FinalDot::default()).await), "sent");
}

#[tokio::test]
async fn a_relay_that_is_away_bars_the_way() {
    let relay = Relay::start(vec![Script::default()]).await;
    let nobody = SmtpSettings { port: 1, ..plain(&relay) };
    let nowhere = SmtpSettings { host: "no-such-host.invalid".to_owned(), ..plain(&relay) };
    for settings in [nobody, nowhere] {
        let mut carrier = carrier(settings);
        assert!(matches!(carrier.ready().await, Err(Outcome::Barred { .. })));
        assert_eq!(class(&deliver(&mut carrier, &FinalDot::default()).await), "barred");
    }
}

#[tokio::test]
async fn what_cannot_be_an_address_never_reaches_the_relay() {
    let relay = Relay::start(vec![Script::default()]).await;
    let mut carrier = carrier(plain(&relay));
    for address in ["", "ada", "ada@fleet.example>\r\nRCPT TO:<eve@fleet.example", "<ada@fleet.example>"] {
        let outcome = carrier.deliver(letter_id(), address, LETTER, &FinalDot::default()).await;
        assert_eq!(class(&outcome), "address", "{address:?}");
    }
    assert_eq!(relay.connections(), 0);
}
