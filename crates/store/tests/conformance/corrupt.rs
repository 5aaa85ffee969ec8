//! A stored value that does not parse is named by table, row and column.

use crate::inspections::{inspection, keep, row, tread};
use crate::off_road::{indicator, measured_anew};
use crate::records::{bare_window, keep_reading, paper, reading, tyre};
use crate::rules::{plain_rule, rulebook};
use crate::set_asides::{keep_set_aside, set_aside};
use crate::world::{DEPOT, MANAGER, OURS, VAN, WORKSHOP, furnished, id, stamp};
use model::{IndicatorLeft, MeasurementChoice, Place, Zone};
use store::{
    Conn, StoreError, answers, components, coverage, depots, execute, indicators, inspections, papers,
    people, readings, rulebooks, set_asides, statements, vehicles, workshops,
};
use testkit::on_both_engines;

statements! {
    DEPOT_ZONE = { "UPDATE depot SET zone = 'Europe/Atlantis'" }
    PERSON_DEPOTS = { "UPDATE person SET depots = '[1]'" }
    VEHICLE_VIN = { "UPDATE vehicle SET vin = 'short' WHERE retired_on IS NULL AND model = 'Carrier' AND id IN" ids: "$1" }
    VEHICLE_MASS = { "UPDATE vehicle SET gross_mass_kg = -1" }
    WEEKDAYS = { "UPDATE vehicle_attributes SET operating_weekdays = 0" }
    NO_ATTRIBUTES = { "DELETE FROM vehicle_attributes" }
    READING_UNIT = { "UPDATE odometer_reading SET unit = 'furlong'" }
    PAPER_KIND = { "UPDATE paper SET kind = 'passport'" }
    WINDOW_TERMS = { "UPDATE coverage_window SET terms = '{}'" }
    RULE_BODY = { "UPDATE rule SET body = 'oil'" }
    RULE_CODE = { "UPDATE rule SET code = 'other'" }
    MEASUREMENT_PLACE = { "UPDATE measurement SET place = 'roof'" }
    SET_ASIDE_REASON = { "UPDATE set_aside SET reason = 'too big'" }
    WORKSHOP_DAYS = { "UPDATE workshop SET working_weekdays = 128" }
    INDICATOR_LEFT = { "UPDATE indicator_reading SET remaining = '{\"kind\":\"percent\"}'" }
    MOVED_FROM_NOWHERE = { "UPDATE measurement_answer SET choice = 'moved'" }
    COMPONENT_DEPTH = { "UPDATE component SET depth_new_unit = NULL" }
}

/// What the answer says is wrong.
fn problem<T>(answer: Result<T, StoreError>) -> String {
    match answer {
        Err(StoreError::Corrupt { what }) => what,
        Err(other) => panic!("another refusal: {other:?}"),
        Ok(_) => panic!("read all the same"),
    }
}

/// Whether every word stands in the problem.
fn names(problem: &str, words: &[&str]) {
    for word in words {
        assert!(problem.contains(word), "{word:?} in {problem:?}");
    }
}

async fn vehicle_problem(conn: &mut Conn<'_>) -> String {
    problem(vehicles::find(conn, OURS, VAN).await)
}

