//! Ids of another fleet find nothing and change nothing, with every row within reach.

use crate::inspections::{finding, inspection, keep, row};
use crate::off_road::{hour_reading, indicator, keep_hours, new_odometer, stay};
use crate::records::{bare_service, bare_window, fitting, keep_reading, paper, reading, tyre};
use crate::rules::{exception, rulebook};
use crate::set_asides::{keep_set_aside, set_aside};
use crate::world::{
    CAR, DEPOT, MANAGER, OURS, THEIRS, VAN, WORKSHOP, code, furnished, id, morning, stamp, vehicle,
};
use model::{
    FleetId, HourReading, IndicatorLeft, IndicatorReading, KeyId, LetterId, MeterQuantity, Place, Stay,
};
use store::{
    AsKnown, Conn, StoreError, components, coverage, depots, derived, findings, fits, fittings, indicators,
    inspections, keys, letters, marks, meters, notices, overrides, papers, people, readings, rulebooks,
    services, set_asides, sheets, states, stays, vehicles, workshops,
};
use testkit::on_both_engines;

/// One of each kind in our fleet.
async fn furnish(conn: &mut Conn<'_>) {
    let by = &stamp(OURS);
    keep_reading(conn, VAN, &reading(101, 100.0, "2027-02-01T00:00:00Z")).await;
    services::insert(conn, OURS, VAN, &bare_service(200, 101, "2027-02-01"), by).await.expect("kept");
    papers::insert(conn, OURS, VAN, &paper(300, "2027-05-01"), by).await.expect("kept");
    coverage::insert(conn, OURS, VAN, &bare_window(502), by).await.expect("kept");
    overrides::insert(conn, OURS, VAN, &exception(920), by).await.expect("kept");
    rulebooks::insert(conn, OURS, &rulebook(1, vec![]), by).await.expect("kept");
    keep(conn, &[row(VAN, inspection(400, vec![]))]).await;
    keep_set_aside(conn, &[(VAN, set_aside(430, 0))]).await;
    findings::insert_many(conn, OURS, &[(VAN, finding(420, None))], by).await.expect("kept");
    components::insert(conn, OURS, &tyre(600), by).await.expect("kept");
    fittings::insert(conn, OURS, &fitting(700, 600, VAN), by).await.expect("kept");
    stays::insert(conn, OURS, VAN, &open_stay(), by).await.expect("kept");
    meters::insert(conn, OURS, VAN, &new_odometer(50), by).await.expect("kept");
    keep_hours(conn, VAN, &running()).await;
    indicators::insert(conn, OURS, VAN, &dash(), by).await.expect("kept");
}

fn open_stay() -> Stay {
    stay(40, "2027-02-01T06:30:00Z", None)
}

fn running() -> HourReading {
    hour_reading(103, 812.5, "2027-02-01T00:00:00Z")
}

fn dash() -> IndicatorReading {
    indicator(60, IndicatorLeft::Percent { percent: 15.0 }, "2027-02-01T00:00:00Z")
}

