//! R41: what belongs to another fleet looks like what never was, wherever its id stands.

use end_to_end::{Answer, Caller, Document, OneOfEach, Operation, Request, Served, UNKNOWN};
use serde_json::{Value, json};

/// Two fleets with one of each thing: ours, and theirs, which we must not see.
struct Neighbours {
    served: Served,
    us: Caller,
    them: Caller,
    ours: OneOfEach,
    theirs: OneOfEach,
    document: Document,
}

impl Neighbours {
    async fn in_store(store: store::Store) -> Self {
        let served = Served::in_store(store).await;
        let us = served.another_fleet("Us").await;
        let them = served.another_fleet("Them").await;
        let ours = OneOfEach::made(&served, &us, "us").await;
        let theirs = OneOfEach::made(&served, &them, "them").await;
        let document = Document::of(&us).await;
        Self { served, us, them, ours, theirs, document }
    }
}

/// The things asked for, once with their ids among ours and once with ids of nothing in the same places.
fn disguises(operation: &Operation, ours: &OneOfEach, theirs: &OneOfEach) -> Vec<(OneOfEach, OneOfEach)> {
    let nothing = ours.that_never_were();
    let kinds = operation.parameters();
    let mut all = Vec::new();
    for at in 0..kinds.len() {
        let from_here_on = &kinds[at..];
        for foreign in [from_here_on, &from_here_on[..1]] {
            let put = |from: &OneOfEach| {
                foreign.iter().fold(ours.clone(), |all, kind| all.with(kind, from.id(kind)))
            };
            all.push((put(theirs), put(&nothing)));
        }
    }
    all
}

/// Where ids of other things stand in a body, and the kinds of those things.
fn ids_in(document: &Document, operation: &Operation) -> Vec<(String, &'static str)> {
    let Some(body) = &operation.body else { return Vec::new() };
    let places = document.places(&body.example, &body.schema);
    let ids = places.into_iter().filter(|(_, schema)| schema["format"] == "uuid");
    ids.map(|(pointer, _)| (pointer.clone(), kind_of(&pointer)))
        .filter(|(_, kind)| !kind.is_empty())
        .collect()
}

/// The kind of thing that the id at a place of a body names; none for ids that the client makes itself.
fn kind_of(pointer: &str) -> &'static str {
    let names = pointer.rsplit('/').filter(|name| name.parse::<usize>().is_err());
    match names.into_iter().next().unwrap_or_default() {
        "depot" | "depots" => "depot",
        "rulebook" => "rulebook",
        "person" => "person",
        "vehicle" => "vehicle",
        "workshop" => "workshop",
        "component" => "component",
        "service" | "opened_by" => "service_record",
        "entry_id" | "batch_id" | "corrects" => "",
        other => panic!("what does the id {other} at {pointer} name?"),
    }
}

fn planted(body: &Value, pointer: &str, id: &str) -> Value {
    let mut body = body.clone();
    *body.pointer_mut(pointer).expect("a place of the example") = json!(id);
    body
}

/// An answer with every id of theirs, and the unknown one, made the same.
fn masked(answer: &Answer, id: &str) -> (u16, String) {
    let (status, _, text) = answer.without_request_id();
    (status, text.replace(id, "SOME ID"))
}