on_both_engines! {
    async fn a_depot_in_no_zone_is_named(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        execute!(conn, DEPOT_ZONE).expect("spoilt");
        let problem = problem(depots::find(conn, OURS, DEPOT).await);
        names(&problem, &["depot", &DEPOT.to_string(), "zone", "Europe/Atlantis"]);
    }

    async fn a_person_with_a_list_that_is_none_is_named(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        execute!(conn, PERSON_DEPOTS).expect("spoilt");
        let problem = problem(people::find(conn, OURS, MANAGER).await);
        names(&problem, &["person", &MANAGER.to_string(), "depots"]);
    }

    async fn a_held_measurement_with_a_reason_nobody_knows_is_named(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        keep(conn, &[row(VAN, inspection(400, vec![]))]).await;
        keep_set_aside(conn, &[(VAN, set_aside(430, 0))]).await;
        execute!(conn, SET_ASIDE_REASON).expect("spoilt");
        let problem = problem(set_asides::waiting(conn, OURS, None, 9).await);
        names(&problem, &["set_aside", &id(430).to_string(), "reason", "too big"]);
    }

    async fn a_vehicle_with_a_number_that_is_no_vin_is_named(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        execute!(conn, VEHICLE_VIN, store::id_list([VAN.0])).expect("spoilt");
        names(&vehicle_problem(conn).await, &["vehicle", &VAN.to_string(), "vin", "17"]);
    }

    async fn a_vehicle_of_negative_mass_is_named(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        execute!(conn, VEHICLE_MASS).expect("spoilt");
        names(&vehicle_problem(conn).await, &["vehicle", &VAN.to_string(), "gross_mass_kg", "-1"]);
    }

    async fn a_vehicle_that_runs_on_no_day_is_named(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        execute!(conn, WEEKDAYS).expect("spoilt");
        names(&vehicle_problem(conn).await, &["vehicle_attributes", &VAN.to_string(), "operating_weekdays"]);
    }

    async fn a_vehicle_without_attributes_is_named(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        execute!(conn, NO_ATTRIBUTES).expect("spoilt");
        names(&vehicle_problem(conn).await, &["vehicle", &VAN.to_string(), "attributes"]);
    }

    async fn a_reading_in_no_unit_is_named(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        let kept = reading(101, 100.0, "2027-01-01T00:00:00Z");
        keep_reading(conn, VAN, &kept).await;
        execute!(conn, READING_UNIT).expect("spoilt");
        let problem = problem(readings::find(conn, OURS, VAN, kept.id).await);
        names(&problem, &["odometer_reading", &kept.id.to_string(), "unit", "furlong"]);
    }

    async fn a_paper_of_no_kind_is_named(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        papers::insert(conn, OURS, VAN, &paper(300, "2027-05-01"), &stamp(OURS)).await.expect("kept");
        execute!(conn, PAPER_KIND).expect("spoilt");
        let problem = problem(papers::page(conn, OURS, VAN, None, 9).await);
        names(&problem, &["paper", &paper(300, "2027-05-01").id.to_string(), "kind", "passport"]);
    }

    async fn terms_that_are_none_are_named(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        coverage::insert(conn, OURS, VAN, &bare_window(502), &stamp(OURS)).await.expect("kept");
        execute!(conn, WINDOW_TERMS).expect("spoilt");
        let problem = problem(coverage::find(conn, OURS, VAN, bare_window(502).id).await);
        names(&problem, &["coverage_window", &bare_window(502).id.to_string(), "terms"]);
    }

    async fn a_rule_that_is_none_is_named(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        let book = rulebook(1, vec![plain_rule("engine-oil")]);
        rulebooks::insert(conn, OURS, &book, &stamp(OURS)).await.expect("kept");
        execute!(conn, RULE_CODE).expect("spoilt");
        let misnamed = problem(rulebooks::find(conn, OURS, book.id).await);
        names(&misnamed, &["rule", "other", &book.id.to_string(), "version 1", "engine-oil"]);
        execute!(conn, RULE_BODY).expect("spoilt");
        names(&problem(rulebooks::find(conn, OURS, book.id).await), &["rule", &book.id.to_string(), "body"]);
    }

    async fn a_measurement_at_no_place_is_named(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        let measured = tread(410, Place::FrontLeft, Zone::Inner, 3.0);
        keep(conn, &[row(VAN, inspection(400, vec![measured.clone()]))]).await;
        execute!(conn, MEASUREMENT_PLACE).expect("spoilt");
        let problem = problem(inspections::page(conn, OURS, VAN, None, 9).await);
        names(&problem, &["measurement", &measured.id.to_string(), "place", "roof"]);
    }

    async fn a_depth_without_a_unit_is_named(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        components::insert(conn, OURS, &tyre(600), &stamp(OURS)).await.expect("kept");
        execute!(conn, COMPONENT_DEPTH).expect("spoilt");
        let problem = problem(components::find(conn, OURS, tyre(600).id).await);
        names(&problem, &["component", &tyre(600).id.to_string(), "depth_new", "without a unit"]);
    }

    async fn a_workshop_that_works_on_no_day_of_the_week_is_named(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        execute!(conn, WORKSHOP_DAYS).expect("spoilt");
        let problem = problem(workshops::find(conn, OURS, WORKSHOP).await);
        names(&problem, &["workshop", &WORKSHOP.to_string(), "working_weekdays", "128"]);
    }

    async fn an_indicator_that_does_not_say_what_is_left_is_named(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        let kept = indicator(60, IndicatorLeft::Days { days: 9 }, "2027-01-03T08:00:00Z");
        indicators::insert(conn, OURS, VAN, &kept, &stamp(OURS)).await.expect("kept");
        execute!(conn, INDICATOR_LEFT).expect("spoilt");
        let problem = problem(indicators::find(conn, OURS, VAN, kept.id).await);
        names(&problem, &["indicator_reading", &kept.id.to_string(), "remaining", "percent"]);
    }

    async fn an_answer_moved_from_nowhere_is_named(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        keep(conn, &[row(VAN, inspection(400, vec![tread(410, Place::FrontLeft, Zone::Inner, 5.5)]))]).await;
        let said = measured_anew(410, MeasurementChoice::New);
        answers::insert(conn, OURS, VAN, id(70), &said, &stamp(OURS)).await.expect("kept");
        execute!(conn, MOVED_FROM_NOWHERE).expect("spoilt");
        let problem = problem(answers::of_measurement(conn, OURS, VAN, said.measurement).await);
        names(&problem, &["measurement_answer", &id(70).to_string(), "choice", "moved"]);
    }
}
