//! A technician's batch: one result an entry, and nothing measured is lost.

use crate::asking::{Server, told};
use crate::stories;
use reqwest::Method;
use serde_json::{Value, json};

fn entry(number: u32, vehicle: &str) -> Value {
    json!({
        "entry_id": format!("01936f0a-7c3e-7d52-9b1f-{number:012}"), "vehicle": vehicle, "check_sheet": {"code": "yard-walk"},
        "performed_at": "2027-03-01T07:30:00Z", "odometer": {"value": 9000, "unit": "km"},
        "measurements": [{"point": "tread-depth", "place": "front_left", "zone": "lowest", "value": 5.0, "unit": "mm"}],
    })
}

fn batch(number: u32, entries: &[Value]) -> Value {
    json!({
        "batch_id": format!("01936f0a-7c3e-7d52-9b1e-{number:012}"), "device_id": "phone", "device_seq": number,
        "device_sent_at": "2027-03-01T08:00:00Z", "entries": entries,
    })
}

async fn sent(server: &Server, body: &Value) -> Value {
    let told = server.post("/inspection-batches", body).await;
    assert_eq!(told.status, 207, "{told:?}");
    told.json()
}

fn outcomes(result: &Value) -> Vec<(String, u64)> {
    let one = |r: &Value| (r["outcome"].as_str().unwrap_or("").to_owned(), r["status"].as_u64().unwrap_or(0));
    result["results"].as_array().expect("results").iter().map(one).collect()
}

