//! A technician's day for many vehicles in one request.

use chrono::TimeDelta;
use end_to_end::{Answer, Caller, Request, Served, id_of};
use serde_json::{Value, json};

fn tread(value: f64) -> Value {
    json!(["tread-depth", "front_left", "lowest", value, "mm"])
}

fn outcomes(results: &[Value]) -> Vec<(&str, u64)> {
    let one = |result: &'_ Value| result["status"].as_u64().expect("a status");
    results.iter().map(|result| (result["outcome"].as_str().expect("an outcome"), one(result))).collect()
}

/// What is due, without what differs from fleet to fleet: ids of vehicles, and of the facts that opened a cycle.
fn without_ids(due: &[Value]) -> Vec<Value> {
    let one = |item: &Value| {
        let mut item = item.clone();
        for member in ["id", "vehicle", "cycle", "stage", "basis"] {
            item[member].take();
        }
        item
    };
    due.iter().map(one).collect()
}

fn of_vehicle<'a>(due: &'a [Value], vehicle: &str) -> Vec<&'a Value> {
    due.iter().filter(|item| item["vehicle"] == vehicle).collect()
}

/// Sends a request until it is taken, as a phone does that is told to wait.
async fn until_taken(caller: &Caller, request: Request) -> Answer {
    for _ in 0..200 {
        let told = caller.send(request.clone()).await;
        if told.status != 409 {
            return told.with_status(207);
        }
        told.problem(409, "still-running");
    }
    panic!("the batch is not taken after 200 tries");
}

