//! Components through to their end: taken off for good, what they ran and cost.

use chrono::TimeDelta;
use clerk::ActError;
use clerk::components::{self, NewComponent, NewEnd, NewFitting, NewSet};
use clerk::lives::{self, Alike};
use engine::{Fate, PartLife};
use model::{ComponentEnd, ComponentId, Cost, EndReason, Fitting, NoDistance, Place, Position, VehicleId};
use quantity::{Distance, Unit};
use testkit::world::{World, code, day, km};

async fn tyre(world: &World, cost: Option<i64>) -> ComponentId {
    let mut act = world.act().await;
    let cost = cost.map(|minor| Cost { minor, currency: "EUR".to_owned() });
    let (kind, product) = (code("tyre"), "Gripwell".to_owned());
    let new = NewComponent { kind, product, depth_new: None, came_used: false, cost };
    let made = components::create(&mut act, new).await.expect("a tyre").id;
    act.commit().await.expect("committed");
    made
}

async fn fit(
    world: &World,
    van: VehicleId,
    component: ComponentId,
    (from, at): (&str, f64),
    displaced: Option<EndReason>,
) -> Result<Fitting, ActError> {
    let mut act = world.act().await;
    let new = NewFitting { component, place: Place::FrontLeft, from: day(from), odometer: km(at) };
    let fitted = components::fit_in_place_of(&mut act, van, new, displaced).await?;
    act.commit().await?;
    Ok(fitted)
}

fn worn(component: ComponentId, on: &str, at: Option<f64>) -> NewEnd {
    NewEnd { component, reason: EndReason::Worn, on: day(on), odometer: at.map(km), note: None }
}

async fn retire(world: &World, new: NewEnd) -> Result<ComponentEnd, ActError> {
    let mut act = world.act().await;
    let end = components::retire(&mut act, new).await?;
    act.commit().await?;
    Ok(end)
}

async fn withdraw_end(world: &World, component: ComponentId) -> Result<(), ActError> {
    let mut act = world.act().await;
    components::withdraw_end(&mut act, component).await?;
    act.commit().await?;
    Ok(())
}

async fn life(world: &World, component: ComponentId) -> PartLife {
    lives::of(&world.clerk, world.fleet, component).await.expect("an answer").expect("the component")
}

fn conflict<T: std::fmt::Debug>(refused: &Result<T, ActError>) -> &'static str {
    let Err(ActError::Conflict { code, .. }) = refused else { panic!("{refused:?}") };
    code
}

fn faults<T: std::fmt::Debug>(refused: Result<T, ActError>) -> Vec<(String, String)> {
    let Err(ActError::Faults(faults)) = refused else { panic!("{refused:?}") };
    faults.into_iter().map(|fault| (fault.pointer, fault.code)).collect()
}

fn said(faults: &[(&str, &str)]) -> Vec<(String, String)> {
    faults.iter().map(|(pointer, code)| ((*pointer).to_owned(), (*code).to_owned())).collect()
}

