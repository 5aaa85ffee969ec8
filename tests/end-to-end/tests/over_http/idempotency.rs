//! A request can be sent again without harm.

use chrono::TimeDelta;
use end_to_end::{Answer, Caller, Request, Served, id_of, van};
use serde_json::{Value, json};

fn depot(name: &str) -> Value {
    json!({"name": name, "zone": "Europe/Dublin", "jurisdiction": "eu"})
}

fn asked(caller: &Caller, name: &str, key: &str) -> Request {
    Request::post(&caller.at("/depots"), &depot(name)).under_key(key)
}

/// How many depots there are of this name.
async fn depots(caller: &Caller, name: &str) -> usize {
    let all = caller.list("/depots?limit=200").await;
    all.iter().filter(|depot| depot["name"] == name).count()
}

fn is_replayed(answer: &Answer) -> bool {
    answer.header("idempotency-replayed") == "true"
}

/// Sends a request until it is done, as a phone does that is told to wait.
async fn sent_until_done(caller: &Caller, request: &Request) -> Answer {
    for _ in 0..200 {
        let told = caller.send(request.clone()).await;
        if told.status != 409 {
            return told;
        }
        told.problem(409, "still-running");
        assert!(told.header("retry-after").parse::<u32>().is_ok(), "{told:?}");
    }
    panic!("the same request is still running after 200 tries");
}

const KEY: &str = "01936f0a-7c3e-7d52-9b1f-3c5d8e2a4b60";

