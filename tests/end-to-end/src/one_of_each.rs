//! One thing of every kind that an address can name.

use crate::caller::{id_of, items};
use crate::{Caller, Served};
use chrono::TimeDelta;
use serde_json::{Value, json};
use std::collections::BTreeMap;

/// The id of nothing at all.
pub const UNKNOWN: &str = "01936f0a-0000-7000-8000-000000000000";

/// Ids of things by the name that addresses have for their kind.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct OneOfEach(BTreeMap<String, String>);

impl OneOfEach {
    /// The id of the thing of this kind.
    ///
    /// # Panics
    /// When there is none: a new kind of address has no thing behind it yet.
    pub fn id(&self, kind: &str) -> &str {
        self.0.get(kind).unwrap_or_else(|| panic!("there is no {kind} among one of each"))
    }

    /// The same things, but for one of another kind or fleet.
    #[must_use]
    pub fn with(&self, kind: &str, id: &str) -> Self {
        let mut all = self.0.clone();
        all.insert(kind.to_owned(), id.to_owned());
        Self(all)
    }

    /// As many names of nothing.
    #[must_use]
    pub fn that_never_were(&self) -> Self {
        let nothing = |kind: &String| if kind == "check_sheet" { "no-such-sheet" } else { UNKNOWN };
        Self(self.0.keys().map(|kind| (kind.clone(), nothing(kind).to_owned())).collect())
    }

    /// Makes one thing of each kind in the caller's fleet.
    ///
    /// # Panics
    /// When something is refused.
    pub async fn made(served: &Served, caller: &Caller, name: &str) -> Self {
        let mut all = Self([("fleet".to_owned(), caller.fleet.to_string())].into());
        all.make_places(caller, name).await;
        all.make_vehicle_records(caller).await;
        all.make_inspection(served, caller, name).await;
        all.make_letter(served, caller).await;
        all
    }

    fn keep(&mut self, kind: &str, made: &Value) {
        self.0.insert(kind.to_owned(), id_of(made));
    }

    async fn make_places(&mut self, caller: &Caller, name: &str) {
        let depot = json!({"name": "North yard", "zone": "Europe/Dublin", "jurisdiction": "eu"});
        self.keep("depot", &caller.make("/depots", &depot).await);
        let workshop = json!({"name": "Quayside Motors", "kind": "dealer", "lead_days": 5});
        self.keep("workshop", &caller.make("/workshops", &workshop).await);
        let email = format!("{name}@fleet.example");
        let person =
            json!({"role": "manager", "name": "Ann Holler", "zone": "Europe/Dublin", "email": email});
        self.keep("person", &caller.make("/people", &person).await);
        let key = json!({"kind": "device", "label": "Phone", "scopes": ["measure"]});
        self.keep("access_key", &caller.make("/access-keys", &key).await["key"]);
        let rule = json!({
            "code": "engine-oil", "title": "Engine oil and filter", "every": {"months": 12}, "indicator": true,
        });
        let book = json!({"title": "Vans", "rules": [rule]});
        self.keep("rulebook", &caller.make("/rulebooks", &book).await);
        let code = format!("walk-of-{name}");
        let point = json!({"point": "tread-depth", "how": "In the main grooves."});
        caller.make("/check-sheets", &json!({"code": code, "title": "Walk", "points": [point]})).await;
        self.0.insert("check_sheet".to_owned(), code);
        let component = json!({"kind": "tyre", "product": "Gripwell Van 205/65 R16"});
        self.keep("component", &caller.make("/components", &component).await);
    }

