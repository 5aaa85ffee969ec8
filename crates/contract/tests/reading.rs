//! Requests are read with every fault found, each with its place.

use contract::*;
use serde_json::{Value, json};

fn faults_of<T: Written>(body: &Value) -> Vec<(String, String)> {
    match Reader::strictly::<T>(body) {
        Ok(_) => Vec::new(),
        Err(faults) => faults.into_iter().map(|fault| (fault.pointer, fault.code)).collect(),
    }
}

fn places(faults: &[(&str, &str)]) -> Vec<(String, String)> {
    faults.iter().map(|(pointer, code)| ((*pointer).to_owned(), (*code).to_owned())).collect()
}

/// Every type a client writes.
macro_rules! for_each_written {
    ($check:ident) => {
        $check!(
            NewDepot,
            DepotChange,
            NewPerson,
            PersonChange,
            NewWorkshop,
            WorkshopChange,
            NewAccessKey,
            NewVehicle,
            VehicleChange,
            Retirement,
            NewOdometerReading,
            Release,
            Correction,
            ReadingWithdrawal,
            NewServiceRecord,
            NewPaper,
            NewCoverageWindow,
            NewRuleOverride,
            NewBaselineAnswers,
            NewFitting,
            FittingEnd,
            NewComponent,
            InspectionBatch,
            InspectionEntry,
            NewRulebook,
            RulebookRevision,
            NewCheckSheet,
            FindingClosure,
            NewIntervalRule,
            NewStay,
            StayEnd,
            NewMeterReplacement,
            NewHourReading,
            HourCorrection,
            NewIndicatorReading,
            NewMeasurementAnswer
        )
    };
}

#[test]
fn the_example_of_every_written_type_is_free_of_faults() {
    macro_rules! check {
        ($($type:ty),+) => { $({
            let faults = faults_of::<$type>(&<$type as Shape>::example());
            // Those that take one of two show both in their example.
            let allowed: &[&str] = &["one-of-two", "one-of-three"];
            let left: Vec<_> = faults.iter().filter(|(_, code)| !allowed.contains(&code.as_str())).collect();
            assert!(left.is_empty(), "{}: {left:?}", stringify!($type));
        })+ };
    }
    for_each_written!(check);
}

#[test]
fn a_member_the_server_owns_is_refused_by_name_in_every_written_type() {
    let owned = ["id", "recorded_at", "recorded_by", "grade", "judgement", "version", "sequence", "fleet"];
    macro_rules! check {
        ($($type:ty),+) => { $(
            for name in owned {
                let mut body = <$type as Shape>::example();
                body[name] = json!("x");
                let refused = (format!("/{name}"), "unknown-member".to_owned());
                assert!(faults_of::<$type>(&body).contains(&refused), "{} takes {name}", stringify!($type));
            }
        )+ };
    }
    for_each_written!(check);
}

#[test]
fn all_faults_of_a_body_are_found_at_once_with_their_places() {
    let body = json!({
        "vin": "G0011A2B3C4D0001I", "make": " ", "model": "x\u{7}", "powertrain": "steam", "model_year": 2024.5,
        "odometer_unit": "mm", "duty": "delivery", "label": "N-07", "colour": "red",
        "placard": {"front": {"value": -1, "unit": "kPa"}, "rear": {"value": 240, "unit": "km"}},
        "tags": ["a", 7], "operating_weekdays": [], "in_service_on": "2024-02-30",
    });
    let expected = [
        ("/colour", "unknown-member"),
        ("/vin", "no-vin"),
        ("/make", "empty"),
        ("/model", "control-character"),
        ("/model_year", "out-of-range"),
        ("/powertrain", "not-one-of"),
        ("/tags/1", "wrong-type"),
        ("/in_service_on", "no-date"),
        ("/odometer_unit", "not-one-of"),
        ("/placard/front/value", "out-of-range"),
        ("/placard/rear/unit", "not-one-of"),
        ("/depot", "required"),
        ("/operating_weekdays", "wrong-length"),
    ];
    assert_eq!(faults_of::<NewVehicle>(&body), places(&expected));
}

