//! One set of measurements on its way to a grade: what each rule thinks of it, and what it advises.

use crate::answer::Answer;
use crate::caution::{Hazard, caution_for};
use crate::ladder::{Rung, Side};
use crate::limit::Standing;
use crate::measured::MeasuredSet;
use crate::verdict::Verdict;
use crate::yardstick::Held;
use model::Grade;
use model::horizon::Graded;
use quantity::{Entered, Unit};

/// What one rule thinks of a set.
#[derive(Debug, Clone)]
pub(crate) struct Opinion {
    pub grade: Grade,
    source: String,
    standing: Standing,
    /// Where the limit lies on the scale of what was measured, and from where on it is not met; none where values were
    /// compared with each other.
    at: Option<(i64, Side)>,
    /// What the grade stands on where it has no place on the scale.
    stands_while: String,
    reason: String,
}

impl Opinion {
    /// From a rung on the scale of what was measured.
    pub fn on_rung(grade: Grade, rung: &Rung<'_>, reason: String) -> Self {
        Self { at: Some((rung.at, rung.side())), grade, ..Self::on_comparison(&rung.held, reason) }
    }

    /// From a limit that compares measurements with each other, or asks whether one was taken.
    pub fn on_comparison(held: &Held<'_>, reason: String) -> Self {
        let grade = held.limit.grade.unwrap_or(Grade::Good);
        let stands_while = format!("It stands while {} is {}.", held.limit.name, held.bound);
        Self { grade, source: held.source(), standing: held.standing(), at: None, stands_while, reason }
    }

    /// From a limit on a rate, which is on another scale than any one measurement behind it.
    pub fn on_rate(grade: Grade, held: &Held<'_>, reason: String) -> Self {
        match grade {
            Grade::Good => Self::for_advice(held, reason),
            Grade::Watch | Grade::Attend | Grade::DoNotDrive => Self::on_comparison(held, reason),
        }
    }

    /// From a limit that leads to advice only, met or not.
    pub fn for_advice(held: &Held<'_>, reason: String) -> Self {
        let stands_while = "Nothing would change it: it leads to advice only.".to_owned();
        Self { grade: Grade::Good, stands_while, ..Self::on_comparison(held, reason) }
    }

    /// From a word that was given in answer.
    pub fn on_answer(answer: &Answer) -> Self {
        let stands_while = "It stands until somebody looks again and answers otherwise.".to_owned();
        let Answer { grade, source, standing, reason, .. } = *answer;
        let (source, reason) = (source.to_owned(), reason.to_owned());
        Self { grade, source, standing, at: None, stands_while, reason }
    }

    /// What would change the grade, in one sentence, with numbers in this unit.
    fn changes_when(&self, unit: Unit) -> String {
        match self.at {
            None => self.stands_while.clone(),
            Some((at, side)) if self.grade == Grade::Good => {
                format!(
                    "{} {} it would no longer be good.",
                    side.other().words(),
                    Entered::from_exact(at, unit)
                )
            }
            Some((at, side)) => {
                format!("{} {} it would be better.", side.words(), Entered::from_exact(at, unit))
            }
        }
    }

    /// Resting on a second limit as well.
    pub fn resting_on(mut self, other: &Held<'_>) -> Self {
        let source = other.source();
        if source != self.source {
            self.source = format!("{}; {source}", self.source);
        }
        self
    }

    /// Standing on something that the words of its limit do not tell: this sentence says on what.
    pub fn standing_on(mut self, grade: Grade, stands_while: String) -> Self {
        self.grade = grade;
        self.stands_while = stands_while;
        self
    }

    /// No worse than `worst`, because of `why`.
    pub fn at_most(mut self, worst: Grade, why: &str) -> Self {
        if self.grade > worst {
            self.grade = worst;
            self.reason = format!("{}; {why}.", self.reason.trim_end_matches('.'));
        }
        self
    }
}

/// What all rules together think of a set.
#[derive(Debug)]
pub(crate) struct Assessment {
    decides: Opinion,
    others: Vec<Opinion>,
    advice: Vec<String>,
    hazards: Vec<Hazard>,
}

impl Assessment {
    /// Starting with the opinion that holds if no other is worse.
    pub fn starting_with(opinion: Opinion) -> Self {
        Self { decides: opinion, others: Vec::new(), advice: Vec::new(), hazards: Vec::new() }
    }

    /// The grade so far.
    pub fn grade(&self) -> Grade {
        self.decides.grade
    }

    /// Hears another rule; the worst opinion decides, and of equals the first heard.
    pub fn hear(&mut self, opinion: Opinion) {
        let outvoted = if opinion.grade > self.decides.grade {
            std::mem::replace(&mut self.decides, opinion)
        } else {
            opinion
        };
        if outvoted.grade != Grade::Good {
            self.others.push(outvoted);
        }
    }

    /// Takes in what was found of something else that the same measurements tell; where that is good, it is told all the same.
    pub fn take_in(&mut self, other: Self) {
        let Self { decides, others, advice, hazards } = other;
        if decides.grade == Grade::Good {
            self.advice.push(decides.reason.clone());
        }
        for opinion in others.into_iter().chain([decides]) {
            self.hear(opinion);
        }
        self.advice.extend(advice);
        self.hazards.extend(hazards);
    }

    /// Adds something to do, in one sentence, with what can hurt in doing it.
    pub fn advise(&mut self, sentence: impl Into<String>, hazards: &[Hazard]) {
        self.advice.push(sentence.into());
        self.hazards.extend_from_slice(hazards);
    }

    /// The grade of something that no single measurement shows.
    pub fn verdict(self) -> Verdict {
        let caution = caution_for(self.decides.grade, &self.hazards);
        let Self { decides, others, advice, .. } = self;
        Verdict {
            grade: decides.grade,
            reason: decides.reason,
            advice: others.into_iter().map(|other| other.reason).chain(advice).collect(),
            source: decides.source,
            standing: decides.standing,
            caution,
        }
    }

    /// The grade with everything a person needs to know about it.
    pub fn graded(self, set: &MeasuredSet<'_>) -> Graded {
        let Self { decides, others, advice, hazards } = self;
        let measured = set.lowest;
        let unit = measured.entered.unit;
        let changes_when = decides.changes_when(unit);
        let mut sentences = Vec::new();
        if decides.grade == Grade::DoNotDrive {
            sentences.push(DO_NOT_DRIVE.to_owned());
        }
        sentences.extend(others.into_iter().map(|other| other.reason));
        sentences.extend(advice);
        Graded {
            inspection: set.inspection.id,
            measurement: measured.id,
            point: set.point.code.to_owned(),
            place: set.place,
            grade: decides.grade,
            measured: measured.entered,
            seen: set.point.answer_kept(measured.exact).map(|answer| answer.title.to_owned()),
            limit: decides.at.map(|(at, _)| Entered::from_exact(at, unit)),
            margin: decides.at.map(|(at, _)| Entered::difference(measured.exact - at, unit)),
            reason: decides.reason,
            changes_when,
            advice: sentences,
            source: decides.source,
            standing: decides.standing.word().to_owned(),
            caution: caution_for(decides.grade, &hazards),
            measured_at: set.inspection.performed_at,
        }
    }
}

const DO_NOT_DRIVE: &str =
    "Do not drive: take the key, tag the wheel and ring the person who answers for the vehicle.";
