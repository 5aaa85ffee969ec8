//! What stands open without a key: the document and its page, health, and help about problems.

use chrono::TimeDelta;
use clerk::beats::Beat;
use end_to_end::{Answer, Caller, Request, Served};
use model::Scope;
use serde_json::json;

/// Headers that keep a browser careful, on every answer whoever gives it.
fn careful(told: &Answer, at: &str) {
    assert_eq!(told.header("x-content-type-options"), "nosniff", "{at}");
    assert_eq!(told.header("referrer-policy"), "no-referrer", "{at}");
    let policy = told.header("content-security-policy");
    for wanted in ["default-src 'none'", "frame-ancestors 'none'"] {
        assert!(policy.contains(wanted), "{at}: {policy}");
    }
    assert!(
        !policy.contains("unsafe") && !policy.contains("http") && !policy.contains('*'),
        "{at}: {policy}"
    );
    assert!(
        ["no-store", "no-cache", "private, no-cache"].contains(&told.header("cache-control")),
        "{at}: {told:?}"
    );
    assert_eq!(told.header("x-request-id").len(), 36, "{at}");
    assert_eq!(told.header("server"), "", "{at} says what serves it");
}

async fn get(caller: &Caller, address: &str) -> Answer {
    caller.send(Request::get(address)).await
}

/// What a page loads from this server: scripts, styles and pictures.
fn loaded(page: &str) -> Vec<String> {
    let attributes = page.split(['"', '\'']).zip(page.split(['"', '\'']).skip(1));
    let named = attributes.filter(|(before, _)| before.ends_with("src=") || before.ends_with("href="));
    named
        .map(|(_, value)| value.trim_start_matches("./").to_owned())
        .filter(|value| !value.starts_with('/'))
        .collect()
}

testkit::on_both_engines! {
    async fn health_is_told_to_everybody(store: Store) {
        let served = Served::in_store(store).await;
        let nobody = served.viewer.with_key("");
        for (address, state) in [("/livez", "alive"), ("/readyz", "ready")] {
            let told = get(&nobody, address).await.with_status(200);
            assert_eq!(
                (&told.json()["status"], told.header("content-type")),
                (&json!(state), "application/json")
            );
            careful(&told, address);
        }
    }

    async fn programs_are_counted_for_everybody_and_listed_for_whoever_administers(store: Store) {
        let served = Served::in_store(store).await;
        let mut beat = Beat::new(served.world.clerk.clone(), "1.2.3");
        served.tick_scheduler().await;
        beat.beat().await.expect("a beat");
        let ready = get(&served.viewer, "/readyz").await.json();
        let expected =
            json!({"status": "ready", "replicas": 1, "silent": 0, "clock": "agreed", "letters_held": false});
        assert_eq!(ready, expected);

        served.world.clock.pass(TimeDelta::minutes(3));
        assert_eq!(get(&served.viewer, "/readyz").await.json()["silent"], 1);
        let admin = served.caller_with(&[Scope::Read, Scope::Admin]).await;
        let all = admin.list("/replicas").await;
        let [one] = all.as_slice() else { panic!("{all:?}") };
        assert_eq!((&one["version"], &one["silent"]), (&json!("1.2.3"), &json!(["program"])));
        assert!(one["scheduler_at"].is_string() && one["courier_at"].is_null(), "{one}");
        served.manager.get("/replicas").await.problem(403, "not-allowed");

        served.world.clock.jump(TimeDelta::days(2));
        let held = get(&served.viewer, "/readyz").await.json();
        assert_eq!((&held["clock"], &held["letters_held"]), (&json!("ahead"), &json!(true)));
    }

    async fn a_server_whose_store_is_closed_lives_but_is_not_ready(store: Store) {
        let served = Served::in_store(store).await;
        served.world.clerk.store().close().await;
        let told = get(&served.viewer, "/readyz").await;
        let problem = told.problem(503, "unavailable");
        assert_eq!(
            (&problem["retry"], told.header("retry-after").parse::<u32>().is_ok()),
            (&json!("after"), true)
        );
        get(&served.viewer, "/livez").await.has_status(200);
        served.viewer.get("/vehicles").await.problem(503, "unavailable");
    }
}

/// What needs no store is told on one engine.
fn on_a_server<Told: Future<Output = ()>>(story: impl FnOnce(Served) -> Told) {
    testkit::on_sqlite(async |store| story(Served::in_store(store).await).await);
}

#[test]
fn the_document_is_openapi_and_names_every_operation_once() {
    on_a_server(async |served| {
        let nobody = served.viewer.with_key("");
        let told = get(&nobody, "/v1/openapi.json").await.with_status(200);
        careful(&told, "/v1/openapi.json");
        let document = told.json();
        assert!(
            document["openapi"].as_str().is_some_and(|version| version.starts_with("3.1")),
            "{}",
            document["openapi"]
        );
        assert_eq!(told.header("content-type"), "application/json");
        let operations = end_to_end::Document(document).operations();
        let mut ids: Vec<&str> = operations.iter().map(|operation| operation.id.as_str()).collect();
        ids.sort_unstable();
        let all = ids.len();
        ids.dedup();
        assert_eq!(ids.len(), all);
        let again = Request::get("/v1/openapi.json").with("If-None-Match", told.header("etag"));
        assert_eq!(nobody.send(again).await.status, 304);
    });
}

