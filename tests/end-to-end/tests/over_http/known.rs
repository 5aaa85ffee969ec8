//! What was true then, and what was known then: `as_of` and `known_at` over HTTP.

use chrono::{SecondsFormat, TimeDelta};
use end_to_end::{Request, Served, id_of};
use serde_json::{Value, json};

fn item<'a>(horizon: &'a Value, key: &str) -> &'a Value {
    let items = horizon["items"].as_array().expect("items");
    let found = items.iter().find(|item| item["item"]["key"] == key);
    &found.unwrap_or_else(|| panic!("there is no {key} in {horizon}"))["item"]
}

fn at(served: &Served) -> String {
    served.now().to_rfc3339_opts(SecondsFormat::Micros, true)
}

async fn asked(served: &Served, van: &str, query: &str) -> Value {
    served.viewer.get(&format!("/vehicles/{van}/horizon?{query}")).await.with_status(200).json()
}

testkit::on_both_engines! {
    /// The oil is done on 20 February and recorded on 1 March. What was due on 10 February does not know of it; what was
    /// due on 25 February does, unless only what was on record by then counts.
    async fn what_was_due_and_what_was_known_of_it_are_two_questions(store: Store) {
        let served = Served::in_store(store).await;
        let van = served.world.van("Van 1").await.to_string();
        served.technician.read_odometer(&van, "2027-02-01T08:00:00Z", 21_000).await;
        let unknown = at(&served);
        served.world.clock.pass(TimeDelta::hours(1));
        served.manager.record_service(&van, "2027-02-20", 22_000, "engine-oil").await;
        let known = at(&served);
        for (query, limit) in [
            ("as_of=2027-02-10T00:00:00Z".to_owned(), 20_000),
            ("as_of=2027-02-25T00:00:00Z".to_owned(), 42_000),
            (format!("as_of=2027-02-25T00:00:00Z&known_at={unknown}"), 20_000),
            (format!("as_of=2027-02-25T00:00:00Z&known_at={known}"), 42_000),
            (format!("known_at={unknown}"), 20_000),
            (format!("known_at={known}"), 42_000),
            (String::new(), 42_000),
        ] {
            let horizon = asked(&served, &van, &query).await;
            let found = &item(&horizon, "rule:engine-oil")["odometer_limit"]["value"];
            assert_eq!(found, &json!(limit), "{query}: {horizon}");
        }
        let horizon = asked(&served, &van, &format!("known_at={unknown}")).await;
        assert_eq!(horizon["known_at"], json!(served.now() - TimeDelta::hours(1)));
        assert_eq!(asked(&served, &van, "").await["known_at"], Value::Null);
    }

    async fn a_withdrawn_paper_is_there_for_who_asks_what_was_known_before(store: Store) {
        let served = Served::in_store(store).await;
        let van = served.world.van("Van 1").await.to_string();
        let paper = json!({"kind": "annual_test", "expires_on": "2027-11-01"});
        let paper = served.manager.make(&format!("/vehicles/{van}/papers"), &paper).await;
        let before = at(&served);
        served.world.clock.pass(TimeDelta::minutes(1));
        let place = served.manager.at(&format!("/vehicles/{van}/papers/{}:withdraw", id_of(&paper)));
        let withdraw = Request::new("POST", &place).under_new_key().with("If-Match", "\"1\"");
        served.manager.send(withdraw).await.has_status(204);
        let horizon = asked(&served, &van, &format!("known_at={before}")).await;
        let paper_item = horizon["items"].as_array().expect("items").iter();
        let expiries = paper_item.filter(|item| item["item"]["date_limit"] == "2027-11-01").count();
        assert_eq!(expiries, 1, "{horizon}");
        let now = asked(&served, &van, "").await;
        assert!(!now.to_string().contains("2027-11-01"), "{now}");
    }

    async fn what_will_be_known_cannot_be_asked(store: Store) {
        let served = Served::in_store(store).await;
        let van = served.world.van("Van 1").await;
        for (query, places) in [
            ("known_at=2027-03-01T08:00:00.000001Z", vec!["known_at"]),
            ("known_at=2099-01-01T00:00:00Z&as_of=2027-03-01T08:00:00Z", vec!["known_at"]),
            ("known_at=yesterday&as_of=tomorrow", vec!["as_of", "known_at"]),
        ] {
            let told = served.viewer.get(&format!("/vehicles/{van}/horizon?{query}")).await;
            told.problem(422, "invalid-content");
            assert_eq!(told.places(), places, "{query}");
        }
        asked(&served, &van.to_string(), "known_at=2027-03-01T08:00:00Z&as_of=2099-01-01T00:00:00Z").await;
    }

    async fn before_it_was_on_record_there_was_no_such_vehicle(store: Store) {
        let served = Served::in_store(store).await;
        served.world.clock.pass(TimeDelta::hours(1));
        let van = served.world.van("Van 1").await;
        let told = served.viewer.get(&format!("/vehicles/{van}/horizon?known_at=2027-03-01T08:59:59Z")).await;
        told.problem(404, "not-found");
        assert_eq!(told.places(), ["known_at"]);
        let stranger = served.another_fleet("Other").await;
        for who in [&stranger, &served.viewer] {
            let nobody = served.new_id();
            let id = if who.fleet == stranger.fleet { van.to_string() } else { nobody.to_string() };
            let told = who.get(&format!("/vehicles/{id}/horizon?known_at=2027-03-01T08:59:59Z")).await;
            told.problem(404, "not-found");
            assert!(told.places().is_empty(), "whose it is stays untold: {told:?}");
        }
    }

    async fn a_look_back_keeps_its_tag_while_time_goes_on_and_facts_are_added(store: Store) {
        let served = Served::in_store(store).await;
        let van = served.world.van("Van 1").await.to_string();
        served.technician.read_odometer(&van, "2027-02-01T08:00:00Z", 21_000).await;
        let then = at(&served);
        let tags = async || {
            let mut tags = Vec::new();
            for query in [String::new(), format!("known_at={then}"), format!("as_of={then}"),
                format!("as_of={then}&known_at={then}")] {
                let told = served.viewer.get(&format!("/vehicles/{van}/horizon?{query}")).await.with_status(200);
                tags.push(told.header("etag").to_owned());
            }
            tags
        };
        let first = tags().await;
        served.world.clock.pass(TimeDelta::seconds(5));
        assert_eq!(tags().await, first, "nothing has changed but the time");
        served.technician.read_odometer(&van, "2027-03-01T08:00:03Z", 22_500).await;
        let second = tags().await;
        assert_ne!(second[0], first[0], "a reading was added");
        assert_eq!(second[1..], first[1..], "it was neither known nor made then");
    }
}
