//! What rules, cover, meters and the dash's indicator may say: every fault at once, each with its place.

use chrono::{DateTime, Utc};
use clerk::indicators::{self, NewIndicator};
use clerk::meters::{self, NewHours, NewReplacement};
use clerk::readings::decide_hours;
use clerk::{ActError, coverage, rulebooks};
use model::{
    Anchoring, Calendar, CoverageTerms, Decision, DistanceFrom, Every, ExcessPrice, Grade, IndicatorLeft,
    IntervalRule, LastDay, MeterQuantity, ProRataStep, Reach, ReadingSource, Reduction, ReductionCause,
    Season, Transfer, Trigger, VehicleId, When, WindowKind,
};
use quantity::{Entered, Unit};
use store::Reach as Wall;
use testkit::world::{World, code, day, instant, km, rules};

fn codes<T: std::fmt::Debug>(told: Result<T, ActError>) -> Vec<(String, String)> {
    match told {
        Err(ActError::Faults(faults)) => faults.into_iter().map(|one| (one.pointer, one.code)).collect(),
        Err(ActError::Conflict { code, .. }) => vec![(String::new(), code.to_owned())],
        other => panic!("not refused: {other:?}"),
    }
}

fn faults(expected: &[(&str, &str)]) -> Vec<(String, String)> {
    expected.iter().map(|(pointer, code)| ((*pointer).to_owned(), (*code).to_owned())).collect()
}

const fn hours(value: f64) -> Entered {
    Entered::new(value, Unit::Hour)
}

fn ruled(name: &str, trigger: Trigger) -> IntervalRule {
    IntervalRule { code: code(name), trigger, indicator: false, ..rules().remove(0) }
}

fn every_month() -> Trigger {
    Trigger::Every(Every { months: Some(1), ..Every::default() })
}

fn graded(point: &str, at_least: Grade) -> Trigger {
    Trigger::When(When::Grade { point: code(point), at_least })
}

async fn make(world: &World, rules: Vec<IntervalRule>) -> Result<(), ActError> {
    let mut act = world.act().await;
    rulebooks::create(&mut act, "Trial".to_owned(), rules).await.map(|_| ())
}

fn season() -> Trigger {
    let day = |text: &str| text.parse().expect("a day of the year");
    Trigger::Season(Season { from: day("10-01"), to: day("02-29") })
}

fn calendar(cron: &str) -> Trigger {
    Trigger::Calendar(Calendar { cron: cron.to_owned() })
}

fn lease() -> CoverageTerms {
    CoverageTerms {
        kind: WindowKind::Lease,
        title: "Lease".to_owned(),
        scope: Vec::new(),
        starts_on: None,
        start_odometer: None,
        opened_by: None,
        months: Some(36),
        distance: Some(km(90_000.0)),
        distance_from: DistanceFrom::StartOdometer,
        last_day: LastDay::DayBefore,
        capacity_floor_percent: None,
        reduced_if: Vec::new(),
        pro_rata: Vec::new(),
        transfer: Transfer::Automatic,
        transfer_within_days: None,
        transferred_on: None,
        excess: Some(ExcessPrice { per: km(1.0), minor: 8.5, currency: "EUR".to_owned() }),
        voided_by: None,
    }
}

async fn cover(world: &World, van: VehicleId, terms: CoverageTerms) -> Result<(), ActError> {
    let mut act = world.act().await;
    coverage::open(&mut act, van, terms).await?;
    act.commit().await.map(|_| ())
}

fn dash(rule: &str, left: IndicatorLeft) -> NewIndicator {
    let read_at = instant("2027-02-27T08:00:00Z");
    NewIndicator { rule: code(rule), left, odometer: None, read_at, source: ReadingSource::Driver }
}

async fn read_dash(world: &World, van: VehicleId, new: NewIndicator) -> Result<(), ActError> {
    let mut act = world.act().await;
    indicators::record(&mut act, van, new).await?;
    act.commit().await.map(|_| ())
}

