//! What people say to a reminder: seen, or later. Both are facts about one cycle of one item.

use crate::coded::worded;
use crate::horizon::{Cycle, ItemKey};
use crate::ids::PersonId;
use crate::organisation::Role;
use chrono::{DateTime, NaiveDate, Utc};
use serde::{Deserialize, Serialize};

/// Somebody has seen a reminder and answers for it. It stops the next person from being told; it changes no stage.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Acknowledgement {
    /// The item or window.
    pub item: ItemKey,
    /// Its cycle.
    pub cycle: Cycle,
    /// Who.
    pub by: Option<PersonId>,
    /// What else was said.
    pub note: Option<String>,
    /// When.
    pub recorded_at: DateTime<Utc>,
}

/// Somebody wants to be reminded later. It moves reminders, never a stage, and never what must not be driven.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Postponement {
    /// The item or window.
    pub item: ItemKey,
    /// Its cycle.
    pub cycle: Cycle,
    /// From the beginning of this day, where the vehicle stands, it is told again.
    pub until: NaiveDate,
    /// Why.
    pub reason: String,
    /// Who.
    pub by: Option<PersonId>,
    /// When it was said.
    pub recorded_at: DateTime<Utc>,
}

worded! {
    /// What a reminder is about.
    Ladder {
        /// An interval rule, or what stands in for rules: the baseline check, a closing or return check, a grade or finding.
        Duties = "duties",
        /// A paper.
        Papers = "papers",
        /// A coverage window.
        Windows = "windows",
    }
}

/// Whom a fleet wants to be told of one kind of reminder, in place of those whom it concerns otherwise.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Rung {
    /// What it is about.
    pub of: Ladder,
    /// Which reminder: `approaching`, `due`, `overdue`, `escalated`, `days_30`, `act_by`, `ended`.
    pub reminder: String,
    /// Who is told; nobody if empty.
    pub to: Vec<Role>,
}
