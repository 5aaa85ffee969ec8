//! Filters: usual lives as data. All of them are common practice, no source.

use crate::world::car;
use gauge::filters::{
    AirFilter, CabinFilter, Duty, Filter, Hemisphere, filter_life, filter_lives, is_better_before_pollen,
    month_before_pollen,
};
use gauge::{Standing, Yardstick};
use model::Grade::{self, Attend, Good, Watch};
use model::{Code, HouseLimit, Jurisdiction};
use quantity::{Distance, Entered, Unit};

const EVERY: [(Filter, Duty); 4] = [
    (Filter::Cabin, Duty::Usual),
    (Filter::Cabin, Duty::Dusty),
    (Filter::EngineAir, Duty::Usual),
    (Filter::EngineAir, Duty::Dusty),
];

#[test]
fn each_filter_and_duty_has_the_life_that_is_asked_for() {
    assert_eq!(filter_lives().len(), EVERY.len());
    for (filter, duty) in EVERY {
        let life = filter_life(filter, duty);
        assert_eq!((life.filter, life.duty), (filter, duty));
    }
}

#[test]
fn nothing_here_passes_for_more_than_habit() {
    for limit in filter_lives().iter().flat_map(|life| [&life.age, &life.driven]) {
        assert_eq!(limit.standing, Standing::CommonPractice);
        assert!(limit.source.contains("no source") && limit.source.contains("book comes first"));
    }
}

#[test]
fn rules_may_take_their_defaults_from_here() {
    let vehicle = car(Jurisdiction::Uk);
    let shipped = Yardstick::shipped(&vehicle);
    let cabin = filter_life(Filter::Cabin, Duty::Usual);
    assert_eq!((cabin.months(&shipped), cabin.distance(&shipped)), (12, Distance::from_km(25_000)));
    let house = [HouseLimit {
        limit: Code::new("cabin-filter-distance").expect("a code"),
        value: Entered::new(10_000.0, Unit::Mile),
        reason: "Sandy depots.".to_owned(),
    }];
    let own = Yardstick { vehicle: &vehicle, house: &house };
    assert_eq!((cabin.months(&own), cabin.distance(&own)), (12, Distance::from_mm(16_093_440_000)));
}

#[test]
fn dust_shortens_every_life() {
    let vehicle = car(Jurisdiction::Uk);
    let shipped = Yardstick::shipped(&vehicle);
    for filter in [Filter::Cabin, Filter::EngineAir] {
        let (usual, dusty) = (filter_life(filter, Duty::Usual), filter_life(filter, Duty::Dusty));
        assert!(dusty.months(&shipped) < usual.months(&shipped));
        assert!(dusty.distance(&shipped) < usual.distance(&shipped));
    }
}

#[test]
fn a_filter_by_its_look_asks_for_work_and_stops_nothing() {
    let cabin: Vec<Grade> = CabinFilter::ALL.iter().map(|state| state.answer().grade).collect();
    let air: Vec<Grade> = AirFilter::ALL.iter().map(|state| state.answer().grade).collect();
    assert_eq!(cabin, [Good, Watch, Attend, Attend]);
    assert_eq!(air, cabin);
}

#[test]
fn a_cabin_filter_due_in_spring_is_better_changed_before_the_pollen() {
    let months = |hemisphere| {
        (1..=12).filter(|month| is_better_before_pollen(*month, hemisphere)).collect::<Vec<u8>>()
    };
    assert_eq!(months(Hemisphere::Northern), [3, 4, 5]);
    assert_eq!(months(Hemisphere::Southern), [9, 10, 11]);
    assert_eq!([Hemisphere::Northern, Hemisphere::Southern].map(month_before_pollen), [2, 8]);
}
