//! R43: each key reaches the operations of its scopes in its fleet, and no other.

use chrono::TimeDelta;
use end_to_end::{Answer, Caller, Document, OneOfEach, Operation, Request, Served, id_of};
use model::Scope;
use serde_json::json;

async fn furnished(store: store::Store) -> (Served, Caller, OneOfEach, Vec<Operation>) {
    let served = Served::in_store(store).await;
    let us = served.another_fleet("Us").await;
    let things = OneOfEach::made(&served, &us, "us").await;
    let operations = Document::of(&us).await.operations();
    (served, us, things, operations)
}

/// A key of the caller's fleet, made over HTTP.
async fn key_of(caller: &Caller, key: serde_json::Value) -> Caller {
    let made = caller.make("/access-keys", &key).await;
    caller.with_key(made["text"].as_str().expect("the text of a new key"))
}

async fn bearer_of(caller: &Caller, scope: Scope) -> Caller {
    key_of(caller, json!({"kind": "script", "label": "One scope", "scopes": [scope.word()]})).await
}

fn not_signed_in(told: &Answer, why: &str) {
    let problem = told.problem(401, "not-signed-in");
    assert_eq!(told.header("www-authenticate"), "Bearer realm=\"ostler\"", "{why}");
    assert_eq!(problem["errors"], json!([]), "{why}");
}

testkit::on_both_engines! {
    async fn r43_a_key_without_the_scope_of_an_operation_is_refused_and_nothing_is_written(store: Store) {
        let (served, us, things, operations) = furnished(store).await;
        let mut refused = 0;
        for scope in Scope::ALL {
            let caller = bearer_of(&us, *scope).await;
            let before = served.record().await;
            for operation in operations.iter().filter(|one| one.scope.as_deref() != Some(scope.word())) {
                let told = caller.send(operation.request(&things)).await;
                let problem = told.problem(403, "not-allowed");
                let needed = operation.scope.as_deref().unwrap_or_default();
                assert!(problem["detail"].as_str().is_some_and(|d| d.contains(needed)), "{}", operation.id);
                refused += 1;
            }
            assert_eq!(served.record().await, before, "a key with only {scope} wrote something");
        }
        assert!(refused > 150, "{refused} requests were refused");
    }

    async fn r43_a_key_with_the_scope_of_an_operation_is_let_in(store: Store) {
        let (_served, us, things, operations) = furnished(store).await;
        let nothing = things.that_never_were().with("fleet", things.id("fleet"));
        for scope in Scope::ALL {
            let caller = bearer_of(&us, *scope).await;
            for operation in operations.iter().filter(|one| one.scope.as_deref() == Some(scope.word())) {
                let told = caller.send(operation.request(&nothing)).await;
                assert!(![401, 403].contains(&told.status), "{} with {scope}: {}", operation.id, told.text());
                assert!(told.status < 500, "{}: {}", operation.id, told.text());
            }
        }
    }

    async fn r43_without_a_key_in_force_every_operation_is_refused_alike(store: Store) {
        let (served, us, things, operations) = furnished(store).await;
        let expires = served.now() + TimeDelta::hours(1);
        let every = Scope::ALL.iter().map(|scope| scope.word()).collect::<Vec<_>>();
        let expired =
            key_of(&us, json!({"kind": "script", "label": "Short", "scopes": every, "expires_at": expires}))
                .await;
        let revoked = key_of(&us, json!({"kind": "script", "label": "Lost", "scopes": every})).await;
        let keys = us.list("/access-keys?limit=200").await;
        let lost = keys.iter().find(|key| key["label"] == "Lost").expect("the key that was lost");
        let delete = Request::new("DELETE", &us.at(&format!("/access-keys/{}", id_of(lost))));
        us.send(delete).await.has_status(204);
        served.world.clock.pass(TimeDelta::hours(1));
        let mut misspelt = us.key.clone();
        let last = if misspelt.pop() == Some('0') { '1' } else { '0' };
        misspelt.push(last);
        let callers =
            [us.with_key(""), us.with_key("ostler_script_x"), us.with_key(&misspelt), expired, revoked];
        let before = served.record().await;
        for operation in &operations {
            for (caller, why) in callers.iter().zip(["none", "malformed", "misspelt", "expired", "revoked"]) {
                not_signed_in(&caller.send(operation.request(&things)).await, why);
            }
        }
        assert_eq!(served.record().await, before, "a request without a key wrote something");
    }

    async fn r43_a_key_is_taken_from_the_header_alone(store: Store) {
        let (_served, us, things, _) = furnished(store).await;
        let nobody = us.with_key("");
        let address = us.at(&format!("/vehicles/{}", things.id("vehicle")));
        let get = || Request::get(&address);
        nobody.send(get().with("Authorization", &format!("Bearer {}", us.key))).await.has_status(200);
        for (name, value) in [
            ("Authorization", format!("Basic {}", us.key)),
            ("Authorization", us.key.clone()),
            ("Cookie", format!("key={}", us.key)),
            ("X-Api-Key", us.key.clone()),
        ] {
            not_signed_in(&nobody.send(get().with(name, &value)).await, name);
        }
        let in_address = Request::get(&format!("{address}?access_token={}", us.key));
        not_signed_in(&nobody.send(in_address).await, "in the address");
    }

    async fn r43_a_key_bound_to_one_vehicle_reaches_that_vehicle_alone(store: Store) {
        let (_served, us, things, operations) = furnished(store).await;
        let other = us.register_van("Other van", things.id("depot"), things.id("rulebook")).await;
        let every = Scope::ALL.iter().map(|scope| scope.word()).collect::<Vec<_>>();
        let own = things.id("vehicle");
        let bound =
            key_of(&us, json!({"kind": "device", "label": "In the van", "scopes": every, "vehicle": own}))
                .await;
        for operation in operations.iter().filter(|operation| operation.method == "GET") {
            let told = bound.send(operation.request(&things)).await;
            if operation.parameters().contains(&"vehicle") {
                told.has_status(200);
                let elsewhere = operation.request(&things.with("vehicle", &other));
                bound.send(elsewhere).await.problem(404, "not-found");
            } else {
                told.problem(403, "not-allowed");
            }
        }
    }

    async fn r43_no_key_makes_itself_stronger(store: Store) {
        let (_served, us, _, _) = furnished(store).await;
        let manages = [Scope::Read, Scope::Measure, Scope::Report, Scope::Manage].map(Scope::word);
        let manager = key_of(&us, json!({"kind": "script", "label": "Manager", "scopes": manages})).await;
        let stronger = json!({"kind": "script", "label": "Stronger", "scopes": ["admin"]});
        manager.post("/access-keys", &stronger).await.problem(403, "not-allowed");
    }
}