testkit::on_both_engines! {
    async fn five_vehicles_get_five_results_in_order_and_the_due_items_change_accordingly(store: Store) {
        let served = Served::in_store(store).await;
        let mut vans = Vec::new();
        for label in ["Van 1", "Van 2", "Van 3", "Van 4", "Van 5"] {
            let van = served.world.van(label).await;
            served.world.reading(van, "2027-02-10T08:00:00Z", 19_000.0).await;
            served.world.reading(van, "2027-02-20T08:00:00Z", 20_000.0).await;
            vans.push(van.to_string());
        }
        let earlier = served.entry("Van 2", &[tread(6.0)]);
        served.technician.post_batch(&served.batch(std::slice::from_ref(&earlier))).await;
        let before = served.viewer.due_items().await;
        let mut backwards = served.entry("Van 3", &[tread(6.0)]);
        backwards["odometer"] = json!({"value": 12_000, "unit": "km"});
        let mut shoe = served.entry("Van 4", &[tread(6.0)]);
        shoe["check_sheet"] = json!({"code": "shoe-fitting"});
        let mut newer = served.entry("Van 5", &[tread(6.0)]);
        newer["mood"] = json!("tired");
        newer["odometer"] = json!({"value": 20_900, "unit": "km"});

        let entries = [served.entry("Van 1", &[tread(1.2)]), earlier, backwards, shoe.clone(), newer];
        let results = served.technician.post_batch(&served.batch(&entries)).await;

        let expected =
            [("accepted", 201), ("duplicate", 200), ("held", 202), ("rejected", 422), ("accepted", 201)];
        assert_eq!(outcomes(&results), expected);
        for (result, entry) in results.iter().zip(&entries) {
            assert_eq!(result["entry_id"], entry["entry_id"]);
        }
        assert_eq!(
            (&results[0]["do_not_drive"], &results[0]["grades"][0]["grade"]),
            (&json!(true), &json!("do_not_drive"))
        );
        assert_eq!((&results[0]["ring"], &results[4]["ring"]), (&json!("manager"), &Value::Null), "whom to ring");
        assert_eq!(
            (&results[2]["held"][0]["pointer"], &results[2]["do_not_drive"]),
            (&json!("/odometer"), &json!(false))
        );
        assert_eq!(results[3]["problem"]["errors"][0]["pointer"], "/check_sheet");
        assert_eq!(results[4]["unknown_members"], json!(["/mood"]));
        let after = served.viewer.due_items().await;
        assert_eq!((&after[0]["vehicle"], &after[0]["do_not_drive"]), (&json!(vans[0]), &json!(true)));
        for unchanged in [1, 2, 3] {
            assert_eq!(of_vehicle(&after, &vans[unchanged]), of_vehicle(&before, &vans[unchanged]));
        }
        assert_ne!(
            of_vehicle(&after, &vans[4]),
            of_vehicle(&before, &vans[4]),
            "a new reading moves what is due"
        );
        assert_eq!(served.viewer.list("/rejected-entries").await[0]["raw"], shoe);
        assert_eq!(served.viewer.list("/held-entries").await[0]["vehicle"], json!(vans[2]));
        let kept = served.viewer.list(&format!("/vehicles/{}/inspections", vans[3])).await;
        assert_eq!(kept, [json!(null); 0], "the refused entry became no inspection");
    }

    async fn an_entry_is_accepted_under_its_id_when_it_was_mended(store: Store) {
        let served = Served::in_store(store).await;
        served.world.van("Van 1").await;
        let mut entry = served.entry("Van 1", &[tread(6.0)]);
        entry["check_sheet"] = json!({"code": "yard-wlak"});
        let refused = served.technician.post_batch(&served.batch(std::slice::from_ref(&entry))).await;
        assert_eq!(outcomes(&refused), [("rejected", 422)]);
        entry["check_sheet"] = json!({"code": "yard-walk"});
        let accepted = served.technician.post_batch(&served.batch(std::slice::from_ref(&entry))).await;
        assert_eq!(outcomes(&accepted), [("accepted", 201)]);
        entry["note"] = json!("Other words.");
        let clash = served.technician.post_batch(&served.batch(&[entry])).await;
        assert_eq!(outcomes(&clash), [("rejected", 409)]);
    }

    async fn a_vehicle_is_found_by_its_id_label_plate_and_vin(store: Store) {
        let served = Served::in_store(store).await;
        let van = served.world.van("Van 1").await.to_string();
        let mut names = end_to_end::van("N-07", served.world.depot);
        names["plate"] = json!("HB 7 OST");
        names["vin"] = json!("G0011A2B3C4D00017");
        let other = id_of(&served.manager.make("/vehicles", &names).await);
        let named = [
            (van.as_str(), &van),
            ("Van 1", &van),
            (&other, &other),
            ("N-07", &other),
            ("HB 7 OST", &other),
            ("G0011A2B3C4D00017", &other),
        ];
        let entries: Vec<Value> = named.iter().map(|(name, _)| served.entry(name, &[])).collect();
        let results = served.technician.post_batch(&served.batch(&entries)).await;
        for ((name, vehicle), result) in named.iter().zip(&results) {
            assert_eq!(result["vehicle"], json!(vehicle), "{name}: {result}");
        }
    }

    async fn a_phone_whose_clock_is_off_is_shifted_doubted_or_believed_and_told(store: Store) {
        let served = Served::in_store(store).await;
        let van = served.world.van("Van 1").await;
        let sent_with = async |off: TimeDelta| {
            let mut entry = served.entry("Van 1", &[tread(6.0)]);
            entry["performed_at"] = json!(served.now() - TimeDelta::hours(1) - off);
            let mut batch = served.batch(&[entry]);
            batch["device_sent_at"] = json!(served.now() - off);
            let result = served.technician.post_batch(&batch).await.remove(0);
            let place =
                format!("/vehicles/{van}/inspections/{}", result["inspection"].as_str().expect("kept"));
            let kept = served.viewer.get(&place).await.json();
            (result["outcome"].clone(), result["clock_corrected"].clone(), kept["performed_at"].clone())
        };
        let right = served.now() - TimeDelta::hours(1);
        let minute = TimeDelta::minutes(1);
        assert_eq!(sent_with(minute).await, (json!("accepted"), json!(false), json!(right - minute)));
        assert_eq!(sent_with(TimeDelta::hours(3)).await, (json!("accepted"), json!(true), json!(right)));
        assert_eq!(sent_with(TimeDelta::hours(-3)).await, (json!("accepted"), json!(true), json!(right)));
        let day = TimeDelta::hours(25);
        assert_eq!(sent_with(day).await, (json!("held"), json!(false), json!(right - day)));
        let years = TimeDelta::days(3 * 365);
        assert_eq!(sent_with(years).await, (json!("held"), json!(false), json!(right - years)));
        assert_eq!(sent_with(-years).await, (json!("held"), json!(false), json!(right + years)));
    }

    async fn an_entry_of_ones_own_is_corrected_and_anothers_waits_for_a_manager(store: Store) {
        let served = Served::in_store(store).await;
        let van = served.world.van("Van 1").await;
        let first = served.entry("Van 1", &[tread(1.0)]);
        served.technician.post_batch(&served.batch(std::slice::from_ref(&first))).await;
        let mut anothers = served.entry("Van 1", &[tread(6.0)]);
        anothers["corrects"] = first["entry_id"].clone();
        let results = served.manager.post_batch(&served.batch(&[anothers])).await;
        assert_eq!(
            (outcomes(&results), &results[0]["held"][0]["pointer"]),
            (vec![("held", 202)], &json!("/corrects"))
        );
        let mut own = served.entry("Van 1", &[tread(7.0)]);
        own["corrects"] = first["entry_id"].clone();
        let results = served.technician.post_batch(&served.batch(&[own])).await;
        assert_eq!(
            (outcomes(&results), &results[0]["do_not_drive"]),
            (vec![("accepted", 201)], &json!(false))
        );
        let gone = served.viewer.list(&format!("/vehicles/{van}/inspections")).await;
        assert!(gone.iter().all(|inspection| inspection["id"] != first["entry_id"]), "{gone:?}");
    }

    /// A phone that heard no answer may have lost its key, and it says anew when it sends.
    async fn a_batch_sent_again_under_a_new_key_and_at_another_time_is_answered_with_duplicates(store: Store) {
        let served = Served::in_store(store).await;
        served.world.van("Van 1").await;
        let refused = served.entry("Van 99", &[]);
        let mut batch = served.batch(&[served.entry("Van 1", &[tread(6.0)]), refused]);
        let first = served.technician.post_batch(&batch).await;
        assert_eq!(outcomes(&first), [("accepted", 201), ("rejected", 404)]);
        served.world.clock.pass(TimeDelta::hours(30));
        batch["device_sent_at"] = json!(served.now());

        let again = served.technician.post_batch(&batch).await;

        assert_eq!(outcomes(&again), [("duplicate", 200), ("rejected", 404)]);
    }

    async fn a_batch_id_with_other_entries_is_a_conflict(store: Store) {
        let served = Served::in_store(store).await;
        served.world.van("Van 1").await;
        let mut batch = served.batch(&[served.entry("Van 1", &[])]);
        served.technician.post_batch(&batch).await;
        batch["entries"] = json!([served.entry("Van 1", &[])]);
        let before = served.record().await;
        served.technician.post("/inspection-batches", &batch).await.problem(409, "conflict");
        assert_eq!(served.record().await, before);
    }
}

