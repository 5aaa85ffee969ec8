//! Lists page by page.

use end_to_end::{Answer, Caller, Request, Served, id_of};
use serde_json::{Value, json};
use std::collections::BTreeMap;

/// The address of the next page: the cursor and the `Link` header lead to the same.
fn next(page: &Answer) -> Option<String> {
    let link = page.header("link");
    let Some(cursor) = page.json()["next_cursor"].as_str().map(str::to_owned) else {
        assert_eq!(link, "", "a last page leads on");
        return None;
    };
    let address =
        link.strip_prefix('<').and_then(|link| link.strip_suffix(">; rel=\"next\"")).expect("RFC 8288");
    assert!(address.contains(&format!("cursor={cursor}")), "{address}");
    Some(address.to_owned())
}

/// Reads a list to its end, doing something between one page and the next. Counts how often each id was seen.
async fn scanned(
    caller: &Caller,
    rest: &str,
    mut between: impl AsyncFnMut(usize),
) -> BTreeMap<String, usize> {
    let mut seen = BTreeMap::new();
    let mut address = Some(caller.at(rest));
    for turn in 0..100 {
        let Some(at) = address else { return seen };
        let page = caller.send(Request::get(&at)).await.with_status(200);
        for item in page.json()["items"].as_array().expect("items") {
            *seen.entry(id_of(item)).or_default() += 1;
        }
        between(turn).await;
        address = next(&page);
    }
    panic!("{rest} has no end");
}

fn once_each(seen: &BTreeMap<String, usize>, ids: &[String]) {
    for id in ids {
        assert_eq!(seen.get(id), Some(&1), "{id} of {seen:?}");
    }
    assert!(seen.values().all(|times| *times == 1), "{seen:?}");
}