testkit::on_both_engines! {
    async fn a_request_that_acts_needs_a_key_of_the_right_form(store: Store) {
        let served = Served::in_store(store).await;
        let before = served.record().await;
        let request = asked(&served.manager, "North yard", KEY);
        let missing = served.manager.send(request.clone().without("Idempotency-Key")).await;
        missing.problem(400, "idempotency-key-missing");
        for key in ["", "short", &"k".repeat(15), &"k".repeat(65), "sixteen letters with blanks"] {
            let told = served.manager.send(request.clone().under_key(key)).await;
            told.problem(400, "malformed-request");
            assert_eq!(told.places(), ["Idempotency-Key"], "{key:?}");
        }
        assert_eq!(served.record().await, before);
    }

    async fn the_same_request_again_gets_the_stored_answer_and_has_one_effect(store: Store) {
        let served = Served::in_store(store).await;
        let first = served.manager.send(asked(&served.manager, "North yard", KEY)).await.with_status(201);
        let once = served.record().await;

        let again = served.manager.send(asked(&served.manager, "North yard", KEY)).await.with_status(201);

        assert!(!is_replayed(&first) && is_replayed(&again));
        assert_eq!(first.bytes, again.bytes);
        for header in ["etag", "location", "content-type"] {
            assert_eq!(first.header(header), again.header(header), "{header}");
            assert!(!first.header(header).is_empty(), "{header}");
        }
        assert_eq!(served.record().await, once, "the second request wrote something");
        assert_eq!(depots(&served.viewer, "North yard").await, 1);
    }

    async fn the_same_key_with_another_body_is_refused(store: Store) {
        let served = Served::in_store(store).await;
        served.manager.send(asked(&served.manager, "North yard", KEY)).await.has_status(201);

        let other = served.manager.send(asked(&served.manager, "South yard", KEY)).await;

        other.problem(422, "idempotency-key-reused");
        assert_eq!(depots(&served.viewer, "South yard").await, 0);
    }

    async fn the_same_key_for_another_vehicle_is_refused_and_not_answered_with_the_first(store: Store) {
        let served = Served::in_store(store).await;
        let (one, other) = (served.world.van("Van 1").await, served.world.van("Van 2").await);
        let value = json!({"value": 9000, "unit": "km"});
        let reading = json!({"value": value, "read_at": "2027-02-20T08:00:00Z", "source": "driver"});
        let of = |van: model::VehicleId| {
            Request::post(&served.manager.at(&format!("/vehicles/{van}/odometer-readings")), &reading)
                .under_key(KEY)
        };
        served.manager.send(of(one)).await.has_status(201);

        served.manager.send(of(other)).await.problem(422, "idempotency-key-reused");

        assert_eq!(
            served.viewer.list(&format!("/vehicles/{other}/odometer-readings")).await,
            [json!(null); 0]
        );
    }

    async fn a_key_is_the_holders_own(store: Store) {
        let served = Served::in_store(store).await;
        let them = served.another_fleet("Them").await;
        served.manager.send(asked(&served.manager, "North yard", KEY)).await.has_status(201);

        for other in [&served.chief, &them] {
            let told = other.send(asked(other, "North yard", KEY)).await.with_status(201);
            assert!(!is_replayed(&told), "{told:?}");
        }

        assert_eq!((depots(&served.viewer, "North yard").await, depots(&them, "North yard").await), (2, 1));
    }

    async fn the_same_key_at_another_address_is_another_request(store: Store) {
        let served = Served::in_store(store).await;
        served.manager.send(asked(&served.manager, "North yard", KEY)).await.has_status(201);
        let workshop = json!({"name": "Quayside Motors", "kind": "dealer", "lead_days": 5});
        let request = Request::post(&served.manager.at("/workshops"), &workshop).under_key(KEY);
        assert!(!is_replayed(&served.manager.send(request).await.with_status(201)));
    }

    async fn a_failure_is_not_stored(store: Store) {
        let served = Served::in_store(store).await;
        let bad = Request::post(&served.manager.at("/depots"), &json!({"name": "North yard"})).under_key(KEY);
        served.manager.send(bad).await.problem(422, "invalid-content");

        let mended = served.manager.send(asked(&served.manager, "North yard", KEY)).await.with_status(201);

        assert!(!is_replayed(&mended));
    }

    async fn eight_at_once_have_one_effect(store: Store) {
        let served = Served::in_store(store).await;
        let sent = (0..8).map(|_| {
            let (caller, request) = (served.manager.clone(), asked(&served.manager, "North yard", KEY));
            tokio::spawn(async move { caller.send(request).await })
        });
        let sent: Vec<_> = sent.collect();
        let mut done = 0;
        for told in sent {
            let told = told.await.expect("the request was sent");
            match told.status {
                201 => done += usize::from(!is_replayed(&told)),
                _ => drop(told.problem(409, "still-running")),
            }
        }
        assert_eq!((done, depots(&served.viewer, "North yard").await), (1, 1));
        let after = sent_until_done(&served.manager, &asked(&served.manager, "North yard", KEY)).await;
        assert!(is_replayed(&after.with_status(201)));
    }

    /// Two replicas know of each other through the store alone.
    async fn the_same_request_at_two_replicas_at_once_has_one_effect(store: Store) {
        let served = Served::in_store(store).await;
        let (here, there) = (served.manager.clone(), served.at_another_replica(&served.manager));
        for round in 0..20 {
            let (name, key) = (format!("Yard {round}"), format!("the-key-of-round-{round}"));
            let request = asked(&here, &name, &key);
            let (one, other) =
                tokio::join!(sent_until_done(&here, &request), sent_until_done(&there, &request));
            assert_eq!(
                (one.status, other.status, one.bytes == other.bytes),
                (201, 201, true),
                "{one:?} {other:?}"
            );
            assert_eq!(depots(&served.viewer, &name).await, 1, "round {round}");
        }
    }

    /// What a label's first bearer is told must not reach the very request that made it.
    async fn a_vehicle_registered_at_two_replicas_at_once_is_no_conflict_with_itself(store: Store) {
        let served = Served::in_store(store).await;
        let (here, there) = (served.manager.clone(), served.at_another_replica(&served.manager));
        for round in 0..20 {
            let new = van(&format!("Van {round}"), served.world.depot);
            let request =
                Request::post(&here.at("/vehicles"), &new).under_key(&format!("the-key-of-round-{round}"));
            let (one, other) =
                tokio::join!(sent_until_done(&here, &request), sent_until_done(&there, &request));
            assert_eq!((one.status, one.bytes), (201, other.bytes), "round {round}");
        }
    }

    async fn after_thirty_days_a_request_sent_again_is_told_where_its_effect_is(store: Store) {
        let served = Served::in_store(store).await;
        let first = served.manager.send(asked(&served.manager, "North yard", KEY)).await.with_status(201);
        served.world.clock.pass(TimeDelta::days(31));

        let late = served.manager.send(asked(&served.manager, "North yard", KEY)).await;

        late.problem(409, "answer-gone");
        assert_eq!(late.header("location"), first.header("location"));
        assert_eq!(depots(&served.viewer, "North yard").await, 1);
    }

    async fn a_withdrawal_sent_again_is_done_once(store: Store) {
        let served = Served::in_store(store).await;
        let van = served.world.van("Van 1").await.to_string();
        let service = served.manager.record_service(&van, "2027-02-01", 9000, "engine-oil").await;
        let place = format!("/vehicles/{van}/service-records/{}:withdraw", id_of(&service));
        let withdraw =
            Request::new("POST", &served.manager.at(&place)).under_new_key().with("If-Match", "\"1\"");
        served.manager.send(withdraw.clone()).await.has_status(204);
        let again = served.manager.send(withdraw).await.with_status(204);
        assert!(is_replayed(&again) && again.bytes.is_empty());
    }
}