/// A day's entries for one van, the same whoever sends them.
fn days_work(served: &Served) -> Vec<Value> {
    let told = [
        ("2027-02-08T09:00:00Z", 20_000, 5.0),
        ("2027-02-15T09:00:00Z", 12_000, 4.8),
        ("2027-02-22T09:00:00Z", 21_500, 4.6),
        ("2027-02-26T09:00:00Z", 22_000, 1.5),
        ("2027-02-27T09:00:00Z", 220_000, 1.4),
    ];
    let entry = |(at, kilometres, depth): (&str, u32, f64)| {
        let mut entry = served.entry("Van 1", &[tread(depth)]);
        entry["performed_at"] = json!(at);
        entry["odometer"] = json!({"value": kilometres, "unit": "km"});
        entry
    };
    told.into_iter().map(entry).collect()
}

/// A fleet with that van and nothing else; its check sheet is the world's.
async fn yard(served: &Served, name: &str) -> Caller {
    let caller = served.another_fleet(name).await;
    let depot = json!({"name": "Yard", "zone": "Europe/Dublin", "jurisdiction": "eu"});
    let depot = id_of(&caller.make("/depots", &depot).await);
    let every = json!({"distance": {"value": 20_000, "unit": "km"}, "months": 12});
    let rules = json!([{"code": "engine-oil", "title": "Engine oil", "every": every}]);
    let book = caller.make("/rulebooks", &json!({"title": "Vans", "rules": rules})).await["id"]
        .as_str()
        .expect("an id")
        .to_owned();
    let points = json!([{"point": "tread-depth", "how": "In the grooves."}]);
    caller.make("/check-sheets", &json!({"code": "yard-walk", "title": "Yard walk", "points": points})).await;
    caller.register_van("Van 1", &depot, &book).await;
    caller
}

