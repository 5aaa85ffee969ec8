//! Ending an optional kind of letter, and getting it again.

use crate::story::{Story, Told};
use letters::links::Purpose;
use model::{OptionalLetter, Person};
use store::Reach;

async fn manager(story: &Story) -> Person {
    let fleet = story.world.fleet;
    let mut tx = story.world.clerk.store().reader(Reach::Fleet(fleet)).await.expect("a reader");
    let found = store::people::find(&mut tx.conn(), fleet, story.world.manager).await.expect("an answer");
    found.expect("the manager")
}

testkit::on_both_engines! {
    async fn the_button_ends_a_kind_of_letter_once_and_another_brings_it_back(store: Store) {
        let story = Story::in_store(store).await;
        let token = story.token(Purpose::Unsubscribe(OptionalLetter::WeekAhead));
        let before = story.acts().await;
        let page = story.get(&token).await;
        assert_eq!(page.heading(), "Get no more overviews of the week?");

        assert_eq!(story.press(&token).await.heading(), "You get no more overviews of the week");

        assert_eq!(manager(&story).await.declined_letters, [OptionalLetter::WeekAhead]);
        let twice = story.post(&token, &[("button", &page.button()), ("press", "end")]).await;
        assert_eq!(twice.heading(), "You get no more overviews of the week already");
        assert_eq!(story.acts().await, before + 1);
        let members = [("button", page.button()), ("press", "again".to_owned())];
        let members: Vec<(&str, &str)> = members.iter().map(|(name, value)| (*name, value.as_str())).collect();
        assert_eq!(story.post(&token, &members).await.heading(), "You get overviews of the week again");
        assert_eq!(story.post(&token, &members).await.heading(), "You get overviews of the week already");
        let person = manager(&story).await;
        assert_eq!((person.declined_letters.len(), person.version), (0, 3));
        assert_eq!(story.acts().await, before + 2);
    }

    // RFC 8058, 3.1 and 3.2: urlencoded or multipart, without a cookie, and without a page before.
    async fn one_click_ends_them_whichever_way_it_is_sent(store: Store) {
        let story = Story::in_store(store).await;
        let token = story.token(Purpose::Unsubscribe(OptionalLetter::WeekAhead));

        let told = story.post(&token, &[("List-Unsubscribe", "One-Click")]).await;

        assert_eq!((told.status.as_u16(), told.heading().as_str()), (200, "You get no more overviews of the week"));
        let other = story.token(Purpose::Unsubscribe(OptionalLetter::DayAhead));
        let part = "--b\r\nContent-Disposition: form-data; name=\"List-Unsubscribe\"\r\n\r\nOne-Click\r\n--b--\r\n";
        let request = story.client.post(format!("{}/links/{other}", story.base));
        let request = request.header("Content-Type", "multipart/form-data; boundary=b").body(part);
        assert_eq!(Told::of(request.send().await.expect("an answer")).await.status, 200);
        assert_eq!(manager(&story).await.declined_letters, OptionalLetter::ALL);
        let twice = story.post(&token, &[("List-Unsubscribe", "One-Click")]).await;
        assert_eq!((twice.status.as_u16(), manager(&story).await.version), (200, 3));
    }
}
