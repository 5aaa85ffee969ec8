//! Every limit says on whose word it stands, and the README lists them all.

use gauge::{Bound, Limit, Standing, limits};
use std::fmt::Write;

#[test]
fn every_limit_has_a_name_a_source_an_edition_and_a_finite_number() {
    for limit in limits() {
        assert!(![limit.name, limit.source, limit.edition].contains(&""), "{limit:?}");
        assert!(limit.bound.value().is_none_or(|value| value.exact().is_ok()), "{limit:?}");
        assert_eq!(limit.bound == Bound::Missing, limit.bound.value().is_none());
    }
}

#[test]
fn a_house_setting_never_passes_for_law_nor_law_for_a_house_setting() {
    for limit in limits() {
        let is_setting = limit.source.contains("no source");
        assert_eq!(limit.standing == Standing::CommonPractice, is_setting, "{limit:?}");
        assert!(!(is_setting && limit.jurisdiction.is_some()), "{limit:?}");
    }
}

#[test]
fn no_two_limits_of_a_discipline_say_the_same() {
    let all: Vec<&Limit> = limits().collect();
    for (index, limit) in all.iter().enumerate() {
        assert!(!all[..index].contains(limit), "{limit:?}");
    }
}

const BEGIN: &str = "<!-- limits: from here the table is generated -->\n";
const END: &str = "<!-- limits: to here -->\n";

#[test]
fn the_readme_lists_every_limit_as_it_is() {
    let readme = include_str!("../../README.md");
    let (_, rest) = readme.split_once(BEGIN).expect("the table begins");
    let (table, _) = rest.split_once(END).expect("the table ends");
    let generated = as_markdown();
    assert!(table == generated, "README.md should hold this table:\n{generated}");
}

fn as_markdown() -> String {
    let mut table = String::from(
        "| discipline | what is held to it | law of | gross mass | wheels | met | grade | source | edition | standing |\n\
         | --- | --- | --- | --- | --- | --- | --- | --- | --- | --- |\n",
    );
    for limit in limits() {
        let law = limit.jurisdiction.map_or("any", model::Jurisdiction::word);
        let grade = limit.grade.map_or("advice only", model::Grade::word);
        writeln!(
            table,
            "| {} | {} | {law} | {} | {} | {} | {grade} | {} | {} | {} |",
            limit.discipline.word(),
            limit.name,
            limit.class,
            limit.wheels.word(),
            limit.bound,
            limit.source,
            limit.edition,
            limit.standing.word(),
        )
        .expect("a string takes everything");
    }
    table
}
