//! Hot tyres, warm bays, marked maxima and leaks on an inspection (common practice, no source, but where one is named).

use crate::world::{Check, advises, car, celsius, check, component, grade_all, grade_with, psi};
use gauge::Part;
use model::Grade::{Attend, DoNotDrive, Good, Watch};
use model::horizon::Graded;
use model::{Inspection, Jurisdiction, Place, Zone};

const PLACE: Place = Place::FrontLeft;

fn hot(value: f64) -> Check {
    check(1, "2027-03-01").measured("hot-pressure", PLACE, Zone::Whole, psi(value))
}

#[test]
fn a_hot_tyre_is_graded_only_for_being_low_and_never_bled() {
    // Placard 36 psi.
    let vehicle = car(Jurisdiction::Us);
    let graded = |value| hot(value).graded_at(PLACE, &vehicle);
    assert_eq!(
        [50.0, 34.2, 34.1, 32.3, 17.9].map(|value| graded(value).grade),
        [Good, Good, Watch, Attend, DoNotDrive]
    );
    for value in [50.0, 34.1, 17.9] {
        assert!(advises(&graded(value), "Never let air out of a hot tyre"), "{value}");
        assert!(!advises(&graded(value), "Let it down"), "{value}");
        assert!(!advises(&graded(value), "Inflate to"), "{value}");
    }
    assert!(advises(&graded(28.8), "look inside before inflating"));
    assert!(graded(50.0).reason.contains("only a cold tyre tells"), "{}", graded(50.0).reason);
}

#[test]
fn a_cold_measurement_taken_later_counts_instead() {
    let vehicle = car(Jurisdiction::Us);
    let cold = check(2, "2027-03-02").pressure(PLACE, psi(36.0)).done();
    let grades: Vec<_> = grade_all(&vehicle, &[hot(20.0).done(), cold])
        .into_iter()
        .map(|graded| (graded.point, graded.grade))
        .collect();
    assert_eq!(grades, [("cold-pressure".to_owned(), Good), ("hot-pressure".to_owned(), Good)]);
    let earlier = check(2, "2027-02-28").pressure(PLACE, psi(36.0)).done();
    assert_eq!(grade_all(&vehicle, &[hot(20.0).done(), earlier])[1].grade, Attend);
}

fn in_the_bay(measured: f64) -> Check {
    check(1, "2027-03-01")
        .measured("tyre-temperature", Place::Vehicle, Zone::Whole, celsius(20.0))
        .measured("standing-temperature", Place::Vehicle, Zone::Whole, celsius(-20.0))
        .pressure(PLACE, psi(measured))
}

#[test]
fn a_tyre_in_a_warm_bay_is_to_be_set_higher_than_the_placard() {
    // (36 psi + 14.696 psi) x 293.15 / 253.15 - 14.696 psi = 44.010 psi (gas law, computed), told rounded up; 36 psi at 20 C
    // shows 29.083 psi at -20 C (computed).
    let vehicle = car(Jurisdiction::Us);
    let graded = in_the_bay(36.0).graded_at(PLACE, &vehicle);
    assert_eq!(graded.grade, Good);
    assert!(advises(&graded, "Inflate to 44.1 psi, cold"), "{:?}", graded.advice);
    assert!(
        advises(&graded, "at -20 °C, the tyre as it is would show about 29.1 psi"),
        "{:?}",
        graded.advice
    );
    assert!(advises(&graded, "comes to the placard's 36 psi there"), "{:?}", graded.advice);
    assert!(graded.caution.is_some_and(|caution| caution.contains("inflating")));
    assert!(!advises(&in_the_bay(44.1).graded_at(PLACE, &vehicle), "Inflate"));
}

#[test]
fn the_mark_on_the_tyre_caps_what_is_told() {
    let vehicle = car(Jurisdiction::Us);
    let round = in_the_bay(36.0).measured("tyre-maximum", PLACE, Zone::Whole, psi(40.0));
    let graded = round.graded_at(PLACE, &vehicle);
    assert!(advises(&graded, "Inflate to 40 psi, the most marked on the tyre"), "{:?}", graded.advice);
    assert!(advises(&graded, "comes to less than 36 psi there"), "{:?}", graded.advice);
}

#[test]
fn a_tyre_marked_for_less_than_the_placard_does_not_belong_there() {
    let vehicle = car(Jurisdiction::Us);
    let marked = |value| {
        let round = check(1, "2027-03-01").measured("tyre-maximum", PLACE, Zone::Whole, psi(value));
        round.pressure(PLACE, psi(36.0)).graded_at(PLACE, &vehicle)
    };
    assert_eq!([marked(36.0).grade, marked(35.9).grade], [Good, Attend]);
    assert!(marked(35.9).reason.contains("does not belong on this axle"), "{}", marked(35.9).reason);
}

#[test]
fn temperatures_of_another_day_say_nothing() {
    let vehicle = car(Jurisdiction::Us);
    let bay = in_the_bay(36.0).done();
    let later = check(2, "2027-03-05").pressure(PLACE, psi(36.0)).done();
    let graded = &grade_all(&vehicle, &[bay, later])[0];
    assert!(!advises(graded, "Inflate"), "{:?}", graded.advice);
}

fn monthly(values: [f64; 4], temperatures: Option<[f64; 4]>) -> Vec<Inspection> {
    let days = ["2026-11-02", "2026-12-02", "2027-01-02", "2027-02-02"];
    let round = |index: usize| {
        let round = check(index + 1, days[index]).pressure(PLACE, psi(values[index]));
        match temperatures {
            Some(degrees) => round
                .measured("tyre-temperature", Place::Vehicle, Zone::Whole, celsius(degrees[index]))
                .done(),
            None => round.done(),
        }
    };
    (0..4).map(round).collect()
}

fn last(inspections: &[Inspection]) -> Graded {
    grade_all(&car(Jurisdiction::Us), inspections).remove(0)
}

#[test]
fn a_tyre_that_loses_air_month_after_month_is_watched() {
    let leaking = last(&monthly([44.0, 41.5, 38.5, 36.0], Some([20.0; 4])));
    assert_eq!(leaking.grade, Watch);
    assert!(leaking.reason.starts_with("By 4 readings, brought to one temperature,"), "{}", leaking.reason);
    assert!(leaking.reason.contains("it loses about 2.6 psi in 30 days"), "{}", leaking.reason);
    assert!(advises(&leaking, "Look for a nail"));
    assert_eq!(last(&monthly([37.5, 37.0, 36.5, 36.0], Some([20.0; 4]))).grade, Good);
}

#[test]
fn the_onset_of_winter_is_no_leak() {
    // 44 psi set at 20 C, by the gas law.
    let autumn = [44.0, 40.997, 37.994, 34.992];
    let known = last(&monthly(autumn, Some([20.0, 5.0, -10.0, -25.0])));
    assert!(known.grade == Good && !advises(&known, "it loses"), "{known:?}");
    let unknown = last(&monthly(autumn, None));
    assert_eq!(unknown.grade, Good);
    assert!(advises(&unknown, "colder weather may be all there is to it"), "{:?}", unknown.advice);
}

#[test]
fn what_another_tyre_lost_is_not_held_against_its_successor() {
    let vehicle = car(Jurisdiction::Us);
    let inspections = monthly([44.0, 41.5, 38.5, 36.0], Some([20.0; 4]));
    let tyre = component(7, "tyre");
    let part = Part { component: &tyre, place: PLACE, since: "2026-12-20".parse().expect("a day") };
    assert_eq!(grade_with(&vehicle, &inspections, &[part])[0].grade, Good);
}
