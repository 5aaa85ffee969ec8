//! "New or moved?": one answer ends the old fitting and begins the next.

use clerk::components::{NewComponent, NewFitting};
use clerk::{ActError, answers};
use model::{
    Component, ComponentId, Facts, Fitting, MeasurementAnswer, MeasurementChoice, MeasurementId, Place,
    VehicleId,
};
use quantity::{Distance, Entered, Unit};
use store::Reach;
use testkit::world::{World, code, day, km, measured};

async fn facts(world: &World, van: VehicleId) -> Facts {
    let mut tx = world.clerk.store().reader(Reach::Fleet(world.fleet)).await.expect("a reader");
    let loaded = store::facts::load(&mut tx.conn(), world.fleet, &[van]).await.expect("facts");
    loaded.into_iter().next().expect("a vehicle")
}

async fn tyre_at(world: &World, van: VehicleId, place: Place) -> ComponentId {
    let mut act = world.act().await;
    let depth_new = Some(Entered::new(8.0, Unit::Millimetre));
    let new = NewComponent {
        kind: code("tyre"),
        product: "Gripwell Van".to_owned(),
        depth_new,
        came_used: false,
        cost: None,
    };
    let component = clerk::components::create(&mut act, new).await.expect("a tyre").id;
    let new = NewFitting { component, place, from: day("2026-03-01"), odometer: km(2_000.0) };
    clerk::components::fit(&mut act, van, new).await.expect("fitted");
    act.commit().await.expect("committed");
    component
}

/// A van with a reading and a tyre at each of these places, and what was just measured at the first of them.
async fn van_measured(world: &World, places: &[Place]) -> (VehicleId, Vec<ComponentId>, MeasurementId) {
    let van = world.van("Van 1").await;
    world.reading(van, "2027-02-20T08:00:00Z", 19_500.0).await;
    let mut tyres = Vec::new();
    for place in places {
        tyres.push(tyre_at(world, van, *place).await);
    }
    (van, tyres, measure(world, van, places[0]).await)
}

async fn measure(world: &World, van: VehicleId, place: Place) -> MeasurementId {
    let mut entry = world.entry("Van 1");
    entry.measurements = vec![measured("tread-depth", place.word(), "lowest", 7.6, "mm")];
    world.post(&[entry]).await;
    let known = facts(world, van).await;
    let of_place =
        known.inspections.iter().flat_map(|one| &one.measurements).filter(|one| one.place == place);
    of_place.max_by_key(|one| one.id).expect("a measurement").id
}

async fn say(
    world: &World,
    van: VehicleId,
    measurement: MeasurementId,
    choice: MeasurementChoice,
) -> Result<(MeasurementAnswer, Option<Fitting>), ActError> {
    let mut act = world.act().await;
    let said = answers::answer(&mut act, van, measurement, choice, None).await?;
    act.commit().await?;
    Ok(said)
}

/// Where each component is fitted now, and the day and odometer since.
fn fitted_now(known: &Facts) -> Vec<(ComponentId, Place)> {
    let open = known.fittings.iter().filter(|fitting| fitting.to.is_none());
    open.map(|fitting| (fitting.component, fitting.place)).collect()
}

fn codes<T: std::fmt::Debug>(told: Result<T, ActError>) -> Vec<(String, String)> {
    match told {
        Err(ActError::Faults(faults)) => faults.into_iter().map(|one| (one.pointer, one.code)).collect(),
        Err(ActError::Conflict { code, .. }) => vec![(String::new(), code.to_owned())],
        other => panic!("not refused: {other:?}"),
    }
}

fn fault(pointer: &str, code: &str) -> Vec<(String, String)> {
    vec![(pointer.to_owned(), code.to_owned())]
}

