//! Access keys: shown once, kept nowhere, refused once revoked.

use crate::asking::told;
use crate::stories;
use reqwest::Method;
use serde_json::json;

stories! {
    async fn a_key_opens_the_fleet_until_it_is_revoked(server) {
        let new = json!({"kind": "device", "label": "Phone", "scopes": ["read"]});
        let issued = server.made("/access-keys", &new).await;
        let text = issued["text"].as_str().expect("shown once");
        let id = issued["key"]["id"].as_str().expect("an id");
        let ask = || told(server.bare(Method::GET, &server.place("/depots")).bearer_auth(text));
        assert_eq!(ask().await.status, 200);
        assert_eq!(told(server.ask(Method::DELETE, &format!("/access-keys/{id}"))).await.status, 204);
        assert_eq!(ask().await.status, 401);
        let kept = server.get(&format!("/access-keys/{id}")).await;
        assert!(kept.json()["revoked_at"].is_string(), "{kept:?}");
    }

    async fn the_text_of_a_key_is_not_in_an_answer_given_again(server) {
        let new = json!({"kind": "device", "label": "Phone", "scopes": ["read"]});
        let first = server.made("/access-keys", &new).await;
        let again = server.post("/access-keys", &new).await;
        assert_eq!((again.status.as_u16(), again.header("idempotency-replayed")), (201, "true"));
        assert_eq!((&again.json()["key"], &again.json()["text"]), (&first["key"], &serde_json::Value::Null));
    }

    async fn an_expired_key_is_refused(server) {
        let new = json!({"kind": "script", "label": "Night", "scopes": ["read"], "expires_at": "2027-03-01T09:00:00Z"});
        let text = server.made("/access-keys", &new).await["text"].as_str().map(str::to_owned).expect("shown once");
        let ask = || told(server.bare(Method::GET, &server.place("/depots")).bearer_auth(&text));
        assert_eq!(ask().await.status, 200);
        server.world.clock.pass(chrono::TimeDelta::hours(1));
        assert_eq!(ask().await.status, 401);
    }

    async fn a_person_can_be_added_changed_and_erased(server) {
        let new = json!({"role": "manager", "name": "Ann Holler", "email": "ann@fleet.example", "zone": "Europe/Vienna",
            "quiet_hours": {"from": "21:00", "to": "07:00"}});
        let person = server.made("/people", &new).await;
        let place = format!("/people/{}", person["id"].as_str().expect("an id"));
        let changed = server.patch(&place, 1, &json!({"email": null, "quiet_hours": null})).await;
        assert_eq!((changed.status.as_u16(), &changed.json()["email"]), (200, &json!(null)), "{changed:?}");
        let erased = told(server.ask(Method::DELETE, &place).header("If-Match", "\"2\"")).await;
        assert_eq!(erased.status, 204, "{erased:?}");
        let left = server.get(&place).await;
        assert_eq!((left.status.as_u16(), left.text.contains("Ann")), (200, false), "{left:?}");
    }
}
