//! Stays, replaced meters, running hours, the dash's indicator and answers: each comes back as it was.

use crate::inspections::{inspection, keep, row, tread};
use crate::records::{decision, keep_reading, reading};
use crate::world::{CAR, OURS, VAN, WORKSHOP, at, code, furnished, id, km, morning, stamp};
use model::{
    Decision, HourReading, IndicatorId, IndicatorLeft, IndicatorReading, MeasurementAnswer,
    MeasurementChoice, MeasurementId, MeterQuantity, MeterReplacement, Place, ReadingId, ReadingSource,
    ReplacementId, Stay, StayId, VehicleId, Zone,
};
use quantity::{Entered, Unit};
use store::readings::{ReadingLinks, hours};
use store::{Conn, StoreError, answers, indicators, meters, readings, stays};
use testkit::on_both_engines;

pub fn stay(number: u128, in_at: &str, out_at: Option<&str>) -> Stay {
    Stay {
        id: StayId(id(number)),
        workshop: None,
        in_at: at(in_at),
        out_at: out_at.map(at),
        reason: "Gearbox".to_owned(),
        waiting_for: None,
        recorded_at: morning(),
    }
}

pub fn new_odometer(number: u128) -> MeterReplacement {
    MeterReplacement {
        id: ReplacementId(id(number)),
        quantity: MeterQuantity::Distance,
        replaced_at: at("2027-01-15T10:00:00.000001Z"),
        old_shows: Entered::new(30_000.4, Unit::Mile),
        new_shows: km(0.0),
        reason: "Cluster dark".to_owned(),
        recorded_at: morning(),
    }
}

fn new_hour_meter(number: u128) -> MeterReplacement {
    MeterReplacement {
        quantity: MeterQuantity::Hours,
        replaced_at: at("2027-02-15T10:00:00Z"),
        old_shows: Entered::new(1812.5, Unit::Hour),
        new_shows: Entered::new(0.5, Unit::Hour),
        ..new_odometer(number)
    }
}

pub fn hour_reading(number: u128, value: f64, read_at: &str) -> HourReading {
    let entered = Entered::new(value, Unit::Hour);
    HourReading {
        id: ReadingId(id(number)),
        entered,
        seconds: entered.exact().expect("a running time"),
        read_at: at(read_at),
        recorded_at: morning(),
        source: ReadingSource::VehicleBus,
        clock_in_doubt: false,
    }
}

pub async fn keep_hours(conn: &mut Conn<'_>, vehicle: VehicleId, reading: &HourReading) {
    let links = ReadingLinks::default();
    hours::insert(conn, OURS, vehicle, reading, &links, &stamp(OURS)).await.expect("kept");
}

pub fn indicator(number: u128, left: IndicatorLeft, read_at: &str) -> IndicatorReading {
    IndicatorReading {
        id: IndicatorId(id(number)),
        rule: code("engine-oil"),
        left,
        reading: None,
        read_at: at(read_at),
        recorded_at: morning(),
    }
}

pub fn measured_anew(measurement: u128, choice: MeasurementChoice) -> MeasurementAnswer {
    MeasurementAnswer { measurement: MeasurementId(id(measurement)), choice, recorded_at: morning() }
}

/// The log of running hours of the van as the page shows it.
async fn hours_listed(conn: &mut Conn<'_>) -> Vec<HourReading> {
    hours::page(conn, OURS, VAN, None, 9).await.expect("a page")
}

