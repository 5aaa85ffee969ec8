//! Lists come page by page, and everything that stays is seen once.

use crate::asking::told;
use crate::stories;
use reqwest::Method;
use serde_json::json;
use std::collections::BTreeSet;

stories! {
    async fn pages_show_each_item_once_while_others_come_and_go(server) {
        for number in 0..7 {
            server.made("/workshops", &json!({"name": format!("W{number}"), "kind": "mobile", "lead_days": 1})).await;
        }
        let mut next = Some("/workshops?limit=3".to_owned());
        let mut seen = Vec::new();
        let mut pages = 0;
        while let Some(rest) = next {
            let page = server.get(&rest).await;
            let json = page.json();
            seen.extend(json["items"].as_array().expect("items").iter().map(|item| item["name"].to_string()));
            next = json["next_cursor"].as_str().map(|cursor| format!("/workshops?limit=3&cursor={cursor}"));
            assert_eq!(page.header("link").contains("rel=\"next\""), next.is_some(), "{page:?}");
            pages += 1;
            if pages == 1 {
                server.world.clock.pass(chrono::TimeDelta::seconds(1));
                server.made("/workshops", &json!({"name": "late", "kind": "mobile", "lead_days": 1})).await;
            }
        }
        let unique: BTreeSet<&String> = seen.iter().collect();
        assert_eq!((pages, seen.len(), unique.len()), (3, 8, 8));
    }

    async fn the_next_page_is_where_the_link_says(server) {
        for number in 0..3 {
            server.made("/workshops", &json!({"name": format!("W{number}"), "kind": "mobile", "lead_days": 1})).await;
        }
        let first = server.get("/workshops?limit=2").await;
        let link = first.header("link").to_owned();
        let next = link.strip_prefix('<').and_then(|link| link.split('>').next()).expect("an address");
        let second = told(server.bare(Method::GET, next).bearer_auth(&server.key)).await;
        assert_eq!(second.json()["items"].as_array().map(Vec::len), Some(1), "{second:?}");
        assert_eq!(second.header("link"), "");
    }

    async fn a_cursor_of_one_list_opens_no_other(server) {
        for number in 0..3 {
            server.made("/workshops", &json!({"name": format!("W{number}"), "kind": "mobile", "lead_days": 1})).await;
        }
        let cursor = server.get("/workshops?limit=1").await.json()["next_cursor"].as_str().map(str::to_owned).expect("a cursor");
        for rest in ["/depots", "/people", "/vehicles"] {
            let other = server.get(&format!("{rest}?cursor={cursor}")).await;
            assert_eq!(other.faults(), [("cursor".to_owned(), "not-of-this-list".to_owned())], "{rest}");
        }
    }
}
