//! Two servers over one PostgreSQL database: what is sent to both is done once.

use crate::asking::{Server, told};
use reqwest::Method;
use serde_json::json;
use testkit::World;
use testkit::postgres::Database;

/// Two servers of one fleet, each with connections of its own.
async fn two_servers(database: &Database) -> (Server, Server) {
    let world = World::in_store(database.open().await).await;
    let clerk = clerk::Clerk::new(
        database.open().await.with_clock(world.clock.never_set()),
        world.clock.clone(),
        std::sync::Arc::new(testkit::SeededChance::from_seed(2)),
    );
    let twin = World {
        clerk,
        clock: world.clock.clone(),
        fleet: world.fleet,
        depot: world.depot,
        rulebook: world.rulebook,
        manager: world.manager,
        technician: world.technician,
    };
    let (one, other) = (Server::of(world).await, Server::of(twin).await);
    (one, other)
}

#[test]
fn one_request_sent_to_two_replicas_at_once_is_done_once() {
    let database = Database::fresh();
    on_threads(async {
        let (one, other) = two_servers(&database).await;
        let depot = json!({"name": "North yard", "zone": "Europe/Vienna", "jurisdiction": "eu"});
        let path = one.place("/depots");
        let mut senders = Vec::new();
        for turn in 0..20 {
            let server = if turn % 2 == 0 { &one } else { &other };
            // One key holder: the same key is good at both.
            let request = server.bare(Method::POST, &path).bearer_auth(&one.key);
            let request = request.header("Idempotency-Key", "k".repeat(20)).json(&depot);
            senders.push(tokio::spawn(told(request)));
        }
        let mut made = 0;
        for sender in senders {
            let told = sender.await.expect("no panic");
            match told.status.as_u16() {
                201 if told.header("idempotency-replayed").is_empty() => made += 1,
                201 => {}
                409 => assert_eq!(told.problem(), "still-running"),
                other => panic!("{other}: {told:?}"),
            }
        }
        assert_eq!(made, 1);
        assert_eq!(other.get("/depots").await.json()["items"].as_array().map(Vec::len), Some(2));
        one.stop().await;
        other.stop().await;
    });
}

#[test]
fn of_two_editors_at_two_replicas_one_wins_every_time() {
    let database = Database::fresh();
    on_threads(async {
        let (one, other) = two_servers(&database).await;
        let place = format!("/depots/{}", one.world.depot);
        for version in 1..=10 {
            let (here, there) = (json!({"name": "Here"}), json!({"name": "There"}));
            let (first, second) =
                tokio::join!(one.patch(&place, version, &here), other.patch(&place, version, &there));
            let mut statuses = [first.status.as_u16(), second.status.as_u16()];
            statuses.sort_unstable();
            assert_eq!(statuses, [200, 412], "{first:?} {second:?}");
        }
        one.stop().await;
        other.stop().await;
    });
}

fn on_threads(story: impl Future<Output = ()>) {
    let runtime = tokio::runtime::Builder::new_multi_thread().worker_threads(2).enable_all().build();
    runtime.expect("a runtime").block_on(story);
}