testkit::on_both_engines! {
    async fn a_worn_tyre_comes_off_for_good_and_is_not_fitted_again(store: Store) {
        let world = World::in_store(store).await;
        let van = world.van("Van 1").await;
        let component = tyre(&world, None).await;
        fit(&world, van, component, ("2026-04-10", 5_000.0), None).await.expect("fitted");
        retire(&world, worn(component, "2027-01-20", Some(35_000.0))).await.expect("taken off");
        let told = life(&world, component).await;
        assert_eq!((told.fate(), told.position()), (Fate::Ended(EndReason::Worn), Some(Position::Front)));
        assert_eq!(told.run().expect("told at both ends").distance, Distance::from_km(30_000));
        assert_eq!(told.days(), 285);
        assert_eq!(conflict(&fit(&world, van, component, ("2027-02-01", 36_000.0), None).await), "off-for-good");
        assert_eq!(conflict(&retire(&world, worn(component, "2027-02-01", None)).await), "off-for-good");
        let mut act = world.act().await;
        let places = vec![(component, Place::RearLeft)];
        let set = NewSet { on: day("2027-02-01"), odometer: km(36_000.0), places, reason: "Back on.".to_owned() };
        assert_eq!(conflict(&components::swap_set(&mut act, van, set).await), "off-for-good");
    }

    async fn an_end_that_is_withdrawn_leaves_the_tyre_in_store_until_it_is_fitted_again(store: Store) {
        let world = World::in_store(store).await;
        let van = world.van("Van 1").await;
        let component = tyre(&world, None).await;
        fit(&world, van, component, ("2026-04-10", 5_000.0), None).await.expect("fitted");
        retire(&world, worn(component, "2027-01-20", Some(35_000.0))).await.expect("taken off");
        withdraw_end(&world, component).await.expect("withdrawn");
        assert_eq!(life(&world, component).await.fate(), Fate::InStore);
        assert_eq!(conflict(&withdraw_end(&world, component).await), "already-withdrawn");
        fit(&world, van, component, ("2027-01-20", 35_000.0), None).await.expect("fitted again");
        world.reading(van, "2027-02-20T12:00:00Z", 38_000.0).await;
        let told = life(&world, component).await;
        assert_eq!((told.fate(), told.times.len(), told.days()), (Fate::Fitted, 2, 325));
        assert_eq!(told.run().expect("read since").distance, Distance::from_km(33_000));
        retire(&world, worn(component, "2027-02-25", Some(38_500.0))).await.expect("taken off again");
    }

    async fn every_fault_of_an_end_is_named_and_nothing_ends(store: Store) {
        let world = World::in_store(store).await;
        let van = world.van("Van 1").await;
        let (fitted, stored) = (tyre(&world, None).await, tyre(&world, None).await);
        fit(&world, van, fitted, ("2026-04-10", 5_000.0), None).await.expect("fitted");
        let other = NewEnd { reason: EndReason::Other, ..worn(fitted, "2026-04-09", None) };
        let all = [("/odometer", "missing"), ("/on", "order"), ("/note", "note-missing")];
        assert_eq!(faults(retire(&world, other).await), said(&all));
        let to_come = worn(stored, "2027-03-03", Some(1.0));
        assert_eq!(faults(retire(&world, to_come).await), said(&[("/odometer", "not-fitted"), ("/on", "future")]));
        let nobody = worn(ComponentId(uuid::Uuid::from_u128(7)), "2027-01-01", None);
        assert!(matches!(retire(&world, nobody).await, Err(ActError::NotFound { kind: "component" })));
        assert_eq!(life(&world, fitted).await.fate(), Fate::Fitted);
        retire(&world, NewEnd { reason: EndReason::Recalled, ..worn(stored, "2027-03-01", None) }).await.expect("from store");
        let told = life(&world, stored).await;
        assert_eq!((told.fate(), told.position()), (Fate::Ended(EndReason::Recalled), None));
    }

    async fn what_a_new_tyre_displaces_goes_into_store_or_off_for_good_as_is_said(store: Store) {
        let world = World::in_store(store).await;
        let van = world.van("Van 1").await;
        let [first, second, third] = [tyre(&world, None).await, tyre(&world, None).await, tyre(&world, None).await];
        fit(&world, van, first, ("2026-04-10", 5_000.0), None).await.expect("fitted");
        fit(&world, van, second, ("2026-06-10", 9_000.0), Some(EndReason::Damaged)).await.expect("fitted");
        assert_eq!(life(&world, first).await.fate(), Fate::Ended(EndReason::Damaged));
        let unsaid = fit(&world, van, third, ("2026-08-10", 15_000.0), Some(EndReason::Other)).await;
        assert_eq!(faults(unsaid), said(&[("/displaced", "note-missing")]));
        fit(&world, van, third, ("2026-08-10", 15_000.0), None).await.expect("fitted");
        assert_eq!(life(&world, second).await.fate(), Fate::InStore);
        let told = lives::achieved(&world.clerk, world.fleet, &Alike::default()).await.expect("an answer").remove(0);
        let fates = [(Fate::Fitted, 1), (Fate::InStore, 1), (Fate::Ended(EndReason::Damaged), 1)];
        assert_eq!((told.parts, told.fates), (3, fates.into()));
    }

    /// 4,000 km on the one van, 2,500 on the other, whose log contradicts what was told when the tyre came off: 13,000 km at
    /// noon of 1 February and 15,000 of 3 February give 14,000 on the day between.
    async fn a_life_goes_on_from_vehicle_to_vehicle_by_their_own_logs(store: Store) {
        let world = World::in_store(store).await;
        let (van, bus) = (world.van("Van 1").await, world.van("Van 2").await);
        let component = tyre(&world, Some(13_000)).await;
        let fitted = fit(&world, van, component, ("2026-04-10", 5_000.0), None).await.expect("fitted");
        let mut act = world.act().await;
        let why = "For the other van.".to_owned();
        components::remove(&mut act, van, fitted.id, day("2026-06-10"), km(9_000.0), why).await.expect("removed");
        act.commit().await.expect("committed");
        world.reading(bus, "2027-01-01T12:00:00Z", 11_500.0).await;
        world.reading(bus, "2027-02-01T12:00:00Z", 13_000.0).await;
        world.reading(bus, "2027-02-03T12:00:00Z", 15_000.0).await;
        fit(&world, bus, component, ("2027-01-01", 11_500.0), None).await.expect("fitted");
        retire(&world, worn(component, "2027-02-02", Some(99_000.0))).await.expect("taken off");
        let told = life(&world, component).await;
        let runs: Vec<_> = told.times.iter().map(|time| time.run.expect("known")).collect();
        assert_eq!(runs.iter().map(|run| run.distance).collect::<Vec<_>>(), [4_000, 2_500].map(Distance::from_km));
        assert_eq!(runs.iter().map(|run| run.estimated).collect::<Vec<_>>(), [false, true]);
        assert_eq!((told.days(), told.run().expect("known").distance), (61 + 32, Distance::from_km(6_500)));
        // 130.00 over 6,500 km: 20.00 for each 1,000.
        assert_eq!(told.cost_of_run().expect("known").minor_per_1000(Unit::Kilometre), Some(2_000.0));
    }

    async fn a_cost_stated_later_holds_and_a_distance_that_nothing_tells_leaves_it_out(store: Store) {
        let world = World::in_store(store).await;
        let van = world.van("Van 1").await;
        let component = tyre(&world, Some(99)).await;
        fit(&world, van, component, ("2026-04-10", 5_000.0), None).await.expect("fitted");
        world.clock.pass(TimeDelta::seconds(1));
        let mut act = world.act().await;
        let cost = Cost { minor: 11_400, currency: "EUR".to_owned() };
        components::state_cost(&mut act, component, cost.clone()).await.expect("stated");
        act.commit().await.expect("committed");
        let told = life(&world, component).await;
        assert_eq!((&told.cost, told.run()), (&Some(cost), Err(NoDistance::NoReadingSince)));
        assert_eq!(told.cost_of_run(), None);
    }
}
