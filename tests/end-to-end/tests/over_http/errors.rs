//! Whatever is wrong with a request is told as a problem document, all of it at once, with a page of help.

use end_to_end::{Caller, Request, Served};
use serde_json::{Value, json};
use std::collections::BTreeSet;

fn post(caller: &Caller, rest: &str) -> Request {
    Request::new("POST", &caller.at(rest)).under_new_key()
}

fn sorted(mut places: Vec<String>) -> Vec<String> {
    places.sort();
    places
}

/// `depth` lists in each other.
fn nested(depth: usize) -> String {
    format!("{{\"name\": {}1{}}}", "[".repeat(depth - 1), "]".repeat(depth - 1))
}

fn rule(code: &str, satisfies: &[&str]) -> Value {
    json!({"code": code, "title": code, "every": {"months": 12}, "satisfies": satisfies})
}

/// One request of every way to be wrong that needs no race and no broken server: the status, the kind, the request.
fn wrong(served: &Served) -> Vec<(u16, &'static str, Request)> {
    let (manager, manager_at) = (&served.manager, |rest: &str| served.manager.at(rest));
    let json_of = |text: &str| post(manager, "/depots").body("application/json", text);
    let depot = format!("/depots/{}", served.world.depot);
    let new = json!({"name": "North yard", "zone": "Europe/Dublin", "jurisdiction": "eu"});
    vec![
        (400, "malformed-request", json_of("{\"name\": ")),
        (400, "malformed-request", json_of("")),
        (400, "malformed-request", json_of(&nested(17))),
        (400, "malformed-request", json_of("{\"name\": \"a\", \"name\": \"b\"}")),
        (400, "malformed-request", post(manager, "/depots").body("application/json", vec![0xff, 0xfe])),
        (
            400,
            "idempotency-key-missing",
            Request::post(&manager_at("/depots"), &new).without("Idempotency-Key"),
        ),
        (404, "not-found", Request::get("/nowhere")),
        (404, "not-found", Request::get("/v1/fleets")),
        (404, "not-found", Request::get(&manager_at("/vehicles/no-id"))),
        (405, "method-not-allowed", Request::new("DELETE", &manager_at("/depots"))),
        (405, "method-not-allowed", Request::new("POST", "/livez")),
        (413, "too-large", json_of(&" ".repeat(2 * 1024 * 1024))),
        (415, "unsupported-media-type", post(manager, "/depots").body("text/plain", "{}")),
        (415, "unsupported-media-type", post(manager, "/depots").json("application/merge-patch+json", &new)),
        (
            415,
            "unsupported-media-type",
            post(manager, "/depots").json("application/json; charset=latin1", &new),
        ),
        (415, "unsupported-media-type", json_of("{}").with("Content-Encoding", "br")),
        (415, "unsupported-media-type", Request::post(&manager_at("/depots"), &new).without("Content-Type")),
        (422, "invalid-content", json_of("{}")),
        (422, "invalid-content", json_of("[]")),
        (422, "invalid-content", json_of(&nested(16))),
        (428, "version-missing", Request::patch(&manager_at(&depot), "", &json!({})).without("If-Match")),
        (412, "stale-version", Request::patch(&manager_at(&depot), "\"9\"", &json!({"name": "New"}))),
        (400, "malformed-request", Request::patch(&manager_at(&depot), "9", &json!({"name": "New"}))),
    ]
}

