//! Each thing is done once, however often it is sent, and nobody's work is overwritten unseen.

use crate::asking::told;
use crate::stories;
use reqwest::Method;
use serde_json::{Value, json};
use std::io::Write;

fn depot() -> Value {
    json!({"name": "North yard", "zone": "Europe/Vienna", "jurisdiction": "eu"})
}

stories! {
    async fn what_is_made_is_where_its_location_says(server) {
        let made = server.post("/depots", &depot()).await;
        assert_eq!((made.status.as_u16(), made.header("etag")), (201, "\"1\""));
        let there = told(server.bare(Method::GET, made.header("location")).bearer_auth(&server.key)).await;
        assert_eq!((there.status.as_u16(), there.header("etag")), (200, "\"1\""));
        assert_eq!(there.json(), made.json());
    }

    async fn the_same_request_sent_again_gets_the_same_answer_and_makes_nothing(server) {
        let first = server.post("/depots", &depot()).await;
        let again = server.post("/depots", &depot()).await;
        assert_eq!((again.status, again.text.as_str()), (first.status, first.text.as_str()));
        assert_eq!((again.header("idempotency-replayed"), first.header("idempotency-replayed")), ("true", ""));
        assert_eq!((again.header("location"), again.header("etag")), (first.header("location"), first.header("etag")));
        let depots = server.get("/depots").await.json();
        assert_eq!(depots["items"].as_array().map(Vec::len), Some(2));
    }

    async fn a_key_used_for_something_else_is_refused(server) {
        let send = |rest: &str, body: Value| {
            told(server.ask(Method::POST, rest).header("Idempotency-Key", "k".repeat(20)).json(&body))
        };
        assert_eq!(send("/depots", depot()).await.status, 201);
        let other = send("/depots", json!({"name": "South", "zone": "Europe/Vienna", "jurisdiction": "eu"})).await;
        assert_eq!((other.status.as_u16(), other.problem().as_str()), (422, "idempotency-key-reused"));
        // Another address has keys of its own.
        assert_eq!(send("/workshops", json!({"name": "Q", "kind": "dealer", "lead_days": 3})).await.status, 201);
        let (one, two) = (server.world.van("N-01").await, server.world.van("N-02").await);
        let paper = json!({"kind": "insurance", "expires_on": "2027-12-31"});
        assert_eq!(send(&format!("/vehicles/{one}/papers"), paper.clone()).await.status, 201);
        let for_other = send(&format!("/vehicles/{two}/papers"), paper).await;
        assert_eq!(for_other.problem(), "idempotency-key-reused");
    }

    async fn a_request_that_failed_may_be_mended_under_the_same_key(server) {
        let key = "k".repeat(20);
        let send = |body: Value| told(server.ask(Method::POST, "/depots").header("Idempotency-Key", &key).json(&body));
        assert_eq!(send(json!({"name": "North yard"})).await.status, 422);
        assert_eq!(send(depot()).await.status, 201);
    }

    async fn an_act_without_a_key_or_with_a_bad_one_is_refused(server) {
        let bare = told(server.ask(Method::POST, "/depots").json(&depot())).await;
        assert_eq!((bare.status.as_u16(), bare.problem().as_str()), (400, "idempotency-key-missing"));
        let short = told(server.ask(Method::POST, "/depots").header("Idempotency-Key", "short").json(&depot())).await;
        assert_eq!((short.status.as_u16(), short.problem().as_str()), (400, "malformed-request"));
        assert_eq!(short.faults(), [("Idempotency-Key".to_owned(), "wrong-form".to_owned())]);
    }

    async fn many_senders_of_one_request_make_one_thing(server) {
        let mut senders = Vec::new();
        for _ in 0..20 {
            let request = server.ask(Method::POST, "/depots").header("Idempotency-Key", "k".repeat(20)).json(&depot());
            senders.push(tokio::spawn(told(request)));
        }
        let mut made = 0;
        for sender in senders {
            let told = sender.await.expect("no panic");
            match told.status.as_u16() {
                201 if told.header("idempotency-replayed").is_empty() => made += 1,
                201 => {}
                409 => {
                    assert_eq!((told.problem().as_str(), told.header("retry-after")), ("still-running", "1"));
                    assert_eq!(told.json()["retry"], "after");
                }
                other => panic!("{other}: {told:?}"),
            }
        }
        assert_eq!(made, 1);
        assert_eq!(server.get("/depots").await.json()["items"].as_array().map(Vec::len), Some(2));
    }

    async fn an_old_answer_is_not_given_again_but_the_thing_is_not_made_twice(server) {
        let first = server.post("/depots", &depot()).await;
        server.world.clock.pass(chrono::TimeDelta::days(31));
        let late = server.post("/depots", &depot()).await;
        assert_eq!((late.status.as_u16(), late.problem().as_str()), (409, "answer-gone"));
        assert_eq!(late.header("location"), first.header("location"));
    }

    async fn a_change_needs_the_version_it_was_made_from(server) {
        let id = server.made("/depots", &depot()).await["id"].as_str().map(|id| format!("/depots/{id}")).expect("an id");
        let patch = |version: &'static str| {
            let request = server.ask(Method::PATCH, &id).header("Content-Type", "application/merge-patch+json");
            let request = if version.is_empty() { request } else { request.header("If-Match", version) };
            told(request.body(json!({"name": "South yard"}).to_string()))
        };
        assert_eq!(patch("").await.problem(), "version-missing");
        assert_eq!(patch("1").await.problem(), "malformed-request");
        assert_eq!(patch("\"7\"").await.problem(), "stale-version");
        assert_eq!(patch("W/\"1\"").await.problem(), "stale-version");
        let done = patch("\"1\"").await;
        assert_eq!((done.status.as_u16(), done.header("etag")), (200, "\"2\""));
        assert_eq!((done.json()["name"].as_str(), done.json()["zone"].as_str()), (Some("South yard"), Some("Europe/Vienna")));
        let stale = patch("\"1\"").await;
        assert_eq!((stale.status.as_u16(), stale.problem().as_str()), (412, "stale-version"));
    }

    /// RFC 9110, section 13.2.1: conditions count only where the request would be done without them.
    async fn what_is_wrong_otherwise_is_told_before_the_version(server) {
        let patch = |rest: String, body: &'static str| {
            let request = server.ask(Method::PATCH, &rest).header("Content-Type", "application/merge-patch+json");
            told(request.header("If-Match", "\"other\"").body(body))
        };
        let own = format!("/depots/{}", server.world.depot);
        let never = "/depots/01936f0a-7c3e-7d52-9b1f-3c5d8e2a4b60".to_owned();
        assert_eq!(patch(own.clone(), "{").await.problem(), "malformed-request");
        assert_eq!(patch(own.clone(), "{\"name\": 1}").await.problem(), "invalid-content");
        assert_eq!(patch(never, "{\"name\": \"a\"}").await.problem(), "not-found");
        assert_eq!(patch(own, "{\"name\": \"a\"}").await.problem(), "stale-version");
        let van = server.world.van("N-01").await;
        let withdraw = format!("/vehicles/{van}/papers/01936f0a-7c3e-7d52-9b1f-3c5d8e2a4b60:withdraw");
        let request = server.ask(Method::POST, &withdraw).header("Idempotency-Key", "w".repeat(20));
        assert_eq!(told(request.header("If-Match", "\"9\"")).await.problem(), "not-found");
    }

    async fn of_many_editors_with_one_version_one_wins(server) {
        let id = server.made("/depots", &depot()).await["id"].as_str().map(|id| format!("/depots/{id}")).expect("an id");
        let mut editors = Vec::new();
        for editor in 0..10 {
            let request = server.ask(Method::PATCH, &id).header("If-Match", "\"1\"");
            let request = request.header("Content-Type", "application/merge-patch+json");
            editors.push(tokio::spawn(told(request.body(json!({"name": format!("Yard {editor}")}).to_string()))));
        }
        let mut statuses = Vec::new();
        for editor in editors {
            statuses.push(editor.await.expect("no panic").status.as_u16());
        }
        statuses.sort_unstable();
        assert_eq!(statuses, [[200].as_slice(), &[412; 9]].concat());
    }

    async fn what_a_client_has_already_is_not_sent_again(server) {
        let id = server.made("/depots", &depot()).await["id"].as_str().map(|id| format!("/depots/{id}")).expect("an id");
        for rest in [id.as_str(), "/depots", "/due-items", "/check-points"] {
            let first = server.get(rest).await;
            let tag = first.header("etag").to_owned();
            let again = told(server.ask(Method::GET, rest).header("If-None-Match", &tag)).await;
            assert_eq!((again.status.as_u16(), again.text.as_str(), again.header("etag")), (304, "", tag.as_str()), "{rest}");
            let other = told(server.ask(Method::GET, rest).header("If-None-Match", "\"other\"")).await;
            assert_eq!(other.status, 200, "{rest}");
        }
    }

    async fn a_compressed_body_is_read_and_answers_are_compressed_when_asked(server) {
        let mut zipped = flate2::write::GzEncoder::new(Vec::new(), flate2::Compression::fast());
        zipped.write_all(depot().to_string().as_bytes()).expect("memory");
        let sent = server.ask(Method::POST, "/depots").header("Idempotency-Key", "k".repeat(20));
        let sent = sent.header("Content-Type", "application/json").header("Content-Encoding", "gzip");
        assert_eq!(told(sent.body(zipped.finish().expect("memory"))).await.status, 201);
        let asked = server.ask(Method::GET, "/check-points").header("Accept-Encoding", "gzip");
        let response = asked.send().await.expect("an answer");
        assert_eq!(response.headers().get("content-encoding").and_then(|v| v.to_str().ok()), Some("gzip"));
    }
}
