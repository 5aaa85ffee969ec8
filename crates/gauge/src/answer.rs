//! Answers by a word: what a technician sees, hears or feels, and what each word for it means.

use crate::assessment::{Assessment, Opinion};
use crate::caution::{Hazard, caution_for};
use crate::grading::Bench;
use crate::limit::{Discipline, Standing};
use crate::measured::MeasuredSet;
use crate::{
    brake_fluid, coolant, engine_oil, filters, lining, rotation, starter_battery, tread, urea, walk,
};
use model::{Grade, Place};
use std::collections::BTreeMap;

/// What one word, given in answer to a question about a vehicle, means.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Answer {
    /// What it belongs to.
    pub discipline: Discipline,
    /// What was asked.
    pub question: &'static str,
    /// The word itself, as in requests and tables.
    pub word: &'static str,
    /// The word as a person reads it.
    pub title: &'static str,
    /// What it comes to.
    pub grade: Grade,
    /// Why, in one sentence; it names a likely cause where the trade knows one, never a certain one.
    pub reason: &'static str,
    /// What to do, in one sentence; empty where nothing is to be done.
    pub advice: &'static str,
    /// Who says so.
    pub source: &'static str,
    /// How well that source is known.
    pub standing: Standing,
    pub(crate) hazards: &'static [Hazard],
}

impl Answer {
    /// What can hurt in doing what is advised; every `do_not_drive` has a caution.
    pub fn caution(&self) -> Option<String> {
        caution_for(self.grade, self.hazards)
    }

    /// An answer on the house's own word.
    pub(crate) const fn of(grade: Grade, title: &'static str, reason: &'static str) -> Self {
        Self {
            discipline: Discipline::Tread,
            question: "",
            word: "",
            title,
            grade,
            reason,
            advice: "",
            source: "house setting for answers, no source",
            standing: Standing::CommonPractice,
            hazards: &[],
        }
    }

    /// All is as it should be.
    pub(crate) const fn good(title: &'static str, reason: &'static str) -> Self {
        Self::of(Grade::Good, title, reason)
    }

    pub(crate) const fn advising(self, advice: &'static str, hazards: &'static [Hazard]) -> Self {
        Self { advice, hazards, ..self }
    }

    pub(crate) const fn by(self, source: &'static str, standing: Standing) -> Self {
        Self { source, standing, ..self }
    }

    /// By a setting of the house that says more than that no source is known.
    pub(crate) const fn by_house(self, source: &'static str) -> Self {
        self.by(source, Standing::CommonPractice)
    }

    pub(crate) const fn to_question(
        self,
        discipline: Discipline,
        question: &'static str,
        word: &'static str,
    ) -> Self {
        Self { discipline, question, word, ..self }
    }
}

/// The answers to one question, as an enum with words.
macro_rules! answered {
    (
        $(#[$doc:meta])*
        $name:ident, $discipline:ident, $question:literal;
        $($(#[$variant_doc:meta])* $variant:ident = $word:literal, $answer:expr;)+
    ) => {
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub enum $name {
            $($(#[$variant_doc])* $variant),+
        }

        impl $name {
            /// Every answer, in the order of the documentation.
            pub const ALL: &'static [Self] = &[$(Self::$variant),+];

            pub(crate) const ANSWERS: &'static [$crate::answer::Answer] = &[
                $($answer.to_question($crate::limit::Discipline::$discipline, $question, $word)),+
            ];

            /// What it means.
            pub const fn answer(self) -> &'static $crate::answer::Answer {
                &Self::ANSWERS[self as usize]
            }

            /// The word for it, as in requests and tables.
            pub const fn word(self) -> &'static str {
                self.answer().word
            }

            /// The answer with this word.
            pub fn from_word(word: &str) -> Option<Self> {
                Self::ALL.iter().copied().find(|one| one.word() == word)
            }

            pub(crate) fn answers() -> impl Iterator<Item = &'static $crate::answer::Answer> {
                Self::ANSWERS.iter()
            }
        }
    };
}
pub(crate) use answered;

/// Grades a point that is answered by a word, or by several: the worst decides, and the spare stops nobody.
pub(crate) fn assess<'a>(_: &Bench<'a>, set: &MeasuredSet<'a>) -> Assessment {
    let given = set.values().filter_map(|value| set.point.answer_kept(value.exact));
    let answers: BTreeMap<&str, &Answer> = given.map(|answer| (answer.word, answer)).collect();
    let mut in_order: Vec<&Answer> = answers.into_values().collect();
    in_order.sort_by_key(|answer| std::cmp::Reverse(answer.grade));
    let opinion = |answer: &&Answer| on_the_road(Opinion::on_answer(answer), set.place);
    let mut opinions = in_order.iter().map(opinion);
    let first = opinions.next().expect("what no point would have taken is left out of every set");
    let mut assessment = Assessment::starting_with(first);
    opinions.for_each(|opinion| assessment.hear(opinion));
    for answer in in_order.iter().filter(|answer| !answer.advice.is_empty()) {
        assessment.advise(answer.advice, answer.hazards);
    }
    assessment
}

fn on_the_road(opinion: Opinion, place: Place) -> Opinion {
    if place == Place::Spare {
        return opinion.at_most(Grade::Attend, "it is the spare, which is not on the road");
    }
    opinion
}

/// Every answer to every question, in the order of the documentation.
pub fn answers() -> impl Iterator<Item = &'static Answer> {
    tread::TyreDamage::answers()
        .chain(tread::TyreKind::answers())
        .chain(rotation::answers())
        .chain(walk::answers())
        .chain(brake_fluid::answers())
        .chain(coolant::answers())
        .chain(starter_battery::answers())
        .chain(engine_oil::answers())
        .chain(urea::answers())
        .chain(filters::answers())
        .chain(lining::answers())
}
