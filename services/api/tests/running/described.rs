//! The document says what the server does, and the pages beside it work without the internet.

use crate::asking::told;
use crate::stories;
use contract::ProblemKind;
use reqwest::Method;
use serde_json::Value;
use std::collections::BTreeSet;

fn document() -> Value {
    serde_json::from_str(&api::document_text()).expect("JSON")
}

/// Method, path and operation of everything in the document.
fn operations() -> Vec<(String, String, Value)> {
    let document = document();
    let paths = document["paths"].as_object().expect("paths");
    let mut all = Vec::new();
    for (path, item) in paths {
        for (method, operation) in item.as_object().expect("an item") {
            all.push((method.to_uppercase(), path.clone(), operation.clone()));
        }
    }
    all
}

#[test]
fn the_document_holds_every_operation_of_the_router_and_no_other() {
    let routed: BTreeSet<(String, String)> =
        api::outline().into_iter().map(|operation| (operation.method, operation.path)).collect();
    let open = ["/livez", "/readyz", "/v1/openapi.json"].map(|path| ("GET".to_owned(), path.to_owned()));
    let described: BTreeSet<(String, String)> = operations().into_iter().map(|(m, p, _)| (m, p)).collect();
    assert_eq!(described, routed.into_iter().chain(open).collect());
}

#[test]
fn every_operation_says_who_may_what_it_does_and_what_may_go_wrong() {
    let mut ids = BTreeSet::new();
    let scopes: std::collections::BTreeMap<&str, String> =
        api::outline().into_iter().map(|operation| (operation.id, operation.scope.to_string())).collect();
    for (method, path, operation) in operations() {
        let id = operation["operationId"].as_str().expect("an id").to_owned();
        assert!(ids.insert(id.clone()), "{id} stands twice");
        for words in ["summary", "description"] {
            assert!(
                operation[words].as_str().is_some_and(|text| !text.is_empty()),
                "{method} {path}: {words}"
            );
        }
        assert!(operation["tags"][0].as_str().is_some_and(|tag| !tag.is_empty()), "{id}");
        let responses = operation["responses"].as_object().expect("responses");
        let Some(scope) = scopes.get(id.as_str()) else { continue };
        assert_eq!(
            (operation["x-scope"].as_str(), operation["security"][0]["bearer"][0].as_str()),
            (Some(scope.as_str()), Some(scope.as_str())),
            "{id}"
        );
        for status in ["401", "403", "404", "429", "500", "503", "504"] {
            assert!(responses.contains_key(status), "{id}: {status}");
        }
        if method == "POST" {
            let named = operation["parameters"].to_string();
            assert!(named.contains("Idempotency-Key") && responses.contains_key("409"), "{id}");
        }
    }
    assert!(ids.len() > 60, "{}", ids.len());
}

#[test]
fn every_reference_in_the_document_leads_somewhere() {
    fn references(value: &Value, found: &mut BTreeSet<String>) {
        match value {
            Value::Object(members) => {
                if let Some(Value::String(to)) = members.get("$ref") {
                    found.insert(to.clone());
                }
                members.values().for_each(|member| references(member, found));
            }
            Value::Array(items) => items.iter().for_each(|item| references(item, found)),
            _ => {}
        }
    }
    let document = document();
    let mut found = BTreeSet::new();
    references(&document, &mut found);
    assert!(found.len() > 60);
    for reference in found {
        let pointer = reference.trim_start_matches('#');
        assert!(document.pointer(pointer).is_some(), "{reference}");
    }
}

#[test]
fn every_bound_text_and_list_of_a_request_has_its_bound_in_the_document() {
    fn unbound(place: &str, schema: &Value, document: &Value, found: &mut Vec<String>) {
        if let Some(to) = schema["$ref"].as_str() {
            return unbound(to, document.pointer(to.trim_start_matches('#')).expect(to), document, found);
        }
        let is = |kind: &str| {
            schema["type"] == kind || schema["type"].as_array().is_some_and(|t| t.contains(&kind.into()))
        };
        if is("string") && schema["maxLength"].is_null() && schema["enum"].is_null() {
            found.push(format!("{place}: a text without maxLength"));
        }
        if is("array") && schema["maxItems"].is_null() {
            found.push(format!("{place}: a list without maxItems"));
        }
        if is("object") && schema["additionalProperties"] != false {
            found.push(format!("{place}: an object that takes any member"));
        }
        let members = schema["properties"].as_object().into_iter().flatten();
        for (name, member) in members {
            unbound(&format!("{place}/{name}"), member, document, found);
        }
        for part in [&schema["items"]].into_iter().filter(|part| part.is_object()) {
            unbound(&format!("{place}/0"), part, document, found);
        }
        for one in schema["oneOf"].as_array().into_iter().flatten() {
            unbound(place, one, document, found);
        }
    }
    let document = document();
    let mut found = Vec::new();
    for (_, path, operation) in operations() {
        for (_, content) in operation["requestBody"]["content"].as_object().into_iter().flatten() {
            unbound(&path, &content["schema"], &document, &mut found);
        }
    }
    assert_eq!(found, Vec::<String>::new());
}

