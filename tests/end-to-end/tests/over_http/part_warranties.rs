//! The warranty of a replaced part over HTTP.

use end_to_end::{Request, Served, id_of};
use serde_json::{Value, json};

fn km(kilometres: u32) -> Value {
    json!({"value": kilometres, "unit": "km"})
}

testkit::on_both_engines! {
    async fn a_replaced_parts_warranty_opens_with_the_record_and_goes_with_it(store: Store) {
        let served = Served::in_store(store).await;
        let van = served.world.van("Van 1").await.to_string();
        let warranty = json!({"component": "alternator", "months": 24, "distance": km(40_000)});
        let record = json!({
            "done_on": "2027-02-01", "odometer": km(20_000), "parts": [{"name": "Alternator", "warranty": warranty}],
        });

        let made = served.manager.make(&format!("/vehicles/{van}/service-records"), &record).await;

        let window = &made["coverage_windows"][0];
        assert_eq!((&window["opened_by"], &window["scope"]), (&made["id"], &json!(["alternator"])));
        let outlook = served.viewer.list("/coverage-windows?stage=in_force").await.remove(0);
        assert_eq!((&outlook["window"], &outlook["title"]), (&window["id"], &json!("Replaced part: Alternator")));
        assert_eq!((&outlook["starts_on"], &outlook["odometer_limit"]), (&json!("2027-02-01"), &km(60_000)));
        let horizon = served.viewer.horizon_at(&van, "2027-03-01T08:00:00Z").await;
        assert_eq!(horizon["windows"][0]["window"]["last_day"], json!("2029-01-31"), "{horizon}");

        let withdraw = served.manager.at(&format!("/vehicles/{van}/service-records/{}:withdraw", id_of(&made)));
        let withdraw = Request::new("POST", &withdraw).under_new_key().with("If-Match", "\"1\"");
        served.manager.send(withdraw).await.has_status(204);
        assert_eq!(served.viewer.list("/coverage-windows").await, Vec::<Value>::new());
        assert_eq!(served.viewer.list(&format!("/vehicles/{van}/coverage-windows")).await, Vec::<Value>::new());
    }
}
