//! Every answer says on whose word it stands and what to do, and the README lists them all.

use gauge::{Answer, Standing, answers};
use model::{Code, Grade};
use std::fmt::Write;

#[test]
fn every_answer_has_a_word_a_title_a_reason_and_a_source() {
    for answer in answers() {
        assert!(Code::new(&answer.word.replace('_', "-")).is_ok(), "{answer:?}");
        assert!(![answer.question, answer.title, answer.source].contains(&""), "{answer:?}");
        assert!(answer.reason.ends_with('.'), "{answer:?}");
    }
}

#[test]
fn every_answer_that_is_not_good_says_what_to_do() {
    for answer in answers() {
        assert_eq!(answer.grade == Grade::Good, answer.advice.is_empty(), "{answer:?}");
        assert!(answer.advice.is_empty() || answer.advice.ends_with('.'), "{answer:?}");
    }
}

#[test]
fn every_answer_that_stops_a_vehicle_warns() {
    for answer in answers().filter(|answer| answer.grade == Grade::DoNotDrive) {
        let caution = answer.caution().expect("a caution");
        assert!(caution.contains("jack stands") && caution.contains("Local codes"), "{answer:?}");
    }
}

#[test]
fn an_answer_on_the_house_s_word_never_passes_for_law() {
    for answer in answers() {
        let is_setting = answer.source.contains("no source");
        assert_eq!(answer.standing == Standing::CommonPractice, is_setting, "{answer:?}");
    }
}

#[test]
fn no_question_has_the_same_word_twice_and_each_can_be_answered_with_nothing_wrong() {
    let all: Vec<&Answer> = answers().collect();
    for (index, answer) in all.iter().enumerate() {
        let alike = |other: &&&Answer| (other.question, other.word) == (answer.question, answer.word);
        assert_eq!(all[..index].iter().filter(alike).count(), 0, "{answer:?}");
        let of_question = |other: &&&Answer| other.question == answer.question;
        assert!(all.iter().filter(of_question).any(|other| other.grade == Grade::Good), "{answer:?}");
    }
}

const BEGIN: &str = "<!-- answers: from here the table is generated -->\n";
const END: &str = "<!-- answers: to here -->\n";

#[test]
fn the_readme_lists_every_answer_as_it_is() {
    let readme = include_str!("../../README.md");
    let (_, rest) = readme.split_once(BEGIN).expect("the table begins");
    let (table, _) = rest.split_once(END).expect("the table ends");
    let generated = as_markdown();
    assert!(table == generated, "README.md should hold this table:\n{generated}");
}

fn as_markdown() -> String {
    let mut table = String::from(
        "| discipline | what is asked | answer | word | grade | source | standing |\n\
         | --- | --- | --- | --- | --- | --- | --- |\n",
    );
    for answer in answers() {
        writeln!(
            table,
            "| {} | {} | {} | {} | {} | {} | {} |",
            answer.discipline.word(),
            answer.question,
            answer.title,
            answer.word,
            answer.grade.word(),
            answer.source,
            answer.standing.word(),
        )
        .expect("a string takes everything");
    }
    table
}