#[test]
fn a_pointer_escapes_what_rfc_6901_says_it_must() {
    let body = json!({"name": "a", "zone": "Europe/Vienna", "jurisdiction": "eu", "a/b~c": 1});
    assert_eq!(faults_of::<NewDepot>(&body), places(&[("/a~1b~0c", "unknown-member")]));
}

/// JSON Schema (2020-12, section 4.2.3): a number with a zero fractional part is an integer.
#[test]
fn a_whole_number_may_be_written_with_a_decimal_point() {
    let whole = |lead_days: Value| {
        faults_of::<NewWorkshop>(&json!({"name": "a", "kind": "dealer", "lead_days": lead_days}))
    };
    assert_eq!(whole(json!(5.0)), []);
    assert_eq!(whole(json!(5.5)), places(&[("/lead_days", "out-of-range")]));
    assert_eq!(whole(json!(366)), places(&[("/lead_days", "out-of-range")]));
    assert_eq!(whole(json!("5")), places(&[("/lead_days", "wrong-type")]));
}

/// RFC 7396: what is left out stays, null takes away.
#[test]
fn a_merge_patch_tells_what_is_left_out_from_what_is_taken_away() {
    let read = |body: Value| Reader::strictly::<PersonChange>(&body).expect("no fault");
    assert_eq!(read(json!({})).email, Change::Keep);
    assert_eq!(read(json!({"email": null})).email, Change::To(None));
    assert_eq!(
        read(json!({"email": "ann@fleet.example"})).email,
        Change::To(Some(EmailAddress("ann@fleet.example".to_owned())))
    );
    assert_eq!(faults_of::<PersonChange>(&json!({"name": null})), places(&[("/name", "wrong-type")]));
}

#[test]
fn dates_and_instants_outside_the_calendar_or_of_another_form_are_refused() {
    let paper = |day: &str| faults_of::<NewPaper>(&json!({"kind": "insurance", "expires_on": day}));
    for good in ["1900-01-01", "2200-12-31", "2028-02-29"] {
        assert_eq!(paper(good), [], "{good}");
    }
    for bad in [
        "1899-12-31",
        "2201-01-01",
        "2027-02-29",
        "2027-1-1",
        "27-01-01",
        "+2027-01-01",
        "2027-01-01T00:00:00Z",
        "",
    ] {
        assert_eq!(paper(bad), places(&[("/expires_on", "no-date")]), "{bad}");
    }
}

/// RFC 3339 section 5.6 with the examples of 5.8.
#[test]
fn instants_are_read_as_rfc_3339_and_kept_in_utc_to_the_microsecond() {
    let read = |at: &str| {
        let body = json!({"value": {"value": 1, "unit": "km"}, "read_at": at, "source": "driver"});
        Reader::strictly::<NewOdometerReading>(&body).map(|reading| reading.read_at.to_rfc3339()).ok()
    };
    assert_eq!(read("1985-04-12T23:20:50.52Z").as_deref(), Some("1985-04-12T23:20:50.520+00:00"));
    assert_eq!(read("1996-12-19T16:39:57-08:00").as_deref(), Some("1996-12-20T00:39:57+00:00"));
    assert_eq!(read("1990-12-31T23:59:60Z").as_deref(), Some("1991-01-01T00:00:00+00:00"));
    assert_eq!(read("2026-11-02T08:15:00.123456789Z").as_deref(), Some("2026-11-02T08:15:00.123456+00:00"));
    assert_eq!(read("2026-11-02"), None);
    assert_eq!(read("2026-11-02T08:15:00"), None);
}

