//! A vehicle's life through the interface.

use crate::asking::{Server, told};
use crate::stories;
use reqwest::Method;
use serde_json::{Value, json};

fn van(server: &Server) -> Value {
    json!({
        "vin": "G0011A2B3C4D00017", "make": "Arcadia", "model": "Carrier 2", "model_year": 2024, "powertrain": "diesel",
        "in_service_on": "2024-03-01", "odometer_unit": "mi", "depot": server.world.depot.to_string(), "duty": "delivery",
        "label": "N-07", "plate": "HB 7 OST", "rulebook": server.world.rulebook.to_string(),
        "operating_weekdays": ["monday", "tuesday"],
    })
}

async fn registered(server: &Server) -> String {
    let made = server.made("/vehicles", &van(server)).await;
    format!("/vehicles/{}", made["id"].as_str().expect("an id"))
}

fn reading(value: f64, at: &str) -> Value {
    json!({"value": {"value": value, "unit": "mi"}, "read_at": at, "source": "technician"})
}

stories! {
    async fn a_vehicle_is_registered_changed_and_retired(server) {
        let place = registered(&server).await;
        let known = server.get(&place).await.json();
        assert_eq!((&known["severe"], &known["operating_weekdays"]), (&json!(true), &json!(["monday", "tuesday"])));
        let changed = server.patch(&place, 1, &json!({"plate": null, "parked": true})).await;
        assert_eq!((&changed.json()["plate"], &changed.json()["parked"]), (&json!(null), &json!(true)), "{changed:?}");
        let version = changed.json()["version"].as_i64().expect("a version");
        let retire = server.ask(Method::POST, &format!("{place}:retire")).header("Idempotency-Key", "r".repeat(20));
        let retired = told(retire.header("If-Match", format!("\"{version}\"")).json(&json!({"on": "2027-03-01"}))).await;
        assert_eq!((retired.status.as_u16(), &retired.json()["retired_on"]), (200, &json!("2027-03-01")), "{retired:?}");
        let ids = |told: Value| told["items"].as_array().map(Vec::len);
        assert_eq!(ids(server.get("/vehicles").await.json()), Some(0));
        assert_eq!(ids(server.get("/vehicles?retired=true").await.json()), Some(1));
    }

    async fn a_label_in_use_and_a_vin_in_use_are_refused(server) {
        registered(&server).await;
        let mut twin = van(&server);
        twin["model_year"] = json!(2025);
        let refused = server.post("/vehicles", &twin).await;
        assert!(matches!(refused.status.as_u16(), 409 | 422), "{refused:?}");
        refused.problem();
    }

    async fn a_reading_that_cannot_be_right_is_held_until_a_person_decides(server) {
        let place = format!("{}/odometer-readings", registered(&server).await);
        let first = server.made(&place, &reading(10_000.0, "2027-01-10T08:00:00Z")).await;
        assert_eq!(first["judgement"]["verdict"], "counted", "{first}");
        server.made(&place, &reading(10_400.0, "2027-01-20T08:00:00Z")).await;
        let odd = server.made(&place, &reading(1_050.0, "2027-01-30T08:00:00Z")).await;
        assert_eq!(odd["judgement"]["verdict"], "held", "{odd}");
        assert!(odd["judgement"]["doubt"]["detail"].as_str().is_some_and(|detail| detail.contains("10,400 mi")), "{odd}");
        let held = server.get("/held-entries").await.json();
        assert_eq!(held["items"][0]["reading"], odd, "{held}");
        let entry = format!("{place}/{}", odd["id"].as_str().expect("an id"));
        let right = json!({"value": {"value": 10_500, "unit": "mi"}, "reason": "A digit was missed."});
        let decided = server.post(&format!("{entry}:correct"), &right).await;
        assert_eq!((decided.status.as_u16(), &decided.json()["judgement"]["odometer"]["value"]), (200, &json!(10_500)), "{decided:?}");
        assert_eq!(server.get(&entry).await.json()["judgement"]["verdict"], "counted");
        assert_eq!(server.get("/held-entries").await.json()["items"], json!([]));
        server.world.clock.pass(chrono::TimeDelta::seconds(1));
        let withdrawn = server.post(&format!("{entry}:withdraw"), &json!({"reason": "Wrong vehicle."})).await;
        assert_eq!(withdrawn.json()["judgement"]["verdict"], "withdrawn", "{withdrawn:?}");
    }

    async fn services_papers_and_windows_are_recorded_read_and_withdrawn(server) {
        let place = registered(&server).await;
        let facts = [
            ("service-records", json!({"done_on": "2027-02-01", "odometer": {"value": 9000, "unit": "mi"}, "rules": ["engine-oil"],
                "parts": [{"name": "Oil filter"}], "cost": {"minor": 12_900, "currency": "EUR"}})),
            ("papers", json!({"kind": "annual_test", "expires_on": "2027-11-01"})),
            ("coverage-windows", json!({"kind": "warranty", "title": "Powertrain", "months": 60,
                "distance": {"value": 60_000, "unit": "mi"}})),
            ("rule-overrides", json!({"rule": "engine-oil", "every": {"months": 6}, "reason": "Idles a lot."})),
        ];
        for (kind, body) in facts {
            let made = server.made(&format!("{place}/{kind}"), &body).await;
            let fact = format!("{place}/{kind}/{}", made["id"].as_str().expect("an id"));
            let there = server.get(&fact).await;
            // A service answers with what it asks for beside its record.
            let kept = if kind == "service-records" { made["record"].clone() } else { made };
            assert_eq!((there.json(), there.header("etag")), (kept, "\"1\""), "{kind}");
            let withdraw = |key: &str| server.ask(Method::POST, &format!("{fact}:withdraw")).header("Idempotency-Key", key.repeat(20));
            assert_eq!(told(withdraw("a")).await.problem(), "version-missing", "{kind}");
            let gone = told(withdraw("b").header("If-Match", "\"1\"")).await;
            assert_eq!((gone.status.as_u16(), gone.text.as_str()), (204, ""), "{kind}: {gone:?}");
            let again = told(withdraw("b").header("If-Match", "\"1\"")).await;
            assert_eq!((again.status.as_u16(), again.header("idempotency-replayed")), (204, "true"), "{kind}");
            assert_eq!(server.get(&format!("{place}/{kind}")).await.json()["items"], json!([]), "{kind}");
        }
    }

    async fn a_horizon_says_what_comes_and_why(server) {
        let place = registered(&server).await;
        for (day, value) in [("10", 10_000.0), ("20", 10_400.0), ("30", 10_800.0)] {
            server.made(&format!("{place}/odometer-readings"), &reading(value, &format!("2027-01-{day}T08:00:00Z"))).await;
        }
        let oil = json!({"done_on": "2027-01-30", "odometer": {"value": 10_800, "unit": "mi"}, "rules": ["engine-oil"]});
        server.made(&format!("{place}/service-records"), &oil).await;
        let window = json!({"kind": "warranty", "title": "Powertrain", "months": 60, "distance": {"value": 60_000, "unit": "mi"}});
        server.made(&format!("{place}/coverage-windows"), &window).await;
        let horizon = server.get(&format!("{place}/horizon")).await;
        let json = horizon.json();
        let items = json["items"].as_array().expect("items");
        let item = items.iter().find(|item| item["item"]["key"] == "rule:engine-oil").expect("the oil");
        assert_eq!(item["item"]["date_limit"], "2028-01-30", "{item}");
        assert_eq!(item["item"]["odometer_limit"]["unit"], "mi", "{item}");
        assert!(item["because"].as_array().is_some_and(|because| because.len() >= 2), "{item}");
        assert_eq!(json["windows"][0]["window"]["odometer_limit"], json!({"value": 60_000, "unit": "mi"}), "{json}");
        let later = server.get(&format!("{place}/horizon?as_of=2028-03-01T00:00:00Z")).await.json();
        let stage = |json: &Value| json["items"].as_array().and_then(|items| {
            items.iter().find(|item| item["item"]["key"] == "rule:engine-oil").map(|item| item["item"]["stage"].clone())
        });
        assert_eq!((stage(&json), stage(&later)), (Some(json!("clear")), Some(json!("overdue"))));
        server.world.clock.pass(chrono::TimeDelta::seconds(5));
        let again = told(server.ask(Method::GET, &format!("{place}/horizon")).header("If-None-Match", horizon.header("etag"))).await;
        assert_eq!(again.status, 304, "nothing has changed but the time");
        let due = server.get("/due-items?limit=200").await.json();
        let ids: Vec<&Value> = due["items"].as_array().expect("items").iter().map(|item| &item["id"]).collect();
        assert_eq!((ids.len(), ids.contains(&&item["item"]["id"])), (items.len(), true), "{due}");
        let outlooks = server.get("/coverage-windows?stage=in_force").await.json();
        assert_eq!(outlooks["items"][0]["window"], json["windows"][0]["window"]["window"], "{outlooks}");
    }

    async fn a_tyre_is_followed_from_the_store_to_the_wheel_and_back(server) {
        let place = registered(&server).await;
        let tyre = server.made("/components", &json!({"kind": "tyre", "product": "Gripwell", "depth_new": {"value": 8, "unit": "mm"}})).await;
        let fit = json!({"component": tyre["id"], "place": "front_left", "from": "2027-01-10", "odometer": {"value": 1000, "unit": "mi"}});
        let fitted = server.made(&format!("{place}/fittings"), &fit).await;
        assert_eq!(fitted["from_odometer"], json!({"value": 1000, "unit": "mi"}), "{fitted}");
        let end = json!({"to": "2027-02-10", "odometer": {"value": 2000, "unit": "mi"}, "reason": "Worn."});
        let removed = server.post(&format!("{place}/fittings/{}:remove", fitted["id"].as_str().expect("an id")), &end).await;
        assert_eq!((removed.status.as_u16(), &removed.json()["to"]), (200, &json!("2027-02-10")), "{removed:?}");
        assert_eq!(server.get(&format!("{place}/fittings")).await.json()["items"].as_array().map(Vec::len), Some(1));
    }

    async fn a_rulebook_is_made_and_revised(server) {
        let oil = json!({"code": "engine-oil", "title": "Engine oil", "every": {"months": 12}});
        let made = server.post("/rulebooks", &json!({"title": "Cars", "rules": [oil]})).await;
        let place = format!("/rulebooks/{}", made.json()["id"].as_str().expect("an id"));
        let circle = json!({"rules": [
            {"code": "a", "title": "A", "every": {"days": 5}, "satisfies": ["b"]},
            {"code": "b", "title": "B", "every": {"days": 5}, "satisfies": ["a"]},
        ]});
        let revise = |body: &Value, version: &'static str| {
            let key = format!("{:032x}", crate::asking::crc(&body.to_string()));
            let request = server.ask(Method::POST, &format!("{place}:revise")).header("Idempotency-Key", key);
            told(request.header("If-Match", version).json(body))
        };
        assert_eq!(revise(&circle, "\"1\"").await.status, 422);
        let better = json!({"rules": [{"code": "engine-oil", "title": "Engine oil", "every": {"months": 6}}]});
        assert_eq!(revise(&better, "\"9\"").await.problem(), "stale-version");
        let done = revise(&better, "\"1\"").await;
        assert_eq!((done.status.as_u16(), done.header("etag"), &done.json()["title"]), (200, "\"2\"", &json!("Cars")), "{done:?}");
        let old = server.get(&format!("{place}?version=1")).await.json();
        assert_eq!(old["rules"][0]["every"]["months"], 12, "{old}");
        let both = json!({"title": "X", "rules": [{"code": "x", "title": "X"}]});
        assert_eq!(server.post("/rulebooks", &both).await.faults(), [("/rules/0".to_owned(), "one-trigger".to_owned())]);
    }

    async fn the_baseline_check_of_a_used_vehicle_is_answered(server) {
        let mut used = van(&server);
        used["history_unknown"] = json!(true);
        let made = server.made("/vehicles", &used).await;
        let place = format!("/vehicles/{}/baseline-answers", made["id"].as_str().expect("an id"));
        let answers = json!({"answers": [
            {"rule": "engine-oil", "proven": {"on": "2027-01-05", "odometer": {"value": 9000, "unit": "mi"}}},
            {"rule": "brake-fluid", "do_now": "2027-03-01"},
        ]});
        let given = server.made(&place, &answers).await;
        assert_eq!(given["answers"][1]["choice"], "do_now", "{given}");
        let one = server.get(&format!("{place}/{}", given["answers"][0]["id"].as_str().expect("an id"))).await;
        assert_eq!(one.json(), given["answers"][0]);
    }
}