testkit::on_both_engines! {
    async fn r32_a_days_entries_give_the_same_state_however_often_and_in_which_order_they_come(store: Store) {
        let served = Served::in_store(store).await;
        let day = days_work(&served);
        let once = yard(&served, "once").await;
        once.post_batch(&served.batch(&day)).await;
        let wanted = without_ids(&once.due_items().await);
        assert!(wanted.len() >= 2, "{wanted:?}");
        let [often, alone, backwards, halves] = [
            yard(&served, "a").await,
            yard(&served, "b").await,
            yard(&served, "c").await,
            yard(&served, "d").await,
        ];
        let one_batch = Request::post(&often.at("/inspection-batches"), &served.batch(&day));
        for _ in 0..5 {
            often.send(one_batch.clone()).await.has_status(207);
            often.post_batch(&served.batch(&day)).await;
        }
        for entry in &day {
            alone.post_batch(&served.batch(std::slice::from_ref(entry))).await;
        }
        let reversed: Vec<Value> = day.iter().rev().cloned().collect();
        backwards.post_batch(&served.batch(&reversed)).await;
        halves.post_batch(&served.batch(&day[2..])).await;
        halves.post_batch(&served.batch(&day[..3])).await;
        for caller in [&often, &alone, &backwards, &halves] {
            assert_eq!(without_ids(&caller.due_items().await), wanted);
            assert_eq!(caller.list("/held-entries").await.len(), 2);
        }
        served.world.clock.pass(TimeDelta::days(30));
        let late = often.post_batch(&served.batch(&day)).await;
        assert!(late.iter().all(|result| result["outcome"] == "duplicate"), "{late:?}");
        assert_eq!(without_ids(&often.due_items().await), wanted);
    }

    async fn r32_two_phones_that_send_the_same_entries_at_once_store_them_once(store: Store) {
        let served = Served::in_store(store).await;
        let day = days_work(&served);
        let once = yard(&served, "once").await;
        once.post_batch(&served.batch(&day)).await;
        for round in 0..5 {
            let caller = yard(&served, &format!("race {round}")).await;
            let elsewhere = served.at_another_replica(&caller);
            let batch = |day: &[Value]| Request::post(&caller.at("/inspection-batches"), &served.batch(day));
            let (one, other) = (batch(&day), batch(&day.iter().rev().cloned().collect::<Vec<_>>()));
            let (told, also) = tokio::join!(until_taken(&caller, one), until_taken(&elsewhere, other));
            let results = [told.json()["results"].clone(), also.json()["results"].clone()];
            let first = |results: &Value| {
                results.as_array().expect("results").iter().filter(|r| r["outcome"] != "duplicate").count()
            };
            assert_eq!(first(&results[0]) + first(&results[1]), day.len(), "round {round}: {results:?}");
            assert_eq!(without_ids(&caller.due_items().await), without_ids(&once.due_items().await));
        }
    }
}