#[test]
fn a_batch_is_read_leniently_and_its_entries_one_by_one() {
    let mut body = InspectionBatch::example();
    body["sent_by"] = json!("new phone");
    let (batch, unknown) = Reader::leniently::<InspectionBatch>(&body);
    assert_eq!(unknown, ["/sent_by"]);
    let mut entry = batch.expect("no fault").entries.0.remove(0).0;
    entry["findings"][0]["mood"] = json!(1);
    let (entry, unknown) = Reader::leniently::<InspectionEntry>(&entry);
    assert_eq!(unknown, ["/findings/0/mood"]);
    assert_eq!(entry.expect("no fault").measurements.0.len(), 1);
}

#[test]
fn what_must_be_one_of_several_is_refused_when_it_is_none_or_two() {
    let rule = |body: Value| faults_of::<NewRuleOverride>(&body);
    assert_eq!(rule(json!({"rule": "engine-oil", "reason": "a"})), places(&[("", "one-of-two")]));
    assert_eq!(rule(json!({"rule": "engine-oil", "reason": "a", "does_not_apply": true})), []);
    let both = json!({"rule": "engine-oil", "reason": "a", "does_not_apply": true, "every": {"days": 5}});
    assert_eq!(rule(both), places(&[("", "one-of-two")]));
    let nothing = json!({"answers": [{"rule": "engine-oil"}]});
    assert_eq!(faults_of::<NewBaselineAnswers>(&nothing), places(&[("/answers/0", "one-of-three")]));
}

/// A rule that says `more` beside its code and title.
fn rule_saying(more: &Value) -> Value {
    let mut rule = json!({"code": "pads", "title": "Pads"});
    let members = more.as_object().expect("members");
    rule.as_object_mut().expect("an object").extend(members.clone());
    rule
}

#[test]
fn a_rule_has_exactly_one_trigger_of_five() {
    let triggers = [
        json!({"every": {"engine_hours": {"value": 500, "unit": "h"}}}),
        json!({"season": {"from": "10-01", "to": "02-29"}}),
        json!({"calendar": {"cron": "0 7 1 */2 MON"}}),
        json!({"when": {"grade": {"point": "pad-thickness", "at_least": "attend"}}}),
        json!({"when": {"limit": {"component": "tyre", "within": {"days": 30}}}}),
        json!({"expiry": {"paper": "annual_test"}}),
    ];
    for trigger in &triggers {
        assert_eq!(faults_of::<NewIntervalRule>(&rule_saying(trigger)), [], "{trigger}");
    }
    assert_eq!(faults_of::<NewIntervalRule>(&rule_saying(&json!({}))), places(&[("", "one-trigger")]));
    let two = json!({"season": {"from": "10-01", "to": "11-30"}, "every": {"months": 12}});
    assert_eq!(faults_of::<NewIntervalRule>(&rule_saying(&two)), places(&[("", "one-trigger")]));
}

#[test]
fn what_a_trigger_cannot_be_is_refused_at_its_place() {
    let cases = [
        (json!({"every": {}}), ("/every", "no-interval")),
        (
            json!({"every": {"engine_hours": {"value": 5, "unit": "km"}}}),
            ("/every/engine_hours/unit", "not-one-of"),
        ),
        (json!({"season": {"from": "10-1", "to": "11-30"}}), ("/season/from", "no-day")),
        (json!({"season": {"from": "10-01", "to": "02-30"}}), ("/season/to", "no-day")),
        (json!({"calendar": {"cron": "0 7 1 *"}}), ("/calendar/cron", "wrong-form")),
        (json!({"when": {}}), ("/when", "one-of-three")),
        (json!({"when": {"limit": {"component": "tyre", "within": {}}}}), ("/when/limit/within", "no-limit")),
        (json!({"when": {"work": {"of": ["tyre-check"], "within": {}}}}), ("/when/work/within", "no-limit")),
        (json!({"when": {"work": {"of": [], "within": {"days": 1}}}}), ("/when/work/of", "wrong-length")),
        (json!({"every": {"months": 12}, "first": {}}), ("/first", "no-interval")),
        (json!({"every": {"months": 12}, "anchor": "moon"}), ("/anchor", "not-one-of")),
    ];
    for (trigger, fault) in cases {
        assert_eq!(faults_of::<NewIntervalRule>(&rule_saying(&trigger)), places(&[fault]), "{trigger}");
    }
}

