//! Answers to the baseline check of a used vehicle.

use crate::define::{answer, request};
use crate::list::Many;
use crate::quantity::{Distance, Quantity};
use crate::reader::Reader;
use chrono::{DateTime, NaiveDate, Utc};
use model::{BaselineId, Code};

answer! {
    /// An answer to the baseline check of a used vehicle, for one rule. The newest holds.
    BaselineAnswer {
        /// Its id.
        id: BaselineId,
        /// The rule.
        rule: Code,
        /// `proven`, `do_now` or `start_from`.
        choice: String = "proven",
        /// The day it was last done (`proven`), said (`do_now`), or counts from (`start_from`).
        on: NaiveDate,
        /// The odometer on that day.
        odometer: Option<Quantity>,
        /// When it was recorded.
        recorded_at: DateTime<Utc>,
    }
}

impl From<model::BaselineAnswer> for BaselineAnswer {
    fn from(answer: model::BaselineAnswer) -> Self {
        let (choice, on, odometer) = match answer.choice {
            model::BaselineChoice::Proven { done_on, odometer } => ("proven", done_on, Some(odometer)),
            model::BaselineChoice::DoNow { on } => ("do_now", on, None),
            model::BaselineChoice::StartFrom { on, odometer } => ("start_from", on, Some(odometer)),
        };
        Self {
            id: answer.id,
            rule: answer.rule,
            choice: choice.to_owned(),
            on,
            odometer: odometer.map(Quantity::from),
            recorded_at: answer.recorded_at,
        }
    }
}

request! {
    /// How one unproven rule is settled: exactly one of `proven`, `do_now` and `start_from` is needed.
    NewBaselineAnswer {
        /// The rule.
        rule: Code,
        /// There is proof of when it was last done.
        proven: Option<DayAndOdometer>,
        /// It is due at once; said on this day.
        do_now: Option<NaiveDate> = null,
        /// It counts from this day and odometer.
        start_from: Option<DayAndOdometer> = null,
    } checked by settles_one_way
}

request! {
    /// A day and the odometer on it.
    DayAndOdometer {
        /// The day.
        on: NaiveDate,
        /// The odometer.
        odometer: Distance,
    }
}

fn settles_one_way(answer: &NewBaselineAnswer, reader: &mut Reader) {
    let ways = [answer.proven.is_some(), answer.do_now.is_some(), answer.start_from.is_some()];
    if ways.into_iter().filter(|way| *way).count() != 1 {
        reader.fault("one-of-three", "exactly one of `proven`, `do_now` and `start_from` is needed");
    }
}

impl NewBaselineAnswer {
    /// The rule and what was chosen; `None` without a choice, which reading it has ruled out.
    pub fn settled(self) -> Option<(Code, model::BaselineChoice)> {
        let proven =
            self.proven.map(|at| model::BaselineChoice::Proven { done_on: at.on, odometer: at.odometer.0 });
        let do_now = self.do_now.map(|on| model::BaselineChoice::DoNow { on });
        let start_from =
            self.start_from.map(|at| model::BaselineChoice::StartFrom { on: at.on, odometer: at.odometer.0 });
        Some((self.rule, proven.or(do_now).or(start_from)?))
    }
}

request! {
    /// Answers to the baseline check, one a rule.
    NewBaselineAnswers {
        /// The answers.
        answers: Many<NewBaselineAnswer, 1, 200>,
    }
}

answer! {
    /// The answers just given.
    BaselineAnswersGiven {
        /// One a rule.
        answers: Vec<BaselineAnswer>,
    }
}