stories! {
    async fn each_entry_of_a_batch_gets_its_own_result_in_order(server) {
        server.world.van("N-01").await;
        let second = server.world.van("N-02").await;
        server.world.reading(second, "2027-02-10T08:00:00Z", 9300.0).await;
        server.world.reading(second, "2027-02-20T08:00:00Z", 9600.0).await;
        let mut broken = entry(3, "N-02");
        broken["measurements"] = json!("none");
        let backwards = entry(4, "N-02");
        let entries = [entry(1, "N-01"), entry(2, "N-99"), broken, backwards, entry(1, "N-01"), json!(7)];
        let result = sent(&server, &batch(1, &entries)).await;
        let expected = [("accepted", 201), ("rejected", 404), ("rejected", 422), ("held", 202), ("duplicate", 200), ("rejected", 422)];
        assert_eq!(outcomes(&result), expected.map(|(o, s)| (o.to_owned(), s)), "{result}");
        assert_eq!(result["results"][0]["grades"][0]["grade"], "good", "{result}");
        assert_eq!(result["results"][2]["problem"]["errors"][0]["pointer"], "/measurements", "{result}");
        assert_eq!(result["results"][3]["held"][0]["pointer"], "/odometer", "{result}");
        let refused = server.get("/rejected-entries").await.json();
        let raw: Vec<&Value> = refused["items"].as_array().expect("items").iter().map(|item| &item["raw"]).collect();
        assert_eq!(raw, [&entries[1], &entries[2], &entries[5]], "{refused}");
        let kept = server.get("/inspection-batches/01936f0a-7c3e-7d52-9b1e-000000000001").await.json();
        assert_eq!(kept["raw"], batch(1, &entries), "{kept}");
    }

    async fn an_entry_sent_again_in_any_batch_is_a_duplicate_and_another_under_its_id_is_refused(server) {
        let van = server.world.van("N-01").await;
        assert_eq!(outcomes(&sent(&server, &batch(1, &[entry(1, "N-01")])).await), [("accepted".to_owned(), 201)]);
        assert_eq!(outcomes(&sent(&server, &batch(2, &[entry(1, "N-01")])).await), [("duplicate".to_owned(), 200)]);
        let mut other = entry(1, "N-01");
        other["note"] = json!("Something else.");
        assert_eq!(outcomes(&sent(&server, &batch(3, &[other])).await), [("rejected".to_owned(), 409)]);
        let inspections = server.get(&format!("/vehicles/{van}/inspections")).await.json();
        assert_eq!(inspections["items"].as_array().map(Vec::len), Some(1), "{inspections}");
    }

    async fn the_technician_sees_do_not_drive_on_the_spot(server) {
        server.world.van("N-01").await;
        let mut bald = entry(1, "N-01");
        bald["measurements"][0]["value"] = json!(1.0);
        bald["findings"] = json!([{"code": "suspension-noise", "weight": "attend", "note": "Knocks."}]);
        bald["mood"] = json!("tired");
        let result = sent(&server, &batch(1, &[bald])).await;
        assert_eq!(result["results"][0]["do_not_drive"], true, "{result}");
        assert_eq!(result["results"][0]["unknown_members"], json!(["/mood"]), "{result}");
        let first = server.get("/due-items").await.json();
        assert_eq!((&first["items"][0]["do_not_drive"], &first["items"][0]["kind"]), (&json!(true), &json!("condition")), "{first}");
        let findings = server.get("/findings").await.json();
        let place = format!("/findings/{}", findings["items"][0]["id"].as_str().expect("a finding"));
        let closed = server.post(&format!("{place}:close"), &json!({"kind": "fixed", "reason": "Drop link renewed."})).await;
        assert!(closed.json()["closed_at"].is_string(), "{closed:?}");
        assert_eq!(server.get("/findings").await.json()["items"], json!([]));
        assert_eq!(server.get(&place).await.json(), closed.json());
    }

    async fn a_batch_that_cannot_be_read_whole_is_refused_whole(server) {
        let many: Vec<Value> = (0..201).map(|number| entry(number, "N-01")).collect();
        let told = server.post("/inspection-batches", &batch(1, &many)).await;
        assert_eq!(told.faults(), [("/entries".to_owned(), "wrong-length".to_owned())]);
        let vehicles: Vec<Value> = (0..65).map(|number| entry(number, &format!("N-{number}"))).collect();
        let told = server.post("/inspection-batches", &batch(1, &vehicles)).await;
        assert_eq!(told.faults(), [("/entries".to_owned(), "too-many-vehicles".to_owned())]);
        let no_device = json!({"batch_id": "01936f0a-7c3e-7d52-9b1e-000000000001", "entries": []});
        assert_eq!(server.post("/inspection-batches", &no_device).await.faults().len(), 3);
    }

    async fn a_client_that_hangs_up_gets_its_batch_done_or_undone_but_never_half(server) {
        let van = server.world.van("N-01").await;
        let body = batch(1, &[entry(1, "N-01"), entry(2, "N-01")]);
        let request = server.ask(Method::POST, "/inspection-batches").header("Idempotency-Key", "h".repeat(20)).json(&body);
        // Sent, and dropped before the answer can have come.
        let _ = tokio::time::timeout(std::time::Duration::from_millis(3), request.send()).await;
        let again = server.ask(Method::POST, "/inspection-batches").header("Idempotency-Key", "h".repeat(20)).json(&body);
        let mut answer = told(again.try_clone().expect("a body in memory")).await;
        while answer.status == 409 {
            answer = told(again.try_clone().expect("a body in memory")).await;
        }
        assert_eq!(outcomes(&answer.json()), [("accepted".to_owned(), 201), ("accepted".to_owned(), 201)], "{answer:?}");
        let inspections = server.get(&format!("/vehicles/{van}/inspections")).await.json();
        assert_eq!(inspections["items"].as_array().map(Vec::len), Some(2), "{inspections}");
    }

    async fn check_sheets_are_published_in_versions(server) {
        let sheet = json!({"code": "brakes", "title": "Brakes", "points": [{"point": "pad-thickness", "how": "Through the wheel."}]});
        let made = server.post("/check-sheets", &sheet).await;
        let there = told(server.bare(Method::GET, made.header("location")).bearer_auth(&server.key)).await;
        assert_eq!((there.json(), &there.json()["version"]), (made.json(), &json!(1)), "{there:?}");
        let points = server.get("/check-points").await.json();
        assert!(points["items"].as_array().is_some_and(|points| points.iter().any(|p| p["code"] == "pad-thickness")), "{points}");
        let odd = json!({"code": "odd", "title": "Odd", "points": [{"point": "horn", "how": "Listen."}]});
        let refused = server.post("/check-sheets", &odd).await;
        assert_eq!(refused.faults().first().map(|fault| fault.0.clone()), Some("/points/0/point".to_owned()), "{refused:?}");
    }
}