testkit::on_both_engines! {
    async fn r41_another_fleets_ids_in_a_path_are_answered_byte_for_byte_like_ids_that_never_were(store: Store) {
        let n = Neighbours::in_store(store).await;
        let before = n.served.record().await;
        let mut compared = 0;
        for operation in n.document.operations() {
            for (disguised, nothing) in disguises(&operation, &n.ours, &n.theirs) {
                let told = n.us.send(operation.request(&disguised)).await;
                let never = n.us.send(operation.request(&nothing)).await;
                told.problem(404, "not-found");
                assert_eq!(told.without_request_id(), never.without_request_id(), "{}", operation.id);
                compared += 1;
            }
        }
        assert!(compared > 150, "{compared} requests were compared");
        assert_eq!(n.served.record().await, before, "a request that found nothing wrote something");
    }

    /// The other side of the same matrix: without it, ids that lead nowhere at all would pass.
    async fn r41_the_same_addresses_are_found_with_the_key_of_their_own_fleet(store: Store) {
        let n = Neighbours::in_store(store).await;
        let reads: Vec<Operation> =
            n.document.operations().into_iter().filter(|operation| operation.method == "GET").collect();
        for operation in &reads {
            n.them.send(operation.request(&n.theirs)).await.has_status(200);
        }
        assert!(reads.len() > 30, "{} operations read", reads.len());
    }

    async fn r41_another_fleets_ids_in_a_body_are_answered_like_ids_that_never_were(store: Store) {
        let n = Neighbours::in_store(store).await;
        let before = n.served.record().await;
        let mut compared = 0;
        for operation in n.document.operations() {
            let places = ids_in(&n.document, &operation);
            let example = operation.body.as_ref().map(|body| body.example.clone()).unwrap_or_default();
            let own = places.iter().fold(example, |body, (at, kind)| planted(&body, at, n.ours.id(kind)));
            for (pointer, kind) in &places {
                let ask = |id: &str| n.us.send(operation.request_with(&n.ours, &planted(&own, pointer, id)));
                let (theirs, never) = (ask(n.theirs.id(kind)).await, ask(UNKNOWN).await);
                theirs.problem(422, "invalid-content");
                assert!(theirs.places().contains(pointer), "{} {pointer}: {}", operation.id, theirs.text());
                assert_eq!(masked(&theirs, n.theirs.id(kind)), masked(&never, UNKNOWN), "{}", operation.id);
                compared += 1;
            }
        }
        assert!(compared > 8, "{compared} bodies were compared");
        assert_eq!(n.served.record().await, before, "a refused request wrote something");
    }

    async fn r41_another_fleets_ids_in_a_query_are_answered_like_ids_that_never_were(store: Store) {
        let n = Neighbours::in_store(store).await;
        let mut compared = 0;
        for operation in n.document.operations() {
            for kind in operation.query.iter().filter(|name| ["depot", "vehicle"].contains(&name.as_str())) {
                let place = operation.path.replace("{fleet}", n.ours.id("fleet"));
                let ask = |who: &Caller, id: &str| {
                    let (who, address) = (who.clone(), format!("{place}?{kind}={id}"));
                    async move { who.send(Request::get(&address)).await }
                };
                let (theirs, never) = (ask(&n.us, n.theirs.id(kind)).await, ask(&n.us, UNKNOWN).await);
                assert_eq!(theirs.json()["items"], json!([]), "{}", operation.id);
                assert_eq!(theirs.without_request_id(), never.without_request_id(), "{}", operation.id);
                let own = ask(&n.us, n.ours.id(kind)).await;
                assert_ne!(own.json()["items"], json!([]), "{} finds nothing of ours either", operation.id);
                compared += 1;
            }
        }
        assert!(compared >= 5, "{compared} queries were compared");
    }

    async fn r41_another_fleets_cursor_is_answered_like_one_that_nobody_gave(store: Store) {
        let n = Neighbours::in_store(store).await;
        n.them.register_van("Second van", n.theirs.id("depot"), n.theirs.id("rulebook")).await;
        let page = n.them.get("/vehicles?limit=1").await.json();
        let cursor = page["next_cursor"].as_str().expect("two vehicles are two pages");
        n.them.get(&format!("/vehicles?limit=1&cursor={cursor}")).await.has_status(200);

        let told = n.us.get(&format!("/vehicles?limit=1&cursor={cursor}")).await;
        let never = n.us.get("/vehicles?limit=1&cursor=bm9ib2R5IGdhdmUgdGhpcyBvbmU").await;

        told.problem(422, "invalid-content");
        assert_eq!(told.without_request_id(), never.without_request_id());
    }

    async fn r41_a_batch_that_names_another_fleets_vehicle_is_answered_like_one_that_names_nobody(store: Store) {
        let n = Neighbours::in_store(store).await;
        let theirs = n.them.register_van("Their van", n.theirs.id("depot"), n.theirs.id("rulebook")).await;
        let horizon = n.them.horizon_at(&theirs, "2027-03-02T08:00:00Z").await;
        for (named, nobody) in [(theirs.as_str(), UNKNOWN), ("Their van", "Nobodys van")] {
            let tell = async |vehicle: &str| {
                let mut entry =
                    n.served.entry(vehicle, &[json!(["tread-depth", "front_left", "lowest", 1.0, "mm"])]);
                entry["check_sheet"]["code"] = json!("walk-of-us");
                let mut result = n.us.post_batch(&n.served.batch(&[entry])).await.remove(0);
                result["entry_id"].take();
                (result["status"].clone(), result.to_string().replace(vehicle, "SOMEBODY"))
            };
            let (told, never) = (tell(named).await, tell(nobody).await);
            assert_eq!((told.0.clone(), told), (json!(404), never));
        }
        assert_eq!(n.them.horizon_at(&theirs, "2027-03-02T08:00:00Z").await, horizon);
    }

    async fn r41_ids_that_another_fleets_phone_used_are_free_in_ours(store: Store) {
        let n = Neighbours::in_store(store).await;
        let mut entry =
            n.served.entry("Van of each", &[json!(["tread-depth", "front_left", "lowest", 6.0, "mm"])]);
        entry["entry_id"] = json!(n.theirs.id("inspection"));
        entry["check_sheet"]["code"] = json!("walk-of-us");
        let mut batch = n.served.batch(&[entry]);
        batch["batch_id"] = json!(n.theirs.id("inspection_batch"));

        let results = n.us.post_batch(&batch).await;

        assert_eq!(
            (&results[0]["outcome"], &results[0]["vehicle"]),
            (&json!("accepted"), &json!(n.ours.id("vehicle")))
        );
        let address =
            format!("/vehicles/{}/inspections/{}", n.theirs.id("vehicle"), n.theirs.id("inspection"));
        let kept = n.them.get(&address).await.with_status(200).json();
        assert_eq!(kept["measurements"][0]["measured"]["value"], 1, "{kept}");
    }
}
