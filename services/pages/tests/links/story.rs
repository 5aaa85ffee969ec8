//! A fleet with pages of its own, and links to them.

use chrono::{DateTime, TimeDelta, Utc};
use letters::About;
use letters::links::{ITEM_LINK_HOLDS, LinkFacts, LinkKey, Purpose, sign};
use model::horizon::{Cycle, ItemKey};
use model::{Clock, FleetId, PersonId, VehicleId};
use pages::Pages;
use reqwest::{Client, Response, StatusCode};
use std::net::TcpListener;
use store::derived::SubjectKind;
use store::{Reach, Store};
use testkit::World;
use testkit::world::measured;

/// A fleet, its server, and a van whose oil is overdue.
pub struct Story {
    pub world: World,
    pub van: VehicleId,
    pub client: Client,
    pub base: String,
}

/// The key that the server signs with.
pub fn key() -> LinkKey {
    LinkKey::of_text("a key of the stories, long enough to be one")
}

/// The key that the server signed with before.
pub fn key_before() -> LinkKey {
    LinkKey::of_text("the key before, which is honoured until its links run out")
}

/// The token of a link of that person.
pub fn token_with(fleet: FleetId, person: PersonId, purpose: Purpose, expires_at: DateTime<Utc>) -> String {
    sign(&LinkFacts { purpose, fleet, person, expires_at }, &key()).expect("a token")
}

/// What a page answered.
pub struct Told {
    pub status: StatusCode,
    pub html: String,
}

impl Told {
    pub async fn of(response: Response) -> Self {
        Self { status: response.status(), html: response.text().await.expect("a text") }
    }

    /// The value of the first element that is written so up to its value.
    fn value_after(&self, before: &str) -> String {
        let after = self.html.split_once(before).unwrap_or_else(|| panic!("no {before} in {}", self.html)).1;
        after.split('"').next().expect("a value").to_owned()
    }

    /// What the button says.
    pub fn button(&self) -> String {
        self.value_after("name=\"button\" value=\"")
    }

    /// The day that is chosen as long as nobody chooses another.
    pub fn day(&self) -> String {
        let (before, _) = self.html.split_once("\" checked").expect("a chosen day");
        before.rsplit('"').next().expect("its value").to_owned()
    }

    pub fn has_button(&self) -> bool {
        self.html.contains("<button")
    }

    /// Its heading.
    pub fn heading(&self) -> String {
        let after = self.html.split_once("<h1>").expect("a heading").1;
        after.split('<').next().expect("a heading").to_owned()
    }
}

impl Story {
    pub async fn in_store(store: Store) -> Self {
        Self::of(World::in_store(store).await, "Van 1").await
    }

    pub async fn of(world: World, label: &str) -> Self {
        let van = world.van(label).await;
        world.reading(van, "2027-02-25T08:00:00Z", 27_000.0).await;
        world.tick().await;
        let listener = TcpListener::bind("127.0.0.1:0").expect("a port");
        let pages = Pages::new(world.clerk.clone(), vec![key(), key_before()]);
        let beside = move |config: &mut _| pages.configure(config);
        let served = api::serve_beside(listener, world.clerk.clone(), api::Settings::default(), beside);
        let served = served.expect("a server");
        let base = format!("http://{}", served.address());
        tokio::spawn(served.run());
        let client = Client::builder().no_proxy().redirect(reqwest::redirect::Policy::none()).build();
        Self { world, van, client: client.expect("a client"), base }
    }

    /// The oil change, in the cycle it is in.
    pub async fn oil(&self) -> About {
        self.item("rule:engine-oil").await
    }

    /// A tyre that is worn so far that the van must not be driven, as measured just now.
    pub async fn bald(&self) -> About {
        let mut entry = self.world.entry("Van 1");
        entry.measurements = vec![measured("tread-depth", "front_left", "outer", 0.9, "mm")];
        self.world.post(&[entry]).await;
        self.item("condition:tread-depth:front_left").await
    }

    async fn item(&self, key: &str) -> About {
        let mut tx = self.world.clerk.store().reader(Reach::Fleet(self.world.fleet)).await.expect("a reader");
        let found = store::derived::subject(&mut tx.conn(), self.world.fleet, self.van, key).await;
        let SubjectKind::Item(item) = found.expect("an answer").expect("the item").kind else {
            panic!("{key} is no item")
        };
        About { vehicle: self.van, item: ItemKey(key.to_owned()), cycle: Cycle(item.cycle.0) }
    }

    /// The token of a link to the manager, made just now.
    pub fn token(&self, purpose: Purpose) -> String {
        token_with(self.world.fleet, self.world.manager, purpose, self.world.clock.now() + ITEM_LINK_HOLDS)
    }

    fn address(&self, token: &str) -> String {
        format!("{}/links/{token}", self.base)
    }

    pub async fn get(&self, token: &str) -> Told {
        Told::of(self.client.get(self.address(token)).send().await.expect("an answer")).await
    }

    pub async fn head(&self, token: &str) -> Response {
        self.client.head(self.address(token)).send().await.expect("an answer")
    }

    /// Posts these members as a browser would.
    pub async fn post(&self, token: &str, members: &[(&str, &str)]) -> Told {
        let request = self.client.post(self.address(token)).form(members);
        Told::of(request.send().await.expect("an answer")).await
    }

    /// Looks at the page and presses its button, leaving the day as it is where there is a choice.
    pub async fn press(&self, token: &str) -> Told {
        let page = self.get(token).await;
        let button = page.button();
        let mut members = vec![("button", button.as_str())];
        let day = page.html.contains("name=\"until\"").then(|| page.day());
        members.extend(day.as_deref().map(|day| ("until", day)));
        self.post(token, &members).await
    }

    /// How many acts were done: nothing that lasts is written without one more.
    pub async fn acts(&self) -> i64 {
        let mut tx = self.world.clerk.store().reader(Reach::Fleet(self.world.fleet)).await.expect("a reader");
        let fleet = store::fleets::find(&mut tx.conn(), self.world.fleet).await.expect("an answer");
        fleet.expect("the fleet").sequence
    }

    /// Who has said to have seen the cycle of this item, or put it off.
    pub async fn replies(&self) -> Vec<(Option<PersonId>, Option<chrono::NaiveDate>)> {
        let mut tx = self.world.clerk.store().reader(Reach::Fleet(self.world.fleet)).await.expect("a reader");
        let facts = store::facts::load(&mut tx.conn(), self.world.fleet, &[self.van]).await;
        let facts = facts.expect("facts").remove(0);
        let seen = facts.acknowledgements.iter().map(|said| (said.by, None));
        seen.chain(facts.postponements.iter().map(|said| (said.by, Some(said.until)))).collect()
    }

    pub fn pass_days(&self, days: i64) {
        self.world.clock.pass(TimeDelta::days(days));
    }
}