testkit::on_both_engines! {
    async fn a_new_tyre_of_the_same_kind_and_product_takes_the_place_of_the_old(store: Store) {
        let world = World::in_store(store).await;
        let (van, tyres, measurement) = van_measured(&world, &[Place::FrontLeft]).await;

        let (said, fitted) = say(&world, van, measurement, MeasurementChoice::New).await.expect("answered");

        let fitted = fitted.expect("a fitting");
        let at = (fitted.place, fitted.from, fitted.from_odometer);
        assert_eq!(at, (Place::FrontLeft, day("2027-03-01"), Distance::from_km(19_500)));
        let known = facts(&world, van).await;
        assert_eq!(known.answers, [said]);
        let old = known.fittings.iter().find(|fitting| fitting.component == tyres[0]).expect("the old one");
        assert_eq!((old.to, old.to_odometer), (Some(day("2027-03-01")), Some(Distance::from_km(19_500))));
        let alike = |component: &Component| (component.kind.clone(), component.product.clone(), component.depth_new);
        let of = |id| known.components.iter().find(|component| component.id == id).map(alike);
        assert_ne!(fitted.component, tyres[0]);
        assert_eq!(of(fitted.component), of(tyres[0]));
    }

    async fn a_moved_tyre_comes_from_its_place_and_what_was_there_goes_into_store(store: Store) {
        let world = World::in_store(store).await;
        let (van, tyres, measurement) = van_measured(&world, &[Place::FrontLeft, Place::RearLeft]).await;

        let moved = MeasurementChoice::Moved { from: Place::RearLeft };
        say(&world, van, measurement, moved).await.expect("answered");

        let known = facts(&world, van).await;
        assert_eq!(fitted_now(&known), [(tyres[1], Place::FrontLeft)]);
        assert!(known.fittings.iter().filter(|one| one.to.is_some()).all(|one| one.to == Some(day("2027-03-01"))));
    }

    async fn wheels_change_places_by_one_answer_each(store: Store) {
        let world = World::in_store(store).await;
        let (van, tyres, front) = van_measured(&world, &[Place::FrontLeft, Place::RearLeft]).await;
        let rear = measure(&world, van, Place::RearLeft).await;

        say(&world, van, front, MeasurementChoice::Moved { from: Place::RearLeft }).await.expect("answered");
        say(&world, van, rear, MeasurementChoice::Moved { from: Place::FrontLeft }).await.expect("answered");

        let mut now = fitted_now(&facts(&world, van).await);
        now.sort_by_key(|(_, place)| *place);
        assert_eq!(now, [(tyres[1], Place::FrontLeft), (tyres[0], Place::RearLeft)]);
    }

    async fn what_was_measured_by_mistake_moves_nothing_and_may_be_answered_again(store: Store) {
        let world = World::in_store(store).await;
        let (van, tyres, measurement) = van_measured(&world, &[Place::FrontLeft]).await;

        let (said, fitted) = say(&world, van, measurement, MeasurementChoice::Mistaken).await.expect("answered");

        assert_eq!((said.choice, fitted), (MeasurementChoice::Mistaken, None));
        assert_eq!(fitted_now(&facts(&world, van).await), [(tyres[0], Place::FrontLeft)]);
        say(&world, van, measurement, MeasurementChoice::New).await.expect("answered after all");
        let twice = say(&world, van, measurement, MeasurementChoice::New).await;
        assert_eq!(codes(twice), fault("", "already-answered"));
    }

    async fn an_answer_that_cannot_be_is_refused_and_changes_nothing(store: Store) {
        let world = World::in_store(store).await;
        let (van, _, measurement) = van_measured(&world, &[Place::FrontLeft]).await;
        let spare = measure(&world, van, Place::Spare).await;
        let before = facts(&world, van).await;

        let from_nowhere = MeasurementChoice::Moved { from: Place::RearRight };
        let from_there = MeasurementChoice::Moved { from: Place::FrontLeft };
        assert_eq!(codes(say(&world, van, measurement, from_nowhere).await), fault("/from", "nothing-fitted"));
        assert_eq!(codes(say(&world, van, measurement, from_there).await), fault("/from", "same-place"));
        assert_eq!(codes(say(&world, van, spare, MeasurementChoice::New).await), fault("/answer", "nothing-fitted"));
        let unknown = say(&world, van, MeasurementId(world.clerk.new_id()), MeasurementChoice::New).await;
        assert!(matches!(unknown, Err(ActError::NotFound { kind: "measurement" })), "{unknown:?}");
        assert_eq!(facts(&world, van).await, before);
    }

    async fn without_any_odometer_it_has_to_be_said(store: Store) {
        let world = World::in_store(store).await;
        let van = world.van("Van 1").await;
        tyre_at(&world, van, Place::FrontLeft).await;
        let measurement = measure(&world, van, Place::FrontLeft).await;

        let silent = say(&world, van, measurement, MeasurementChoice::New).await;
        assert_eq!(codes(silent), fault("/odometer", "missing"));

        let mut act = world.act().await;
        let said = answers::answer(&mut act, van, measurement, MeasurementChoice::New, Some(km(9_000.0))).await;
        assert_eq!(said.expect("answered").1.map(|one| one.from_odometer), Some(Distance::from_km(9_000)));
    }
}