testkit::on_both_engines! {
    async fn every_way_to_be_wrong_is_told_as_a_problem_document_whose_type_is_a_page_of_help(store: Store) {
        let served = Served::in_store(store).await;
        let before = served.record().await;
        let mut kinds = BTreeSet::new();
        for (status, slug, request) in wrong(&served) {
            let shown = format!("{request:.200?}");
            let told = served.manager.send(request).await;
            assert_eq!(told.status, status, "{shown}: {}", told.text());
            let problem = told.problem(status, slug);
            assert_eq!(problem["retry"], "never", "{shown}");
            kinds.insert((problem["type"].to_string(), problem["title"].to_string()));
        }
        for (address, title) in kinds {
            let nobody = served.manager.with_key("");
            let page = nobody.send(Request::get(address.trim_matches('"'))).await.with_status(200);
            assert_eq!(page.header("content-type"), "text/html; charset=utf-8");
            assert!(page.text().contains(title.trim_matches('"')), "{address} does not say {title}");
        }
        assert_eq!(served.record().await, before, "a wrong request wrote something");
    }

    async fn an_address_says_which_methods_it_takes(store: Store) {
        let served = Served::in_store(store).await;
        let van = served.world.van("Van 1").await;
        for (address, wrong, allowed) in [
            (served.manager.at("/depots"), "PUT", "GET, HEAD, OPTIONS, POST"),
            (served.manager.at(&format!("/vehicles/{van}")), "DELETE", "GET, HEAD, OPTIONS, PATCH"),
            (served.manager.at(&format!("/vehicles/{van}:retire")), "GET", "OPTIONS, POST"),
            (served.manager.at("/due-items"), "POST", "GET, HEAD, OPTIONS"),
            ("/livez".to_owned(), "DELETE", "GET, HEAD, OPTIONS"),
            ("/v1/openapi.json".to_owned(), "POST", "GET, HEAD, OPTIONS"),
        ] {
            let told = served.manager.send(Request::new(wrong, &address)).await;
            told.problem(405, "method-not-allowed");
            let mut methods: Vec<&str> = told.header("allow").split(", ").collect();
            methods.sort_unstable();
            assert_eq!(methods.join(", "), allowed, "{wrong} {address}");
        }
    }

    async fn all_faults_come_at_once_each_with_its_place(store: Store) {
        let served = Served::in_store(store).await;
        let van = json!({
            "vin": "G0011A2B3C4D0001O", "make": "", "model": "x".repeat(81), "powertrain": "steam",
            "odometer_unit": "psi", "depot": "here", "duty": "delivery", "colour": "red",
            "in_service_odometer": {"value": -1, "unit": "kPa"}, "in_service_on": "2026-02-30", "tags": ["", "\u{7}"],
        });
        let told = served.manager.post("/vehicles", &van).await;
        told.problem(422, "invalid-content");
        let expected = [
            "/colour",
            "/depot",
            "/in_service_odometer/unit",
            "/in_service_odometer/value",
            "/in_service_on",
            "/label",
            "/make",
            "/model",
            "/odometer_unit",
            "/powertrain",
            "/tags/0",
            "/tags/1",
            "/vin",
        ];
        assert_eq!(sorted(told.places()), expected, "{}", told.text());
    }

    async fn a_zone_that_is_none_and_a_rulebook_that_goes_in_a_circle_are_refused(store: Store) {
        let served = Served::in_store(store).await;
        let yard = json!({"name": "North yard", "zone": "Mars/Olympus", "jurisdiction": "eu"});
        let told = served.manager.post("/depots", &yard).await;
        assert_eq!((told.status, told.places()), (422, vec!["/zone".to_owned()]));
        let circle = [rule("a", &["b"]), rule("b", &["c"]), rule("c", &["a"])];
        let told = served.manager.post("/rulebooks", &json!({"title": "Round", "rules": circle})).await;
        told.problem(422, "invalid-content");
        assert!(told.places().iter().all(|place| place.ends_with("/satisfies")), "{}", told.text());
        let twice = [rule("a", &[]), rule("a", &[]), rule("b", &["nobody"])];
        let told = served.manager.post("/rulebooks", &json!({"title": "Twice", "rules": twice})).await;
        assert_eq!(sorted(told.places()), ["/rules/0/code", "/rules/2/satisfies"], "{}", told.text());
        let fine = [rule("a", &["b"]), rule("b", &["c"]), rule("c", &[])];
        served.manager.make("/rulebooks", &json!({"title": "Straight", "rules": fine})).await;
    }

    async fn a_rule_renews_only_what_can_be_measured(store: Store) {
        let served = Served::in_store(store).await;
        let mut oil = rule("oil", &[]);
        oil["renews"] = json!(["oil-level", "horn"]);
        let told = served.manager.post("/rulebooks", &json!({"title": "Loud", "rules": [oil]})).await;
        assert_eq!((told.status, told.places()), (422, vec!["/rules/0/renews/1".to_owned()]), "{}", told.text());
        oil["renews"] = json!(["oil-level"]);
        let made = served.manager.make("/rulebooks", &json!({"title": "Quiet", "rules": [oil]})).await;
        assert_eq!(made["rules"][0]["renews"], json!(["oil-level"]));
    }

    async fn a_check_point_that_nobody_knows_is_refused_by_name(store: Store) {
        let served = Served::in_store(store).await;
        let points =
            json!([{"point": "tread-depth", "how": "In the grooves."}, {"point": "horn", "how": "Listen."}]);
        let sheet = json!({"code": "odd", "title": "Odd", "points": points});
        let told = served.manager.post("/check-sheets", &sheet).await;
        assert_eq!(
            (told.status, told.places()),
            (422, vec!["/points/1/point".to_owned()]),
            "{}",
            told.text()
        );
    }
}

/// The connection of a client that is still sending must not break before it can read why it was refused.
#[test]
fn a_body_of_two_mebibytes_is_refused_as_too_large_each_time() {
    testkit::on_sqlite(async |store| {
        let served = Served::in_store(store).await;
        for round in 0..30 {
            let body = post(&served.manager, "/depots").body("application/json", vec![b' '; 2 * 1024 * 1024]);
            let told = served.manager.try_send(body).await;
            let told = told.unwrap_or_else(|error| panic!("round {round}: no answer: {error:?}"));
            told.problem(413, "too-large");
        }
    });
}
