//! Rules of every trigger, clauses of cover, stays, meters and the dash's word, as clients say and see them.

use crate::asking::{Server, told};
use crate::stories;
use reqwest::Method;
use serde_json::{Value, json};

/// Where a van with a reading and a tyre is.
async fn van(server: &Server) -> String {
    let van = server.world.van("N-01").await;
    server.world.reading(van, "2027-02-20T08:00:00Z", 19_500.0).await;
    format!("/vehicles/{van}")
}

async fn withdraw(server: &Server, place: &str, version: &str) -> u16 {
    let request = server.ask(Method::POST, &format!("{place}:withdraw")).header("If-Match", version);
    told(request.header("Idempotency-Key", format!("{:0<20}", version.len()))).await.status.as_u16()
}

stories! {
    async fn a_rule_of_every_trigger_is_shown_as_it_was_written(server) {
        let rules = json!([
            {"code": "oil", "title": "Oil", "every": {"engine_hours": {"value": 500, "unit": "h"}, "months": 12},
             "first": {"engine_hours": {"value": 50, "unit": "h"}}, "anchor": "grid", "indicator": true},
            {"code": "pads", "title": "Pads", "season": {"from": "10-01", "to": "11-15"}},
            {"code": "wash", "title": "Wash", "calendar": {"cron": "0 7 * * MON-FRI"}},
            {"code": "brakes", "title": "Brakes", "when": {"grade": {"point": "pad-thickness", "at_least": "attend"}}},
            {"code": "tyres", "title": "Tyres",
             "when": {"limit": {"component": "tyre", "within": {"distance": {"value": 1500, "unit": "km"}}}}},
            {"code": "fasteners", "title": "Fasteners",
             "when": {"work": {"of": ["pads", "tyres"], "within": {"days": 1, "distance": {"value": 80, "unit": "km"}}}}},
            {"code": "test", "title": "Test", "expiry": {"paper": "annual_test", "no_paper_no_drive": true}},
        ]);
        let book = server.made("/rulebooks", &json!({"title": "All", "rules": rules.clone()})).await;
        for (shown, written) in book["rules"].as_array().expect("rules").iter().zip(rules.as_array().expect("rules")) {
            for (name, value) in written.as_object().expect("members") {
                assert_eq!(without_nulls(&shown[name]), *value, "{name} of {}", written["code"]);
            }
        }
    }

    async fn work_answers_with_what_follows_and_tells_those_who_did_it_and_drive(server) {
        let van = van(&server).await;
        let rules = json!([
            {"code": "pads", "title": "Pads", "every": {"months": 12}},
            {"code": "fasteners", "title": "Wheel fasteners tightened again", "caution": "By torque wrench.",
             "when": {"work": {"of": ["pads"], "within": {"days": 1, "distance": {"value": 80, "unit": "km"}}}}},
        ]);
        let book = server.made("/rulebooks", &json!({"title": "Wheels", "rules": rules})).await;
        assert_eq!(server.patch(&van, 1, &json!({"rulebook": book["id"]})).await.status, 200);
        let work = json!({"done_on": "2027-03-01", "odometer": {"value": 20_000, "unit": "km"}, "rules": ["pads"]});
        let made = server.made(&format!("{van}/service-records"), &work).await;
        let follows = json!([{"key": "rule:fasteners", "title": "Wheel fasteners tightened again", "by": "2027-03-02",
            "by_odometer": {"value": 20_080, "unit": "km"}, "caution": "By torque wrench."}]);
        assert_eq!((&made["follow_ups"], &made["record"]["id"]), (&follows, &made["id"]));
        server.world.tick().await;
        let notices = server.get("/notices?limit=200").await.json();
        let told: Vec<&Value> = notices["items"].as_array().expect("a list").iter()
            .filter(|notice| notice["mark"] == "follow_up").collect();
        let people: std::collections::BTreeSet<&str> = told.iter().filter_map(|notice| notice["person"].as_str()).collect();
        assert!(people.contains(server.world.technician.to_string().as_str()), "{notices}");
        assert!(people.contains(server.world.manager.to_string().as_str()), "{notices}");
    }

    async fn a_rule_that_cannot_be_is_refused_at_its_place(server) {
        let rule = |more: Value| json!({"title": "Trial", "rules": [merged(json!({"code": "a", "title": "A"}), more)]});
        let cases = [
            (json!({}), "/rules/0", "one-trigger"),
            (json!({"calendar": {"cron": "0 7 31 2 *"}}), "/rules/0/calendar/cron", "malformed"),
            (json!({"season": {"from": "02-30", "to": "03-01"}}), "/rules/0/season/from", "no-day"),
            (json!({"season": {"from": "10-01", "to": "11-01"}, "indicator": true}), "/rules/0/indicator", "meaningless"),
        ];
        for (number, (more, pointer, code)) in cases.into_iter().enumerate() {
            let request = server.ask(Method::POST, "/rulebooks").header("Idempotency-Key", format!("{number:0>20}"));
            let answer = told(request.json(&rule(more.clone()))).await;
            assert_eq!((answer.status.as_u16(), answer.faults()), (422, vec![(pointer.to_owned(), code.to_owned())]), "{more}");
        }
    }

    async fn clauses_of_cover_are_shown_as_they_were_written(server) {
        let van = van(&server).await;
        let window = json!({
            "kind": "lease", "title": "Lease", "months": 36, "distance": {"value": 90_000, "unit": "km"},
            "reduced_if": [{"when": "commercial_use", "months": 24, "distance": null}],
            "pro_rata": [{"months": 12, "distance": null, "credit_percent": 100}, {"months": 24, "distance": null, "credit_percent": 50}],
            "transfer": "on_notice", "transfer_within_days": 30,
            "excess": {"per": {"value": 1, "unit": "km"}, "minor": 8.5, "currency": "EUR"},
        });
        let made = server.made(&format!("{van}/coverage-windows"), &window).await;
        for (name, value) in window.as_object().expect("members") {
            let (shown, written) = (made[name].to_string(), value.to_string());
            assert_eq!(shown.replace(".0", ""), written.replace(".0", ""), "{name}");
        }
        let outlooks = server.get("/coverage-windows").await.json();
        for member in ["reduced_by", "credits", "excess", "act_by"] {
            assert!(outlooks["items"][0].get(member).is_some(), "{member}: {outlooks}");
        }
    }

    async fn a_workshop_says_when_it_works_and_whether_a_warranty_pays_it(server) {
        let dealer = server.made("/workshops", &json!({"name": "D", "kind": "dealer", "lead_days": 5})).await;
        let week = json!(["monday", "tuesday", "wednesday", "thursday", "friday"]);
        assert_eq!((&dealer["warranty_work"], &dealer["working_weekdays"]), (&json!(true), &week));
        let place = format!("/workshops/{}", dealer["id"].as_str().expect("an id"));
        let request = server.ask(Method::PATCH, &place).header("If-Match", "\"1\"");
        let patch = json!({"warranty_work": false, "working_weekdays": ["saturday"]}).to_string();
        let changed = told(request.header("Content-Type", "application/merge-patch+json").body(patch)).await.json();
        assert_eq!((&changed["warranty_work"], &changed["working_weekdays"]), (&json!(false), &json!(["saturday"])));
        assert_eq!((&changed["name"], &changed["version"]), (&json!("D"), &json!(2)));
    }

    async fn a_stay_is_opened_closed_once_and_withdrawn_by_its_version(server) {
        let stays = format!("{}/stays", van(&server).await);
        let open = json!({"in_at": "2027-02-26T08:00:00Z", "reason": "Gearbox", "waiting_for": "A bearing"});
        let made = server.made(&stays, &open).await;
        assert_eq!((&made["out_at"], &made["version"]), (&json!(null), &json!(1)));
        let second = server.post(&stays, &json!({"in_at": "2027-02-27T08:00:00Z", "reason": "Oil"})).await;
        assert_eq!((second.status.as_u16(), second.problem().as_str()), (409, "conflict"));
        assert!(second.json()["detail"].as_str().is_some_and(|told| told.contains("2027-02-26 08:00")), "{second:?}");
        let stay = format!("{stays}/{}", made["id"].as_str().expect("an id"));
        let closed = server.post(&format!("{stay}:close"), &json!({"out_at": "2027-02-28T08:00:00Z"})).await;
        assert_eq!((closed.status.as_u16(), &closed.json()["version"]), (200, &json!(2)));
        assert_eq!(server.get(&stay).await.header("etag"), "\"2\"");
        assert_eq!(withdraw(&server, &stay, "\"1\"").await, 412);
        assert_eq!(withdraw(&server, &stay, " \"2\"").await, 204);
        assert_eq!(server.get(&stays).await.json()["items"], json!([]));
    }

    async fn meters_and_the_dash_have_logs_of_their_own(server) {
        let van = van(&server).await;
        let read_at = "2027-02-27T08:00:00Z";
        let hours = json!({"value": {"value": 812.5, "unit": "h"}, "read_at": read_at, "source": "technician"});
        let made = server.made(&format!("{van}/hour-readings"), &hours).await;
        assert_eq!(made["entered"], json!({"value": 812.5, "unit": "h"}));
        assert_eq!(made["judgement"]["verdict"], "counted");
        let less = json!({"value": {"value": 700, "unit": "h"}, "read_at": "2027-02-28T08:00:00Z", "source": "driver"});
        let held = server.made(&format!("{van}/hour-readings"), &less).await;
        assert_eq!(held["judgement"]["doubt"]["kind"], "runs_backwards", "{held}");
        let place = format!("{van}/hour-readings/{}", held["id"].as_str().expect("an id"));
        let value = json!({"value": {"value": 816.5, "unit": "h"}, "reason": "Misread"});
        let corrected = server.post(&format!("{place}:correct"), &value).await.json();
        assert_eq!(corrected["judgement"]["hours"], json!({"value": 816.5, "unit": "h"}), "{corrected}");
        let dash = json!({"rule": "engine-oil", "left": {"percent": 12}, "odometer": {"value": 19_600, "unit": "km"},
            "read_at": read_at, "source": "driver"});
        let said = server.made(&format!("{van}/indicator-readings"), &dash).await;
        assert_eq!(without_nulls(&said["left"]).to_string().replace(".0", ""), r#"{"percent":12}"#);
        let log = server.get(&format!("{van}/odometer-readings")).await.json();
        assert_eq!(log["items"][1]["id"], said["reading"], "the odometer read along with it is in the log, the hours are not");
        let meter = json!({"quantity": "distance", "replaced_at": read_at, "old_shows": {"value": 19_600, "unit": "km"},
            "new_shows": {"value": 0, "unit": "km"}, "reason": "Dark"});
        server.made(&format!("{van}/meter-replacements"), &meter).await;
        for (list, length) in [("hour-readings", 2), ("indicator-readings", 1), ("meter-replacements", 1)] {
            let listed = server.get(&format!("{van}/{list}")).await.json();
            assert_eq!(listed["items"].as_array().map(Vec::len), Some(length), "{list}");
        }
    }
}

/// Members of `more` put over those of `base`.
fn merged(mut base: Value, more: Value) -> Value {
    if let (Value::Object(base), Value::Object(more)) = (&mut base, more) {
        base.extend(more);
    }
    base
}

/// The value without members that are null.
fn without_nulls(value: &Value) -> Value {
    match value {
        Value::Object(members) => {
            let kept = members.iter().filter(|(_, value)| !value.is_null());
            Value::Object(kept.map(|(name, value)| (name.clone(), without_nulls(value))).collect())
        }
        other => other.clone(),
    }
}
