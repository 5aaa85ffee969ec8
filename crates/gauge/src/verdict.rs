//! What something comes to that no single measurement shows: a use over a distance, a capacity against a floor.

use crate::limit::Standing;
use model::Grade;

/// A grade with everything a person needs to know about it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Verdict {
    /// The grade.
    pub grade: Grade,
    /// Why, in one sentence.
    pub reason: String,
    /// What to do, in one sentence each.
    pub advice: Vec<String>,
    /// Where the limit comes from.
    pub source: String,
    /// How well that is known.
    pub standing: Standing,
    /// What can hurt in doing what is advised.
    pub caution: Option<String>,
}
