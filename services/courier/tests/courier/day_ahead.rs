//! The letter that looks ahead to a technician's working day, as it arrives.

use crate::conversation::plain;
use crate::post::{courier, letters, text, tick};
use crate::relay::{Act, Relay, Script};
use chrono::TimeDelta;
use courier::{Courier, Mail, Settings, Ticked};
use model::{LetterState, VehicleId};
use std::collections::BTreeMap;
use store::derived::ItemFilter;
use store::{Reach, Store};
use testkit::world::{World, day, instant, measured};

const TECHNICIAN: &str = "technician@example.com";

/// A world in which everybody has been told of two vans that must not be driven, at two depots, on the eve of a Wednesday
/// that is planned.
async fn told(store: Store) -> World {
    let world = World::in_store(store).await;
    let mut act = world.act().await;
    let (zone, jurisdiction) = (chrono_tz::Europe::Dublin, model::Jurisdiction::Eu);
    let annexe =
        clerk::organisation::NewDepot { name: "Annexe".to_owned(), zone, jurisdiction, design_low: None };
    let depot = clerk::organisation::create_depot(&mut act, annexe).await.expect("a depot").id;
    let other = clerk::vehicles::NewVehicle { depot, ..world.new_van("Van 2") };
    clerk::vehicles::register(&mut act, other).await.expect("a vehicle");
    act.commit().await.expect("committed");
    world.van("Van 1").await;
    for label in ["Van 1", "Van 2"] {
        let mut entry = world.entry(label);
        entry.measurements = vec![measured("tread-depth", "front_left", "outer", 0.9, "mm")];
        world.post(&[entry]).await;
    }
    world.tick().await;
    let relay = Relay::start(vec![Script::default()]).await;
    let courier = courier(&world, &relay);
    tick(&courier).await;
    // What nobody answers is told once more, and the rest on Tuesday morning.
    for at in ["2027-03-01T09:00:00Z", "2027-03-02T08:00:00Z"] {
        world.clock.set(instant(at));
        tick(&courier).await;
    }
    world.clock.set(instant("2027-03-02T16:00:00Z"));
    clerk::jobs::run_due(&world.clerk).await.expect("runs");
    assert_eq!(tick(&courier).await, Ticked::default(), "it waits for the morning");
    world.clock.set(instant("2027-03-03T07:20:00Z"));
    world
}

/// The vehicles that letters told of, by label.
async fn vans(world: &World) -> BTreeMap<String, VehicleId> {
    let mut tx = world.clerk.store().reader(Reach::Fleet(world.fleet)).await.expect("a reader");
    let (conn, now) = (&mut tx.conn(), world.clerk.now());
    let all = store::derived::due_items(conn, world.fleet, &ItemFilter::default(), now, None, 100).await;
    let mut vans = BTreeMap::new();
    for row in all.expect("items") {
        let van = store::vehicles::find(conn, world.fleet, row.vehicle).await.expect("an answer");
        let label = van.and_then(|van| van.attributes_now().map(|now| now.label.clone()));
        vans.extend(label.map(|label| (label, row.vehicle)));
    }
    vans
}

/// The words of a letter, wherever its lines are broken.
fn words(said: &str) -> String {
    said.replace("=\r\n", "").split_whitespace().collect::<Vec<_>>().join(" ")
}

testkit::on_both_engines! {
    async fn it_says_depot_by_depot_what_is_to_be_seen_to_and_can_be_ended(store: Store) {
        let world = told(store).await;
        let relay = Relay::start(vec![Script::default()]).await;
        let mut settings = Settings::new(Mail::Smtp(plain(&relay)), "Ostler <ostler@fleet.example>");
        settings.base_url = Some("https://fleet.example/ostler".to_owned());
        settings.link_key = Some(letters::links::LinkKey::new([7; 32]));
        let courier = Courier::new(world.clerk.clone(), settings).expect("good settings");
        tick(&courier).await;

        let arrived = relay.arrived();
        let of_technician: Vec<_> = arrived.iter().filter(|letter| letter.to == TECHNICIAN).collect();
        assert_eq!(of_technician.len(), 1);
        let said = text(of_technician[0]);
        assert!(said.contains("Subject: Wednesday 3 Mar 2027: 2 vehicles to see to"), "{said}");
        assert!(said.contains("List-Unsubscribe: <https://fleet.example/ostler/links/"), "{said}");
        let said = words(&said);
        assert!(said.contains("To see to on Wednesday 3 Mar 2027."), "{said}");
        let place = |what: &str| said.find(what).unwrap_or_else(|| panic!("{what} in {said}"));
        let order = [place("Annexe"), place("Van 2"), place("Harbour"), place("Van 1")];
        assert!(order.is_sorted(), "{order:?}: {said}");
        assert_eq!(tick(&courier).await, Ticked::default());
    }

    async fn what_a_relay_puts_off_until_work_has_begun_is_not_sent_any_more(store: Store) {
        let world = told(store).await;
        let not_now = Script { mail: Act::Say("451 4.3.0 later"), ..Script::default() };
        let relay = Relay::start(vec![not_now]).await;
        assert!(tick(&courier(&world, &relay)).await.retried >= 1);
        world.clock.set(instant("2027-03-03T09:00:00Z"));
        let taking = Relay::start(vec![Script::default()]).await;
        let courier = courier(&world, &taking);
        for _ in 0..3 {
            tick(&courier).await;
            world.clock.pass(TimeDelta::hours(1));
        }
        assert!(taking.arrived().iter().all(|letter| letter.to != TECHNICIAN));
        let of_technician = letters(&world).await.into_iter().filter(|letter| letter.person == world.technician);
        assert_eq!(of_technician.filter(|letter| letter.state == LetterState::Withdrawn).count(), 1);
    }

    async fn work_done_after_it_was_written_is_not_in_the_letter_that_arrives(store: Store) {
        let world = told(store).await;
        let not_now = Script { mail: Act::Say("451 4.3.0 later"), ..Script::default() };
        let relay = Relay::start(vec![not_now]).await;
        assert!(tick(&courier(&world, &relay)).await.retried >= 1);
        let gone = vans(&world).await.remove("Van 2").expect("the van");
        let mut act = world.act().await;
        clerk::vehicles::retire(&mut act, gone, 1, day("2027-03-02")).await.expect("retired");
        act.commit().await.expect("committed");
        let taking = Relay::start(vec![Script::default()]).await;
        let courier = courier(&world, &taking);
        for _ in 0..4 {
            world.clock.pass(TimeDelta::minutes(15));
            tick(&courier).await;
        }
        let arrived = taking.arrived();
        let of_technician: Vec<String> =
            arrived.iter().filter(|letter| letter.to == TECHNICIAN).map(text).collect();
        assert_eq!(of_technician.len(), 1);
        assert!(of_technician[0].contains("Van 1") && !of_technician[0].contains("Van 2"), "{of_technician:?}");
    }
}
