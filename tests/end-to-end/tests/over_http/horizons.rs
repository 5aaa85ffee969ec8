//! Everything coming for a vehicle: moments that stay, stages that are read, and the reasons.

use end_to_end::{Request, Served, id_of};
use serde_json::{Value, json};

fn item<'a>(horizon: &'a Value, key: &str) -> &'a Value {
    let items = horizon["items"].as_array().expect("items");
    let found = items.iter().find(|item| item["item"]["key"] == key);
    found.unwrap_or_else(|| panic!("there is no {key} in {horizon}"))
}

/// The horizon without what depends on the instant asked about.
fn moments(horizon: &Value) -> Value {
    let mut horizon = horizon.clone();
    for member in ["as_of", "do_not_drive"] {
        horizon[member].take();
    }
    for explained in horizon["items"].as_array_mut().expect("items") {
        for member in ["stage", "basis", "do_not_drive"] {
            explained["item"][member].take();
        }
    }
    horizon
}

async fn stage_of(served: &Served, van: &str, key: &str, as_of: &str) -> (String, Value) {
    let horizon = served.viewer.horizon_at(van, as_of).await;
    let stage = item(&horizon, key)["item"]["stage"].as_str().expect("a stage").to_owned();
    (stage, moments(&horizon))
}

testkit::on_both_engines! {
    /// 24 calendar months after 31 March 2026 is 31 March 2028. Summer time begins on the last Sunday of March in the
    /// European Union (Directive 2000/84/EC, article 2), the 26th in 2028, so that Irish days begin at 23:00 UTC by then
    /// and at 00:00 UTC before. The rule leads by 14 days and grants 7 days of grace; a date limit holds to its end.
    async fn as_of_moves_the_stage_and_leaves_the_moments_where_they_are(store: Store) {
        let served = Served::in_store(store).await;
        let van = served.world.van("Van 1").await.to_string();
        served.manager.record_service(&van, "2026-03-31", 5000, "brake-fluid").await;
        let first = served.viewer.horizon_at(&van, "2027-03-01T08:00:00Z").await;
        let timeline = &item(&first, "rule:brake-fluid")["item"]["timeline"];
        let at = |name: &str| timeline[name]["at"].as_str().expect("a moment").to_owned();
        assert_eq!(item(&first, "rule:brake-fluid")["item"]["date_limit"], "2028-03-31");
        let expected = ["2028-03-17T00:00:00Z", "2028-03-30T23:00:00Z", "2028-04-07T23:00:00Z"];
        assert_eq!([at("approaching"), at("due"), at("overdue")], expected);
        for (as_of, stage) in [
            ("2027-03-01T08:00:00Z", "clear"),
            ("2028-03-16T23:59:59Z", "clear"),
            ("2028-03-17T00:00:00Z", "approaching"),
            ("2028-03-30T22:59:59Z", "approaching"),
            ("2028-03-30T23:00:00Z", "due"),
            ("2028-04-07T22:59:59Z", "due"),
            ("2028-04-07T23:00:00Z", "overdue"),
            ("2099-01-01T00:00:00Z", "overdue"),
        ] {
            let (found, all) = stage_of(&served, &van, "rule:brake-fluid", as_of).await;
            assert_eq!(found, stage, "{as_of}");
            assert_eq!(all, moments(&first), "{as_of}");
        }
    }

    async fn an_instant_that_is_none_is_refused(store: Store) {
        let served = Served::in_store(store).await;
        let van = served.world.van("Van 1").await;
        for as_of in ["tomorrow", "2027-02-30T00:00:00Z", "2027-03-01", "2027-03-01T08:00:00", ""] {
            let told = served.viewer.get(&format!("/vehicles/{van}/horizon?as_of={as_of}")).await;
            told.problem(422, "invalid-content");
            assert_eq!(told.places(), ["as_of"], "{as_of}");
        }
    }

    async fn every_item_and_window_says_why(store: Store) {
        let served = Served::in_store(store).await;
        let van = served.world.van("Van 1").await.to_string();
        let distance = json!({"value": 60_000, "unit": "km"});
        let window =
            json!({"kind": "warranty", "title": "Powertrain warranty", "months": 36, "distance": distance});
        served.manager.make(&format!("/vehicles/{van}/coverage-windows"), &window).await;
        let paper = json!({"kind": "annual_test", "expires_on": "2027-11-01"});
        served.manager.make(&format!("/vehicles/{van}/papers"), &paper).await;
        served.manager.record_service(&van, "2026-09-01", 12_000, "engine-oil").await;
        for (day, kilometres) in [("05", 20_000), ("12", 21_000), ("19", 22_100), ("26", 23_000)] {
            served.technician.read_odometer(&van, &format!("2027-02-{day}T08:00:00Z"), kilometres).await;
        }
        served
            .technician
            .post_batch(
                &served.batch(&[
                    served.entry("Van 1", &[json!(["tread-depth", "rear_left", "lowest", 2.0, "mm"])])
                ]),
            )
            .await;

        let horizon = served.viewer.horizon_at(&van, "2027-03-01T08:00:00Z").await;

        let items = horizon["items"].as_array().expect("items");
        assert!(items.len() >= 4, "{horizon}");
        for explained in items.iter().chain(horizon["windows"].as_array().expect("windows")) {
            let because = explained["because"].as_array().expect("reasons");
            assert!(!because.is_empty(), "{explained}");
            assert!(
                because.iter().all(|step| {
                    step["says"].as_str().is_some_and(|says| says.len() > 8)
                        && step["kind"].as_str().is_some_and(|kind| !kind.is_empty())
                }),
                "{explained}"
            );
        }
        let oil = item(&horizon, "rule:engine-oil");
        let why = oil["because"].to_string();
        assert!(why.contains("12,000 km") && why.contains("20,000 km"), "{why}");
        assert_eq!(oil["item"]["odometer_limit"], json!({"value": 32_000, "unit": "km"}));
        assert_eq!(oil["item"]["date_limit"], "2027-09-01");
        assert_eq!(horizon["windows"][0]["window"]["last_day"], "2028-12-31");
        assert_eq!(horizon["grades"][0]["grade"], "attend", "{horizon}");
    }

    /// The law asks for 1.6 mm in the European Union (Directive 89/459/EEC, article 1).
    async fn a_tyre_forbids_driving_below_the_limit_of_the_law_of_its_depot(store: Store) {
        let served = Served::in_store(store).await;
        let van = served.world.van("Van 1").await.to_string();
        for (depth, forbidden) in [(1.7, false), (1.6, false), (1.5, true)] {
            let entry = served.entry("Van 1", &[json!(["tread-depth", "front_left", "lowest", depth, "mm"])]);
            served.technician.post_batch(&served.batch(&[entry])).await;
            let horizon = served.viewer.horizon_at(&van, "2027-03-01T08:00:00Z").await;
            assert_eq!(horizon["do_not_drive"], forbidden, "{depth} mm: {horizon}");
            served.world.clock.pass(chrono::TimeDelta::minutes(1));
        }
    }

    async fn a_held_reading_that_is_released_moves_what_is_due(store: Store) {
        let served = Served::in_store(store).await;
        let van = served.world.van("Van 1").await.to_string();
        served.manager.record_service(&van, "2027-01-15", 20_000, "engine-oil").await;
        served.technician.read_odometer(&van, "2027-02-10T08:00:00Z", 21_000).await;
        let jump = served.technician.read_odometer(&van, "2027-02-24T08:00:00Z", 121_000).await;
        assert_eq!(jump["judgement"]["verdict"], "held", "{jump}");
        let now = "2027-03-01T08:00:00Z";
        let before = served.viewer.horizon_at(&van, now).await;
        assert_eq!(before["held"][0]["reading"]["id"], jump["id"]);
        assert_eq!(served.viewer.list("/held-entries").await[0]["reading"]["id"], jump["id"]);

        let place = format!("/vehicles/{van}/odometer-readings/{}", id_of(&jump));
        let release = json!({"reason": "Checked on the dash: a long tour."});
        let told = served.manager.post(&format!("{place}:release"), &release).await.with_status(200).json();

        assert_eq!((&told["kind"], &told["judgement"]["verdict"]), (&json!("release"), &json!("counted")));
        let after = served.viewer.horizon_at(&van, now).await;
        let due = |horizon: &Value| {
            item(horizon, "rule:engine-oil")["item"]["timeline"]["due"]["at"]
                .as_str()
                .expect("a moment")
                .to_owned()
        };
        assert!(due(&after) < due(&before), "{} is not before {}", due(&after), due(&before));
        let held = served.viewer.list("/held-entries").await;
        assert!(held.iter().all(|entry| entry["reading"]["id"] != jump["id"]), "{held:?}");
        assert_eq!(served.viewer.get(&place).await.json()["judgement"]["verdict"], "counted");
    }

    async fn a_reading_in_which_a_digit_slipped_is_held_and_corrected_with_the_value_suggested(store: Store) {
        let served = Served::in_store(store).await;
        let van = served.world.van("Van 1").await.to_string();
        for (day, kilometres) in [("03", 20_000), ("10", 20_600), ("17", 21_200)] {
            served.technician.read_odometer(&van, &format!("2027-02-{day}T08:00:00Z"), kilometres).await;
        }
        let slipped = served.technician.read_odometer(&van, "2027-02-24T08:00:00Z", 218_000).await;
        let suggested = &slipped["judgement"]["suggested"];
        assert_eq!(
            (&slipped["judgement"]["verdict"], suggested),
            (&json!("held"), &json!({"value": 21_800, "unit": "km"}))
        );
        let now = "2027-03-01T08:00:00Z";
        assert_eq!(served.viewer.horizon_at(&van, now).await["usage"]["odometer"]["value"], 21_200);

        let place = format!("/vehicles/{van}/odometer-readings/{}", id_of(&slipped));
        let correction = json!({"value": suggested, "reason": "One nought too many."});
        let told =
            served.manager.post(&format!("{place}:correct"), &correction).await.with_status(200).json();

        assert_eq!(
            (&told["judgement"]["verdict"], &told["judgement"]["odometer"]),
            (&json!("counted"), suggested)
        );
        assert_eq!(served.viewer.horizon_at(&van, now).await["usage"]["odometer"]["value"], 21_800);
        let kept = served.viewer.get(&place).await.json();
        assert_eq!(kept["entered"]["value"], 218_000, "what was entered stays: {kept}");
        let refused = served.technician.post(&format!("{place}:withdraw"), &json!({"reason": "Mine."})).await;
        refused.problem(403, "not-allowed");
    }

    async fn a_service_that_is_withdrawn_puts_everything_back_as_it_was(store: Store) {
        let served = Served::in_store(store).await;
        let van = served.world.van("Van 1").await.to_string();
        served.technician.read_odometer(&van, "2027-02-10T08:00:00Z", 21_000).await;
        let (now, key) = ("2027-03-01T08:00:00Z", "rule:engine-oil");
        let before = served.viewer.horizon_at(&van, now).await;
        assert_eq!(item(&before, key)["item"]["stage"], "overdue");
        let service = served.manager.record_service(&van, "2027-02-15", 21_400, "engine-oil").await;
        let serviced = served.viewer.horizon_at(&van, now).await;
        assert_eq!(item(&serviced, key)["item"]["date_limit"], "2028-02-15");
        let place =
            served.manager.at(&format!("/vehicles/{van}/service-records/{}:withdraw", id_of(&service)));
        let withdraw = Request::new("POST", &place).under_new_key().with("If-Match", "\"1\"");
        served.manager.send(withdraw).await.has_status(204);
        assert_eq!(served.viewer.horizon_at(&van, now).await, before);
    }
}