stories! {
    async fn every_operation_of_the_document_is_there_and_asks_for_a_key(server) {
        for (method, path, operation) in operations() {
            let id = "01936f0a-7c3e-7d52-9b1f-3c5d8e2a4b60";
            let fleet = path.replace("{fleet}", &server.fleet().to_string());
            let filled = fleet.split('{').map(|part| part.split_once('}').map_or(part.to_owned(), |(_, rest)| format!("{id}{rest}")));
            let address: String = filled.collect();
            let allowed = told(server.bare(Method::OPTIONS, &address)).await;
            assert!(allowed.header("allow").contains(&method), "{method} {address}: {allowed:?}");
            let bare = told(server.bare(method.parse().expect("a method"), &address)).await;
            let expected = if operation["x-scope"].is_null() { 200 } else { 401 };
            assert_eq!(bare.status, expected, "{method} {address}: {bare:?}");
        }
    }

    async fn the_server_tells_whether_it_lives_and_can_work(server) {
        assert_eq!(told(server.bare(Method::GET, "/livez")).await.status, 200);
        assert_eq!(told(server.bare(Method::GET, "/readyz")).await.status, 200);
        server.world.clerk.store().close().await;
        assert_eq!(told(server.bare(Method::GET, "/livez")).await.status, 200);
        let down = told(server.bare(Method::GET, "/readyz")).await;
        assert_eq!((down.status.as_u16(), down.problem().as_str()), (503, "unavailable"));
        assert!(!down.header("retry-after").is_empty());
        let asked = server.get("/depots").await;
        assert_eq!((asked.status.as_u16(), asked.json()["retry"].as_str()), (503, Some("after")), "{asked:?}");
    }

    async fn each_kind_of_problem_has_a_page_of_help(server) {
        for kind in ProblemKind::ALL {
            let page = told(server.bare(Method::GET, &format!("/problems/{}", kind.slug()))).await;
            assert_eq!((page.status.as_u16(), page.header("content-type")), (200, "text/html; charset=utf-8"));
            assert!(page.text.contains(kind.title()) && !page.text.contains('`'), "{page:?}");
            assert!(page.header("content-security-policy").starts_with("default-src 'none'"), "{page:?}");
        }
        let list = told(server.bare(Method::GET, "/problems")).await;
        assert_eq!(list.text.matches("<li>").count(), ProblemKind::ALL.len());
    }

    async fn the_page_of_the_document_brings_all_it_needs(server) {
        let front = told(server.bare(Method::GET, "/")).await;
        assert_eq!((front.status.as_u16(), front.header("location")), (307, "/docs/"));
        let page = told(server.bare(Method::GET, "/docs/")).await;
        assert_eq!(page.status, 200);
        assert!(!page.text.contains("http://") && !page.text.contains("https://"), "{page:?}");
        assert!(page.header("content-security-policy").contains("script-src 'self'"), "{page:?}");
        let quoted = |mark: &str| page.text.split(mark).skip(1).filter_map(|rest| rest.split('"').next()).collect::<Vec<_>>();
        let files: Vec<&str> = quoted("src=\"").into_iter().chain(quoted("href=\"")).collect();
        assert!(files.len() >= 4, "{files:?}");
        for file in files {
            let there = told(server.bare(Method::GET, &format!("/docs/{}", file.trim_start_matches("./")))).await;
            assert_eq!(there.status, 200, "{file}");
        }
        let start = told(server.bare(Method::GET, "/docs/swagger-initializer.js")).await;
        assert!(start.text.contains("/v1/openapi.json") && !start.text.contains("petstore"), "{start:?}");
        let document = told(server.bare(Method::GET, "/v1/openapi.json")).await;
        assert_eq!(document.json()["openapi"], "3.1.0");
    }
}
