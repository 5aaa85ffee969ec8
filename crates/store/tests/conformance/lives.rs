//! Components taken off for good and what they cost.

use crate::records::{fitting, tyre};
use crate::world::{OURS, THEIRS, VAN, code, day, furnished, id, morning, stamp};
use model::{
    Component, ComponentCost, ComponentCostId, ComponentEnd, ComponentEndId, ComponentId, Cost, EndReason,
};
use quantity::{Entered, Unit};
use store::{component_costs, component_ends, components, fittings};
use testkit::on_both_engines;

fn component_end(number: u128, component: u128) -> ComponentEnd {
    ComponentEnd {
        id: ComponentEndId(id(number)),
        component: ComponentId(id(component)),
        reason: EndReason::Worn,
        on: day("2027-01-01"),
        odometer: Some(Entered::new(31_250.5, Unit::Mile)),
        note: Some("To 2/32 in.".to_owned()),
        recorded_at: morning(),
    }
}

fn component_cost(number: u128, component: u128, minor: i64) -> ComponentCost {
    let (id, component) = (ComponentCostId(id(number)), ComponentId(id(component)));
    ComponentCost { id, component, cost: euros(minor), recorded_at: morning() }
}

fn euros(minor: i64) -> Cost {
    Cost { minor, currency: "EUR".to_owned() }
}

on_both_engines! {
    async fn a_component_ends_once_until_that_is_withdrawn(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        components::insert(conn, OURS, &tyre(600), &stamp(OURS)).await.expect("kept");
        let first = component_end(800, 600);
        component_ends::insert(conn, OURS, &first, &stamp(OURS)).await.expect("kept");
        assert_eq!(component_ends::find(conn, OURS, tyre(600).id).await.expect("an answer"), Some(first));
        assert!(component_ends::withdraw(conn, OURS, tyre(600).id, morning()).await.expect("withdrawn"));
        assert!(!component_ends::withdraw(conn, OURS, tyre(600).id, morning()).await.expect("an answer"));
        assert_eq!(component_ends::find(conn, OURS, tyre(600).id).await.expect("an answer"), None);
        let from_store = ComponentEnd { odometer: None, note: None, ..component_end(801, 600) };
        component_ends::insert(conn, OURS, &from_store, &stamp(OURS)).await.expect("kept");
        let of = component_ends::of_components(conn, OURS, &[tyre(600).id]).await.expect("an answer");
        assert_eq!(of, [from_store]);
        let twice = component_ends::insert(conn, OURS, &component_end(802, 600), &stamp(OURS)).await;
        assert!(twice.as_ref().is_err_and(store::StoreError::is_unique), "{twice:?}");
    }

    async fn of_what_a_component_was_said_to_cost_the_last_holds(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        for number in [600, 601] {
            components::insert(conn, OURS, &tyre(number), &stamp(OURS)).await.expect("kept");
        }
        for (number, minor) in [(810, 11_400), (811, 9_900)] {
            let said = component_cost(number, 600, minor);
            component_costs::insert(conn, OURS, &said, &stamp(OURS)).await.expect("kept");
        }
        let both = [tyre(600).id, tyre(601).id];
        let told = component_costs::of_components(conn, OURS, &both).await.expect("an answer");
        assert_eq!(told, [(tyre(600).id, euros(9_900))].into());
    }

    async fn components_are_found_by_kind_and_product(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        let pads = Component { kind: code("pad-set"), product: "Marl".to_owned(), ..tyre(602) };
        for kept in [tyre(600), tyre(601), pads.clone()] {
            components::insert(conn, OURS, &kept, &stamp(OURS)).await.expect("kept");
        }
        let (kind, product) = (code("tyre"), Some("Marl"));
        let all = components::alike(conn, OURS, None, None).await.expect("an answer");
        assert_eq!(all, [pads.clone(), tyre(600), tyre(601)]);
        assert_eq!(components::alike(conn, OURS, Some(&kind), None).await.expect("an answer"), all[1..]);
        assert_eq!(components::alike(conn, OURS, None, product).await.expect("an answer"), [pads]);
        assert_eq!(components::alike(conn, OURS, Some(&kind), product).await.expect("an answer"), []);
        assert_eq!(components::lock(conn, OURS, tyre(601).id).await.expect("an answer"), Some(tyre(601)));
    }

    async fn another_fleet_finds_and_ends_nothing_of_it(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        components::insert(conn, OURS, &tyre(600), &stamp(OURS)).await.expect("kept");
        fittings::insert(conn, OURS, &fitting(700, 600, VAN), &stamp(OURS)).await.expect("kept");
        component_ends::insert(conn, OURS, &component_end(800, 600), &stamp(OURS)).await.expect("kept");
        component_costs::insert(conn, OURS, &component_cost(810, 600, 11_400), &stamp(OURS)).await.expect("kept");
        let (tyre, all) = (tyre(600).id, [tyre(600).id]);
        assert_eq!(components::lock(conn, THEIRS, tyre).await.expect("an answer"), None);
        assert_eq!(components::alike(conn, THEIRS, None, None).await.expect("an answer"), []);
        assert_eq!(component_ends::find(conn, THEIRS, tyre).await.expect("an answer"), None);
        assert!(component_costs::of_components(conn, THEIRS, &all).await.expect("an answer").is_empty());
        assert_eq!(fittings::of_components(conn, THEIRS, &all).await.expect("an answer"), []);
        assert!(!component_ends::withdraw(conn, THEIRS, tyre, morning()).await.expect("an answer"));
        assert_eq!(fittings::of_components(conn, OURS, &all).await.expect("an answer"), [fitting(700, 600, VAN)]);
        let ended = component_ends::insert(conn, THEIRS, &component_end(801, 600), &stamp(THEIRS)).await;
        assert!(ended.as_ref().is_err_and(store::StoreError::is_foreign_key), "{ended:?}");
    }

    async fn another_fleet_says_nothing_of_what_ours_cost(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        components::insert(conn, OURS, &tyre(600), &stamp(OURS)).await.expect("kept");
        let said = component_costs::insert(conn, THEIRS, &component_cost(811, 600, 1), &stamp(THEIRS)).await;
        assert!(said.as_ref().is_err_and(store::StoreError::is_foreign_key), "{said:?}");
    }
}
