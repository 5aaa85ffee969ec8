//! From what a technician measures to the letter in the mail tray, read by a parser that is not ours.

use chrono::TimeDelta;
use end_to_end::Served;
use mail_parser::{HeaderValue, Message, MessageParser};
use serde_json::{Value, json};
use std::collections::BTreeSet;

fn tread(value: f64) -> Value {
    json!(["tread-depth", "front_left", "lowest", value, "mm"])
}

fn parsed(letter: &[u8]) -> Message<'_> {
    MessageParser::default().parse(letter).expect("a letter is a message")
}

fn address(header: Option<&mail_parser::Address<'_>>) -> String {
    header.and_then(|all| all.first()).and_then(|one| one.address()).unwrap_or_default().to_owned()
}

testkit::on_both_engines! {
    async fn a_tyre_below_the_law_is_in_the_mail_tray_after_a_tick_of_each(store: Store) {
        let served = Served::in_store(store).await;
        served.world.van("Van 1").await;
        served.world.van("Van 2").await;
        let entries = [served.entry("Van 1", &[tread(1.2)]), served.entry("Van 2", &[tread(7.0)])];
        served.technician.post_batch(&served.batch(&entries)).await;
        assert_eq!(served.letters(), Vec::<Vec<u8>>::new(), "nothing is sent before anybody ticks");

        served.tick().await;

        let letters = served.letters();
        let read: Vec<Message<'_>> = letters.iter().map(|letter| parsed(letter)).collect();
        let to: BTreeSet<String> = read.iter().map(|letter| address(letter.to())).collect();
        let people = ["manager@example.com", "technician@example.com"].map(str::to_owned);
        assert_eq!((read.len(), to), (2, BTreeSet::from(people)));
        for letter in &read {
            let subject = letter.subject().expect("a subject");
            assert!(
                subject.to_lowercase().contains("do not drive") && subject.contains("Van 1"),
                "{subject}"
            );
            let body = letter.body_text(0).expect("a text").to_lowercase();
            assert!(
                body.contains("do not drive") && body.contains("van 1") && body.contains("tread depth"),
                "{body}"
            );
            assert!(body.contains("never work under a vehicle"), "the caution is missing: {body}");
            assert_eq!(address(letter.from()), "ostler@fleet.example");
            assert_eq!(
                letter.header("Auto-Submitted").and_then(HeaderValue::as_text),
                Some("auto-generated")
            );
            assert_eq!(
                letter.date().map(mail_parser::DateTime::to_timestamp),
                Some(served.now().timestamp())
            );
        }
        let listed = served.viewer.list("/letters").await;
        assert!(
            listed.iter().all(|letter| letter["state"] == "sent" && letter["attempts"] == 1),
            "{listed:?}"
        );
        let ids: BTreeSet<String> =
            read.iter().map(|l| l.message_id().expect("a Message-ID").to_owned()).collect();
        let told: BTreeSet<String> = listed
            .iter()
            .map(|l| l["message_id"].as_str().expect("an id").trim_matches(['<', '>']).to_owned())
            .collect();
        assert_eq!(ids, told);
        let notices = served.viewer.list("/notices").await;
        let urgent: Vec<&Value> =
            notices.iter().filter(|notice| notice["reminder"] == "do_not_drive").collect();
        assert!(
            urgent.len() == 2
                && urgent.iter().all(|notice| notice["state"] == "told" && notice["urgent"] == true)
        );
    }

    async fn a_letter_is_sent_once_however_often_everybody_ticks_and_the_phone_sends(store: Store) {
        let served = Served::in_store(store).await;
        served.world.van("Van 1").await;
        let bald = served.entry("Van 1", &[tread(1.2)]);
        served.technician.post_batch(&served.batch(std::slice::from_ref(&bald))).await;
        served.tick().await;
        let sent = served.letters();
        let told = served.viewer.list("/notices").await;
        let first = told.iter().find(|notice| notice["reminder"] == "do_not_drive").expect("a notice");
        let seen = format!("/notices/{}:acknowledge", first["id"].as_str().expect("an id"));
        served.technician.post(&seen, &json!({})).await.has_status(200);
        for _ in 0..3 {
            served.world.clock.pass(TimeDelta::hours(1));
            served.technician.post_batch(&served.batch(std::slice::from_ref(&bald))).await;
            served.tick().await;
        }
        assert!(sent.len() == 2 && served.letters() == sent, "{} letters", served.letters().len());
    }

    async fn what_was_mended_before_the_courier_came_is_not_told(store: Store) {
        let served = Served::in_store(store).await;
        served.world.van("Van 1").await;
        let bald = served.entry("Van 1", &[tread(1.2)]);
        served.technician.post_batch(&served.batch(std::slice::from_ref(&bald))).await;
        served.tick_scheduler().await;
        let mut mended = served.entry("Van 1", &[tread(8.0)]);
        mended["corrects"] = bald["entry_id"].clone();
        served.technician.post_batch(&served.batch(&[mended])).await;

        served.tick().await;

        let of_drive = |subject: &str| subject.to_lowercase().contains("do not drive");
        let letters = served.letters();
        let wrong: Vec<&[u8]> = letters
            .iter()
            .map(Vec::as_slice)
            .filter(|l| of_drive(parsed(l).subject().unwrap_or_default()))
            .collect();
        assert!(wrong.is_empty(), "{wrong:?}");
        let notices = served.viewer.list("/notices").await;
        let withdrawn =
            notices.iter().filter(|n| n["reminder"] == "do_not_drive" && n["state"] == "withdrawn");
        assert_eq!(withdrawn.count(), 2, "{notices:?}");
    }

    async fn what_is_overdue_is_one_letter_to_the_manager_with_a_line_for_each_vehicle(store: Store) {
        let served = Served::in_store(store).await;
        for label in ["Van 1", "Van 2"] {
            let van = served.world.van(label).await.to_string();
            served.technician.read_odometer(&van, "2027-02-25T08:00:00Z", 27_000).await;
        }

        served.tick().await;
        assert!(served.letters().is_empty(), "it can wait for the morning");
        served.world.pass_to_next_letter().await;
        served.tick().await;

        let letters = served.letters();
        let to: Vec<String> = letters.iter().map(|letter| address(parsed(letter).to())).collect();
        assert_eq!(to, ["manager@example.com"]);
        let message = parsed(&letters[0]);
        let body = message.body_text(0).expect("a text");
        for told in ["Van 1", "Van 2", "Engine oil and filter"] {
            assert!(body.contains(told), "{told}: {body}");
        }
    }

    async fn what_people_wrote_makes_no_new_header(store: Store) {
        let served = Served::in_store(store).await;
        let label = "Van\u{202e} \"1\" <x@y.example>, ü";
        served
            .manager
            .register_van(label, &served.world.depot.to_string(), &served.world.rulebook.to_string())
            .await;
        let mut entry = served.entry(label, &[tread(1.2)]);
        entry["note"] = json!("Line one\r\nBcc: everybody@fleet.example\n\nLine two");
        let results = served.technician.post_batch(&served.batch(&[entry])).await;
        assert_eq!(results[0]["outcome"], "accepted", "{results:?}");

        served.tick().await;

        let letters = served.letters();
        assert_eq!(letters.len(), 2);
        for letter in &letters {
            let message = parsed(letter);
            assert!(message.bcc().is_none() && message.cc().is_none(), "{message:?}");
            assert_eq!(message.to().map(|to| to.iter().count()), Some(1));
        }
    }
}
