//! What the button does: what it says, once.

use crate::story::{Story, key_before};
use letters::links::{ITEM_LINK_HOLDS, LinkFacts, Purpose, sign};
use model::Clock;
use testkit::world::day;

testkit::on_both_engines! {
    async fn the_button_records_once_that_the_person_has_seen_it(store: Store) {
        let story = Story::in_store(store).await;
        let token = story.token(Purpose::Acknowledge(story.oil().await));
        let before = story.acts().await;

        let page = story.get(&token).await;
        assert_eq!((page.status.as_u16(), page.heading().as_str()), (200, "Have you seen this?"));
        assert!(page.html.contains("Van 1") && page.html.contains("manager") && page.html.contains("Engine oil"));
        let told = story.press(&token).await;

        assert_eq!((told.status.as_u16(), told.heading().as_str()), (200, "Recorded: you have seen this"));
        assert_eq!(story.replies().await, [(Some(story.world.manager), None)]);
        assert_eq!(story.acts().await, before + 1);
        let again = story.post(&token, &[("button", &page.button())]).await;
        assert_eq!((again.status.as_u16(), again.heading().as_str()), (200, "You have said so already"));
        assert!(again.html.contains("08:00 on 1 Mar 2027") && !again.has_button(), "{}", again.html);
        assert_eq!(story.get(&token).await.heading(), "You have said so already");
        assert_eq!((story.replies().await.len(), story.acts().await), (1, before + 1));
    }

    async fn pressed_twice_at_once_it_still_acts_once(store: Store) {
        let story = Story::in_store(store).await;
        let token = story.token(Purpose::Acknowledge(story.oil().await));
        let button = story.get(&token).await.button();
        let member = [("button", button.as_str())];

        let (one, other) = tokio::join!(story.post(&token, &member), story.post(&token, &member));

        assert_eq!((one.status.as_u16(), other.status.as_u16()), (200, 200));
        assert_eq!(story.replies().await.len(), 1);
    }

    async fn what_was_told_anew_later_can_be_seen_anew(store: Store) {
        let story = Story::in_store(store).await;
        let oil = story.oil().await;
        story.press(&story.token(Purpose::Acknowledge(oil.clone()))).await;
        story.pass_days(1);

        let told = story.press(&story.token(Purpose::Acknowledge(oil))).await;

        assert_eq!((told.heading().as_str(), story.replies().await.len()), ("Recorded: you have seen this", 2));
    }

    async fn the_button_puts_a_reminder_off_once(store: Store) {
        let story = Story::in_store(store).await;
        let token = story.token(Purpose::Postpone(story.oil().await));

        let told = story.press(&token).await;

        assert_eq!(told.heading(), "You will all be reminded again on Monday 8 Mar 2027");
        let put_off = [(Some(story.world.manager), Some(day("2027-03-08")))];
        assert_eq!(story.replies().await, put_off);
        let page = story.get(&token).await;
        assert_eq!(page.heading(), "This is put off until Monday 8 Mar 2027 already");
        assert!(!page.has_button());
        let button = letters::links::button(&token, &crate::story::key());
        story.post(&token, &[("button", &button), ("until", "2027-04-01")]).await;
        assert_eq!(story.replies().await, put_off);
    }

    // The days that `:postpone` of the API allows: from tomorrow to 366 days on.
    async fn a_day_that_cannot_be_is_told_and_changes_nothing(store: Store) {
        let story = Story::in_store(store).await;
        let token = story.token(Purpose::Postpone(story.oil().await));
        let button = story.get(&token).await.button();
        let before = story.acts().await;
        for until in ["", "2027-03-01", "2028-03-02", "9999-12-31", "soon", "-1"] {
            let told = story.post(&token, &[("button", &button), ("until", until)]).await;
            assert_eq!((told.status.as_u16(), told.has_button()), (422, true), "{until}");
            assert!(told.html.contains("That day cannot be chosen"), "{until}");
        }
        assert_eq!((story.replies().await.len(), story.acts().await), (0, before));
        story.post(&token, &[("button", &button), ("until", "2028-03-01"), ("reason", "Parts\r\ncome")]).await;
        assert_eq!(story.replies().await, [(Some(story.world.manager), Some(day("2028-03-01")))]);
    }

    async fn what_must_not_be_driven_can_be_seen_but_not_put_off(store: Store) {
        let story = Story::in_store(store).await;
        let bald = story.bald().await;
        let later = story.token(Purpose::Postpone(bald.clone()));
        let page = story.get(&later).await;
        assert_eq!((page.status.as_u16(), page.has_button()), (409, false));
        let button = letters::links::button(&later, &crate::story::key());
        let told = story.post(&later, &[("button", &button), ("until", "2027-03-08")]).await;
        assert_eq!((told.status.as_u16(), told.heading().as_str()), (409, "This cannot wait"));
        assert_eq!(story.replies().await, []);

        let seen = story.token(Purpose::Acknowledge(bald));
        for page in [story.get(&seen).await, story.press(&seen).await, story.get(&seen).await] {
            assert!(page.html.contains("does not make the vehicle fit to drive"), "{}", page.html);
        }
        assert_eq!(story.replies().await.len(), 1);
    }

    async fn a_link_signed_with_the_key_before_still_works(store: Store) {
        let story = Story::in_store(store).await;
        let facts = LinkFacts {
            purpose: Purpose::Acknowledge(story.oil().await),
            fleet: story.world.fleet,
            person: story.world.manager,
            expires_at: story.world.clock.now() + ITEM_LINK_HOLDS,
        };
        let token = sign(&facts, &key_before()).expect("a token");

        assert_eq!(story.press(&token).await.heading(), "Recorded: you have seen this");
    }
}
