//! A fleet's own limits: stricter than any, laxer than none of the law's.

use crate::world::{car, check, in32, kpa, mm, pads_of};
use gauge::{
    Background, Bound, HouseLimitError, MadeAs, Subject, Yardstick, check_house_limit, limits, wear_point_of,
};
use model::horizon::Graded;
use model::{Code, Grade, HouseLimit, Jurisdiction, Place};
use quantity::{Entered, Unit};

fn own(limit: &str, value: Entered) -> HouseLimit {
    let reason = "Hill depots, wet winters.".to_owned();
    HouseLimit { limit: Code::new(limit).expect("a code"), value, reason }
}

fn front_left(house: &[HouseLimit], law: Jurisdiction, depth: Entered) -> Graded {
    let vehicle = car(law);
    let inspections = [check(1, "2027-03-01").lowest_tread(Place::FrontLeft, depth).done()];
    let yardstick = Yardstick { vehicle: &vehicle, house };
    gauge::grade_all(&Subject {
        yardstick,
        inspections: &inspections,
        parts: &[],
        background: Background::default(),
    })
    .remove(0)
}

#[test]
fn a_stricter_limit_of_the_fleet_decides_and_gives_its_reason() {
    let house = [own("tread-watch", mm(5.0))];
    let shipped = front_left(&[], Jurisdiction::Eu, mm(4.4));
    let graded = front_left(&house, Jurisdiction::Eu, mm(4.4));
    assert_eq!((shipped.grade, graded.grade), (Grade::Good, Grade::Watch));
    assert_eq!(graded.limit, Some(mm(5.0)));
    assert!(graded.source.contains("the fleet's own limit (Hill depots, wet winters)"), "{}", graded.source);
    assert_eq!(graded.standing, "the fleet's own");
}

#[test]
fn a_floor_of_the_fleet_is_not_called_the_law() {
    let house = [own("tread-law-eu", mm(2.0))];
    let graded = front_left(&house, Jurisdiction::Eu, mm(1.9));
    assert_eq!(graded.grade, Grade::DoNotDrive);
    assert!(graded.reason.contains("fleet's own floor of 2 mm"), "{}", graded.reason);
}

#[test]
fn however_lax_a_house_limit_the_law_is_met_first() {
    let house = [
        own("tread-attend-above-law", mm(0.0)),
        own("tread-watch", mm(0.0)),
        own("tread-watch-above-law", mm(0.0)),
    ];
    let grade = |depth| front_left(&house, Jurisdiction::Us, depth).grade;
    assert_eq!(grade(in32(1.9)), Grade::DoNotDrive);
    assert_eq!(grade(in32(2.0)), Grade::Good);
}

#[test]
fn a_forecast_looks_to_the_fleets_own_limit() {
    let vehicle = car(Jurisdiction::Uk);
    let house = [own("pads-attend", mm(4.0))];
    let limit = |house| {
        let yardstick = Yardstick { vehicle: &vehicle, house };
        wear_point_of("pad-set")
            .expect("it wears")
            .attend_limit(&yardstick, Place::RearLeft, MadeAs::default())
            .depth
            .mm()
    };
    assert!((limit(&house) - 4.0).abs() < 1e-9 && (limit(&[]) - 3.0).abs() < 1e-9);
    assert_eq!(pads_of(mm(3.5), &vehicle).grade, Grade::Watch);
}

/// Grades hold below or at a depth: a higher number is stricter. Shares under the placard hold above: a lower one is.
#[test]
fn the_law_may_be_tightened_and_not_loosened() {
    assert_eq!(check_house_limit(&own("tread-law-uk-light", mm(2.0))), Ok(()));
    assert_eq!(check_house_limit(&own("tread-law-us-light", in32(2.0))), Ok(()));
    let refused = check_house_limit(&own("tread-law-uk-light", in32(2.0))).expect_err("laxer by 0.0125 mm");
    assert!(
        matches!(refused, HouseLimitError::LaxerThanLaw { limit: "tread-law-uk-light", .. }),
        "{refused}"
    );
    assert_eq!(
        check_house_limit(&own("tread-watch", mm(1.0))),
        Ok(()),
        "a setting may be laxer, with a reason"
    );
    for (bound, stricter, laxer) in [
        (Bound::Below(mm(3.0)), Bound::Below(mm(4.0)), Bound::Below(mm(2.0))),
        (Bound::AtOrBelow(mm(3.0)), Bound::AtOrBelow(mm(4.0)), Bound::AtOrBelow(mm(2.0))),
        (Bound::Above(mm(3.0)), Bound::Above(mm(2.0)), Bound::Above(mm(4.0))),
        (Bound::AtOrAbove(mm(3.0)), Bound::AtOrAbove(mm(2.0)), Bound::AtOrAbove(mm(4.0))),
    ] {
        assert!(
            stricter.is_as_strict_as(bound) && bound.is_as_strict_as(bound) && !laxer.is_as_strict_as(bound)
        );
    }
}

#[test]
fn an_unknown_limit_another_kind_of_number_and_a_missing_reason_are_named() {
    let unknown = check_house_limit(&own("tread-wach", mm(4.0))).expect_err("no such limit");
    assert!(
        unknown.to_string().contains("there are") && unknown.to_string().contains("tread-watch"),
        "{unknown}"
    );
    let numberless = check_house_limit(&own("pads-inner-unseen", mm(4.0))).expect_err("no number to set");
    assert!(matches!(numberless, HouseLimitError::Unknown { .. }), "{numberless}");
    for value in [kpa(4.0), mm(-1.0), Entered::new(f64::NAN, Unit::Millimetre)] {
        let other = check_house_limit(&own("tread-watch", value)).expect_err("no depth");
        assert!(matches!(other, HouseLimitError::OtherKind { limit: "tread-watch", .. }), "{other}");
    }
    let silent = HouseLimit { reason: " ".to_owned(), ..own("tread-watch", mm(4.0)) };
    assert!(matches!(check_house_limit(&silent), Err(HouseLimitError::NoReason { .. })));
}

#[test]
fn every_limit_has_a_key_of_its_own() {
    let mut keys: Vec<&str> = limits().map(|limit| limit.key).collect();
    assert!(keys.iter().all(|key| Code::new(key).is_ok()), "{keys:?}");
    let all = keys.len();
    keys.sort_unstable();
    keys.dedup();
    assert_eq!(keys.len(), all, "no two share one");
}

#[test]
fn a_large_share_is_told_with_one_decimal_and_every_law_as_it_is() {
    let share = |value| Bound::Above(Entered::new(value, Unit::Percent)).to_string();
    assert_eq!([share(37.255), share(25.0), share(2.05)], ["above 37.3 %", "above 25 %", "above 2.05 %"]);
    for law in limits().filter(|limit| limit.jurisdiction.is_some()) {
        let exact = law.bound.value().map(|value| value.to_string()).unwrap_or_default();
        assert!(law.bound.to_string().ends_with(&exact), "{law:?}");
    }
}
