//! What happened, counted, so that a run which exercised nothing is seen.

use std::collections::BTreeMap;
use std::fmt;

/// Counts by kind of event.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Tally(BTreeMap<String, u64>);

impl Tally {
    /// Counts one.
    pub fn count(&mut self, kind: impl Into<String>) {
        self.add(kind, 1);
    }

    /// Counts several.
    pub fn add(&mut self, kind: impl Into<String>, number: u64) {
        if number > 0 {
            *self.0.entry(kind.into()).or_default() += number;
        }
    }

    /// Takes in what another counted.
    pub fn join(&mut self, other: &Self) {
        for (kind, number) in &other.0 {
            self.add(kind.clone(), *number);
        }
    }

    /// How often that kind happened.
    pub fn of(&self, kind: &str) -> u64 {
        self.0.get(kind).copied().unwrap_or(0)
    }

    /// The kinds of `wanted` that never happened.
    pub fn missing<'a>(&self, wanted: &[&'a str]) -> Vec<&'a str> {
        wanted.iter().copied().filter(|kind| self.of(kind) == 0).collect()
    }
}

impl fmt::Display for Tally {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let mut groups: BTreeMap<&str, Vec<String>> = BTreeMap::new();
        for (kind, number) in &self.0 {
            let (group, name) = kind.split_once(": ").unwrap_or(("other", kind));
            groups.entry(group).or_default().push(format!("{name} {number}"));
        }
        for (group, kinds) in groups {
            writeln!(f, "  {group}: {}", kinds.join(", "))?;
        }
        Ok(())
    }
}

/// What must have happened at least once in a run of some length, on either engine.
pub const WANTED: &[&str] = &[
    "act: register",
    "act: retire",
    "act: read",
    "act: decide",
    "act: serve",
    "act: undo service",
    "act: paper",
    "act: undo paper",
    "act: cover",
    "act: undo cover",
    "act: go in",
    "act: come out",
    "act: undo stay",
    "act: override",
    "act: undo override",
    "act: revise rules",
    "act: hire",
    "act: change person",
    "act: erase person",
    "act: release address",
    "act: move zone",
    "act: close finding",
    "act: answer baseline",
    "act: acknowledge",
    "act: postpone",
    "act: decree",
    "act: find workshop",
    "act: change workshop",
    "act: buy",
    "act: fit",
    "act: take off",
    "act: undo end",
    "act: batch",
    "answer: lost after commit",
    "answer: repeated",
    "answer: trespass refused",
    "entry: accepted",
    "entry: duplicate",
    "entry: held",
    "entry: do not drive",
    "crash: BeforeReading",
    "crash: BeforeWriting",
    "crash: BeforeCommit",
    "crash: AfterCommit",
    "crash: verb MAIL",
    "crash: verb RCPT",
    "crash: verb DATA",
    "crash: verb the dot",
    "crash: answer to MAIL",
    "crash: answer to RCPT",
    "crash: answer to DATA",
    "crash: answer to the dot",
    "fault: relay away",
    "fault: cut before the letter was taken",
    "fault: cut after the letter was taken",
    "fault: not now",
    "fault: refused",
    "time: outage of the program",
    "time: outage of the relay",
    "time: clock jump",
    "time: clock years ahead",
    "time: scene under a clock not believed",
    "time: clock put right",
    "time: lull beyond a lease",
    "letter: looks ahead to a day",
    "letter: sent",
    "letter: withdrawn",
    "letter: undeliverable",
    "letter: second copy",
    "attempt: uncertain",
    "attempt: retry",
    "calendar: PUBLISH",
    "calendar: CANCEL",
    "mark: told",
    "mark: overtaken",
    "mark: folded",
    "mark: skipped",
    "notice: told",
    "notice: withdrawn",
    "notice: list_only",
    "scheduler: claim lost",
    "courier: claim lost",
];
