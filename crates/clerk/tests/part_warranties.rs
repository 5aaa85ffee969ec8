//! The warranty of a replaced part, opened by the service record that fitted it.

use clerk::services::{NewService, PartWarranty};
use clerk::{ActError, horizons};
use model::horizon::WindowOutlook;
use model::{LastDay, Part, ServiceId, VehicleId};
use quantity::Distance;
use store::Reach;
use testkit::world::{World, code, day, km};

async fn windows(world: &World, van: VehicleId) -> Vec<WindowOutlook> {
    horizons::of(&world.clerk, world.fleet, van).await.expect("an answer").expect("the van").horizon.windows
}

fn alternator(warranty: PartWarranty) -> NewService {
    NewService {
        done_on: day("2027-02-01"),
        odometer: km(20_000.0),
        rules: Vec::new(),
        workshop: None,
        parts: vec![Part { name: "Alternator".to_owned(), number: None, quantity: 1.0 }],
        cost_minor: None,
        currency: None,
        evidence: None,
        note: None,
        warranties: vec![warranty],
    }
}

fn two_years_or(distance: f64) -> PartWarranty {
    PartWarranty {
        part: 0,
        component: code("alternator"),
        months: Some(24),
        distance: Some(km(distance)),
        last_day: LastDay::DayBefore,
    }
}

async fn record(world: &World, van: VehicleId, new: NewService) -> Result<ServiceId, ActError> {
    let mut act = world.act().await;
    let service = clerk::services::record(&mut act, van, new).await?.id;
    act.commit().await?;
    Ok(service)
}

testkit::on_both_engines! {
    /// From 1 February 2027 and 20,000 km, for 24 months or 40,000 km: through 31 January 2029, to 60,000 km.
    async fn the_warranty_of_a_part_runs_from_the_service_that_fitted_it(store: Store) {
        let world = World::in_store(store).await;
        let van = world.van("Van 1").await;
        let service = record(&world, van, alternator(two_years_or(40_000.0))).await.expect("recorded");
        let told = windows(&world, van).await.remove(0);
        assert_eq!(told.title, "Replaced part: Alternator");
        assert_eq!((told.starts_on, told.start_proven), (day("2027-02-01"), true));
        assert_eq!((told.last_day, told.odometer_limit), (Some(day("2029-01-31")), Some(Distance::from_km(60_000))));
        let mut tx = world.clerk.store().reader(Reach::Fleet(world.fleet)).await.expect("a reader");
        let kept = store::coverage::opened_by(&mut tx.conn(), world.fleet, van, service).await.expect("an answer");
        drop(tx);
        assert_eq!((kept[0].id, &kept[0].terms.scope), (told.window, &vec![code("alternator")]));
        let mut act = world.act().await;
        clerk::services::withdraw(&mut act, van, service).await.expect("withdrawn");
        act.commit().await.expect("committed");
        assert_eq!(windows(&world, van).await, []);
    }

    async fn a_warranty_without_a_limit_is_refused_with_the_whole_record(store: Store) {
        let world = World::in_store(store).await;
        let van = world.van("Van 1").await;
        let endless = PartWarranty { months: None, distance: None, ..two_years_or(1.0) };
        let refused = record(&world, van, alternator(endless)).await;
        let Err(ActError::Faults(faults)) = refused else { panic!("{refused:?}") };
        let told: Vec<_> = faults.iter().map(|fault| (fault.pointer.as_str(), fault.code.as_str())).collect();
        assert_eq!(told, [("/parts/0/warranty/months", "missing")]);
        let facts = horizons::of(&world.clerk, world.fleet, van).await.expect("an answer").expect("the van").facts;
        assert_eq!((facts.services.len(), facts.readings.len(), facts.windows.len()), (0, 0, 0));
    }
}
