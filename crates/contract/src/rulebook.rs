//! Rulebooks, and a vehicle's exceptions to their rules.

use crate::define::{answer, request};
use crate::list::{Change, Many};
use crate::reader::Reader;
use crate::rule::{Every, IntervalRule, NewEvery, NewIntervalRule};
use crate::text::{Line, Text};
use chrono::{DateTime, Utc};
use model::{Code, OverrideId, RulebookId};

answer! {
    /// A rulebook in its newest version.
    Rulebook {
        /// Its id.
        id: RulebookId,
        /// Its title.
        title: String = "Delivery vans",
        /// The newest version, counted from 1; in quotes it is the `ETag`.
        version: i64,
        /// Its rules, in the book's order.
        rules: Vec<IntervalRule>,
    }
}

impl From<model::Rulebook> for Rulebook {
    fn from(book: model::Rulebook) -> Self {
        Self {
            id: book.id,
            title: book.title,
            version: book.version,
            rules: book.rules.into_iter().map(IntervalRule::from).collect(),
        }
    }
}

request! {
    /// A rulebook to be made.
    NewRulebook {
        /// Its title.
        title: Line<120> = "Delivery vans",
        /// Its rules, in the book's order.
        rules: Many<NewIntervalRule, 1, 200>,
    }
}

request! {
    /// The next version of a rulebook. All its rules, not only the changed ones.
    RulebookRevision {
        /// Its title; the old one if none is said.
        title: Change<Line<120>> = "Delivery vans",
        /// Its rules, in the book's order.
        rules: Many<NewIntervalRule, 1, 200>,
    }
}

answer! {
    /// A vehicle's exception to a rule. The newest holds.
    RuleOverride {
        /// Its id.
        id: OverrideId,
        /// The rule.
        rule: Code,
        /// The interval that holds instead; null: the rule does not apply to this vehicle.
        every: Option<Every>,
        /// Why.
        reason: String = "Idles a lot: the maker advises half the interval.",
        /// When it was recorded.
        recorded_at: DateTime<Utc>,
    }
}

impl From<model::RuleOverride> for RuleOverride {
    fn from(exception: model::RuleOverride) -> Self {
        let model::RuleOverride { id, rule, every, reason, recorded_at } = exception;
        Self { id, rule, every: every.map(Every::from), reason, recorded_at }
    }
}

request! {
    /// An exception to a rule for one vehicle: exactly one of `every` and `does_not_apply` is needed.
    NewRuleOverride {
        /// The rule.
        rule: Code,
        /// The interval that holds instead.
        every: Option<NewEvery>,
        /// `true`: the rule does not apply to this vehicle.
        does_not_apply: Option<bool> = null,
        /// Why. It is kept.
        reason: Text<1000> = "Idles a lot: the maker advises half the interval.",
    } checked by says_what_instead
}

fn says_what_instead(exception: &NewRuleOverride, reader: &mut Reader) {
    if exception.every.is_some() == (exception.does_not_apply == Some(true)) {
        reader.fault("one-of-two", "exactly one of `every` and `does_not_apply: true` is needed");
    }
}
