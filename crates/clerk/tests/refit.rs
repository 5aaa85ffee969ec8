//! The fleet's usage fitted anew: adopted where it moves forecasts, kept where it would only make dates tremble.

use chrono::{DateTime, Days, TimeDelta, Utc};
use clerk::fits::{Refit, refit};
use clerk::horizons::{self, View};
use clerk::meters::NewHours;
use clerk::readings::NewReading;
use clerk::vehicles::{NewVehicle, VehicleChange};
use model::{Clock, Duty, FitId, FitLevel, KappaFit, PinnedFit, ReadingSource, VehicleId};
use quantity::{Entered, Unit};
use store::Reach;
use testkit::world::{World, day, km};

/// Unevenness of weeks, so that regularity can be told; mean 1.
const WEEKS: [f64; 6] = [0.6, 1.5, 0.9, 1.0, 1.4, 0.6];

fn number(count: usize) -> f64 {
    f64::from(u32::try_from(count).expect("a few"))
}

/// Registers vans in service since 2025.
async fn vans(world: &World, from: usize, count: usize, duty: Duty) -> Vec<VehicleId> {
    let mut act = world.act().await;
    let mut made = Vec::new();
    for n in from..from + count {
        let new =
            NewVehicle { in_service_on: Some(day("2025-01-01")), duty, ..world.new_van(&format!("Van {n}")) };
        made.push(clerk::vehicles::register(&mut act, new).await.expect("a vehicle").id);
    }
    act.commit().await.expect("committed");
    made
}

/// Weekly readings up to the world's now, as many as weeks are given, from what the odometer showed before.
async fn drive(world: &World, vans: &[VehicleId], shown: &mut [f64], weeks: usize, daily_km: f64) {
    let first = world.clock.now() - Days::new(7 * u64::try_from(weeks).expect("a few"));
    let mut act = world.act().await;
    for (place, van) in vans.iter().enumerate() {
        for week in 1..=weeks {
            shown[place] += (7.0 * (daily_km + number(place)) * WEEKS[week % WEEKS.len()]).round();
            let read_at = first + Days::new(7 * u64::try_from(week).expect("a few"));
            let new = NewReading { value: km(shown[place]), read_at, source: ReadingSource::Technician };
            clerk::readings::record(&mut act, *van, new).await.expect("a reading");
        }
    }
    act.commit().await.expect("committed");
}

async fn fit_of(world: &World, van: VehicleId, known_at: Option<DateTime<Utc>>) -> PinnedFit {
    let view = View { known_at, as_of: None };
    let outlook = horizons::at(&world.clerk, world.fleet, van, view).await.expect("an answer");
    outlook.expect("the van").facts.usage
}

async fn ids(world: &World, vans: &[VehicleId]) -> Vec<Option<FitId>> {
    let mut ids = Vec::new();
    for van in vans {
        ids.push(fit_of(world, *van, None).await.id);
    }
    ids
}

async fn behind(world: &World) -> usize {
    let mut tx = world.clerk.store().reader(Reach::Fleet(world.fleet)).await.expect("a reader");
    let states = store::states::page(&mut tx.conn(), world.fleet, None, 999).await.expect("states");
    states.iter().filter(|state| state.done_version < state.needed_version).count()
}

/// Weekly readings of the hour meters up to the world's now.
async fn run(world: &World, vans: &[VehicleId], weeks: usize, daily_hours: f64) {
    let first = world.clock.now() - Days::new(7 * u64::try_from(weeks).expect("a few"));
    let mut act = world.act().await;
    for (place, van) in vans.iter().enumerate() {
        let mut shown = 100.0;
        for week in 1..=weeks {
            shown += 7.0 * (daily_hours + number(place) / 8.0) * WEEKS[week % WEEKS.len()];
            let read_at = first + Days::new(7 * u64::try_from(week).expect("a few"));
            let value = Entered::new((shown * 10.0).round() / 10.0, Unit::Hour);
            let new = NewHours { value, read_at, source: ReadingSource::Technician };
            clerk::meters::record_hours(&mut act, *van, new).await.expect("a reading");
        }
    }
    act.commit().await.expect("committed");
}

