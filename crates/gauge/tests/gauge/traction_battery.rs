//! The traction battery: the floor of its cover, and the published figures that bind makers.

use crate::world::{advises, car, whole};
use gauge::traction_battery::{Binds, DURABILITY_NOTE, against_cover, durability, durability_at};
use gauge::{Standing, Verdict, Yardstick};
use model::Grade::{self, Attend, Good, Watch};
use model::Jurisdiction;
use proptest::prelude::*;
use quantity::{Distance, Entered, Unit};

const fn percent(value: f64) -> Entered {
    Entered::new(value, Unit::Percent)
}

fn under_cover(capacity: f64, floor: f64) -> Verdict {
    let vehicle = car(Jurisdiction::Eu);
    against_cover(&Yardstick::shipped(&vehicle), percent(capacity), percent(floor)).expect("shares")
}

fn grade(capacity: f64, floor: f64) -> Grade {
    under_cover(capacity, floor).grade
}

/// Cells of a line, with commas inside quotation marks left alone.
fn cells(line: &str) -> Vec<String> {
    let mut cells = vec![String::new()];
    let mut is_quoted = false;
    for letter in line.chars() {
        match letter {
            '"' => is_quoted = !is_quoted,
            ',' if !is_quoted => cells.push(String::new()),
            other => cells.last_mut().expect("a cell").push(other),
        }
    }
    cells
}

#[test]
fn the_table_is_as_published_and_each_row_keeps_its_standing() {
    let lines = include_str!("ev_battery_durability.csv").lines().filter(|line| !line.starts_with('#'));
    let rows: Vec<Vec<String>> = lines.skip(1).map(cells).collect();
    assert_eq!(rows.len(), durability().len());
    for (ours, row) in durability().iter().zip(rows) {
        assert_eq!(ours.years.to_string(), row[2], "{row:?}");
        assert_eq!((ours.distance.value.to_string(), ours.distance.unit.code()), (row[3].clone(), &*row[4]));
        let percent = ours.limit.bound.value().expect("a share");
        assert_eq!((percent.value.to_string(), percent.unit), (row[5].clone(), Unit::Percent), "{row:?}");
        let expected = if row[7].starts_with("memory") { Standing::Memory } else { Standing::Verified };
        assert_eq!(ours.limit.standing, expected, "{row:?}");
        assert_eq!(ours.binds == Binds::MakerToGiveWarranty, row[0].contains("warranty"), "{row:?}");
        assert!(
            row[0].contains(ours.limit.source.split(['(', ',']).next().unwrap_or_default().trim_end())
                || ours.limit.source.contains("2024/1257"),
            "{row:?}"
        );
    }
}

#[test]
fn what_binds_the_maker_grades_no_vehicle() {
    assert!(durability().iter().all(|row| row.limit.grade.is_none()));
    assert!(DURABILITY_NOTE.contains("no claim of an owner"));
}

#[test]
fn whichever_comes_first_ends_a_row() {
    // Euro 7 M1 (verified second-hand): 80 % to 5 years or 100,000 km, 72 % to 8 years or 160,000 km.
    let at = |years, km| {
        let row = durability_at("Euro 7 M1 (cars)", years, Distance::from_km(km));
        row.and_then(|row| row.limit.bound.value()).map(|share| share.value)
    };
    assert_eq!([at(4, 100_000), at(4, 100_001), at(5, 10_000)], [Some(80.0), Some(72.0), Some(72.0)]);
    assert_eq!([at(7, 160_000), at(8, 10_000), at(3, 160_001)], [Some(72.0), None, None]);
    assert!(durability_at("no such vehicle", 1, Distance::ZERO).is_none());
}

#[test]
fn below_the_floor_of_its_cover_a_battery_is_attended_to_while_it_lasts() {
    // The floor is the window's; five points above it are a house setting (common practice, no source).
    assert_eq!(
        [69.9, 70.0, 74.9, 75.0, 101.5].map(|capacity| grade(capacity, 70.0)),
        [Attend, Watch, Watch, Good, Good]
    );
    let verdict = under_cover(74.0, 75.0);
    assert_eq!(verdict.reason, "A capacity of 74 % is below the floor of its cover, 75 %.");
    assert!(
        verdict
            .advice
            .iter()
            .any(|sentence| sentence.starts_with("Only the maker's own capacity test counts"))
    );
    assert!(verdict.caution.is_some_and(|caution| caution.contains("qualified persons")));
    let vehicle = car(Jurisdiction::Eu);
    let volts = against_cover(&Yardstick::shipped(&vehicle), Entered::new(400.0, Unit::Volt), percent(70.0));
    assert!(volts.is_err(), "{volts:?}");
}

#[test]
fn a_reading_alone_is_held_to_the_floor_that_cover_commonly_has() {
    // 70 %: typical term of makers (common practice, second-hand).
    let steps = [69.9, 70.0, 75.0].map(|value| whole("traction-capacity", percent(value)).grade);
    assert_eq!(steps, [Attend, Watch, Good]);
    for value in [60.0, 72.0, 98.0] {
        let graded = whole("traction-capacity", percent(value));
        assert!(
            advises(&graded, "Only the maker's own") && advises(&graded, "own warranty book"),
            "{graded:?}"
        );
    }
    assert_eq!(
        whole("traction-capacity", percent(69.0)).changes_when,
        "At or above 70 % it would be better."
    );
}

proptest! {
    #[test]
    fn less_capacity_never_grades_better(capacity in 40.0..105.0_f64, less in 0.0..40.0_f64, floor in 50.0..85.0_f64) {
        prop_assert!(grade(capacity - less, floor) >= grade(capacity, floor));
    }

    #[test]
    fn a_higher_floor_never_grades_better(capacity in 40.0..105.0_f64, floor in 50.0..85.0_f64, more in 0.0..20.0_f64) {
        prop_assert!(grade(capacity, floor + more) >= grade(capacity, floor));
    }
}
