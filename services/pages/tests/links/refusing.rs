//! What does nothing: scanners, links that were changed, and links whose time or person is gone (R31, R41).

use crate::story::{Story, Told, key, token_with};
use chrono::TimeDelta;
use clerk::organisation::{PersonChange, change_person, erase_person};
use letters::links::{ITEM_LINK_HOLDS, LinkFacts, LinkKey, Purpose, button, sign};
use model::{Clock, OptionalLetter, PersonId, Role};
use uuid::Uuid;

async fn every_link(story: &Story) -> Vec<String> {
    let purposes = [
        Purpose::Acknowledge(story.oil().await),
        Purpose::Postpone(story.oil().await),
        Purpose::Unsubscribe(OptionalLetter::WeekAhead),
    ];
    purposes.into_iter().map(|purpose| story.token(purpose)).collect()
}

/// That the page says no more than that it knows nothing of the link.
fn assert_unknown(told: &Told, what: &str) {
    assert_eq!(
        (told.status.as_u16(), told.heading().as_str()),
        (404, "This link is not known here"),
        "{what}"
    );
    assert!(!told.has_button() && !told.html.contains("Van 1") && !told.html.contains("manager"), "{what}");
}

testkit::on_both_engines! {
    async fn what_a_mail_scanner_does_changes_nothing(store: Store) {
        let story = Story::in_store(store).await;
        let before = story.acts().await;
        for token in every_link(&story).await {
            assert_eq!(story.get(&token).await.status, 200);
            let head = story.head(&token).await;
            assert_eq!(head.status(), 200);
            assert_eq!(head.bytes().await.expect("no body").len(), 0);
            let blind: [&[(&str, &str)]; 5] = [
                &[],
                &[("press", "seen")],
                &[("button", "")],
                &[("button", &token)],
                &[("until", "2027-03-08"), ("button", "AAAAAAAAAAAAAAAAAAAAAA")],
            ];
            for members in blind {
                let told = story.post(&token, members).await;
                assert_eq!((told.status.as_u16(), told.has_button()), (400, true), "{members:?}");
                assert!(told.html.contains("Nothing has been done yet."), "{members:?}");
            }
        }
        assert_eq!((story.acts().await, story.replies().await.len()), (before, 0));
    }

    async fn one_click_does_nothing_on_a_link_about_an_item(store: Store) {
        let story = Story::in_store(store).await;
        let before = story.acts().await;
        for purpose in [Purpose::Acknowledge(story.oil().await), Purpose::Postpone(story.oil().await)] {
            let told = story.post(&story.token(purpose), &[("List-Unsubscribe", "One-Click")]).await;
            assert_eq!(told.status, 400);
        }
        assert_eq!((story.acts().await, story.replies().await.len()), (before, 0));
    }

    async fn the_button_of_one_link_presses_no_other(store: Store) {
        let story = Story::in_store(store).await;
        let [seen, later, _] = every_link(&story).await.try_into().expect("three links");
        let other = story.get(&later).await.button();

        assert_eq!(story.post(&seen, &[("button", &other)]).await.status, 400);

        assert_eq!(story.replies().await, []);
    }

    async fn a_form_that_another_site_sends_is_refused(store: Store) {
        let story = Story::in_store(store).await;
        let token = story.token(Purpose::Acknowledge(story.oil().await));
        let button = story.get(&token).await.button();
        for (site, status) in [("cross-site", 403), ("same-site", 403), ("same-origin", 200)] {
            let request = story.client.post(format!("{}/links/{token}", story.base));
            let sent = request.header("Sec-Fetch-Site", site).form(&[("button", &button)]).send();
            assert_eq!(sent.await.expect("an answer").status(), status, "{site}");
        }
        assert_eq!(story.replies().await.len(), 1);
    }

    async fn a_link_that_was_changed_or_signed_elsewhere_is_unknown(store: Store) {
        let story = Story::in_store(store).await;
        let token = story.token(Purpose::Acknowledge(story.oil().await));
        let before = story.acts().await;
        let stranger = LinkFacts {
            purpose: Purpose::Acknowledge(story.oil().await),
            fleet: story.world.fleet,
            person: story.world.manager,
            expires_at: story.world.clock.now() + ITEM_LINK_HOLDS,
        };
        let foreign = sign(&stranger, &LinkKey::new([9; 32])).expect("a token");
        let shorter = token[..token.len() - 1].to_owned();
        let turned = format!("{}{}", if token.starts_with('A') { "B" } else { "A" }, &token[1..]);
        for (token, what) in [
            (foreign.as_str(), "another key"),
            (&shorter, "cut"),
            (&turned, "changed"),
            ("", "nothing"),
            ("a", "one letter"),
            ("%00", "a null"),
            (&"A".repeat(3000), "long"),
        ] {
            assert_unknown(&story.get(token).await, what);
            assert_unknown(&story.post(token, &[("button", &button(token, &key()))]).await, what);
        }
        assert_eq!(story.acts().await, before);
    }

    async fn a_link_that_has_run_out_does_nothing(store: Store) {
        let story = Story::in_store(store).await;
        let token = story.token(Purpose::Acknowledge(story.oil().await));
        let button = story.get(&token).await.button();
        let before = story.acts().await;
        story.world.clock.pass(ITEM_LINK_HOLDS + TimeDelta::seconds(1));

        for told in [story.get(&token).await, story.post(&token, &[("button", &button)]).await] {
            assert_eq!((told.status.as_u16(), told.heading().as_str()), (410, "This link has run out"));
            assert!(!told.has_button());
        }
        assert_eq!((story.acts().await, story.replies().await.len()), (before, 0));
    }

    async fn a_link_into_another_fleet_or_of_nobody_is_unknown(store: Store) {
        let story = Story::in_store(store).await;
        let other = clerk::fleets::create_fleet(&story.world.clerk, "Other").await.expect("a fleet").id;
        let oil = story.oil().await;
        let (ours, manager) = (story.world.fleet, story.world.manager);
        let nobody = PersonId(Uuid::from_u128(7));
        let elsewhere = letters::About { vehicle: model::VehicleId(Uuid::from_u128(8)), ..oil.clone() };
        let until = story.world.clock.now() + ITEM_LINK_HOLDS;
        for (fleet, person, about, what) in [
            (other, manager, &oil, "another fleet"),
            (model::FleetId(Uuid::from_u128(6)), manager, &oil, "no fleet"),
            (ours, nobody, &oil, "nobody"),
            (ours, manager, &elsewhere, "no vehicle"),
        ] {
            for purpose in [Purpose::Acknowledge(about.clone()), Purpose::Postpone(about.clone())] {
                let token = token_with(fleet, person, purpose, until);
                assert_unknown(&story.get(&token).await, what);
                let button = button(&token, &key());
                let members = [("button", button.as_str()), ("until", "2027-03-08")];
                assert_unknown(&story.post(&token, &members).await, what);
            }
        }
        let unsubscribe = Purpose::Unsubscribe(OptionalLetter::WeekAhead);
        let token = token_with(other, manager, unsubscribe, until);
        assert_unknown(&story.post(&token, &[("List-Unsubscribe", "One-Click")]).await, "another fleet");
        assert_eq!(story.replies().await, []);
    }

    async fn links_of_an_erased_person_are_unknown(store: Store) {
        let story = Story::in_store(store).await;
        let links = every_link(&story).await;
        let mut act = story.world.act().await;
        erase_person(&mut act, story.world.manager, 1).await.expect("erased");
        act.commit().await.expect("committed");
        let before = story.acts().await;
        for token in links {
            assert_unknown(&story.get(&token).await, "erased");
            let button = button(&token, &key());
            let members = [("button", button.as_str()), ("until", "2027-03-08")];
            assert_unknown(&story.post(&token, &members).await, "erased");
            assert_unknown(&story.post(&token, &[("List-Unsubscribe", "One-Click")]).await, "erased");
        }
        assert_eq!((story.acts().await, story.replies().await.len()), (before, 0));
    }

    async fn whoever_only_looks_now_can_no_longer_answer(store: Store) {
        let story = Story::in_store(store).await;
        let seen = story.token(Purpose::Acknowledge(story.oil().await));
        let later = story.token(Purpose::Postpone(story.oil().await));
        let mut act = story.world.act().await;
        let change = PersonChange { role: Some(Role::Viewer), ..PersonChange::default() };
        change_person(&mut act, story.world.manager, 1, change).await.expect("changed");
        act.commit().await.expect("committed");
        for token in [seen, later] {
            let button = button(&token, &key());
            let members = [("button", button.as_str()), ("until", "2027-03-08")];
            for told in [story.get(&token).await, story.post(&token, &members).await] {
                assert_eq!((told.status.as_u16(), told.has_button()), (403, false), "{}", told.html);
            }
        }
        assert_eq!(story.replies().await, []);
    }

    async fn what_was_done_meanwhile_needs_no_answer(store: Store) {
        let story = Story::in_store(store).await;
        let tokens = [
            story.token(Purpose::Acknowledge(story.oil().await)),
            story.token(Purpose::Postpone(story.oil().await)),
        ];
        story.world.service(story.van, "2027-03-01", 27_100.0, "engine-oil").await;
        for token in tokens {
            let button = button(&token, &key());
            let members = [("button", button.as_str()), ("until", "2027-03-08")];
            for told in [story.get(&token).await, story.post(&token, &members).await] {
                assert_eq!((told.status.as_u16(), told.heading().as_str()), (410, "This is no longer so"));
            }
        }
        assert_eq!(story.replies().await, []);
    }

    async fn links_that_lead_nowhere_yet_and_other_methods_do_nothing(store: Store) {
        let story = Story::in_store(store).await;
        for purpose in [Purpose::See(story.oil().await), Purpose::SignIn] {
            let token = story.token(purpose);
            assert_unknown(&story.get(&token).await, "no page");
            assert_unknown(&story.post(&token, &[("button", &button(&token, &key()))]).await, "no page");
        }
        let link = format!("{}/links/{}", story.base, story.token(Purpose::Acknowledge(story.oil().await)));
        for method in [reqwest::Method::PUT, reqwest::Method::DELETE, reqwest::Method::PATCH] {
            let told = story.client.request(method, &link).send().await.expect("an answer");
            assert_eq!(told.status(), 405);
            assert_eq!(told.headers()["allow"], "GET, HEAD, POST, OPTIONS");
        }
        let large = story.client.post(&link).body("a".repeat(20_000)).send().await.expect("an answer");
        assert_eq!(large.status(), 413);
        assert_eq!(story.replies().await, []);
    }
}