/// What each look-up by an id finds for `fleet`, by name.
async fn found(conn: &mut Conn<'_>, fleet: FleetId) -> Result<Vec<(&'static str, bool)>, StoreError> {
    let there = Place::FrontLeft;
    Ok(vec![
        ("depot", depots::find(conn, fleet, DEPOT).await?.is_some()),
        ("person", people::find(conn, fleet, MANAGER).await?.is_some()),
        ("workshop", workshops::find(conn, fleet, WORKSHOP).await?.is_some()),
        ("vehicle", vehicles::find(conn, fleet, VAN).await?.is_some()),
        ("state", !states::lock(conn, fleet, &[VAN]).await?.is_empty()),
        (
            "reading",
            readings::find(conn, fleet, VAN, reading(101, 0.0, "2027-01-01T00:00:00Z").id).await?.is_some(),
        ),
        (
            "service",
            services::find(conn, fleet, VAN, bare_service(200, 101, "2027-02-01").id).await?.is_some(),
        ),
        ("paper", papers::find(conn, fleet, VAN, paper(300, "2027-05-01").id).await?.is_some()),
        ("window", coverage::find(conn, fleet, VAN, bare_window(502).id).await?.is_some()),
        ("rulebook", rulebooks::find(conn, fleet, rulebook(1, vec![]).id).await?.is_some()),
        ("its version", rulebooks::find_version(conn, fleet, rulebook(1, vec![]).id, 1).await?.is_some()),
        ("exceptions", !overrides::page(conn, fleet, VAN, None, 9).await?.is_empty()),
        ("sheet", sheets::newest(conn, fleet, &code("walk-round")).await?.is_some()),
        (
            "inspection",
            inspections::find_with_author(conn, fleet, inspection(400, vec![]).id).await?.is_some(),
        ),
        ("held measurement", set_asides::find(conn, fleet, set_aside(430, 0).id).await?.is_some()),
        ("all that waits", !set_asides::waiting(conn, fleet, None, 9).await?.is_empty()),
        (
            "what waits of a vehicle",
            !set_asides::waiting_of(conn, fleet, VAN, AsKnown::NOW).await?.is_empty(),
        ),
        (
            "what is fitted with its component",
            !fittings::with_components(conn, fleet, &[VAN]).await?.is_empty(),
        ),
        ("finding", findings::find(conn, fleet, VAN, finding(420, None).id).await?.is_some()),
        ("component", components::find(conn, fleet, tyre(600).id).await?.is_some()),
        ("fitting", fittings::find(conn, fleet, fitting(700, 600, VAN).id).await?.is_some()),
        ("what is fitted", !fittings::open_at(conn, fleet, VAN, there).await?.is_empty()),
        ("where it is fitted", fittings::open_of(conn, fleet, tyre(600).id).await?.is_some()),
        ("stay", stays::find(conn, fleet, VAN, open_stay().id).await?.is_some()),
        ("all its stays", !stays::of(conn, fleet, &[VAN]).await?.is_empty()),
        ("replaced meter", meters::find(conn, fleet, VAN, new_odometer(50).id).await?.is_some()),
        ("running hours", readings::hours::find(conn, fleet, VAN, running().id).await?.is_some()),
        ("indicator", indicators::find(conn, fleet, VAN, dash().id).await?.is_some()),
        ("facts", !store::facts::load(conn, fleet, &[VAN]).await?.is_empty()),
    ])
}

/// How many rows the other fleet's acts on our ids change, by name.
async fn changed(conn: &mut Conn<'_>) -> Result<Vec<(&'static str, bool)>, StoreError> {
    let (them, at) = (THEIRS, morning());
    let van = vehicle(THEIRS, VAN, DEPOT, "Theirs now");
    Ok(vec![
        ("depot", depots::update(conn, them, &crate::world::depot(DEPOT), 1).await?),
        ("person", people::update(conn, them, &crate::world::person(MANAGER), 1).await?),
        ("erasing", people::erase(conn, them, MANAGER, 1, at).await?),
        ("workshop", workshops::update(conn, them, &crate::world::workshop(WORKSHOP), 1).await?),
        ("vehicle", vehicles::update(conn, them, &van, 1).await?),
        ("key", keys::revoke(conn, them, KeyId(id(50)), at).await?),
        (
            "reading",
            readings::withdraw(conn, them, VAN, reading(101, 0.0, "2027-01-01T00:00:00Z").id, at).await?,
        ),
        ("service", services::withdraw(conn, them, VAN, bare_service(200, 101, "2027-02-01").id, at).await?),
        ("paper", papers::withdraw(conn, them, VAN, paper(300, "2027-05-01").id, at).await?),
        ("window", coverage::withdraw(conn, them, VAN, bare_window(502).id, at).await?),
        ("exception", overrides::withdraw(conn, them, VAN, exception(920).id, at).await?),
        ("stay", stays::withdraw(conn, them, VAN, open_stay().id, at).await?),
        ("replaced meter", meters::withdraw(conn, them, VAN, new_odometer(50).id, at).await?),
        ("running hours", readings::withdraw(conn, them, VAN, running().id, at).await?),
        ("indicator", indicators::withdraw(conn, them, VAN, dash().id, at).await?),
        ("rulebook", rulebooks::revise(conn, them, &rulebook(2, vec![]), 1, &stamp(them)).await?),
        ("inspection", inspections::withdraw(conn, them, inspection(400, vec![]).id, at).await?),
        ("needed version", states::raise_needed(conn, them, &[VAN, CAR]).await? > 0),
    ])
}

