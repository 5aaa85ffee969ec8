//! Measurements that cannot be right: the rest of their inspection counts, and a manager takes or dismisses them.

use chrono::TimeDelta;
use end_to_end::{Caller, Served};
use serde_json::{Value, json};

fn tread(place: &str, value: f64, unit: &str) -> Value {
    json!(["tread-depth", place, "lowest", value, unit])
}

/// An entry of the van with one sound measurement and these.
fn entry(served: &Served, wrong: &[Value]) -> Value {
    let measured: Vec<Value> =
        std::iter::once(tread("rear_left", 6.0, "mm")).chain(wrong.iter().cloned()).collect();
    served.entry("Van 1", &measured)
}

async fn sent(served: &Served, entry: Value) -> Value {
    served.technician.post_batch(&served.batch(&[entry])).await.remove(0)
}

fn place_of(part: &Value) -> String {
    format!("/held-measurements/{}", part["held_measurement"].as_str().expect("an id"))
}

/// What waits, in the order of the list, read page by page.
async fn waiting(caller: &Caller, limit: usize) -> Vec<Value> {
    let (mut all, mut rest) = (Vec::new(), format!("/held-entries?limit={limit}"));
    loop {
        let page = caller.get(&rest).await.with_status(200).json();
        all.extend(page["items"].as_array().expect("items").iter().cloned());
        let Some(cursor) = page["next_cursor"].as_str() else { return all };
        rest = format!("/held-entries?limit={limit}&cursor={cursor}");
    }
}

fn taking(place: &str, value: f64) -> Value {
    json!({
        "point": "tread-depth", "place": place, "zone": "lowest", "value": value, "unit": "mm",
        "reason": "The gauge shows millimetres.",
    })
}

