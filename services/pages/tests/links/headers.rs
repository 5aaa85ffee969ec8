//! Headers of every answer (R48), and that none of a request sends anybody elsewhere (R52).

use crate::story::Story;
use letters::links::{ITEM_LINK_HOLDS, Purpose};
use reqwest::header::HeaderMap;
use testkit::World;

const POLICY: &str =
    "default-src 'none'; style-src 'self'; form-action 'self'; frame-ancestors 'none'; base-uri 'none'";

fn assert_careful(headers: &HeaderMap, what: &str) {
    let of = |name: &str| headers.get(name).map_or("", |value| value.to_str().expect("a text"));
    assert_eq!(of("content-security-policy"), POLICY, "{what}");
    assert_eq!(of("x-content-type-options"), "nosniff", "{what}");
    assert_eq!(of("referrer-policy"), "no-referrer", "{what}");
    assert_eq!(of("x-robots-tag"), "noindex, nofollow", "{what}");
    assert_eq!(headers.get_all("content-security-policy").iter().count(), 1, "{what}");
    assert!(of("set-cookie").is_empty(), "{what}");
}

async fn story() -> Story {
    Story::of(World::in_store(testkit::sqlite::in_memory().await).await, "Van 1").await
}

#[test]
fn every_page_runs_nothing_is_framed_by_nobody_and_kept_nowhere() {
    testkit::tell(async {
        let story = story().await;
        let token = story.token(Purpose::Acknowledge(story.oil().await));
        let link = |token: &str| format!("{}/links/{token}", story.base);
        let requests = [
            ("a page", story.client.get(link(&token))),
            ("its head", story.client.head(link(&token))),
            ("a blind press", story.client.post(link(&token))),
            ("unknown", story.client.get(link("x"))),
        ];
        for (what, request) in requests {
            let told = request.send().await.expect("an answer");
            assert_careful(told.headers(), what);
            assert_eq!(told.headers()["cache-control"], "no-store", "{what}");
            assert_eq!(told.headers()["content-type"], "text/html; charset=utf-8", "{what}");
            let html = told.text().await.expect("a text");
            for inline in ["<style", "style=", "<script", "onclick", "javascript:", "http://", "https://"] {
                assert!(!html.contains(inline), "{what}: {inline}");
            }
        }
        story.world.clock.pass(ITEM_LINK_HOLDS);
        let told = story.client.get(link(&token)).send().await.expect("an answer");
        assert_careful(told.headers(), "run out");
        let look = story.client.get(link("look.css")).send().await.expect("an answer");
        assert_eq!(
            (look.status().as_u16(), &look.headers()["content-type"]),
            (200, &"text/css; charset=utf-8".parse().expect("a value"))
        );
        assert!(look.text().await.expect("a text").contains("prefers-color-scheme: dark"));
    });
}

#[test]
fn a_forged_host_changes_no_byte_of_a_page() {
    testkit::tell(async {
        let story = story().await;
        let token = story.token(Purpose::Postpone(story.oil().await));
        let honest = story.get(&token).await.html;
        for (name, value) in [
            ("Host", "evil.example"),
            ("Forwarded", "host=evil.example;proto=https;for=6.6.6.6"),
            ("X-Forwarded-Host", "evil.example"),
            ("X-Original-URL", "/links/evil.example"),
        ] {
            let request = story.client.get(format!("{}/links/{token}", story.base)).header(name, value);
            let html = request.send().await.expect("an answer").text().await.expect("a text");
            assert_eq!(html, honest, "{name}");
        }
    });
}
