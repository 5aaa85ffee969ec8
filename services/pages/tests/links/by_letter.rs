//! The whole way: a letter as it is handed over, the links in it, and what their pages do.

use crate::story::{Story, key};
use chrono::TimeDelta;
use courier::{Courier, Mail, Settings};
use mail_parser::MessageParser;
use model::OptionalLetter;
use std::path::PathBuf;
use store::Reach;
use testkit::world::instant;

const BASE: &str = "https://fleet.example/ostler";

/// A courier that lays letters into a folder of its own.
struct Post {
    courier: Courier,
    folder: PathBuf,
}

impl Post {
    fn of(story: &Story) -> Self {
        let name = format!("ostler-pages-{}-{}", std::process::id(), story.world.fleet);
        let folder = std::env::temp_dir().join(name);
        let mut settings = Settings::new(Mail::Folder(folder.clone()), "Ostler <ostler@fleet.example>");
        settings.base_url = Some(BASE.to_owned());
        settings.link_key = Some(key());
        let courier = Courier::new(story.world.clerk.clone(), settings).expect("good settings");
        Self { courier, folder }
    }

    /// The letters that go now to this address, as they are handed over.
    async fn letters_to(&self, address: &str) -> Vec<Vec<u8>> {
        self.courier.tick().await.expect("a tick");
        let Ok(files) = std::fs::read_dir(&self.folder) else { return Vec::new() };
        let mut letters = Vec::new();
        for file in files.flatten() {
            let bytes = std::fs::read(file.path()).expect("a letter");
            std::fs::remove_file(file.path()).expect("taken out");
            let to = format!("<{address}>");
            let is_to = bytes.split(|byte| *byte == b'\n').any(|line| {
                let line = String::from_utf8_lossy(line);
                line.starts_with("To:") && line.contains(&to)
            });
            letters.extend(is_to.then_some(bytes));
        }
        letters
    }
}

impl Drop for Post {
    fn drop(&mut self) {
        // What is left in a temporary folder does no harm.
        let _ = std::fs::remove_dir_all(&self.folder);
    }
}

/// The plain text of a letter.
fn text(letter: &[u8]) -> String {
    let letter = MessageParser::default().parse(letter).expect("a message");
    letter.body_text(0).expect("a text").into_owned()
}

/// The tokens of the links with these words, in order.
fn tokens(letter: &[u8], words: &str) -> Vec<String> {
    let start = format!("{words}: {BASE}/links/");
    text(letter).lines().filter_map(|line| line.trim().strip_prefix(&start).map(str::to_owned)).collect()
}

fn header(letter: &[u8], name: &str) -> Option<String> {
    let letter = MessageParser::default().parse(letter).expect("a message");
    let value = letter.header_raw(name.to_owned())?;
    Some(value.split_whitespace().collect::<Vec<_>>().join(" "))
}