testkit::on_both_engines! {
    async fn a_page_has_fifty_items_if_not_said_and_two_hundred_at_most(store: Store) {
        let served = Served::in_store(store).await;
        for number in 0..52 {
            let workshop = json!({"name": format!("Workshop {number}"), "kind": "mobile", "lead_days": 0});
            served.manager.make("/workshops", &workshop).await;
        }
        assert_eq!(served.viewer.list("/workshops").await.len(), 50);
        assert_eq!(served.viewer.list("/workshops?limit=200").await.len(), 52);
        for limit in ["201", "0", "-1", "many", "1e3", ""] {
            let told = served.viewer.get(&format!("/workshops?limit={limit}")).await;
            told.problem(422, "invalid-content");
            assert_eq!(told.places(), ["limit"], "{limit}");
        }
    }

    async fn r35_a_row_is_seen_once_while_others_come_before_and_behind_the_page(store: Store) {
        let served = Served::in_store(store).await;
        let van = served.world.van("Van 1").await.to_string();
        let mut early = Vec::new();
        for day in 1..=25 {
            let read = served
                .manager
                .read_odometer(&van, &format!("2027-02-{day:02}T08:00:00Z"), 20_000 + day * 100)
                .await;
            early.push(id_of(&read));
        }
        let log = format!("/vehicles/{van}/odometer-readings?limit=4");
        let seen = scanned(&served.viewer, &log, async |turn| {
            for at in [format!("2027-02-01T03:{turn:02}:00Z"), format!("2027-02-27T03:{turn:02}:00Z")] {
                served.manager.read_odometer(&van, &at, 20_000).await;
            }
        })
        .await;
        once_each(&seen, &early);
        assert!(seen.len() > early.len(), "some of the new rows lie behind the page and are seen");
    }

    async fn r35_a_row_that_goes_meanwhile_disturbs_no_other(store: Store) {
        let served = Served::in_store(store).await;
        let van = served.world.van("Van 1").await.to_string();
        let papers = format!("/vehicles/{van}/papers");
        let mut all = Vec::new();
        for day in 1..=20 {
            let paper = json!({"kind": "insurance", "expires_on": format!("2027-06-{day:02}")});
            all.push(id_of(&served.manager.make(&papers, &paper).await));
        }
        let seen = scanned(&served.viewer, &format!("{papers}?limit=5"), async |turn| {
            for gone in [turn * 2, 19 - turn * 2] {
                let place = served.manager.at(&format!("{papers}/{}:withdraw", all[gone]));
                let withdraw = Request::new("POST", &place).under_new_key().with("If-Match", "\"1\"");
                served.manager.send(withdraw).await;
            }
        })
        .await;
        assert!(seen.values().all(|times| *times == 1), "{seen:?}");
        let alive = served.viewer.list(&format!("{papers}?limit=200")).await;
        assert!(!alive.is_empty() && alive.len() < 20, "{alive:?}");
        let alive: Vec<String> = alive.iter().map(id_of).collect();
        once_each(&seen, &alive);
    }

    async fn the_list_of_what_is_due_is_most_urgent_first_across_its_pages(store: Store) {
        let served = Served::in_store(store).await;
        for number in 0..6 {
            let van = served.world.van(&format!("Van {number}")).await;
            served.world.reading(van, "2027-02-25T08:00:00Z", 12_000.0 + f64::from(number) * 1500.0).await;
        }
        let bald = served.entry("Van 3", &[json!(["tread-depth", "rear_left", "lowest", 1.0, "mm"])]);
        served.technician.post_batch(&served.batch(&[bald])).await;
        let whole: Vec<Value> = served.viewer.due_items().await;
        let ids: Vec<String> = whole.iter().map(id_of).collect();
        let seen = scanned(&served.viewer, "/due-items?limit=3", async |_| {}).await;
        once_each(&seen, &ids);
        assert_eq!(seen.len(), ids.len());
        assert_eq!(whole[0]["do_not_drive"], true, "what forbids driving comes first");
        let due: Vec<&str> =
            whole[1..].iter().filter_map(|item| item["timeline"]["due"]["at"].as_str()).collect();
        assert!(due.len() > 10 && due.is_sorted(), "{due:?}");
    }

    async fn a_cursor_fits_the_list_and_filter_it_was_given_for_alone(store: Store) {
        let served = Served::in_store(store).await;
        for label in ["Van 1", "Van 2", "Van 3"] {
            served.world.van(label).await;
        }
        let depot = served.world.depot;
        let page = served.viewer.get(&format!("/vehicles?limit=1&depot={depot}")).await.with_status(200);
        let cursor = page.json()["next_cursor"].as_str().expect("three vehicles").to_owned();
        let ask = |rest: String| async {
            let rest = rest;
            served.viewer.get(&rest).await
        };
        ask(format!("/vehicles?depot={depot}&cursor={cursor}&limit=2")).await.has_status(200);
        let mut touched = cursor.clone();
        touched.replace_range(0..1, if cursor.starts_with('A') { "B" } else { "A" });
        for rest in [
            format!("/vehicles?cursor={cursor}"),
            format!("/vehicles?depot={depot}&retired=true&cursor={cursor}"),
            format!("/depots?cursor={cursor}"),
            format!("/vehicles?depot={depot}&cursor={touched}"),
            format!("/vehicles?depot={depot}&cursor="),
            format!("/vehicles?depot={depot}&cursor={}", "x".repeat(600)),
        ] {
            let told = ask(rest.clone()).await;
            told.problem(422, "invalid-content");
            assert_eq!(told.places(), ["cursor"], "{rest}");
        }
    }

    async fn an_empty_list_is_a_page_without_items(store: Store) {
        let served = Served::in_store(store).await;
        for rest in ["/vehicles", "/due-items", "/findings", "/letters", "/notices", "/rejected-entries"] {
            let page = served.viewer.get(rest).await.with_status(200);
            assert_eq!(page.json(), json!({"items": [], "next_cursor": null}), "{rest}");
        }
    }
}
