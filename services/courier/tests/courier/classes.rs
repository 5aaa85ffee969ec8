//! R18: each reply and each fault has the class that the table says.

use courier::outcome::{Outcome, Step};
use std::collections::BTreeSet;

const TABLE: &str = include_str!("../replies.csv");

/// A row of the table.
struct Row<'a> {
    stage: &'a str,
    /// None where no reply came.
    code: Option<u16>,
    text: &'a str,
    class: &'a str,
    source: &'a str,
}

fn rows() -> Vec<Row<'static>> {
    let lines = TABLE.lines().filter(|line| !line.starts_with('#'));
    lines
        .map(|line| {
            let columns: Vec<&str> = line.split(',').collect();
            let [stage, code, text, class, source] = columns[..] else { panic!("five columns: {line}") };
            let code = (code != "-").then(|| code.parse().expect("a reply code"));
            Row { stage, code, text, class, source }
        })
        .collect()
}

fn step(stage: &str) -> Step {
    match stage {
        "connecting" => Step::Connecting,
        "greeting" => Step::Greeting,
        "signing-in" => Step::SigningIn,
        "sender" => Step::Sender,
        "recipient" => Step::Recipient,
        "data" => Step::Data,
        "dot" => Step::Answer,
        other => panic!("no stage: {other}"),
    }
}

pub const fn class(outcome: &Outcome) -> &'static str {
    match outcome {
        Outcome::Sent { .. } => "sent",
        Outcome::NotNow { .. } => "temporary",
        Outcome::Barred { .. } => "barred",
        Outcome::SenderRefused { .. } => "sender",
        Outcome::AddressRefused { .. } => "address",
        Outcome::TooLarge { .. } => "size",
        Outcome::LetterRefused { .. } => "content",
        Outcome::Unknown { .. } => "uncertain",
    }
}

#[test]
fn r18_each_reply_and_fault_has_the_class_of_the_table() {
    let mut wrong = Vec::new();
    for Row { stage, code, text, class: wanted, .. } in rows() {
        let (outcome, kept) = match code {
            Some(code) => (Outcome::of_reply(step(stage), code, text), format!("{code} {text}")),
            None => (Outcome::of_fault(step(stage), text), text.to_owned()),
        };
        assert_eq!(outcome.reply(), kept);
        if class(&outcome) != wanted {
            wrong.push(format!("{stage} {kept}: {} and not {wanted}", class(&outcome)));
        }
    }
    assert_eq!(wrong, Vec::<String>::new());
}

#[test]
fn r18_the_table_has_every_class_at_every_stage_where_it_can_occur_and_names_its_sources() {
    let rows = rows();
    assert!(rows.len() >= 200, "{} rows", rows.len());
    let mut seen = BTreeSet::new();
    for row in &rows {
        assert!(row.source.starts_with("RFC ") || row.source == "memory", "{} {}", row.text, row.source);
        assert!(
            seen.insert((row.stage, row.code, row.text)),
            "{} {:?} {} twice",
            row.stage,
            row.code,
            row.text
        );
    }
    let wanted = [
        ("connecting", &["barred"][..]),
        ("greeting", &["barred", "sender"]),
        ("signing-in", &["barred", "sender"]),
        ("sender", &["barred", "sender", "size"]),
        ("recipient", &["address", "barred", "content", "sender", "size", "temporary"]),
        ("data", &["address", "barred", "sender", "size", "temporary"]),
        ("dot", &["address", "barred", "content", "sender", "sent", "size", "temporary", "uncertain"]),
    ];
    for (stage, wanted) in wanted {
        let classes: BTreeSet<&str> =
            rows.iter().filter(|row| row.stage == stage).map(|row| row.class).collect();
        assert_eq!(classes, wanted.iter().copied().collect(), "{stage}");
    }
}