    async fn make_vehicle_records(&mut self, caller: &Caller) {
        let van = caller.register_van("Van of each", self.id("depot"), self.id("rulebook")).await;
        let of_van = |rest: &str| format!("/vehicles/{van}{rest}");
        self.keep("reading", &caller.read_odometer(&van, "2027-02-20T08:00:00Z", 20_000).await);
        self.keep("service_record", &caller.record_service(&van, "2027-02-01", 19_000, "engine-oil").await);
        let dash = json!({
            "rule": "engine-oil", "left": {"percent": 40}, "read_at": "2027-02-20T08:00:00Z", "source": "driver",
        });
        self.keep("indicator_reading", &caller.make(&of_van("/indicator-readings"), &dash).await);
        let hours = json!({"value": {"value": 900, "unit": "h"}, "read_at": "2027-02-20T08:00:00Z", "source": "driver"});
        self.keep("hour_reading", &caller.make(&of_van("/hour-readings"), &hours).await);
        let meter = json!({
            "quantity": "hours", "replaced_at": "2027-02-25T08:00:00Z", "old_shows": {"value": 905, "unit": "h"},
            "new_shows": {"value": 0, "unit": "h"}, "reason": "Dark after rain.",
        });
        self.keep("meter_replacement", &caller.make(&of_van("/meter-replacements"), &meter).await);
        let stay = json!({
            "in_at": "2027-02-10T08:00:00Z", "out_at": "2027-02-11T08:00:00Z", "reason": "Gearbox.",
            "workshop": self.id("workshop"),
        });
        self.keep("stay", &caller.make(&of_van("/stays"), &stay).await);
        let paper = json!({"kind": "annual_test", "expires_on": "2027-11-01"});
        self.keep("paper", &caller.make(&of_van("/papers"), &paper).await);
        let window = json!({"kind": "warranty", "title": "Powertrain warranty", "months": 60});
        self.keep("coverage_window", &caller.make(&of_van("/coverage-windows"), &window).await);
        let exception = json!({"rule": "engine-oil", "every": {"months": 6}, "reason": "Short trips."});
        self.keep("rule_override", &caller.make(&of_van("/rule-overrides"), &exception).await);
        let answer = json!({"answers": [{"rule": "engine-oil", "do_now": "2027-02-20"}]});
        let answers = caller.make(&of_van("/baseline-answers"), &answer).await;
        self.keep("baseline_answer", &answers["answers"][0]);
        let fitting = json!({
            "component": self.id("component"), "place": "front_left", "from": "2027-02-01",
            "odometer": {"value": 19_000, "unit": "km"},
        });
        self.keep("fitting", &caller.make(&of_van("/fittings"), &fitting).await);
        self.0.insert("vehicle".to_owned(), van);
    }

    async fn make_inspection(&mut self, served: &Served, caller: &Caller, name: &str) {
        let bald = json!(["tread-depth", "front_left", "lowest", 1.0, "mm"]);
        let shoe = json!(["shoe-size", "front_left", "lowest", 42, "mm"]);
        let mut entry = served.entry("Van of each", &[bald, shoe]);
        entry["check_sheet"] = json!({"code": format!("walk-of-{name}")});
        entry["findings"] = json!([{"code": "suspension-noise", "weight": "attend", "note": "Knocks."}]);
        let batch = served.batch(std::slice::from_ref(&entry));
        let results = caller.post_batch(&batch).await;
        assert_eq!(results[0]["outcome"], "held", "{results:?}");
        let text = |value: &Value| value.as_str().expect("an id").to_owned();
        self.0.insert("inspection_batch".to_owned(), text(&batch["batch_id"]));
        self.0.insert("inspection".to_owned(), text(&results[0]["inspection"]));
        self.0.insert("measurement".to_owned(), text(&results[0]["grades"][0]["measurement"]));
        self.0.insert("held_measurement".to_owned(), text(&results[0]["held"][0]["held_measurement"]));
        self.keep("finding", &caller.list("/findings").await[0]);
    }

    async fn make_letter(&mut self, served: &Served, caller: &Caller) {
        served.tick().await;
        let letters = items(&caller.get("/letters").await.with_status(200));
        self.keep("letter", letters.first().expect("a letter about the bald tyre"));
        let notices = items(&caller.get("/notices").await.with_status(200));
        self.keep("notice", notices.first().expect("a notice of the bald tyre"));
        served.world.clock.pass(TimeDelta::seconds(1));
    }
}
