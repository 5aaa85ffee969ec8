//! Rulebooks, and a vehicle's exceptions and answers.

use crate::define::{answer, request};
use crate::list::{Change, Many};
use crate::number::Whole;
use crate::quantity::{Distance, Quantity};
use crate::reader::Reader;
use crate::text::{Line, Text};
use chrono::{DateTime, NaiveDate, Utc};
use model::{BaselineDefault, BaselineId, Code, OverrideId, PaperKind, Powertrain, RulebookId, Trigger};

answer! {
    /// A recurring interval; whichever limit comes first.
    Every {
        /// Distance.
        distance: Option<Quantity> = {"value": 15_000, "unit": "km"},
        /// Calendar months, counted from the anchor and clamped to the month's end.
        months: Option<u32> = 12,
        /// Days.
        days: Option<u32> = null,
    }
}

request! {
    /// A recurring interval; whichever limit comes first. At least one is needed.
    NewEvery {
        /// Distance.
        distance: Option<Distance> = {"value": 15_000, "unit": "km"},
        /// Calendar months, counted from the anchor and clamped to the month's end.
        months: Option<Whole<1, 600>> = 12,
        /// Days.
        days: Option<Whole<1, 20_000>> = null,
    } checked by says_something
}

fn says_something(every: &NewEvery, reader: &mut Reader) {
    if every.distance.is_none() && every.months.is_none() && every.days.is_none() {
        reader.fault("no-interval", "an interval needs `distance`, `months` or `days`");
    }
}

impl From<model::Every> for Every {
    fn from(every: model::Every) -> Self {
        Self { distance: every.distance.map(Quantity::from), months: every.months, days: every.days }
    }
}

impl From<NewEvery> for model::Every {
    fn from(every: NewEvery) -> Self {
        Self {
            distance: every.distance.map(|distance| distance.0),
            months: every.months.map(Whole::unsigned),
            days: every.days.map(Whole::unsigned),
            engine_hours: None,
        }
    }
}

answer! {
    /// How far something reaches in time and distance.
    Reach {
        /// Days.
        days: Option<u32> = 14,
        /// Distance.
        distance: Option<Quantity> = {"value": 1000, "unit": "km"},
    }
}

request! {
    /// How far something reaches in time and distance.
    NewReach {
        /// Days.
        days: Option<Whole<0, 3650>> = 14,
        /// Distance.
        distance: Option<Distance> = {"value": 1000, "unit": "km"},
    }
}

impl From<model::Reach> for Reach {
    fn from(reach: model::Reach) -> Self {
        Self { days: reach.days, distance: reach.distance.map(Quantity::from) }
    }
}

impl From<NewReach> for model::Reach {
    fn from(reach: NewReach) -> Self {
        Self { days: reach.days.map(Whole::unsigned), distance: reach.distance.map(|distance| distance.0) }
    }
}

answer! {
    /// The expiry of a paper.
    Expiry {
        /// Which paper.
        paper: PaperKind,
        /// Renewal keeps the anniversary from so many days before expiry on.
        renew_from_days: Option<u32> = 30,
        /// Whether the vehicle must not be driven from the day after.
        no_paper_no_drive: bool = true,
    }
}

request! {
    /// The expiry of a paper.
    NewExpiry {
        /// Which paper.
        paper: PaperKind,
        /// Renewal keeps the anniversary from so many days before expiry on.
        renew_from_days: Option<Whole<0, 3650>> = 30,
        /// Whether the vehicle must not be driven from the day after; no if not said.
        no_paper_no_drive: Option<bool> = true,
    }
}

answer! {
    /// Which vehicles a rule applies to; an empty list means all.
    AppliesTo {
        /// Powertrains.
        powertrains: Vec<Powertrain>,
        /// Makes.
        makes: Vec<String> = ["Arcadia"],
        /// Models.
        models: Vec<String> = [],
        /// First model year.
        model_year_from: Option<i32> = 2020,
        /// Last model year.
        model_year_to: Option<i32> = null,
        /// Tags, one of which the vehicle must bear.
        tags: Vec<String> = [],
    }
}

request! {
    /// Which vehicles a rule applies to; an empty list means all.
    NewAppliesTo {
        /// Powertrains.
        powertrains: Many<Powertrain, 0, 10>,
        /// Makes, compared without regard to case.
        makes: Many<Line<80>, 0, 50> = ["Arcadia"],
        /// Models, compared without regard to case.
        models: Many<Line<80>, 0, 100> = [],
        /// First model year.
        model_year_from: Option<Whole<1900, 2200>> = 2020,
        /// Last model year.
        model_year_to: Option<Whole<1900, 2200>> = null,
        /// Tags, one of which the vehicle must bear.
        tags: Many<Line<40>, 0, 50> = [],
    }
}

answer! {
    /// One recurring duty: it has either `every` or `expiry`.
    IntervalRule {
        /// Its code, unique in the rulebook.
        code: Code,
        /// Its title, as a person reads it.
        title: String = "Engine oil and filter",
        /// Again and again after so much time or distance.
        every: Option<Every>,
        /// When a paper expires.
        expiry: Option<Expiry> = null,
        /// The interval under severe duty.
        severe: Option<Every> = {"distance": {"value": 10_000, "unit": "km"}, "months": 6, "days": null},
        /// How long before due it is approaching.
        lead: Reach,
        /// How long after due it is not yet overdue.
        grace: Reach = {"days": 7, "distance": null},
        /// Rules that this work also satisfies.
        satisfies: Vec<Code> = [],
        /// Which vehicles it applies to.
        applies_to: AppliesTo,
        /// Who says so.
        authority: Option<String> = "Maintenance manual, section 4",
        /// What can hurt.
        caution: Option<String> = "Hot oil burns: let the engine cool first.",
        /// What the baseline check proposes.
        baseline: BaselineDefault,
    }
}

