//! What vehicles are called: VIN, label and plate.

use end_to_end::{Request, Served, id_of, van};
use serde_json::json;

/// The character that 49 CFR 565.15(c) wants in the ninth place of a VIN: the values
/// of letters and the weights of places from memory.
fn check_digit(vin: &str) -> char {
    const WEIGHTS: [u32; 17] = [8, 7, 6, 5, 4, 3, 2, 10, 0, 9, 8, 7, 6, 5, 4, 3, 2];
    let value = |c: char| match c {
        'A' | 'J' => 1,
        'B' | 'K' | 'S' => 2,
        'C' | 'L' | 'T' => 3,
        'D' | 'M' | 'U' => 4,
        'E' | 'N' | 'V' => 5,
        'F' | 'W' => 6,
        'G' | 'P' | 'X' => 7,
        'H' | 'Y' => 8,
        'R' | 'Z' => 9,
        digit => digit.to_digit(10).expect("a digit"),
    };
    let sum: u32 = vin.chars().zip(WEIGHTS).map(|(c, weight)| value(c) * weight).sum();
    char::from_digit(sum % 11, 10).unwrap_or('X')
}

testkit::on_both_engines! {
    /// ISO 3779 leaves I, O and Q out of a VIN; the check digit of 49 CFR 565.15 is wanted under the law of the US alone.
    async fn a_vin_that_cannot_be_one_is_refused_with_the_reason(store: Store) {
        let served = Served::in_store(store).await;
        let yard = json!({"name": "Dockside", "zone": "America/New_York", "jurisdiction": "us"});
        let us = id_of(&served.manager.make("/depots", &yard).await);
        let register = |vin: &str, depot: &str| {
            let mut new = van(&format!("{vin} {}", &depot[..8]), depot);
            new["vin"] = json!(vin);
            let manager = served.manager.clone();
            async move { manager.post("/vehicles", &new).await }
        };
        let eu = served.world.depot.to_string();
        for vin in ["G0011A2B3C4D0001O", "G0011A2B3C4D0001", "G0011A2B3C4D000177", "G0011A2B3C4D0001!"] {
            let told = register(vin, &eu).await;
            told.problem(422, "invalid-content");
            assert_eq!(told.places(), ["/vin"], "{vin}");
        }
        let digit = check_digit("G0011A2B0C4D00017");
        for at_ninth in "0123456789X".chars() {
            let vin = format!("G0011A2B{at_ninth}C4D00017");
            let told = register(&vin, &us).await;
            if at_ninth == digit {
                told.has_status(201);
            } else {
                told.problem(422, "invalid-content");
                assert_eq!(told.places(), ["/vin"], "{vin}: {}", told.text());
            }
        }
        let other = if digit == '1' { '2' } else { '1' };
        register(&format!("G0011A2B{other}C4D00017"), &eu).await.has_status(201);
    }

    async fn a_name_that_another_vehicle_bears_is_a_conflict_that_says_which(store: Store) {
        let served = Served::in_store(store).await;
        let names = [("label", "N-07"), ("plate", "HB 7 OST"), ("vin", "G0011A2B3C4D00017")];
        let mut first = van("N-07", served.world.depot);
        for (member, name) in names {
            first[member] = json!(name);
        }
        served.manager.make("/vehicles", &first).await;
        for (member, name) in names {
            let mut other = van("N-08", served.world.depot);
            other[member] = json!(name);
            let problem = served.manager.post("/vehicles", &other).await.problem(409, "conflict");
            assert!(
                problem["detail"].as_str().is_some_and(|detail| detail.contains(name)),
                "{member}: {problem}"
            );
        }
    }

    /// Told as anything else, a client would send it again and again.
    async fn the_vin_of_a_vehicle_that_left_the_fleet_is_a_conflict_too(store: Store) {
        let served = Served::in_store(store).await;
        let mut first = van("N-07", served.world.depot);
        first["vin"] = json!("G0011A2B3C4D00017");
        let id = id_of(&served.manager.make("/vehicles", &first).await);
        let retire = Request::post(
            &served.manager.at(&format!("/vehicles/{id}:retire")),
            &json!({"on": "2027-03-01"}),
        );
        served.manager.send(retire.with("If-Match", "\"1\"")).await.has_status(200);
        served.world.clock.pass(chrono::TimeDelta::days(2));
        let mut again = first.clone();
        again["label"] = json!("N-08");
        served.manager.post("/vehicles", &again).await.problem(409, "conflict");
    }

    async fn of_two_who_give_one_label_at_once_at_two_replicas_one_is_refused(store: Store) {
        let served = Served::in_store(store).await;
        let there = served.at_another_replica(&served.chief);
        for round in 0..20 {
            let new = van(&format!("N-{round}"), served.world.depot);
            let (told, also) =
                tokio::join!(served.manager.post("/vehicles", &new), there.post("/vehicles", &new));
            let refused = if told.status == 201 { &also } else { &told };
            refused.problem(409, "conflict");
            assert_eq!(told.status + also.status, 201 + 409, "round {round}");
        }
    }
}
