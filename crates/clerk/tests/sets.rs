//! A set changed in one act: a rotation, and the winter set for the summer set.

use clerk::ActError;
use clerk::components::{NewComponent, NewFitting, NewSet, swap_set};
use model::{ComponentId, Fitting, Place, VehicleId};
use store::Reach;
use testkit::world::{World, code, day, km};

const WHEELS: [Place; 4] = [Place::FrontLeft, Place::FrontRight, Place::RearLeft, Place::RearRight];

/// Four tyres that lie in store.
async fn tyres(world: &World, product: &str) -> Vec<ComponentId> {
    let mut act = world.act().await;
    let mut made = Vec::new();
    for _ in WHEELS {
        let new = NewComponent {
            kind: code("tyre"),
            product: product.to_owned(),
            depth_new: None,
            came_used: false,
            cost: None,
        };
        made.push(clerk::components::create(&mut act, new).await.expect("a tyre").id);
    }
    act.commit().await.expect("committed");
    made
}

async fn swap(
    world: &World,
    van: VehicleId,
    on: &str,
    places: Vec<(ComponentId, Place)>,
) -> Result<Vec<Fitting>, ActError> {
    let mut act = world.act().await;
    let new = NewSet { on: day(on), odometer: km(20_000.0), places, reason: "Winter set on.".to_owned() };
    let fitted = swap_set(&mut act, van, new).await?;
    act.commit().await?;
    Ok(fitted)
}

fn on_wheels(tyres: &[ComponentId]) -> Vec<(ComponentId, Place)> {
    tyres.iter().copied().zip(WHEELS).collect()
}

/// Which component is in each place now, in order of places.
async fn fitted_now(world: &World, van: VehicleId) -> Vec<(Place, ComponentId)> {
    let mut tx = world.clerk.store().reader(Reach::Fleet(world.fleet)).await.expect("a reader");
    let facts = store::facts::load(&mut tx.conn(), world.fleet, &[van]).await.expect("facts");
    let open = facts[0].fittings.iter().filter(|fitting| fitting.to.is_none());
    let mut now: Vec<_> = open.map(|fitting| (fitting.place, fitting.component)).collect();
    now.sort_unstable();
    now
}

fn faults(refused: Result<Vec<Fitting>, ActError>) -> Vec<(String, String)> {
    let Err(ActError::Faults(faults)) = refused else { panic!("{refused:?}") };
    faults.into_iter().map(|fault| (fault.pointer, fault.code)).collect()
}

testkit::on_both_engines! {
    async fn one_set_comes_and_the_other_goes_into_store_in_one_act(store: Store) {
        let world = World::in_store(store).await;
        let van = world.van("Van 1").await;
        let (summer, winter) = (tyres(&world, "Summer").await, tyres(&world, "Winter").await);
        swap(&world, van, "2026-04-10", on_wheels(&summer)).await.expect("fitted");
        let fitted = swap(&world, van, "2026-11-02", on_wheels(&winter)).await.expect("swapped");
        assert_eq!(fitted.iter().map(|one| one.place).collect::<Vec<_>>(), WHEELS);
        let expected: Vec<_> = WHEELS.into_iter().zip(winter.clone()).collect();
        assert_eq!(fitted_now(&world, van).await, expected);
        let back = swap(&world, van, "2027-02-20", on_wheels(&summer)).await.expect("swapped back");
        assert!(back.iter().all(|one| one.from == day("2027-02-20") && summer.contains(&one.component)));
    }

    async fn a_rotation_moves_each_tyre_once_and_leaves_what_stays(store: Store) {
        let world = World::in_store(store).await;
        let van = world.van("Van 1").await;
        let set = tyres(&world, "Summer").await;
        swap(&world, van, "2026-04-10", on_wheels(&set)).await.expect("fitted");
        let (left, right) = ((set[0], Place::RearLeft), (set[2], Place::FrontLeft));
        let fitted = swap(&world, van, "2026-11-02", vec![left, right, (set[1], Place::FrontRight)]).await.expect("rotated");
        let since: Vec<_> = fitted.iter().map(|one| (one.component, one.from)).collect();
        let (before, now) = (day("2026-04-10"), day("2026-11-02"));
        assert_eq!(since, [(set[2], now), (set[1], before), (set[0], now)], "the front right one stayed");
        let there = fitted_now(&world, van).await;
        assert_eq!(there.iter().map(|(_, component)| *component).collect::<Vec<_>>(), [set[2], set[1], set[0], set[3]]);
    }

    async fn every_fault_is_named_and_nothing_is_moved(store: Store) {
        let world = World::in_store(store).await;
        let (van, other) = (world.van("Van 1").await, world.van("Van 2").await);
        let set = tyres(&world, "Summer").await;
        swap(&world, van, "2026-04-10", on_wheels(&set)).await.expect("fitted");
        let before = fitted_now(&world, van).await;
        let nobody = ComponentId(uuid::Uuid::from_u128(7));
        let places = vec![(set[0], Place::RearLeft), (set[0], Place::RearLeft), (nobody, Place::Spare)];
        let told = faults(swap(&world, van, "2026-11-02", places).await);
        let at = |pointer: &str, code: &str| (pointer.to_owned(), code.to_owned());
        assert_eq!(told, [at("/places/1/component", "twice"), at("/places/1/place", "twice"), at("/places/2/component", "unknown")]);
        let early = faults(swap(&world, van, "2026-04-09", vec![(set[0], Place::RearLeft)]).await);
        assert_eq!(early, [at("/places/0/component", "order")]);
        let elsewhere = swap(&world, other, "2026-11-02", vec![(set[0], Place::RearLeft)]).await;
        assert!(matches!(elsewhere, Err(ActError::Conflict { code: "fitted-elsewhere", .. })), "{elsewhere:?}");
        assert_eq!(fitted_now(&world, van).await, before);
    }

    /// A tyre fitted singly to a place is taken out of it by the set that comes.
    async fn what_was_fitted_singly_makes_room_for_the_set(store: Store) {
        let world = World::in_store(store).await;
        let van = world.van("Van 1").await;
        let (single, set) = (tyres(&world, "Single").await[0], tyres(&world, "Summer").await);
        let mut act = world.act().await;
        let new = NewFitting { component: single, place: Place::RearRight, from: day("2026-04-10"), odometer: km(9_000.0) };
        clerk::components::fit(&mut act, van, new).await.expect("fitted");
        act.commit().await.expect("committed");
        swap(&world, van, "2026-11-02", on_wheels(&set)).await.expect("swapped");
        assert!(fitted_now(&world, van).await.iter().all(|(_, component)| *component != single));
    }
}