on_both_engines! {
    async fn a_stay_comes_back_as_it_was_until_withdrawn(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        let long = Stay {
            workshop: Some(WORKSHOP),
            waiting_for: Some("A gearbox from the maker".to_owned()),
            ..stay(40, "2027-02-01T06:30:00.000001Z", None)
        };
        let short = stay(41, "2027-01-01T08:00:00Z", Some("2027-01-01T16:00:00Z"));
        for kept in [&long, &short] {
            stays::insert(conn, OURS, VAN, kept, &stamp(OURS)).await.expect("kept");
            assert_eq!(stays::find(conn, OURS, VAN, kept.id).await.expect("an answer").as_ref(), Some(kept));
            assert_eq!(stays::find(conn, OURS, CAR, kept.id).await.expect("an answer"), None);
        }
        let both = stays::page(conn, OURS, VAN, None, 9).await.expect("a page");
        let behind = stays::page(conn, OURS, VAN, Some((short.in_at, short.id.0)), 9).await.expect("a page");
        assert_eq!((both, behind), (vec![short.clone(), long.clone()], vec![long.clone()]));
        let gone = stays::withdraw(conn, OURS, VAN, long.id, morning()).await.expect("an answer");
        let again = stays::withdraw(conn, OURS, VAN, long.id, morning()).await.expect("an answer");
        let left = stays::of(conn, OURS, &[VAN, CAR]).await.expect("an answer");
        assert_eq!((gone, again, left), (true, false, vec![(VAN, short)]));
    }

    async fn a_stay_ends_once(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        let open = stay(40, "2027-02-01T06:30:00Z", None);
        stays::insert(conn, OURS, VAN, &open, &stamp(OURS)).await.expect("kept");
        let out = at("2027-02-03T15:00:00.000001Z");
        let first = stays::end(conn, OURS, open.id, out, &stamp(OURS)).await.expect("an answer");
        let second = stays::end(conn, OURS, open.id, morning(), &stamp(OURS)).await.expect("an answer");
        let ended = Stay { out_at: Some(out), ..open.clone() };
        assert_eq!((first, second), (true, false));
        assert_eq!(stays::find(conn, OURS, VAN, open.id).await.expect("an answer"), Some(ended));
        let of_none = stays::end(conn, OURS, StayId(id(404)), out, &stamp(OURS)).await;
        assert!(of_none.as_ref().is_err_and(StoreError::is_foreign_key), "{of_none:?}");
    }

    async fn a_replaced_meter_comes_back_as_it_was_until_withdrawn(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        let both = [new_odometer(50), new_hour_meter(51)];
        for kept in &both {
            meters::insert(conn, OURS, VAN, kept, &stamp(OURS)).await.expect("kept");
            assert_eq!(meters::find(conn, OURS, VAN, kept.id).await.expect("an answer").as_ref(), Some(kept));
        }
        assert_eq!(meters::page(conn, OURS, VAN, None, 9).await.expect("a page"), both);
        assert!(meters::withdraw(conn, OURS, VAN, both[0].id, morning()).await.expect("an answer"));
        assert_eq!(meters::page(conn, OURS, VAN, None, 9).await.expect("a page"), both[1..]);
        assert_eq!(meters::find(conn, OURS, VAN, both[0].id).await.expect("an answer"), None);
    }

    async fn a_replaced_meter_of_another_quantity_is_refused(store: Store) {
        let mut tx = furnished(&store).await;
        let muddled = MeterReplacement { new_shows: Entered::new(3.0, Unit::Hour), ..new_odometer(50) };
        let refusal = meters::insert(&mut tx.conn(), OURS, VAN, &muddled, &stamp(OURS)).await;
        assert!(matches!(refusal, Err(StoreError::Corrupt { .. })), "{refusal:?}");
    }

    async fn hours_and_distance_share_a_log_and_never_a_list(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        let odometer = reading(101, 48_210.0, "2027-02-01T00:00:00Z");
        let running = [
            hour_reading(102, 1812.25, "2027-02-01T00:00:00Z"),
            HourReading { clock_in_doubt: true, ..hour_reading(103, 1800.0, "2027-02-02T00:00:00Z") },
        ];
        keep_reading(conn, VAN, &odometer).await;
        for kept in &running {
            keep_hours(conn, VAN, kept).await;
        }
        assert_eq!(hours_listed(conn).await, running);
        assert_eq!(readings::page(conn, OURS, VAN, None, 9).await.expect("a page"), std::slice::from_ref(&odometer));
        assert_eq!(hours::find(conn, OURS, VAN, odometer.id).await.expect("an answer"), None);
        assert_eq!(readings::find(conn, OURS, VAN, running[0].id).await.expect("an answer"), None);
        assert_eq!(hours::find(conn, OURS, VAN, running[0].id).await.expect("an answer"), Some(running[0].clone()));
        let value = Entered::new(1812.0, Unit::Hour);
        let decided = decision(111, 102, Decision::Correct { value });
        readings::insert_decision(conn, OURS, VAN, &decided, &stamp(OURS)).await.expect("kept");
        assert_eq!(readings::decisions_page(conn, OURS, VAN, None, 9).await.expect("a page"), [decided]);
        assert!(readings::withdraw(conn, OURS, VAN, running[0].id, morning()).await.expect("an answer"));
        assert_eq!(hours_listed(conn).await, running[1..]);
    }

    async fn what_the_indicator_said_comes_back_as_it_was_until_withdrawn(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        keep_reading(conn, VAN, &reading(101, 48_210.0, "2027-02-01T00:00:00Z")).await;
        let percent = IndicatorLeft::Percent { percent: 12.5 };
        let distance = IndicatorLeft::Distance { distance: Entered::new(900.5, Unit::Mile) };
        let all = [
            indicator(60, percent, "2027-01-01T08:00:00.000001Z"),
            IndicatorReading { reading: Some(ReadingId(id(101))), ..indicator(61, distance, "2027-01-02T08:00:00Z") },
            indicator(62, IndicatorLeft::Days { days: 0 }, "2027-01-03T08:00:00Z"),
        ];
        for kept in &all {
            indicators::insert(conn, OURS, VAN, kept, &stamp(OURS)).await.expect("kept");
            assert_eq!(indicators::find(conn, OURS, VAN, kept.id).await.expect("an answer").as_ref(), Some(kept));
        }
        assert_eq!(indicators::page(conn, OURS, VAN, None, 9).await.expect("a page"), all);
        assert!(indicators::withdraw(conn, OURS, VAN, all[0].id, morning()).await.expect("an answer"));
        assert_eq!(indicators::page(conn, OURS, VAN, None, 9).await.expect("a page"), all[1..]);
    }

    async fn answers_about_a_measurement_come_back_as_they_were(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        keep(conn, &[row(VAN, inspection(400, vec![tread(410, Place::FrontLeft, Zone::Inner, 7.5)]))]).await;
        let choices =
            [MeasurementChoice::New, MeasurementChoice::Moved { from: Place::RearLeft }, MeasurementChoice::Mistaken];
        let said = choices.map(|choice| measured_anew(410, choice));
        for (number, answer) in (70..).zip(&said) {
            answers::insert(conn, OURS, VAN, id(number), answer, &stamp(OURS)).await.expect("kept");
        }
        let about = answers::of_measurement(conn, OURS, VAN, MeasurementId(id(410))).await.expect("an answer");
        assert_eq!(about, said);
        let of_none = answers::insert(conn, OURS, VAN, id(80), &measured_anew(411, choices[0]), &stamp(OURS)).await;
        assert!(of_none.as_ref().is_err_and(StoreError::is_foreign_key), "{of_none:?}");
    }
}