testkit::on_both_engines! {
    async fn a_faulty_measurement_is_held_by_name_and_the_rest_of_the_entry_counts(store: Store) {
        let served = Served::in_store(store).await;
        let van = served.world.van("Van 1").await.to_string();
        let wrong = [json!(["shoe-size", "front_left", "lowest", 42, "mm"]), tread("front_left", 6.0, "kPa")];

        let result = sent(&served, entry(&served, &wrong)).await;

        assert_eq!((&result["outcome"], &result["status"]), (&json!("held"), &json!(202)));
        assert_eq!(result["grades"].as_array().map(Vec::len), Some(1), "{result}");
        let told = |part: &Value| (part["pointer"].clone(), part["reason"].clone());
        let held = result["held"].as_array().expect("parts");
        assert_eq!(
            held.iter().map(told).collect::<Vec<_>>(),
            [
                (json!("/measurements/1/point"), json!("point_unknown")),
                (json!("/measurements/2/unit"), json!("unit")),
            ]
        );
        let detail = held[1]["detail"].as_str().expect("words");
        assert!(detail.contains("kPa") && detail.contains("mm, in32"), "{detail}");
        let listed = served.viewer.list("/held-entries").await;
        assert_eq!((listed.len(), &listed[0]["reading"], &listed[0]["vehicle_label"]), (2, &Value::Null, &json!("Van 1")));
        let read = served.viewer.get(&place_of(&held[1])).await.with_status(200).json();
        assert!(listed.iter().any(|entry| entry["measurement"] == read), "{listed:?}");
        assert_eq!((&read["written"]["unit"], &read["settlement"]), (&json!("kPa"), &Value::Null));
        let horizon = served.viewer.get(&format!("/vehicles/{van}/horizon")).await.json();
        assert_eq!(horizon["held"], json!(listed));
        assert_eq!(served.viewer.list("/rejected-entries").await, [json!(null); 0]);
    }

    async fn a_measurement_without_the_form_of_one_is_held_and_the_rest_counts(store: Store) {
        let served = Served::in_store(store).await;
        served.world.van("Van 1").await;
        let mut odd = entry(&served, &[]);
        let measurements = odd["measurements"].as_array_mut().expect("a list");
        measurements.push(json!({"point": "tread-depth", "place": "front_left", "zone": "lowest", "value": 6.0}));
        measurements.push(json!({"point": "tread-depth", "place": "front_right", "value": "six", "unit": "mm"}));
        measurements.push(json!({"point": "tread-depth", "place": "rear_right", "value": 6, "unit": "mm", "mood": 1}));
        measurements.push(json!("no tread left"));

        let result = sent(&served, odd).await;

        assert_eq!((&result["outcome"], &result["grades"][0]["place"]), (&json!("held"), &json!("rear_left")));
        let told = |part: &Value| (part["pointer"].clone(), part["reason"].clone());
        let held = result["held"].as_array().expect("parts");
        assert_eq!(
            held.iter().map(told).collect::<Vec<_>>(),
            [
                (json!("/measurements/1"), json!("form")),
                (json!("/measurements/2/value"), json!("form")),
                (json!("/measurements/3/zone"), json!("zone")),
                (json!("/measurements/4"), json!("form")),
            ]
        );
        assert_eq!(result["unknown_members"], json!(["/measurements/3/mood"]));
        let read = served.viewer.get(&place_of(&held[3])).await.with_status(200).json();
        assert_eq!(read["written"], json!("no tread left"));
        let taken = taking("front_left", 6.0);
        let told = served.manager.post(&format!("{}:take", place_of(&held[0])), &taken).await.with_status(200).json();
        assert_eq!(told["held"]["settlement"]["kind"], "taken");
    }

    async fn an_odometer_in_no_unit_of_one_is_held_and_the_measurements_count(store: Store) {
        let served = Served::in_store(store).await;
        served.world.van("Van 1").await;
        for (odometer, pointer, reason) in [
            (json!({"value": 48_210, "unit": "furlong"}), "/odometer/unit", "unit"),
            (json!({"value": 48_210}), "/odometer/unit", "unit"),
            (json!({"value": -1, "unit": "km"}), "/odometer/value", "implausible"),
            (json!(48_210), "/odometer", "form"),
        ] {
            served.world.clock.pass(TimeDelta::hours(1));
            let mut odd = entry(&served, &[]);
            odd["odometer"] = odometer.clone();
            let result = sent(&served, odd).await;
            let part = &result["held"][0];
            assert_eq!((&part["pointer"], &part["reason"]), (&json!(pointer), &json!(reason)), "{result}");
            assert_eq!(result["grades"].as_array().map(Vec::len), Some(1), "{result}");
            let read = served.viewer.get(&place_of(part)).await.with_status(200).json();
            assert_eq!(read["written"], odometer);
            let refused = served.manager.post(&format!("{}:take", place_of(part)), &taking("rear_left", 5.0)).await;
            assert_eq!((refused.status, refused.places()), (422, vec!["/point".to_owned()]), "{}", refused.text());
            let reason = json!({"reason": "Read again on the spot."});
            let told = served.manager.post(&format!("{}:dismiss", place_of(part)), &reason).await.with_status(200).json();
            assert_eq!(told["settlement"]["kind"], "dismissed");
        }
    }

    async fn a_sheet_version_nobody_knows_is_named_and_nobody_needs_to_decide(store: Store) {
        let served = Served::in_store(store).await;
        served.world.van("Van 1").await;
        let mut odd = entry(&served, &[]);
        odd["check_sheet"]["version"] = json!(9);
        let result = sent(&served, odd).await;
        let part = &result["held"][0];
        assert_eq!(
            (&result["outcome"], &part["pointer"], &part["reason"]),
            (&json!("held"), &json!("/check_sheet/version"), &json!("sheet_version_unknown"))
        );
        assert_eq!(served.viewer.list("/held-entries").await, [json!(null); 0]);
    }

    async fn a_manager_takes_a_held_measurement_and_is_told_what_it_means(store: Store) {
        let served = Served::in_store(store).await;
        let van = served.world.van("Van 1").await.to_string();
        let result = sent(&served, entry(&served, &[tread("front_left", 1.0, "kPa")])).await;
        let place = place_of(&result["held"][0]);
        let known_before = served.now();
        served.world.clock.pass(TimeDelta::hours(2));

        let told = served.manager.post(&format!("{place}:take"), &taking("front_left", 1.0)).await;

        let told = told.with_status(200).json();
        assert_eq!((&told["do_not_drive"], &told["grades"][0]["grade"]), (&json!(true), &json!("do_not_drive")));
        assert_eq!(told["held"]["settlement"]["kind"], "taken");
        assert_eq!(told["held"]["settlement"]["measurement"], told["measurement"]["id"]);
        assert_eq!(served.viewer.get(&place).await.json(), told["held"]);
        assert_eq!(served.viewer.list("/held-entries").await, [json!(null); 0]);
        let inspections = served.viewer.list(&format!("/vehicles/{van}/inspections")).await;
        assert_eq!(inspections[0]["measurements"][1], told["measurement"]);
        let horizon = async |rest: String| {
            served.viewer.get(&format!("/vehicles/{van}/horizon{rest}")).await.with_status(200).json()
        };
        let before = horizon(format!("?known_at={}", known_before.format("%Y-%m-%dT%H:%M:%S%.6fZ"))).await;
        assert_eq!((&before["do_not_drive"], before["held"].as_array().map(Vec::len)), (&json!(false), Some(1)));
        let now = horizon(String::new()).await;
        assert_eq!((&now["do_not_drive"], &now["held"]), (&json!(true), &json!([])));
    }

    async fn a_dismissed_measurement_waits_no_more_and_stays_on_record(store: Store) {
        let served = Served::in_store(store).await;
        served.world.van("Van 1").await;
        let result = sent(&served, entry(&served, &[tread("roof", 6.0, "mm")])).await;
        let place = place_of(&result["held"][0]);
        let why = json!({"reason": "Measured on the van in the next bay."});
        let told = served.manager.post(&format!("{place}:dismiss"), &why).await.with_status(200).json();
        assert_eq!((&told["settlement"]["kind"], &told["settlement"]["reason"]), (&json!("dismissed"), &why["reason"]));
        assert_eq!(served.viewer.list("/held-entries").await, [json!(null); 0]);
        assert_eq!(served.viewer.get(&place).await.json(), told);
        served.manager.post(&format!("{place}:dismiss"), &why).await.problem(409, "conflict");
    }

    async fn a_settlement_that_cannot_be_is_refused_with_every_fault_at_its_place(store: Store) {
        let served = Served::in_store(store).await;
        served.world.van("Van 1").await;
        let result = sent(&served, entry(&served, &[tread("roof", 6.0, "kPa")])).await;
        let place = place_of(&result["held"][0]);
        let take = format!("{place}:take");
        let mut wrong = taking("roof", 6.0);
        wrong["unit"] = json!("kPa");
        let twice = taking("rear_left", 5.0);
        let mut both = taking("front_left", 6.0);
        both["seen"] = json!("bulge");
        let before = served.record().await;
        for (body, places) in [(wrong, vec!["/place"]), (twice, vec!["/place"]), (both, vec![""])] {
            let told = served.manager.post(&take, &body).await;
            told.problem(422, "invalid-content");
            assert_eq!(told.places(), places, "{body}");
        }
        served.technician.post(&take, &taking("front_left", 6.0)).await.problem(403, "not-allowed");
        assert_eq!(served.record().await, before);
    }

    /// Readings and measurements stand in one list, in the order in which they were recorded.
    async fn what_waits_is_listed_page_by_page_each_once(store: Store) {
        let served = Served::in_store(store).await;
        let van = served.world.van("Van 1").await.to_string();
        for day in [10, 13, 16, 19, 22] {
            served.manager.read_odometer(&van, &format!("2027-02-{day}T08:00:00Z"), 20_000 + day * 50).await;
        }
        for number in 0..4 {
            served.world.clock.pass(TimeDelta::minutes(1));
            let mut odd = entry(&served, &[tread("roof", 6.0, "mm"), tread("front_left", 6.0, "kPa")]);
            odd["odometer"] = json!({"value": 9_000 - 1_000 * number, "unit": "km"});
            sent(&served, odd).await;
        }
        let whole = waiting(&served.viewer, 200).await;
        let readings = whole.iter().filter(|entry| entry["measurement"].is_null()).count();
        assert_eq!((whole.len(), readings), (12, 4), "{whole:?}");
        let recorded = |entry: &Value| {
            let one = if entry["measurement"].is_null() { &entry["reading"] } else { &entry["measurement"] };
            (one["recorded_at"].to_string(), one["id"].to_string())
        };
        assert!(whole.is_sorted_by_key(recorded), "{whole:?}");
        for limit in [1, 3, 5] {
            assert_eq!(waiting(&served.viewer, limit).await, whole, "{limit} a page");
        }
    }
}