async fn running_fit(world: &World, van: VehicleId, known_at: Option<DateTime<Utc>>) -> PinnedFit {
    let view = View { known_at, as_of: None };
    let outlook = horizons::at(&world.clerk, world.fleet, van, view).await.expect("an answer");
    outlook.expect("the van").facts.running
}

testkit::on_both_engines! {
    /// A cohort of nine whose engines run 3 to 4 hours a day; nobody reads their odometers.
    async fn running_hours_are_fitted_alike_and_a_newcomer_is_judged_by_them(store: Store) {
        let world = World::in_store(store).await;
        let old = vans(&world, 0, 9, Duty::Pool).await;
        run(&world, &old, 20, 3.0).await;
        let before = world.clock.now();
        world.clock.pass(TimeDelta::hours(1));
        let first = refit(&world.clerk, world.fleet).await.expect("refitted");
        assert_eq!((first.adopted, first.pinned), (3, 9), "the groups of hours alone: of distance nothing is known");
        let PinnedFit { id, fit } = running_fit(&world, old[0], None).await;
        assert_eq!((fit.level, fit.vehicles), (FitLevel::Cohort, 9));
        let mean = fit.a * fit.q / (fit.p - 1.0);
        assert!((3.0..4.2).contains(&mean), "{mean} h a day");
        assert_eq!(fit_of(&world, old[0], None).await.id, None, "distance keeps the shipped default");
        assert_eq!(running_fit(&world, old[0], Some(before)).await.id, None, "not known then");
        let newcomer = vans(&world, 9, 1, Duty::Pool).await[0];
        assert_eq!(running_fit(&world, newcomer, None).await.id, id);
        let again = refit(&world.clerk, world.fleet).await.expect("refitted");
        assert_eq!((again.adopted, again.pinned), (0, 0));
    }

    /// Three groups: the cohort, its duty, the fleet.
    async fn the_first_fit_is_adopted_and_the_same_readings_fitted_again_change_nothing(store: Store) {
        let world = World::in_store(store).await;
        let vans = vans(&world, 0, 9, Duty::Pool).await;
        drive(&world, &vans, &mut [0.0; 9], 20, 60.0).await;
        world.tick().await;
        let first = refit(&world.clerk, world.fleet).await.expect("refitted");
        assert_eq!((first, behind(&world).await), (Refit { adopted: 3, kept: 0, pinned: 9, ..Refit::default() }, 9));
        let fit = fit_of(&world, vans[0], None).await;
        assert_eq!((fit.fit.level, fit.fit.vehicles), (FitLevel::Cohort, 9));
        world.tick().await;
        let again = refit(&world.clerk, world.fleet).await.expect("refitted");
        assert_eq!((again, behind(&world).await), (Refit { adopted: 0, kept: 3, pinned: 0, ..Refit::default() }, 0));
    }

    async fn a_fleet_that_tells_nothing_yet_keeps_the_shipped_default(store: Store) {
        let world = World::in_store(store).await;
        let vans = vans(&world, 0, 2, Duty::Pool).await;
        drive(&world, &vans, &mut [0.0; 2], 5, 60.0).await;
        world.tick().await;
        let done = refit(&world.clerk, world.fleet).await.expect("refitted");
        assert_eq!((done, behind(&world).await), (Refit { adopted: 0, kept: 3, pinned: 0, ..Refit::default() }, 0));
        assert_eq!(fit_of(&world, vans[0], None).await.id, None);
    }

    async fn a_week_as_before_is_not_adopted(store: Store) {
        let world = World::in_store(store).await;
        let vans = vans(&world, 0, 9, Duty::Pool).await;
        let mut shown = [0.0; 9];
        drive(&world, &vans, &mut shown, 24, 60.0).await;
        refit(&world.clerk, world.fleet).await.expect("refitted");
        let before = ids(&world, &vans).await;
        world.clock.pass(TimeDelta::days(42));
        drive(&world, &vans, &mut shown, 6, 60.0).await;
        let later = refit(&world.clerk, world.fleet).await.expect("refitted");
        assert_eq!((later, ids(&world, &vans).await), (Refit { adopted: 0, kept: 3, pinned: 0, ..Refit::default() }, before));
    }

    async fn twice_the_distance_a_day_is_adopted_and_the_former_fit_stays_on_record(store: Store) {
        let world = World::in_store(store).await;
        let vans = vans(&world, 0, 9, Duty::Pool).await;
        let mut shown = [0.0; 9];
        drive(&world, &vans, &mut shown, 12, 60.0).await;
        refit(&world.clerk, world.fleet).await.expect("refitted");
        let (then, former) = (world.clock.now(), fit_of(&world, vans[0], None).await);
        world.clock.pass(TimeDelta::days(70));
        drive(&world, &vans, &mut shown, 10, 120.0).await;
        let later = refit(&world.clerk, world.fleet).await.expect("refitted");
        assert_eq!((later.adopted, later.pinned), (3, 9));
        let now = fit_of(&world, vans[0], None).await;
        let mean = |fit: &PinnedFit| fit.fit.a * fit.fit.q / (fit.fit.p - 1.0);
        assert!(mean(&now) > 1.2 * mean(&former), "{now:?} after {former:?}");
        assert_eq!(fit_of(&world, vans[0], Some(then)).await, former, "as known then");
    }

    async fn a_large_fleet_is_pinned_in_batches_each_vehicle_once(store: Store) {
        let world = World::in_store(store).await;
        let vans = vans(&world, 0, 70, Duty::Pool).await;
        drive(&world, &vans, &mut [0.0; 70], 6, 40.0).await;
        world.tick().await;
        let done = refit(&world.clerk, world.fleet).await.expect("refitted");
        assert_eq!((done.pinned, behind(&world).await), (70, 70));
        let pinned = ids(&world, &vans).await;
        assert!(pinned[0].is_some() && pinned.iter().all(|id| *id == pinned[0]), "one cohort, one fit");
        assert_eq!(world.tick().await.renewed, 70);
    }

    async fn a_newcomer_is_pinned_to_its_cohorts_newest_fit_or_to_a_wider_one(store: Store) {
        let world = World::in_store(store).await;
        let nobody = vans(&world, 100, 1, Duty::Pool).await[0];
        assert_eq!(fit_of(&world, nobody, None).await.id, None, "there is none yet");
        let old = vans(&world, 0, 9, Duty::Pool).await;
        drive(&world, &old, &mut [0.0; 9], 20, 60.0).await;
        refit(&world.clerk, world.fleet).await.expect("refitted");
        let of_cohort = fit_of(&world, old[0], None).await;
        let newcomer = vans(&world, 20, 1, Duty::Pool).await[0];
        assert_eq!(fit_of(&world, newcomer, None).await, of_cohort);
        let stranger = vans(&world, 30, 1, Duty::Rideshare).await[0];
        let of_fleet = fit_of(&world, stranger, None).await;
        assert_eq!(of_fleet.fit.level, FitLevel::Fleet);
        let mut act = world.act().await;
        let change = VehicleChange { duty: Some(Duty::Pool), ..VehicleChange::default() };
        clerk::vehicles::change(&mut act, stranger, 1, change).await.expect("changed");
        act.commit().await.expect("committed");
        assert_eq!(fit_of(&world, stranger, None).await, of_cohort);
    }

    /// 12 vans, weekly for two years. A case every 60 days from 243 days on leaves five windows of 180 days to each.
    async fn the_width_is_measured_recorded_and_read_back(store: Store) {
        let world = World::in_store(store).await;
        let vans = vans(&world, 0, 12, Duty::Pool).await;
        drive(&world, &vans, &mut [0.0; 12], 104, 60.0).await;
        refit(&world.clerk, world.fleet).await.expect("refitted");
        let fit = fit_of(&world, vans[0], None).await.fit;
        let KappaFit { at_30, at_90, at_180, cases } = fit.kappa.expect("measured");
        assert_eq!(fit.level, FitLevel::Cohort);
        assert!(cases[0] >= cases[1] && cases[1] >= cases[2] && cases[2] >= 50, "{cases:?}");
        assert!([at_30, at_90, at_180].iter().all(|kappa| (0.5..=20.0).contains(kappa)), "{fit:?}");
        let few = World::van(&world, "Van 99").await;
        assert_eq!(fit_of(&world, few, None).await.fit.kappa, fit.kappa, "a newcomer gets it along");
    }
}