on_both_engines! {
    async fn ids_of_another_fleet_find_nothing(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        furnish(conn).await;
        let ours = found(conn, OURS).await.expect("answers");
        let theirs = found(conn, THEIRS).await.expect("answers");
        assert!(ours.iter().all(|(_, there)| *there), "{ours:?}");
        assert!(!theirs.iter().any(|(_, there)| *there), "{theirs:?}");
    }

    async fn ids_of_another_fleet_change_nothing(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        furnish(conn).await;
        let before = store::facts::load(conn, OURS, &[VAN]).await.expect("facts");
        let changes = changed(conn).await.expect("answers");
        assert!(!changes.iter().any(|(_, done)| *done), "{changes:?}");
        assert_eq!(store::facts::load(conn, OURS, &[VAN]).await.expect("facts"), before);
    }

    async fn facts_about_another_fleets_vehicle_are_refused(store: Store) {
        let mut tx = furnished(&store).await;
        let refusal =
            papers::insert(&mut tx.conn(), THEIRS, VAN, &paper(300, "2027-05-01"), &stamp(THEIRS)).await;
        assert!(refusal.as_ref().is_err_and(StoreError::is_foreign_key), "{refusal:?}");
    }

    async fn lists_show_one_fleet(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        furnish(conn).await;
        let (fleet, now) = (THEIRS, morning());
        let empty = [
            papers::page(conn, fleet, VAN, None, 9).await.expect("a page").is_empty(),
            stays::page(conn, fleet, VAN, None, 9).await.expect("a page").is_empty(),
            meters::page(conn, fleet, VAN, None, 9).await.expect("a page").is_empty(),
            readings::hours::page(conn, fleet, VAN, None, 9).await.expect("a page").is_empty(),
            indicators::page(conn, fleet, VAN, None, 9).await.expect("a page").is_empty(),
            findings::page(conn, fleet, findings::Filter::default(), None, 9).await.expect("a page").is_empty(),
            fittings::page(conn, fleet, fittings::Filter::default(), None, 9).await.expect("a page").is_empty(),
            rulebooks::page(conn, fleet, None, 9).await.expect("a page").is_empty(),
            components::page(conn, fleet, None, 9).await.expect("a page").is_empty(),
            sheets::page(conn, fleet, None, 9).await.expect("a page").is_empty(),
            fits::pinned(conn, fleet, MeterQuantity::Distance, &[VAN]).await.expect("an answer").is_empty(),
            marks::of_vehicle(conn, fleet, VAN).await.expect("an answer").is_empty(),
            notices::carried_by(conn, fleet, LetterId(id(70))).await.expect("an answer").is_empty(),
            letters::page(conn, fleet, None, 9).await.expect("a page").is_empty(),
            derived::held(conn, fleet, None, 9).await.expect("a page").is_empty(),
            derived::due_items(conn, fleet, &derived::ItemFilter::default(), now, None, 9).await.expect("a page").is_empty(),
        ];
        assert_eq!(empty, [true; 16]);
        let their_depots = depots::page(conn, fleet, None, 9).await.expect("a page");
        assert_eq!(their_depots.len(), 1);
        assert_ne!(their_depots[0].id, DEPOT);
    }
}
