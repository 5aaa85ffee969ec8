//! Filters: usual lives as data. All of them are common practice, no source.

use gauge::filters::{
    Duty, Filter, Hemisphere, filter_life, filter_lives, is_better_before_pollen, limits, month_before_pollen,
};
use gauge::{Discipline, Standing};
use proptest::prelude::*;
use quantity::Distance;

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
    for limit in limits() {
        assert_eq!((limit.discipline, limit.standing), (Discipline::Filters, Standing::CommonPractice));
        assert!(limit.source.contains("no source") && !limit.name.is_empty());
    }
}

#[test]
fn a_filter_is_due_by_age_or_by_distance_whichever_comes_first() {
    let cabin = filter_life(Filter::Cabin, Duty::Usual);
    assert_eq!(cabin.met(11, Distance::from_km(24_999)), None);
    assert_eq!(cabin.met(12, Distance::ZERO), Some(&cabin.months));
    assert_eq!(cabin.met(1, Distance::from_km(25_000)), Some(&cabin.distance));
}

#[test]
fn dust_shortens_every_life() {
    for filter in [Filter::Cabin, Filter::EngineAir] {
        let (usual, dusty) = (filter_life(filter, Duty::Usual), filter_life(filter, Duty::Dusty));
        assert!(
            dusty.months.exact() < usual.months.exact() && dusty.distance.exact() < usual.distance.exact()
        );
    }
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

proptest! {
    #[test]
    fn an_older_or_further_driven_filter_is_never_less_due(
        which in 0..4_usize, months in 0..60_u16, older in 0..60_u16, km in 0..80_000_i64, further in 0..80_000_i64,
    ) {
        let (filter, duty) = EVERY[which];
        let life = filter_life(filter, duty);
        let is_due = |months, km| life.met(months, Distance::from_km(km)).is_some();
        prop_assert!(!is_due(months, km) || is_due(months + older, km + further));
    }
}