request! {
    /// One recurring duty: exactly one of `every` and `expiry` is needed.
    NewIntervalRule {
        /// Its code, unique in the rulebook.
        code: Code,
        /// Its title, as a person reads it.
        title: Line<120> = "Engine oil and filter",
        /// Again and again after so much time or distance.
        every: Option<NewEvery>,
        /// When a paper expires.
        expiry: Option<NewExpiry> = null,
        /// The interval under severe duty.
        severe: Option<NewEvery> = {"distance": {"value": 10_000, "unit": "km"}, "months": 6},
        /// How long before due it is approaching.
        lead: Option<NewReach>,
        /// How long after due it is not yet overdue.
        grace: Option<NewReach> = {"days": 7},
        /// Rules that this work also satisfies.
        satisfies: Many<Code, 0, 50> = [],
        /// Which vehicles it applies to; all if not said.
        applies_to: Option<NewAppliesTo>,
        /// Who says so: maintenance manual, regulation, house practice.
        authority: Option<Line<200>> = "Maintenance manual, section 4",
        /// What can hurt.
        caution: Option<Text<1000>> = "Hot oil burns: let the engine cool first.",
        /// What the baseline check proposes; to ask if not said.
        baseline: Option<BaselineDefault>,
    } checked by has_one_trigger
}

fn has_one_trigger(rule: &NewIntervalRule, reader: &mut Reader) {
    if rule.every.is_some() == rule.expiry.is_some() {
        reader.fault("one-trigger", "a rule needs exactly one of `every` and `expiry`");
    }
}

impl From<model::IntervalRule> for IntervalRule {
    fn from(rule: model::IntervalRule) -> Self {
        let (every, expiry) = match rule.trigger {
            Trigger::Every(every) => (Some(every.into()), None),
            Trigger::Expiry(expiry) => (None, Some(expiry.into())),
            Trigger::Season(_) | Trigger::Calendar(_) | Trigger::When(_) => (None, None),
        };
        Self {
            code: rule.code,
            title: rule.title,
            every,
            expiry,
            severe: rule.severe.map(Every::from),
            lead: rule.lead.into(),
            grace: rule.grace.into(),
            satisfies: rule.satisfies,
            applies_to: rule.applies_to.into(),
            authority: rule.authority,
            caution: rule.caution,
            baseline: rule.baseline,
        }
    }
}

impl From<model::Expiry> for Expiry {
    fn from(expiry: model::Expiry) -> Self {
        let model::Expiry { paper, renew_from_days, no_paper_no_drive } = expiry;
        Self { paper, renew_from_days, no_paper_no_drive }
    }
}

impl From<model::AppliesTo> for AppliesTo {
    fn from(to: model::AppliesTo) -> Self {
        let model::AppliesTo { powertrains, makes, models, model_year_from, model_year_to, tags } = to;
        Self { powertrains, makes, models, model_year_from, model_year_to, tags }
    }
}

impl From<NewAppliesTo> for model::AppliesTo {
    fn from(to: NewAppliesTo) -> Self {
        fn year(year: Option<Whole<1900, 2200>>) -> Option<i32> {
            year.and_then(|year| i32::try_from(year.0).ok())
        }
        Self {
            powertrains: to.powertrains.0,
            makes: to.makes.0.into_iter().map(|line| line.0).collect(),
            models: to.models.0.into_iter().map(|line| line.0).collect(),
            model_year_from: year(to.model_year_from),
            model_year_to: year(to.model_year_to),
            tags: to.tags.0.into_iter().map(|line| line.0).collect(),
        }
    }
}

impl NewIntervalRule {
    /// The rule in the model's terms; `None` without a trigger, which reading it has ruled out.
    pub fn rule(self) -> Option<model::IntervalRule> {
        let every = self.every.map(|every| Trigger::Every(every.into()));
        let expiry = self.expiry.map(|expiry| {
            Trigger::Expiry(model::Expiry {
                paper: expiry.paper,
                renew_from_days: expiry.renew_from_days.map(Whole::unsigned),
                no_paper_no_drive: expiry.no_paper_no_drive.unwrap_or(false),
            })
        });
        Some(model::IntervalRule {
            code: self.code,
            title: self.title.0,
            trigger: every.or(expiry)?,
            first: None,
            anchor: model::Anchoring::LastDone,
            indicator: false,
            severe: self.severe.map(model::Every::from),
            lead: self.lead.map(model::Reach::from).unwrap_or_default(),
            grace: self.grace.map(model::Reach::from).unwrap_or_default(),
            satisfies: self.satisfies.0,
            applies_to: self.applies_to.map(model::AppliesTo::from).unwrap_or_default(),
            authority: self.authority.map(|line| line.0),
            caution: self.caution.map(|text| text.0),
            baseline: self.baseline.unwrap_or(BaselineDefault::Ask),
        })
    }
}

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
