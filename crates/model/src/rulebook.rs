//! Rulebooks: lists of rules that can stand together.

use crate::coded::Code;
use crate::cron::{CronError, CronExpression};
use crate::ids::{RulebookId, RulebookVersionId};
use crate::rule::{Anchoring, Every, IntervalRule, Trigger, When};
use serde::{Deserialize, Serialize};
use std::collections::{BTreeMap, BTreeSet};

/// A rulebook as it stands now.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Rulebook {
    /// Its id.
    pub id: RulebookId,
    /// Its title.
    pub title: String,
    /// Id of its newest version.
    pub version_id: RulebookVersionId,
    /// The newest version, counted from 1.
    pub version: i64,
    /// Its rules.
    pub rules: Vec<IntervalRule>,
}

/// What is wrong with a list of rules.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum RulebookError {
    /// Two rules bear one code.
    #[error("two rules have the code {0}")]
    TwoOfOneCode(Code),
    /// A rule satisfies one that is not there.
    #[error("{from} satisfies {to}, which is not in the rulebook")]
    Unknown {
        /// The rule that refers.
        from: Code,
        /// What it refers to.
        to: Code,
    },
    /// Rules satisfy each other in a circle.
    #[error("rules satisfy each other in a circle: {}", .0.iter().map(Code::as_str).collect::<Vec<_>>().join(" -> "))]
    Circle(Vec<Code>),
    /// A trigger that says nothing.
    #[error("{0} recurs after no distance, months, days or engine hours: at least one is needed")]
    NoInterval(Code),
    /// A calendar that cannot be read, or that never comes.
    #[error("{rule} comes by no calendar: {fault}")]
    NoCalendar {
        /// The rule.
        rule: Code,
        /// What is wrong with its expression.
        fault: CronError,
    },
    /// A field that means something only beside an interval.
    #[error("{rule} recurs by no interval, so {field} says nothing")]
    NoMeaning {
        /// The rule.
        rule: Code,
        /// `first`, `severe`, `anchor` or `indicator`.
        field: &'static str,
    },
}

impl Rulebook {
    /// Checks that `rules` can stand in one book: codes unique, references known, no circle, every interval set, every
    /// calendar readable, and nothing said that its trigger leaves without meaning.
    ///
    /// # Errors
    /// All faults found, in the order of the rules.
    pub fn check(rules: &[IntervalRule]) -> Result<(), Vec<RulebookError>> {
        let mut faults = Vec::new();
        let mut seen = BTreeSet::new();
        for rule in rules {
            if !seen.insert(&rule.code) {
                faults.push(RulebookError::TwoOfOneCode(rule.code.clone()));
            }
            let silent = matches!(&rule.trigger, Trigger::Every(every) if every.says_nothing());
            if silent || rule.severe.iter().chain(&rule.first).any(Every::says_nothing) {
                faults.push(RulebookError::NoInterval(rule.code.clone()));
            }
            faults.extend(rule.faults());
        }
        for rule in rules {
            let followed = match &rule.trigger {
                Trigger::When(When::Work { of, .. }) => of.as_slice(),
                _ => &[],
            };
            for to in rule.satisfies.iter().chain(followed).filter(|to| !seen.contains(to)) {
                faults.push(RulebookError::Unknown { from: rule.code.clone(), to: to.clone() });
            }
        }
        faults.extend(circle(rules).map(RulebookError::Circle));
        if faults.is_empty() { Ok(()) } else { Err(faults) }
    }

    /// All codes that doing `done` satisfies, itself included.
    pub fn satisfied_by(rules: &[IntervalRule], done: &Code) -> BTreeSet<Code> {
        let edges: BTreeMap<&Code, &[Code]> =
            rules.iter().map(|r| (&r.code, r.satisfies.as_slice())).collect();
        let mut reached = BTreeSet::from([done.clone()]);
        let mut open = vec![done.clone()];
        while let Some(code) = open.pop() {
            for next in edges.get(&code).copied().unwrap_or_default() {
                if reached.insert(next.clone()) {
                    open.push(next.clone());
                }
            }
        }
        reached
    }
}

impl IntervalRule {
    /// What its trigger cannot be, or leaves without meaning.
    fn faults(&self) -> Vec<RulebookError> {
        let mut faults = Vec::new();
        if let Trigger::Calendar(calendar) = &self.trigger
            && let Err(fault) = calendar.cron.parse::<CronExpression>()
        {
            faults.push(RulebookError::NoCalendar { rule: self.code.clone(), fault });
        }
        if !matches!(self.trigger, Trigger::Every(_)) {
            let said = [
                ("first", self.first.is_some()),
                ("severe", self.severe.is_some()),
                ("anchor", self.anchor == Anchoring::Grid),
                ("indicator", self.indicator),
            ];
            let meaningless = said.into_iter().filter(|(_, is_said)| *is_said);
            faults.extend(
                meaningless.map(|(field, _)| RulebookError::NoMeaning { rule: self.code.clone(), field }),
            );
        }
        faults
    }
}

/// The first circle among the rules' `satisfies`, from a rule back to itself.
fn circle(rules: &[IntervalRule]) -> Option<Vec<Code>> {
    let edges: BTreeMap<&Code, &[Code]> = rules.iter().map(|r| (&r.code, r.satisfies.as_slice())).collect();
    let mut finished = BTreeSet::new();
    rules.iter().find_map(|rule| {
        let mut path = Vec::new();
        walk(&rule.code, &edges, &mut path, &mut finished)
    })
}

fn walk<'a>(
    code: &'a Code,
    edges: &BTreeMap<&'a Code, &'a [Code]>,
    path: &mut Vec<&'a Code>,
    finished: &mut BTreeSet<&'a Code>,
) -> Option<Vec<Code>> {
    if let Some(start) = path.iter().position(|on_path| *on_path == code) {
        let mut around: Vec<Code> = path[start..].iter().map(|c| (*c).clone()).collect();
        around.push(code.clone());
        return Some(around);
    }
    if finished.contains(code) {
        return None;
    }
    path.push(code);
    let found = edges
        .get(code)
        .copied()
        .unwrap_or_default()
        .iter()
        .find_map(|next| walk(next, edges, path, finished));
    path.pop();
    finished.insert(code);
    found
}
