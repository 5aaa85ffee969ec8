//! R51: TLS is required, the certificate is checked, and stripping fails closed.

use crate::conversation::{carrier, deliver, plain};
use crate::relay::{Act, Relay, Script, certificate, file};
use courier::carrier::Carriage;
use courier::outcome::Outcome;
use courier::settings::{Mail, Secret, Security, Settings, SettingsError, SmtpSettings};
use courier::smtp::FinalDot;
use letters::LetterError;

fn protected(relay: &Relay, security: Security) -> SmtpSettings {
    SmtpSettings {
        host: "localhost".to_owned(),
        security,
        credentials: Some(("ostler".to_owned(), Secret::new("hunter2-canary"))),
        ca_file: Some(file("authority.pem")),
        ..plain(relay)
    }
}

fn offering(name: &str) -> Script {
    Script { certificate: Some(certificate(name)), ..Script::default() }
}

/// Delivers one letter; the outcome and what the relay heard.
async fn attempt(
    script: Script,
    adjust: impl FnOnce(SmtpSettings) -> SmtpSettings,
) -> (Outcome, Vec<String>) {
    let security = if script.tls_at_once { Security::Tls } else { Security::StartTls };
    let relay = Relay::start(vec![script]).await;
    let mut carrier = carrier(adjust(protected(&relay, security)));
    let outcome = deliver(&mut carrier, &FinalDot::default()).await;
    carrier.close().await;
    (outcome, relay.commands())
}

#[tokio::test]
async fn r51_with_starttls_everything_but_the_first_words_goes_through_tls() {
    for host in ["localhost", "127.0.0.1"] {
        let (outcome, heard) =
            attempt(offering("relay"), |s| SmtpSettings { host: host.to_owned(), ..s }).await;
        assert!(matches!(outcome, Outcome::Sent { .. }), "{outcome:?}");
        assert_eq!(heard[..3], ["EHLO courier.example", "STARTTLS", "tls EHLO courier.example"]);
        assert!(heard[3].starts_with("tls AUTH PLAIN "), "{heard:?}");
        assert_eq!(heard[4..6], ["tls MAIL FROM:<ostler@fleet.example>", "tls RCPT TO:<ada@fleet.example>"]);
    }
}

#[tokio::test]
async fn r51_tls_from_the_first_byte() {
    let script = Script { tls_at_once: true, ..offering("relay") };
    let (outcome, heard) = attempt(script, |s| s).await;
    assert!(matches!(outcome, Outcome::Sent { .. }), "{outcome:?}");
    assert!(heard.iter().all(|command| command.starts_with("tls ")), "{heard:?}");
}

#[tokio::test]
async fn r51_a_relay_stripped_of_starttls_gets_nothing() {
    let cases = [
        Script { certificate: None, ..Script::default() },
        Script { start_tls: Act::Say("454 4.7.0 not now"), ..offering("relay") },
        Script { start_tls: Act::Say("502 5.5.1 what?"), ..offering("relay") },
        Script {
            start_tls: Act::Say("220 go ahead\r\n250 and read this as if it were protected"),
            ..offering("relay")
        },
        Script { start_tls: Act::Cut, ..offering("relay") },
        Script { greeting: Act::Say("220-endless"), ..offering("relay") },
    ];
    for script in cases {
        let acts = format!("{:?}", script.start_tls);
        let (outcome, heard) = attempt(script, |s| s).await;
        assert!(matches!(outcome, Outcome::Barred { .. }), "{acts}: {outcome:?}");
        assert!(
            heard.iter().all(|command| command == "EHLO courier.example" || command == "STARTTLS"),
            "{heard:?}"
        );
    }
}

#[tokio::test]
async fn r51_a_certificate_that_does_not_prove_the_relay_gets_nothing() {
    for name in ["elsewhere", "expired", "stranger"] {
        for tls_at_once in [false, true] {
            let (outcome, heard) = attempt(Script { tls_at_once, ..offering(name) }, |s| s).await;
            assert!(
                matches!(&outcome, Outcome::Barred { reply } if reply.contains("TLS")),
                "{name}: {outcome:?}"
            );
            assert!(
                !heard.iter().any(|command| command.contains("AUTH") || command.contains("MAIL")),
                "{heard:?}"
            );
        }
    }
}

#[tokio::test]
async fn r51_an_authority_is_believed_only_if_the_settings_name_it() {
    let (outcome, _) = attempt(offering("relay"), |s| SmtpSettings { ca_file: None, ..s }).await;
    assert!(matches!(outcome, Outcome::Barred { .. }), "{outcome:?}");
}

#[tokio::test]
async fn r18_a_wrong_password_is_ours_to_mend_and_is_not_repeated_in_the_reply() {
    let script = Script { auth: Act::Say("535 5.7.8 wrong"), ..offering("relay") };
    let (outcome, heard) = attempt(script, |s| s).await;
    assert_eq!(outcome, Outcome::SenderRefused { reply: "535 5.7.8 wrong".to_owned() });
    assert!(!heard.iter().any(|command| command.contains("MAIL")), "{heard:?}");
}

#[tokio::test]
async fn r51_without_tls_nothing_leaves_this_machine() {
    let relay = Relay::start(vec![Script::default()]).await;
    // An address of documentation (RFC 5737): it is refused before anything is sent there.
    let mut carrier = carrier(SmtpSettings { host: "192.0.2.1".to_owned(), ..plain(&relay) });
    let outcome = deliver(&mut carrier, &FinalDot::default()).await;
    let Outcome::Barred { reply } = outcome else { panic!("{outcome:?}") };
    assert!(reply.contains("not this machine"), "{reply}");
}

#[tokio::test]
async fn settings_that_cannot_work_are_refused_at_the_start() {
    let relay = Relay::start(vec![Script::default()]).await;
    let good = plain(&relay);
    let refused = |smtp: SmtpSettings| {
        let settings = Settings::new(Mail::Smtp(smtp), "ostler@fleet.example");
        Carriage::new(&settings).expect_err("bad settings")
    };
    let password = Some(("ostler".to_owned(), Secret::new("x")));
    assert!(matches!(
        refused(SmtpSettings { credentials: password, ..good.clone() }),
        SettingsError::PlainPassword
    ));
    let helo = "a\r\nMAIL FROM:<x@y>".to_owned();
    assert!(matches!(refused(SmtpSettings { helo, ..good.clone() }), SettingsError::Helo(_)));
    assert!(matches!(
        refused(SmtpSettings { host: "a b".to_owned(), ..good.clone() }),
        SettingsError::Host(_)
    ));
    for file in [file("none.pem"), file("relay-key.pem")] {
        let smtp = SmtpSettings { ca_file: Some(file), ..good.clone() };
        assert!(matches!(refused(smtp), SettingsError::Certificates { .. }));
    }
    let settings = Settings::new(Mail::Smtp(good), "nobody");
    assert!(matches!(Carriage::new(&settings), Err(SettingsError::Letter(LetterError::Sender { .. }))));
    let base_url = Some("ostler.example".to_owned());
    let settings = Settings { base_url, from: "ostler@fleet.example".to_owned(), ..settings };
    assert!(matches!(Carriage::new(&settings), Err(SettingsError::Letter(LetterError::BaseUrl(_)))));
}