fn new_meter(quantity: MeterQuantity, old_shows: Entered, replaced_at: DateTime<Utc>) -> NewReplacement {
    let new_shows = Entered::new(0.0, old_shows.unit);
    NewReplacement { quantity, replaced_at, old_shows, new_shows, reason: "Dark".to_owned() }
}

async fn replace(world: &World, van: VehicleId, new: NewReplacement) -> Result<(), ActError> {
    let mut act = world.act().await;
    meters::replace(&mut act, van, new).await?;
    act.commit().await.map(|_| ())
}

async fn facts(world: &World, van: VehicleId) -> model::Facts {
    let mut tx = world.clerk.store().reader(Wall::Fleet(world.fleet)).await.expect("a reader");
    let loaded = store::facts::load(&mut tx.conn(), world.fleet, &[van]).await.expect("facts");
    loaded.into_iter().next().expect("a vehicle")
}

testkit::on_both_engines! {
    async fn a_book_takes_every_kind_of_trigger(store: Store) {
        let world = World::in_store(store).await;
        let first = Some(Every { engine_hours: Some(hours(50.0)), ..Every::default() });
        let within = Reach { days: Some(30), distance: None };
        let book = vec![
            IntervalRule { first, anchor: Anchoring::Grid, indicator: true, ..ruled("oil", every_month()) },
            ruled("pads", season()),
            ruled("wash", calendar("0 7 * * MON-FRI")),
            ruled("tyres", Trigger::When(When::Limit { component: code("tyre"), within })),
            ruled("brakes", graded("pad-thickness", Grade::Attend)),
        ];
        make(&world, book).await.expect("a book");
    }

    async fn rules_that_cannot_be_are_refused_each_at_its_place(store: Store) {
        let world = World::in_store(store).await;
        let none = Every { engine_hours: Some(hours(0.0)), ..Every::default() };
        let wrong = Every { engine_hours: Some(km(5.0)), ..Every::default() };
        let book = vec![
            IntervalRule { first: Some(none), severe: Some(wrong), ..ruled("oil", every_month()) },
            IntervalRule { first: Some(Every { days: Some(3), ..Every::default() }), ..ruled("pads", season()) },
            ruled("wash", calendar("0 7 * *")),
            ruled("shoes", graded("shoe-size", Grade::Attend)),
            ruled("tread", graded("tread-depth", Grade::Good)),
            ruled("tyres", Trigger::When(When::Limit { component: code("tyre"), within: Reach::default() })),
        ];
        let mut told = codes(make(&world, book).await);
        told.sort();
        let mut expected = faults(&[
            ("/rules/0/first", "range"),
            ("/rules/0/severe/engine_hours", "quantity"),
            ("/rules/1/first", "meaningless"),
            ("/rules/2/calendar/cron", "malformed"),
            ("/rules/3/when/grade/point", "unknown"),
            ("/rules/4/when/grade/at_least", "range"),
            ("/rules/5/when/limit/within", "missing"),
        ]);
        expected.sort();
        assert_eq!(told, expected);
    }

    async fn clauses_of_cover_that_cannot_be_are_refused_each_at_its_place(store: Store) {
        let world = World::in_store(store).await;
        let van = world.van("Van 1").await;
        cover(&world, van, lease()).await.expect("a lease");
        let step = |months, percent| ProRataStep { months: Some(months), distance: None, credit_percent: percent };
        let nothing = Reduction { when: ReductionCause::SecondOwner, months: None, distance: None };
        let terms = CoverageTerms {
            kind: WindowKind::Warranty,
            reduced_if: vec![nothing],
            pro_rata: vec![step(24, 100.0), step(24, 50.0), step(36, 120.0)],
            transferred_on: Some(day("2027-03-02")),
            ..lease()
        };
        assert_eq!(codes(cover(&world, van, terms).await), faults(&[
            ("/reduced_if/0", "missing"),
            ("/pro_rata/1", "order"),
            ("/pro_rata/2/credit_percent", "range"),
            ("/excess", "no-cap"),
            ("/transferred_on", "no-notice"),
            ("/transferred_on", "future"),
        ]));
        assert_eq!(facts(&world, van).await.windows.len(), 1);
    }

    async fn the_dash_speaks_only_of_rules_it_knows_and_of_what_can_be_left(store: Store) {
        let world = World::in_store(store).await;
        let van = world.van("Van 1").await;
        let some = IndicatorLeft::Days { days: 9 };
        let cases = [
            (dash("gearbox-oil", some), ("/rule", "unknown")),
            (dash("brake-fluid", some), ("/rule", "no-indicator")),
            (dash("engine-oil", IndicatorLeft::Percent { percent: 101.0 }), ("/left/percent", "range")),
            (dash("engine-oil", IndicatorLeft::Distance { distance: hours(3.0) }), ("/left/distance", "quantity")),
            (
                NewIndicator { read_at: instant("2027-03-01T09:00:00Z"), ..dash("engine-oil", some) },
                ("/read_at", "future"),
            ),
        ];
        for (new, fault) in cases {
            assert_eq!(codes(read_dash(&world, van, new).await), faults(&[fault]));
        }
        let with_odometer = NewIndicator { odometer: Some(km(19_000.0)), ..dash("engine-oil", some) };
        read_dash(&world, van, with_odometer).await.expect("read");
        let known = facts(&world, van).await;
        assert_eq!((known.indicators.len(), known.indicators[0].left), (1, some));
        assert_eq!(known.indicators[0].reading, known.readings.first().map(|reading| reading.id));
    }

    async fn a_meter_is_replaced_by_one_of_its_kind_and_once_at_a_time(store: Store) {
        let world = World::in_store(store).await;
        let van = world.van("Van 1").await;
        let at = instant("2027-02-20T08:00:00Z");
        replace(&world, van, new_meter(MeterQuantity::Distance, km(19_000.0), at)).await.expect("replaced");
        replace(&world, van, new_meter(MeterQuantity::Hours, hours(900.0), at)).await.expect("the other meter");

        let twice = replace(&world, van, new_meter(MeterQuantity::Distance, km(18_000.0), at)).await;
        assert_eq!(codes(twice), faults(&[("", "replaced-twice")]));
        let ahead = new_meter(MeterQuantity::Distance, hours(5.0), instant("2027-03-02T08:00:00Z"));
        let expected =
            [("/old_shows", "quantity"), ("/new_shows", "quantity"), ("/replaced_at", "future")];
        assert_eq!(codes(replace(&world, van, ahead).await), faults(&expected));
        assert_eq!(facts(&world, van).await.meter_replacements.len(), 2);
    }

    async fn running_hours_are_kept_whatever_they_say_and_corrected_in_hours(store: Store) {
        let world = World::in_store(store).await;
        let van = world.van("Van 1").await;
        let mut act = world.act().await;
        let new = NewHours { value: hours(812.5), read_at: act.at(), source: ReadingSource::Technician };
        let reading = meters::record_hours(&mut act, van, new).await.expect("kept");
        act.commit().await.expect("committed");

        let mut act = world.act().await;
        let correct = |value| Decision::Correct { value };
        let in_km = decide_hours(&mut act, van, reading.id, correct(km(5.0)), "Typed".to_owned()).await;
        assert_eq!(codes(in_km), faults(&[("/value", "quantity")]));
        let odometer = clerk::readings::decide(&mut act, van, reading.id, Decision::Release, "So".to_owned()).await;
        assert!(matches!(odometer, Err(ActError::NotFound { .. })), "{odometer:?}");
        let decided = decide_hours(&mut act, van, reading.id, correct(hours(821.5)), "Typed".to_owned()).await;
        act.commit().await.expect("committed");

        let known = facts(&world, van).await;
        assert_eq!(known.hour_readings, [reading]);
        assert_eq!(known.decisions, [decided.expect("decided")]);
        assert!(known.readings.is_empty());
    }
}
