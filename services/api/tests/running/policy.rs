//! What a fleet, and each of its people, decides for itself, and the limits it is held to whatever it decides.

use crate::stories;
use serde_json::{Value, json};

fn watch_at(value: u8, unit: &str) -> Value {
    json!({"limit": "tread-watch", "value": {"value": value, "unit": unit}, "reason": "Hill depots, wet winters."})
}

stories! {
    async fn a_stricter_limit_is_kept_with_its_reason_and_shown_beside_the_shipped_one(server) {
        let before = server.get("/policy").await;
        assert_eq!((before.status.as_u16(), before.header("etag")), (200, "\"1\""));
        let change = json!({"lead_days": 21, "house_limits": [watch_at(4, "mm")]});
        let after = server.patch("/policy", 1, &change).await;
        assert_eq!((after.status.as_u16(), after.header("etag")), (200, "\"2\""), "{}", after.text);
        assert_eq!(after.json()["house_limits"], json!([watch_at(4, "mm")]));
        assert_eq!((&after.json()["lead_days"], &after.json()["closing_check_days"]), (&json!(21), &json!(30)));
        assert_eq!(server.patch("/policy", 1, &change).await.status, 412, "somebody else was faster");
        let limits = server.get("/limits?limit=200").await.json();
        let rows = limits["items"].as_array().expect("a list");
        let row = rows.iter().find(|row| row["key"] == "tread-watch").expect("the limit");
        assert_eq!((&row["value"], &row["own"]["value"]["value"]), (&json!({"value": 3.2, "unit": "mm"}), &json!(4)));
        assert!(rows.iter().all(|row| row["source"] != "" && row["standing"] != ""));
    }

    async fn every_fault_of_a_house_limit_is_named_and_nothing_changes(server) {
        let limits = json!([
            {"limit": "tread-law-eu", "value": {"value": 1.0, "unit": "mm"}, "reason": "Cheaper."},
            {"limit": "tread-watch", "value": {"value": 4, "unit": "psi"}, "reason": "Firm."},
            {"limit": "horn-loudness", "value": {"value": 4, "unit": "mm"}, "reason": "Loud."},
            watch_at(4, "mm"),
        ]);
        let body = json!({"house_limits": limits});
        let refused = server.patch("/policy", 1, &body).await;
        assert_eq!(refused.status, 422);
        let pointers: Vec<String> = refused.faults().into_iter().map(|(pointer, _)| pointer).collect();
        let expected = ["/house_limits/0/value", "/house_limits/1/value", "/house_limits/2/limit", "/house_limits/3/limit"];
        assert_eq!(pointers, expected, "{}", refused.text);
        assert!(refused.text.contains("1.6 mm"), "what is allowed is named: {}", refused.text);
        assert_eq!(server.get("/policy").await.header("etag"), "\"1\"");
    }

    async fn the_cold_a_depot_is_ready_for_is_kept_and_taken_away(server) {
        let depot = json!({"name": "North", "zone": "Europe/Vienna", "jurisdiction": "eu",
            "design_low": {"value": -13, "unit": "degF"}});
        let made = server.post("/depots", &depot).await;
        assert_eq!(made.json()["design_low"], json!({"value": -25, "unit": "degC"}), "{}", made.text);
        let place = format!("/depots/{}", made.json()["id"].as_str().expect("an id"));
        let warm = server.patch(&place, 1, &json!({"design_low": {"value": 35, "unit": "degC"}})).await;
        assert_eq!((warm.status.as_u16(), warm.faults()[0].0.as_str()), (422, "/design_low"), "{}", warm.text);
        let gone = server.patch(&place, 1, &json!({"design_low": null})).await;
        assert_eq!((gone.status.as_u16(), &gone.json()["design_low"]), (200, &Value::Null), "{}", gone.text);
    }

    async fn letters_that_a_person_does_without_are_kept_and_no_others_can_be_named(server) {
        let new = json!({"role": "manager", "name": "Ann Holler", "zone": "Europe/Dublin"});
        let made = server.post("/people", &new).await;
        assert_eq!(made.json()["declined_letters"], json!([]), "{}", made.text);
        let place = format!("/people/{}", made.json()["id"].as_str().expect("an id"));
        let both = json!({"declined_letters": ["day_ahead", "week_ahead", "day_ahead"]});
        let without = server.patch(&place, 1, &both).await;
        assert_eq!(without.json()["declined_letters"], json!(["week_ahead", "day_ahead"]), "{}", without.text);
        let wrong = server.patch(&place, 2, &json!({"declined_letters": ["at_once"]})).await;
        assert_eq!((wrong.status.as_u16(), wrong.faults()[0].0.as_str()), (422, "/declined_letters/0"), "{}", wrong.text);
        let renamed = server.patch(&place, 2, &json!({"name": "Ann Hollis"})).await;
        assert_eq!(renamed.json()["declined_letters"], json!(["week_ahead", "day_ahead"]), "{}", renamed.text);
        let all = server.patch(&place, 3, &json!({"declined_letters": []})).await;
        assert_eq!(all.json()["declined_letters"], json!([]), "{}", all.text);
    }
}
