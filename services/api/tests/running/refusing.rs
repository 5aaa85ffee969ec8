//! Whatever is wrong is told as a problem document, with every fault and what to do.

use crate::asking::{Told, told};
use crate::stories;
use model::Scope;
use reqwest::Method;
use serde_json::json;

fn refused(told: &Told, status: u16, kind: &str) {
    assert_eq!((told.status.as_u16(), told.problem().as_str()), (status, kind), "{told:?}");
}

stories! {
    async fn without_a_good_key_nothing_is_told(server) {
        let place = server.place("/depots");
        refused(&told(server.bare(Method::GET, &place)).await, 401, "not-signed-in");
        for key in ["", "ostler_script_x", &format!("{}x", server.key), &server.key.to_uppercase()] {
            let answer = told(server.bare(Method::GET, &place).bearer_auth(key)).await;
            refused(&answer, 401, "not-signed-in");
            assert!(answer.header("www-authenticate").starts_with("Bearer"));
        }
    }

    async fn another_fleet_looks_like_one_that_never_was(server) {
        let other = clerk::fleets::create_fleet(&server.world.clerk, "Other fleet").await.expect("a fleet").id;
        let never = "01936f0a-7c3e-7d52-9b1f-3c5d8e2a4b60";
        let mut bodies = Vec::new();
        for fleet in [other.to_string(), never.to_owned(), "no-id".to_owned()] {
            let path = format!("/v1/fleets/{fleet}/depots");
            let answer = told(server.bare(Method::GET, &path).bearer_auth(&server.key)).await;
            refused(&answer, 404, "not-found");
            bodies.push(answer.text.replace(answer.header("x-request-id"), ""));
        }
        assert!(bodies.iter().all(|body| *body == bodies[0]), "{bodies:?}");
    }

    async fn an_id_that_is_not_there_is_not_found_on_every_method(server) {
        let van = "/vehicles/01936f0a-7c3e-7d52-9b1f-3c5d8e2a4b60";
        refused(&server.get(van).await, 404, "not-found");
        refused(&server.get(&format!("{van}/odometer-readings")).await, 404, "not-found");
        refused(&server.get(&format!("{van}/horizon")).await, 404, "not-found");
        refused(&server.patch(van, 1, &json!({"label": "N-08"})).await, 404, "not-found");
        let reading = json!({"value": {"value": 1, "unit": "km"}, "read_at": "2027-02-01T08:00:00Z", "source": "driver"});
        refused(&server.post(&format!("{van}/odometer-readings"), &reading).await, 404, "not-found");
        refused(&server.get("/vehicles/N-07").await, 404, "not-found");
    }

    async fn each_scope_reaches_its_own_operations_alone(server) {
        let reader = server.key_with(&[Scope::Read], None).await;
        let asked = |method, rest: &str| server.bare(method, &server.place(rest)).bearer_auth(&reader);
        assert_eq!(told(asked(Method::GET, "/depots")).await.status, 200);
        refused(&told(asked(Method::GET, "/people")).await, 403, "not-allowed");
        let denied = told(asked(Method::POST, "/depots").json(&json!({}))).await;
        refused(&denied, 403, "not-allowed");
        assert!(denied.json()["detail"].as_str().is_some_and(|detail| detail.contains("`manage`")), "{denied:?}");
    }

    async fn a_key_bound_to_one_vehicle_reaches_nothing_else(server) {
        let (own, other) = (server.world.van("N-01").await, server.world.van("N-02").await);
        let bound = server.key_with(&[Scope::Read], Some(own)).await;
        let asked = |rest: String| server.bare(Method::GET, &server.place(&rest)).bearer_auth(&bound);
        assert_eq!(told(asked(format!("/vehicles/{own}"))).await.status, 200);
        refused(&told(asked(format!("/vehicles/{other}"))).await, 404, "not-found");
        refused(&told(asked("/vehicles".to_owned())).await, 403, "not-allowed");
    }

    async fn an_address_says_which_methods_it_takes(server) {
        let wrong = told(server.ask(Method::PUT, "/depots")).await;
        refused(&wrong, 405, "method-not-allowed");
        assert_eq!(wrong.header("allow"), "GET, POST, HEAD, OPTIONS");
        let options = told(server.bare(Method::OPTIONS, &server.place("/depots"))).await;
        assert_eq!((options.status.as_u16(), options.header("allow")), (204, "GET, POST, HEAD, OPTIONS"));
        let head = told(server.ask(Method::HEAD, "/depots")).await;
        assert_eq!((head.status.as_u16(), head.text.as_str()), (200, ""));
        assert!(!head.header("etag").is_empty());
        refused(&told(server.bare(Method::POST, "/livez")).await, 405, "method-not-allowed");
    }

    async fn an_address_that_is_none_is_a_problem_too(server) {
        for path in ["/nowhere", "/v1", "/v1/fleets", "/v2/openapi.json", "/docs/none.js", "/problems/none", "/%00"] {
            refused(&told(server.bare(Method::GET, path)).await, 404, "not-found");
        }
        refused(&server.get("/depots/").await, 404, "not-found");
        refused(&server.get("/vehicles/01936f0a-7c3e-7d52-9b1f-3c5d8e2a4b60:fly").await, 404, "not-found");
    }

    async fn a_body_that_cannot_be_read_is_refused_before_anything_is_done(server) {
        let sent = |kind: &'static str, body: Vec<u8>| {
            let request = server.ask(Method::POST, "/depots").header("Idempotency-Key", "a".repeat(32));
            let request = if kind.is_empty() { request } else { request.header("Content-Type", kind) };
            told(request.body(body))
        };
        refused(&sent("", b"{}".to_vec()).await, 415, "unsupported-media-type");
        refused(&sent("text/plain", b"{}".to_vec()).await, 415, "unsupported-media-type");
        refused(&sent("application/json", b"{\"name\": ".to_vec()).await, 400, "malformed-request");
        refused(&sent("application/json", Vec::new()).await, 400, "malformed-request");
        refused(&sent("application/json", vec![0xff, 0xfe]).await, 400, "malformed-request");
        refused(&sent("application/json", b"[".repeat(20_000)).await, 400, "malformed-request");
        refused(&sent("application/json", vec![b' '; 1024 * 1024 + 1]).await, 413, "too-large");
        let coded = server.ask(Method::POST, "/depots").header("Content-Encoding", "br");
        let coded = coded.header("Idempotency-Key", "a".repeat(32));
        let coded = told(coded.header("Content-Type", "application/json").body("{}")).await;
        refused(&coded, 415, "unsupported-media-type");
        assert_eq!(coded.header("accept-encoding"), "gzip");
        let depots = server.get("/depots").await.json();
        assert_eq!(depots["items"].as_array().map(Vec::len), Some(1));
    }

    async fn all_faults_come_at_once_with_what_to_do(server) {
        let told = server.post("/depots", &json!({"name": "", "zone": "Mars/Olympus", "colour": 1})).await;
        refused(&told, 422, "invalid-content");
        assert_eq!(told.json()["retry"], "never");
        let faults = [("/colour", "unknown-member"), ("/name", "empty"), ("/zone", "no-zone"), ("/jurisdiction", "required")];
        assert_eq!(told.faults(), faults.map(|(place, code)| (place.to_owned(), code.to_owned())));
    }

    async fn faults_that_only_the_clerk_sees_are_told_in_the_same_way(server) {
        let never = "01936f0a-7c3e-7d52-9b1f-3c5d8e2a4b60";
        let van = json!({
            "make": "Arcadia", "model": "Carrier 2", "powertrain": "diesel", "odometer_unit": "km", "depot": never,
            "duty": "delivery", "label": "N-07", "rulebook": never,
        });
        let told = server.post("/vehicles", &van).await;
        refused(&told, 422, "invalid-content");
        let places: Vec<String> = told.faults().into_iter().map(|(place, _)| place).collect();
        assert!(places.contains(&"/depot".to_owned()) && places.contains(&"/rulebook".to_owned()), "{told:?}");
    }

    async fn a_parameter_that_is_not_known_or_wrong_is_named(server) {
        let faults = |told: Told| (told.problem(), told.faults());
        let wrong = |place: &str, code: &str| ("invalid-content".to_owned(), vec![(place.to_owned(), code.to_owned())]);
        assert_eq!(faults(server.get("/depots?colour=red").await), wrong("colour", "unknown-parameter"));
        assert_eq!(faults(server.get("/depots?limit=201").await), wrong("limit", "out-of-range"));
        assert_eq!(faults(server.get("/depots?limit=many").await), wrong("limit", "out-of-range"));
        assert_eq!(faults(server.get("/depots?limit=1&limit=2").await), wrong("limit", "given-twice"));
        assert_eq!(faults(server.get("/depots?cursor=abc").await), wrong("cursor", "not-of-this-list"));
        assert_eq!(faults(server.get("/due-items?stage=late").await), wrong("stage", "not-one-of"));
        assert_eq!(faults(server.get("/due-items?depo=1").await), wrong("depo", "unknown-parameter"));
        assert_eq!(server.get("/vehicles?retired=true&limit=200").await.status, 200);
    }

    async fn every_answer_bears_careful_headers(server) {
        for told in [server.get("/depots").await, server.get("/none").await, told(server.bare(Method::GET, "/livez")).await] {
            assert_eq!(told.header("x-content-type-options"), "nosniff", "{told:?}");
            assert!(!told.header("x-request-id").is_empty(), "{told:?}");
            assert!(told.header("content-security-policy").contains("default-src 'none'"), "{told:?}");
        }
        assert_eq!(server.get("/depots").await.header("cache-control"), "private, no-cache");
        assert_eq!(server.get("/none").await.header("cache-control"), "no-store");
    }
}
