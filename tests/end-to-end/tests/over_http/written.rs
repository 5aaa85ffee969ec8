//! R42: what the server owns cannot be written, in no object of any request.

use end_to_end::{Body, Document, OneOfEach, Operation, Served};
use serde_json::{Value, json};
use std::collections::BTreeSet;

/// Members that the server owns wherever they stand, whatever the answer of an operation holds.
const ALWAYS_OWNED: [&str; 14] = [
    "id",
    "recorded_at",
    "recorded_by",
    "fleet",
    "fleet_id",
    "grade",
    "stage",
    "judgement",
    "sequence",
    "act_id",
    "withdrawn_at",
    "revoked_at",
    "closed_at",
    "done_version",
];

/// Every object of the example body, with the members that a client may write there.
fn objects(document: &Document, body: &Body) -> Vec<(String, BTreeSet<String>)> {
    let places = document.places(&body.example, &body.schema).into_iter();
    let objects = places.filter(|(pointer, _)| body.example.pointer(pointer).is_some_and(Value::is_object));
    objects.map(|(pointer, schema)| (pointer, document.members(schema))).collect()
}

/// What the server owns of an object: what the operation answers and does not take, and what it always owns.
fn owned(document: &Document, operation: &Operation, taken: &BTreeSet<String>) -> BTreeSet<String> {
    let answered = operation.gives.as_ref().map(|gives| document.members(gives)).unwrap_or_default();
    let always = ALWAYS_OWNED.iter().map(|name| (*name).to_owned());
    answered.into_iter().chain(always).filter(|name| !taken.contains(name)).collect()
}

fn with_member(example: &Value, pointer: &str, name: &str) -> Value {
    let mut body = example.clone();
    body.pointer_mut(pointer).expect("an object of the example")[name] = json!("2027-01-01T00:00:00Z");
    body
}

testkit::on_both_engines! {
    async fn r42_a_member_that_the_server_owns_is_refused_by_name_in_every_object_of_every_request(store: Store) {
        let served = Served::in_store(store).await;
        let us = served.another_fleet("Us").await;
        let (things, document) = (OneOfEach::made(&served, &us, "us").await, Document::of(&us).await);
        let before = served.record().await;
        let mut tried = 0;
        for operation in document.operations().iter().filter(|one| one.id != "send_inspection_batch") {
            let Some(body) = &operation.body else { continue };
            for (pointer, taken) in objects(&document, body) {
                for name in owned(&document, operation, &taken) {
                    let written = with_member(&body.example, &pointer, &name);
                    let told = us.send(operation.request_with(&things, &written)).await;
                    told.problem(422, "invalid-content");
                    let fault = (format!("{pointer}/{name}"), "unknown-member".to_owned());
                    assert!(told.faults().contains(&fault), "{} {fault:?}: {}", operation.id, told.text());
                    tried += 1;
                }
            }
        }
        assert!(tried > 400, "{tried} members were tried");
        assert_eq!(served.record().await, before, "a refused request wrote something");
    }

    async fn r42_a_batch_keeps_and_reports_what_the_server_owns_and_takes_nothing_of_it(store: Store) {
        let served = Served::in_store(store).await;
        let van = served.world.van("Van 1").await;
        let mut entry = served.entry("Van 1", &[json!(["tread-depth", "front_left", "lowest", 1.0, "mm"])]);
        let owned = json!({"grade": "good", "recorded_at": "2020-01-01T00:00:00Z", "vehicle_id": van});
        for (name, value) in owned.as_object().expect("an object") {
            entry[name] = value.clone();
            entry["measurements"][0][name] = value.clone();
        }
        let mut batch = served.batch(&[entry]);
        batch["received_at"] = json!("2020-01-01T00:00:00Z");

        let told = served.technician.post("/inspection-batches", &batch).await.with_status(207).json();

        let (result, now) = (&told["results"][0], json!(served.now()));
        assert_eq!((&told["unknown_members"], &told["received_at"]), (&json!(["/received_at"]), &now));
        let reported: BTreeSet<&str> =
            result["unknown_members"].as_array().expect("a list").iter().filter_map(Value::as_str).collect();
        let places = ["", "/measurements/0"]
            .map(|at| ["grade", "recorded_at", "vehicle_id"].map(|m| format!("{at}/{m}")));
        assert_eq!(reported, places.iter().flatten().map(String::as_str).collect());
        assert_eq!(result["grades"][0]["grade"], "do_not_drive");
        let id = result["inspection"].as_str().expect("an inspection");
        let kept = served.viewer.get(&format!("/vehicles/{van}/inspections/{id}")).await.json();
        assert_eq!(kept["recorded_at"], now, "{kept}");
        let raw = served
            .viewer
            .get(&format!("/inspection-batches/{}", batch["batch_id"].as_str().expect("an id")))
            .await;
        assert_eq!(raw.json()["raw"], batch, "what nobody knows is kept");
    }
}