#[test]
fn a_rule_is_told_as_it_was_written() {
    let written = json!({
        "code": "pads", "title": "Pads", "season": {"from": "10-01", "to": "02-29"}, "lead": {"days": 30},
        "authority": "House practice, no source",
    });
    let rule = Reader::strictly::<NewIntervalRule>(&written).expect("no fault").rule().expect("a rule");
    let told = serde_json::to_value(IntervalRule::from(rule)).expect("plain data");
    assert_eq!(told["season"], json!({"from": "10-01", "to": "02-29"}));
    assert_eq!(
        (&told["anchor"], &told["indicator"], &told["first"]),
        (&json!("last_done"), &json!(false), &json!(null))
    );
    for other in ["every", "calendar", "when", "expiry"] {
        assert_eq!(told[other], json!(null), "{other}");
    }
}

#[test]
fn clauses_of_cover_that_say_nothing_are_refused() {
    let mut window = NewCoverageWindow::example();
    window["reduced_if"] = json!([{"when": "commercial_use"}]);
    window["pro_rata"] = json!([{"credit_percent": 50}, {"months": 24, "credit_percent": 101}]);
    window["excess"] = json!({"per": {"value": 1, "unit": "km"}, "minor": 0, "currency": "EUR"});
    let expected = [
        ("/reduced_if/0", "no-limit"),
        ("/pro_rata/0", "no-limit"),
        ("/pro_rata/1/credit_percent", "out-of-range"),
        ("/excess/minor", "out-of-range"),
    ];
    assert_eq!(faults_of::<NewCoverageWindow>(&window), places(&expected));
}

#[test]
fn what_meters_and_stays_cannot_say_is_refused_at_its_place() {
    let mut meter = NewMeterReplacement::example();
    meter["quantity"] = json!("hours");
    let units = [("/old_shows/unit", "not-one-of"), ("/new_shows/unit", "not-one-of")];
    assert_eq!(faults_of::<NewMeterReplacement>(&meter), places(&units));
    let mut dash = NewIndicatorReading::example();
    for left in [json!({}), json!({"percent": 5, "days": 3})] {
        dash["left"] = left;
        assert_eq!(faults_of::<NewIndicatorReading>(&dash), places(&[("/left", "one-of-three")]));
    }
    let mut stay = NewStay::example();
    stay["out_at"] = stay["in_at"].clone();
    assert_eq!(faults_of::<NewStay>(&stay), places(&[("/out_at", "order")]));
    let moved = |body: Value| faults_of::<NewMeasurementAnswer>(&body);
    assert_eq!(moved(json!({"answer": "moved"})), places(&[("/from", "not-with-answer")]));
    assert_eq!(moved(json!({"answer": "new", "from": "rear_left"})), places(&[("/from", "not-with-answer")]));
    assert_eq!(moved(json!({"answer": "moved", "from": "rear_left"})), []);
}

#[test]
fn a_body_of_endless_faults_gets_a_list_that_ends() {
    let body: serde_json::Map<String, Value> = (0..5000).map(|n| (format!("m{n}"), json!(1))).collect();
    let faults = faults_of::<NewDepot>(&Value::Object(body));
    assert_eq!(faults.len(), 200);
    assert_eq!(faults.last().map(|fault| fault.1.as_str()), Some("too-many-faults"));
}

#[test]
fn an_answer_shows_whole_numbers_without_decimals() {
    let shown = |value: f64| {
        let quantity = Quantity::from(quantity::Entered::new(value, quantity::Unit::Kilometre));
        serde_json::to_string(&quantity).expect("plain data")
    };
    assert_eq!(shown(48_210.0), r#"{"value":48210,"unit":"km"}"#);
    assert_eq!(shown(0.1 + 0.2), r#"{"value":0.3,"unit":"km"}"#);
}