testkit::on_both_engines! {
    async fn a_reminder_brings_links_that_work_and_cannot_be_ended(store: Store) {
        let story = Story::in_store(store).await;
        let post = Post::of(&story);
        story.world.pass_to_next_letter().await;

        let letters = post.letters_to("manager@example.com").await;

        assert_eq!(letters.len(), 1);
        assert_eq!(header(&letters[0], "List-Unsubscribe"), None);
        let (seen, later) = (tokens(&letters[0], "I have seen this"), tokens(&letters[0], "Postpone it"));
        assert_eq!((seen.len(), later.len()), (2, 2), "the oil and the annual test: {}", text(&letters[0]));
        assert_eq!(story.press(&seen[0]).await.heading(), "Recorded: you have seen this");
        assert!(story.press(&later[0]).await.heading().starts_with("You will all be reminded again on "));
        assert_eq!(story.replies().await.len(), 2);
    }

    async fn a_technician_can_say_to_have_seen_it_but_is_offered_no_delay(store: Store) {
        let story = Story::in_store(store).await;
        let post = Post::of(&story);
        story.bald().await;
        story.world.tick().await;

        let letters = post.letters_to("technician@example.com").await;

        assert_eq!(tokens(&letters[0], "Postpone it"), Vec::<String>::new());
        assert_eq!(story.press(&tokens(&letters[0], "I have seen this")[0]).await.status, 200);
        assert_eq!(story.replies().await, [(Some(story.world.technician), None)]);
    }

    // RFC 8058, 3.1: both fields, the one with an https address, the other with this very value.
    async fn the_list_of_the_week_is_ended_by_one_click_and_does_not_come_again(store: Store) {
        let story = Story::in_store(store).await;
        let post = Post::of(&story);
        let monday = |at: &str| story.world.clock.set(instant(at));
        monday("2027-03-07T20:00:00Z");
        clerk::jobs::run_due(&story.world.clerk).await.expect("jobs");
        story.world.tick().await;
        monday("2027-03-08T10:00:00Z");

        let letters = post.letters_to("manager@example.com").await;

        let week = letters.iter().find_map(|letter| header(letter, "List-Unsubscribe").map(|link| (letter, link)));
        let (letter, link) = week.expect("the list of the week");
        assert_eq!(header(letter, "List-Unsubscribe-Post").as_deref(), Some("List-Unsubscribe=One-Click"));
        let token = link.strip_prefix(&format!("<{BASE}/links/")).and_then(|rest| rest.strip_suffix('>'));
        let told = story.post(token.expect("a link"), &[("List-Unsubscribe", "One-Click")]).await;
        assert_eq!(told.heading(), "You get no more overviews of the week");
        for sunday in ["2027-03-14T20:00:00Z", "2027-03-21T20:00:00Z"] {
            monday(sunday);
            clerk::jobs::run_due(&story.world.clerk).await.expect("jobs");
            story.world.tick().await;
            story.world.clock.pass(TimeDelta::hours(14));
            for letter in post.letters_to("manager@example.com").await {
                assert_eq!(header(&letter, "List-Unsubscribe"), None, "{}", text(&letter));
            }
        }
    }

    async fn a_list_that_waits_is_dropped_once_it_is_ended_and_what_must_not_be_driven_still_comes(store: Store) {
        let story = Story::in_store(store).await;
        let post = Post::of(&story);
        story.world.clock.set(instant("2027-03-07T20:00:00Z"));
        clerk::jobs::run_due(&story.world.clerk).await.expect("jobs");
        story.world.tick().await;
        let purpose = letters::links::Purpose::Unsubscribe(OptionalLetter::WeekAhead);
        story.press(&story.token(purpose)).await;
        story.world.clock.set(instant("2027-03-08T10:00:00Z"));
        story.bald().await;
        story.world.tick().await;

        let letters = post.letters_to("manager@example.com").await;

        let urgent: Vec<String> = letters.iter().map(|letter| text(letter)).collect();
        assert!(urgent.iter().any(|text| text.contains("DO NOT DRIVE")), "{urgent:?}");
        assert!(letters.iter().all(|letter| header(letter, "List-Unsubscribe").is_none()));
        let mut tx = story.world.clerk.store().reader(Reach::All).await.expect("a reader");
        assert_eq!(store::digests::next_time(&mut tx.conn()).await.expect("an answer"), None);
    }

    async fn the_next_people_are_told_that_nobody_answered_and_who_was_asked(store: Store) {
        let story = Story::in_store(store).await;
        let post = Post::of(&story);
        story.bald().await;
        story.world.tick().await;
        post.letters_to("manager@example.com").await;
        story.world.clock.pass(TimeDelta::minutes(31));

        let letters = post.letters_to("technician@example.com").await;

        let said = text(&letters[0]).split_whitespace().collect::<Vec<_>>().join(" ");
        let wanted = "Told to you because nobody has answered for 31 minutes. Written to first, 1 Mar 2027 at 08:00: you and manager.";
        assert!(said.contains(wanted), "{said}");
    }

    /// As while the relay is down: the next people's half hour goes by before the first letter does.
    async fn where_no_letter_has_gone_before_nobody_is_said_to_have_kept_silent(store: Store) {
        let story = Story::in_store(store).await;
        let post = Post::of(&story);
        story.bald().await;
        story.world.tick().await;
        story.world.clock.pass(TimeDelta::minutes(31));

        let letters = post.letters_to("technician@example.com").await;

        assert_eq!(letters.len(), 1);
        let said = text(&letters[0]);
        assert!(said.contains("DO NOT DRIVE") && !said.contains("nobody has answered"), "{said}");
    }
}
