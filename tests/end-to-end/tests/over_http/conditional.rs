//! Nobody's change is overwritten unseen: versions, `ETag`s and what happens in a race.

use end_to_end::{Caller, Request, Served, id_of};
use serde_json::{Value, json};

/// Something with a version: its address and a change to it.
async fn changeable(served: &Served) -> Vec<(String, Value)> {
    let workshop = json!({"name": "Quayside Motors", "kind": "dealer", "lead_days": 5});
    let workshop = id_of(&served.chief.make("/workshops", &workshop).await);
    let van = served.world.van("Van 1").await;
    vec![
        (format!("/depots/{}", served.world.depot), json!({"name": "South yard"})),
        (format!("/workshops/{workshop}"), json!({"lead_days": 9})),
        (format!("/people/{}", served.world.technician), json!({"name": "Tim Farrier"})),
        (format!("/vehicles/{van}"), json!({"tags": ["liftgate"]})),
    ]
}

async fn etag_of(caller: &Caller, place: &str) -> String {
    caller.get(place).await.with_status(200).header("etag").to_owned()
}

testkit::on_both_engines! {
    async fn a_change_needs_the_version_that_was_loaded_and_gives_the_next(store: Store) {
        let served = Served::in_store(store).await;
        for (place, change) in changeable(&served).await {
            let loaded = etag_of(&served.chief, &place).await;
            assert_eq!(loaded, "\"1\"", "{place}");
            let before = served.record().await;
            let bare = Request::patch(&served.chief.at(&place), "", &change).without("If-Match");
            served.chief.send(bare).await.problem(428, "version-missing");
            for stale in ["\"0\"", "\"2\"", "\"abc\"", "W/\"1\"", "\"-1\""] {
                served.chief.patch(&place, stale, &change).await.problem(412, "stale-version");
            }
            assert_eq!(served.record().await, before, "{place}");

            let changed = served.chief.patch(&place, &loaded, &change).await.with_status(200);

            assert_eq!(changed.header("etag"), "\"2\"", "{place}");
            let now = served.chief.get(&place).await;
            assert_eq!((now.json(), now.header("etag")), (changed.json(), "\"2\""), "{place}");
            let (name, value) =
                change.as_object().and_then(|change| change.iter().next()).expect("one member");
            assert_eq!(&now.json()[name], value, "{place}");
            served.chief.patch(&place, &loaded, &change).await.problem(412, "stale-version");
        }
    }

    async fn a_new_etag_comes_with_what_was_made_and_loads_nothing_again(store: Store) {
        let served = Served::in_store(store).await;
        let depot = json!({"name": "North yard", "zone": "Europe/Dublin", "jurisdiction": "eu"});
        let made = served.manager.post("/depots", &depot).await.with_status(201);
        let get = || Request::get(made.header("location"));
        let etag = made.header("etag").to_owned();
        assert_eq!(served.viewer.send(get()).await.with_status(200).header("etag"), etag);
        for known in [etag.clone(), format!("W/{etag}"), format!("\"0\", {etag}"), "*".to_owned()] {
            let told = served.viewer.send(get().with("If-None-Match", &known)).await;
            assert_eq!(
                (told.status, told.bytes.len(), told.header("etag")),
                (304, 0, etag.as_str()),
                "{known}"
            );
        }
        served.viewer.send(get().with("If-None-Match", "\"0\"")).await.has_status(200);
    }

    async fn everything_that_is_read_has_an_etag_which_changes_with_it_alone(store: Store) {
        let served = Served::in_store(store).await;
        let van = served.world.van("Van 1").await.to_string();
        let place = format!("/vehicles/{van}/horizon");
        for place in ["", "/depots", "/due-items", "/held-entries", &place] {
            let etag = etag_of(&served.viewer, place).await;
            let again = Request::get(&served.viewer.at(place)).with("If-None-Match", &etag);
            assert_eq!(served.viewer.send(again).await.status, 304, "{place}");
        }
        let etag = etag_of(&served.viewer, &place).await;
        served.world.reading(served.world.van("Van 2").await, "2027-02-25T08:00:00Z", 30_000.0).await;
        assert_eq!(etag_of(&served.viewer, &place).await, etag, "another vehicle's reading");
        served.technician.read_odometer(&van, "2027-02-25T08:00:00Z", 19_500).await;
        assert_ne!(etag_of(&served.viewer, &place).await, etag, "its own reading");
    }

    async fn r36_of_two_editors_with_one_etag_one_is_done_and_one_is_told_it_is_stale(store: Store) {
        let served = Served::in_store(store).await;
        let place = format!("/vehicles/{}", served.world.van("Van 1").await);
        for round in 1..=50_u32 {
            let etag = etag_of(&served.manager, &place).await;
            assert_eq!(etag, format!("\"{round}\""));
            let change = |who: &str| json!({"tags": [format!("{who} {round}")]});
            let (one, other) = (change("one"), change("other"));
            let (told, also) = tokio::join!(
                served.manager.patch(&place, &etag, &one),
                served.chief.patch(&place, &etag, &other),
            );
            let (done, stale) = if told.status == 200 { (told, also) } else { (also, told) };
            stale.problem(412, "stale-version");
            let kept = served.viewer.get(&place).await.json();
            assert_eq!((kept, done.status), (done.json(), 200), "round {round}");
        }
    }

    async fn r36_of_two_revisions_of_one_rulebook_one_is_done(store: Store) {
        let served = Served::in_store(store).await;
        let place = served.manager.at(&format!("/rulebooks/{}", served.world.rulebook));
        let rules = json!([{"code": "engine-oil", "title": "Engine oil", "every": {"months": 6}}]);
        for round in 1..=10_u32 {
            let revise = |title: &str| {
                Request::post(&format!("{place}:revise"), &json!({"title": title, "rules": rules}))
                    .with("If-Match", &format!("\"{round}\""))
            };
            let (told, also) =
                tokio::join!(served.manager.send(revise("One")), served.chief.send(revise("Other")));
            let (done, stale) = if told.status == 200 { (told, also) } else { (also, told) };
            stale.problem(412, "stale-version");
            assert_eq!(done.with_status(200).header("etag"), format!("\"{}\"", round + 1));
        }
        let first =
            served.viewer.send(Request::get(&format!("{place}?version=1"))).await.with_status(200).json();
        assert_eq!(first["rules"].as_array().map(Vec::len), Some(3), "old versions stay readable: {first}");
    }

    async fn what_is_withdrawn_or_erased_needs_its_version_too(store: Store) {
        let served = Served::in_store(store).await;
        let van = served.world.van("Van 1").await.to_string();
        let service = served.manager.record_service(&van, "2027-02-01", 9000, "engine-oil").await;
        let record = served.manager.at(&format!("/vehicles/{van}/service-records/{}", id_of(&service)));
        let withdraw = || Request::new("POST", &format!("{record}:withdraw")).under_new_key();
        served.manager.send(withdraw()).await.problem(428, "version-missing");
        served.manager.send(withdraw().with("If-Match", "\"2\"")).await.problem(412, "stale-version");
        served.manager.send(withdraw().with("If-Match", "\"1\"")).await.has_status(204);
        let person = served.chief.at(&format!("/people/{}", served.world.technician));
        served.chief.send(Request::new("DELETE", &person)).await.problem(428, "version-missing");
        served
            .chief
            .send(Request::new("DELETE", &person).with("If-Match", "\"9\""))
            .await
            .problem(412, "stale-version");
        served.chief.send(Request::new("DELETE", &person).with("If-Match", "\"1\"")).await.has_status(204);
        let retire = Request::post(
            &served.manager.at(&format!("/vehicles/{van}:retire")),
            &json!({"on": "2027-03-01"}),
        );
        served.manager.send(retire.clone()).await.problem(428, "version-missing");
        served.manager.send(retire.with("If-Match", "\"1\"")).await.has_status(200);
    }
}
