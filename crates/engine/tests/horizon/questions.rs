//! What a person is asked when a measurement got better.

use crate::world::{World, at, day};
use model::horizon::QuestionKind;
use model::{Grade, MeasurementAnswer, MeasurementChoice, Place};
use rstest::rstest;

const WHEEL: Place = Place::FrontLeft;

/// Measured at 4 mm on the first of March and at this depth on the first of May.
fn then(mm: f64) -> World {
    World::new().tread("2024-03-01 12:00", WHEEL, 4.0).tread("2024-05-01 12:00", WHEEL, mm)
}

fn answered(mut world: World, inspection: usize, choice: MeasurementChoice) -> World {
    let measurement = world.facts.inspections[inspection].measurements[0].id;
    let recorded_at = at("2024-05-02 08:00");
    world.facts.answers.push(MeasurementAnswer { measurement, choice, recorded_at });
    world
}

#[test]
fn more_than_the_error_of_a_gauge_asks_whether_it_is_new_or_moved() {
    let world = then(4.9);
    let questions = world.horizon().questions;
    assert_eq!(questions.len(), 1);
    assert_eq!(questions[0].kind, QuestionKind::NewOrMoved);
    assert_eq!(questions[0].measurement, world.facts.inspections[1].measurements[0].id);
    assert_eq!([questions[0].before, questions[0].now].map(|depth| depth.to_string()), ["4 mm", "4.9 mm"]);
    assert_eq!(world.horizon().grades[0].measured.to_string(), "4.9 mm", "it is not held");
}

#[test]
fn an_error_of_the_gauge_asks_nothing() {
    assert!(then(4.8).horizon().questions.is_empty());
    assert!(then(3.0).horizon().questions.is_empty());
}

#[test]
fn another_wheel_asks_nothing() {
    let world =
        World::new().tread("2024-03-01 12:00", WHEEL, 4.0).tread("2024-05-01 12:00", Place::RearLeft, 7.0);
    assert!(world.horizon().questions.is_empty());
}

#[rstest]
#[case::on_the_first_day("2024-03-01", true)]
#[case::between("2024-04-01", true)]
#[case::on_the_last_day("2024-05-01", true)]
#[case::before("2024-02-29", false)]
#[case::after("2024-05-02", false)]
fn a_fitting_in_between_answers_it(#[case] from: &str, #[case] is_answered: bool) {
    let world = then(7.0).fitted("tyre", WHEEL, from);
    assert_eq!(world.horizon().questions.is_empty(), is_answered);
}

#[test]
fn pads_fitted_in_between_do_not_answer_for_the_tyre() {
    assert_eq!(then(7.0).fitted("pad-set", WHEEL, "2024-04-01").horizon().questions.len(), 1);
}

#[rstest]
#[case(MeasurementChoice::New)]
#[case(MeasurementChoice::Moved { from: Place::RearLeft })]
fn an_answer_closes_the_question_and_keeps_the_measurement(#[case] choice: MeasurementChoice) {
    let world = answered(then(7.0), 1, choice);
    assert!(world.horizon().questions.is_empty());
    assert_eq!(world.horizon().grades[0].measured.to_string(), "7 mm");
}

#[test]
fn a_mistaken_measurement_is_left_out_of_grades_and_of_wear() {
    let world = World::new()
        .reading("2024-01-01 12:00", 0.0)
        .reading("2024-05-01 12:00", 12_000.0)
        .fitted("tyre", WHEEL, "2024-01-01")
        .tread("2024-03-01 12:00", WHEEL, 2.0)
        .tread("2024-05-01 12:00", WHEEL, 7.0);
    assert!(world.item("condition:tread-depth:front_left").is_none());
    let world = answered(world, 1, MeasurementChoice::Mistaken);
    let horizon = world.horizon();
    assert_eq!((horizon.questions.len(), horizon.grades[0].grade), (0, Grade::Attend));
    assert_eq!(horizon.wear[0].measurements, 1);
    assert!(horizon.wear[0].depth_mm < 2.1, "{:?}", horizon.wear);
    assert!(world.item("condition:tread-depth:front_left").is_some());
}

#[test]
fn the_measurement_after_a_mistaken_one_is_held_against_the_one_before() {
    let world = then(7.0).tread("2024-06-01 12:00", WHEEL, 3.9);
    assert_eq!(world.horizon().questions.len(), 1);
    assert!(answered(world, 1, MeasurementChoice::Mistaken).horizon().questions.is_empty());
    let low = then(1.0).tread("2024-06-01 12:00", WHEEL, 3.8);
    assert_eq!(low.horizon().questions.len(), 1);
    assert!(answered(low, 1, MeasurementChoice::Mistaken).horizon().questions.is_empty());
}

#[test]
fn the_latest_answer_holds() {
    let mut world = answered(then(7.0), 1, MeasurementChoice::Mistaken);
    world.facts.answers.push(MeasurementAnswer {
        choice: MeasurementChoice::New,
        recorded_at: at("2024-05-03 08:00"),
        ..world.facts.answers[0].clone()
    });
    assert_eq!(world.horizon().grades[0].measured.to_string(), "7 mm");
    world.facts.answers.reverse();
    assert_eq!(world.horizon().grades[0].measured.to_string(), "7 mm");
}

#[test]
fn questions_come_in_the_order_of_measuring() {
    let world =
        then(7.0).tread("2024-04-01 12:00", WHEEL, 5.5).tread("2024-03-01 12:00", Place::RearRight, 4.0);
    let world = world.tread("2024-04-02 12:00", Place::RearRight, 6.0);
    let asked: Vec<_> =
        world.horizon().questions.iter().map(|question| question.measured_at.date_naive()).collect();
    assert_eq!(asked, ["2024-04-01", "2024-04-02", "2024-05-01"].map(day));
}