#[test]
fn the_page_of_the_document_comes_with_all_it_loads_from_this_server_alone() {
    on_a_server(async |served| {
        let nobody = served.viewer.with_key("");
        for address in ["/", "/docs"] {
            let told = get(&nobody, address).await.with_status(307);
            assert_eq!(told.header("location"), "/docs/");
            careful(&told, address);
        }
        let page = get(&nobody, "/docs/").await.with_status(200);
        careful(&page, "/docs/");
        assert!(page.header("content-type").starts_with("text/html"), "{page:?}");
        let files = loaded(&page.text());
        assert!(files.iter().filter(|file| file.contains(".js")).count() >= 2, "{files:?}");
        for file in &files {
            assert!(!file.contains("//"), "{file} is loaded from elsewhere");
            let told = get(&nobody, &format!("/docs/{file}")).await.with_status(200);
            careful(&told, file);
            assert_eq!(
                told.header("content-encoding"),
                "",
                "{file} comes compressed to a client that takes none of it"
            );
            let media = told.header("content-type");
            let wanted = match file.rsplit('.').next() {
                Some("js") => "javascript",
                Some("css") => "text/css",
                _ => "image/",
            };
            assert!(media.contains(wanted), "{file}: {media}");
            assert!(
                !page.text().contains("<script>") && !page.text().contains("onload="),
                "the policy forbids inline scripts"
            );
        }
        let start = get(&nobody, "/docs/swagger-initializer.js").await.with_status(200);
        assert!(start.text().contains("/v1/openapi.json"), "{}", start.text());
        get(&nobody, "/docs/nothing.js").await.problem(404, "not-found");
    });
}

#[test]
fn every_kind_of_problem_in_the_document_has_a_page_of_help() {
    on_a_server(async |served| {
        let nobody = served.viewer.with_key("");
        let document = get(&nobody, "/v1/openapi.json").await.text();
        let mut slugs: Vec<&str> =
            document.split("/problems/").skip(1).filter_map(|rest| rest.split(['`', '"']).next()).collect();
        slugs.sort_unstable();
        slugs.dedup();
        assert!(slugs.len() >= 18, "{slugs:?}");
        let list = get(&nobody, "/problems").await.with_status(200);
        careful(&list, "/problems");
        for slug in slugs {
            let page = get(&nobody, &format!("/problems/{slug}")).await.with_status(200);
            careful(&page, slug);
            assert_eq!(page.header("content-type"), "text/html; charset=utf-8");
            assert!(
                page.text().starts_with("<!doctype html>") && page.text().contains("lang=\"en\""),
                "{slug}"
            );
            assert!(list.text().contains(&format!("/problems/{slug}")), "{slug} is not in the list");
        }
        get(&nobody, "/problems/none-such").await.problem(404, "not-found");
    });
}

#[test]
fn head_tells_what_get_would_and_options_what_an_address_takes() {
    on_a_server(async |served| {
        let van = served.world.van("Van 1").await;
        let places = [
            served.viewer.at("/vehicles"),
            served.viewer.at(&format!("/vehicles/{van}")),
            served.viewer.at(&format!("/vehicles/{van}/horizon")),
        ];
        let open = ["/livez", "/readyz", "/v1/openapi.json", "/docs/", "/problems", "/problems/not-found"];
        for address in places.iter().map(String::as_str).chain(open) {
            let whole = get(&served.viewer, address).await.with_status(200);
            let head = served.viewer.send(Request::new("HEAD", address)).await.with_status(200);
            assert_eq!(head.bytes, Vec::<u8>::new(), "{address}");
            for header in ["content-type", "etag", "cache-control"] {
                assert_eq!(head.header(header), whole.header(header), "{address} {header}");
            }
            let options =
                served.viewer.with_key("").send(Request::new("OPTIONS", address)).await.with_status(204);
            assert!(
                options.header("allow").contains("GET, ") && options.header("allow").contains("HEAD"),
                "{options:?}"
            );
            careful(&options, address);
        }
        let missing = served.viewer.send(Request::new("HEAD", &served.viewer.at("/vehicles/none"))).await;
        assert_eq!((missing.status, missing.bytes.len()), (404, 0));
    });
}

#[test]
fn answers_of_the_interface_are_careful_too() {
    on_a_server(async |served| {
        for (told, kept) in [
            (served.viewer.get("/vehicles").await, "private, no-cache"),
            (served.viewer.get("/nowhere").await, "no-store"),
            (served.viewer.with_key("").get("/vehicles").await, "no-store"),
            (served.manager.post("/depots", &json!({})).await, "no-store"),
        ] {
            careful(&told, "an answer");
            assert_eq!(told.header("cache-control"), kept, "{told:?}");
        }
    });
}
