//! Addresses that take no mail: who is not reached is listed, and one act lets letters go there again.

use clerk::post::{self, Delivery, SealedLetter};
use end_to_end::Served;
use model::LetterKind;
use serde_json::{Value, json};
use store::Reach;
use store::acts::AuditRow;

/// Lets a relay refuse for good whatever address there is a letter for.
async fn refuse_everybody(served: &Served) {
    let clerk = &served.world.clerk;
    for (fleet, person) in post::waiting_addressees(clerk, 9).await.expect("addressees") {
        let gathering =
            post::open_gathering(clerk, fleet, person).await.expect("an answer").expect("something");
        let letter = SealedLetter {
            kind: LetterKind::AtOnce,
            subject: "Do not drive Van 1".to_owned(),
            message_id: format!("{}@fleet.example", gathering.letter_id()),
            address: gathering.addressee.person.email.clone().expect("an address"),
            bytes: b"Subject: Do not drive Van 1\r\n\r\nDo not drive Van 1.\r\n".to_vec(),
            days: Vec::new(),
        };
        gathering.seal(letter).await.expect("sealed");
    }
    for letter in post::claim_letters(clerk, 9).await.expect("letters") {
        assert!(post::start_sending(clerk, &letter).await.expect("started"));
        let reply = format!("550 5.1.1 <{}>: no such mailbox", letter.address);
        assert!(post::settle(clerk, &letter, Delivery::AddressRefused { reply }).await.expect("settled"));
    }
}

/// A fleet whose people are both told of a bald tyre at addresses that take no mail.
async fn unreached(store: store::Store) -> Served {
    let served = Served::in_store(store).await;
    served.world.van("Van 1").await;
    let bald = served.entry("Van 1", &[json!(["tread-depth", "front_left", "lowest", 1.0, "mm"])]);
    served.technician.post_batch(&served.batch(&[bald])).await;
    served.tick_scheduler().await;
    refuse_everybody(&served).await;
    served
}

fn release(served: &Served) -> String {
    format!("/people/{}:release-address", served.world.technician)
}

/// What the record of changes keeps of the last act.
async fn last_change(served: &Served) -> AuditRow {
    let mut tx = served.world.clerk.store().reader(Reach::Fleet(served.world.fleet)).await.expect("a reader");
    let acts = store::acts::page(&mut tx.conn(), served.world.fleet, 0, 999).await.expect("acts");
    let last = acts.last().expect("an act").id;
    let changes = store::acts::audit_of(&mut tx.conn(), served.world.fleet, last).await.expect("changes");
    changes.into_iter().next().expect("a change")
}

fn why() -> Value {
    json!({"reason": "The provider has mended the mailbox."})
}

testkit::on_both_engines! {
    async fn whom_no_letter_reaches_is_listed_page_by_page_without_the_address(store: Store) {
        let served = unreached(store).await;

        let all = served.manager.list("/unreachable-people").await;

        let mut people = [served.world.manager, served.world.technician].map(|person| person.to_string());
        people.sort_unstable();
        assert_eq!(all.iter().map(|one| one["person"].as_str().expect("an id")).collect::<Vec<_>>(), people);
        assert!(all.iter().all(|one| one["reply"] == "550 5.1.1 <the address>: no such mailbox"), "{all:?}");
        assert_eq!(all[0]["since"], json!(served.now().to_rfc3339_opts(chrono::SecondsFormat::Secs, true)));
        let first = served.manager.get("/unreachable-people?limit=1").await.json();
        let cursor = first["next_cursor"].as_str().expect("there is more");
        let second = served.manager.get(&format!("/unreachable-people?limit=1&cursor={cursor}")).await.json();
        assert_eq!((&first["items"][0], &second["items"][0]), (&all[0], &all[1]));
        assert_eq!(second["next_cursor"], Value::Null);
        let notices = served.viewer.list("/notices").await;
        let told: Vec<_> = notices.iter().filter(|one| one["reminder"] == "do_not_drive").collect();
        assert!(told.iter().all(|one| one["state"] == "list_only" && one["letter"].is_null()), "{told:?}");
        let letters = served.viewer.list("/letters").await;
        assert!(letters.iter().all(|one| one["state"] == "undeliverable"), "{letters:?}");
        assert!(!format!("{letters:?}").contains("technician@example.com"), "{letters:?}");
    }

    async fn one_act_lets_letters_go_there_again_and_is_on_record(store: Store) {
        let served = unreached(store).await;
        served.manager.post(&release(&served), &why()).await.problem(403, "not-allowed");

        let person = served.chief.post(&release(&served), &why()).await.with_status(200).json();

        assert_eq!(person["email"], "technician@example.com");
        let left = served.manager.list("/unreachable-people").await;
        assert_eq!(left.len(), 1);
        assert_eq!(left[0]["person"], json!(served.world.manager));
        served.tick().await;
        let letters = served.letters();
        assert_eq!(letters.len(), 1, "the technician is told what is still true");
        assert!(String::from_utf8_lossy(&letters[0]).contains("To: technician <technician@example.com>"));
        let change = last_change(&served).await;
        assert_eq!((change.subject_id, change.verb.as_str()), (served.world.technician.to_string(), "release_address"));
        let (before, after) = (change.before.unwrap_or_default(), change.after.unwrap_or_default());
        assert!(before.contains("550 5.1.1 <the address>: no such mailbox"), "{before}");
        assert!(after.contains("The provider has mended the mailbox."), "{after}");
    }

    async fn an_address_that_takes_mail_as_it_is_cannot_be_released(store: Store) {
        let served = Served::in_store(store).await;
        let refused = served.chief.post(&release(&served), &why()).await;
        refused.problem(409, "conflict");
        assert_eq!(refused.faults().first().map(|(_, code)| code.as_str()), Some("not-suppressed"));
        let nobody = format!("/people/{}:release-address", end_to_end::UNKNOWN);
        served.chief.post(&nobody, &why()).await.problem(404, "not-found");
        let silent = served.chief.post(&release(&served), &json!({"reason": " "})).await;
        silent.problem(422, "invalid-content");
        assert_eq!(silent.places(), ["/reason"]);
    }
}
