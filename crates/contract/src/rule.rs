//! Interval rules: what recurs, and for which vehicles.

mod interval;
mod trigger;

pub use interval::{Every, NewEvery, NewReach, Reach};
pub use trigger::{
    Calendar, Expiry, NewCalendar, NewExpiry, NewSeason, NewWhen, NewWhenGrade, NewWhenLimit, NewWhenWork,
    Season, When, WhenGrade, WhenLimit, WhenWork,
};

use crate::define::{answer, request};
use crate::list::Many;
use crate::number::Whole;
use crate::reader::Reader;
use crate::text::{Line, Text};
use model::{Anchoring, BaselineDefault, Code, Powertrain, Trigger};

answer! {
    /// One recurring duty: it has one of `every`, `season`, `calendar`, `when` and `expiry`.
    IntervalRule {
        /// Its code, unique in the rulebook.
        code: Code,
        /// Its title, as a person reads it.
        title: String = "Engine oil and filter",
        /// Again and again after so much time or distance.
        every: Option<Every>,
        /// Once a year inside a window of days.
        season: Option<Season> = null,
        /// At instants of a calendar.
        calendar: Option<Calendar> = null,
        /// When something measured asks for it.
        when: Option<When> = null,
        /// When a paper expires.
        expiry: Option<Expiry> = null,
        /// The first interval, where it differs from those that follow.
        first: Option<Every> = {"distance": {"value": 5000, "unit": "km"}, "months": 3, "days": null, "engine_hours": null},
        /// From where the interval counts.
        anchor: Anchoring,
        /// Whether the dash's own service indicator counts too: due is the earlier of the two, once it was read.
        indicator: bool = true,
        /// The interval under severe duty.
        severe: Option<Every> =
            {"distance": {"value": 10_000, "unit": "km"}, "months": 6, "days": null, "engine_hours": null},
        /// How long before due it is approaching.
        lead: Reach,
        /// How long after due it is not yet overdue.
        grace: Reach = {"days": 7, "distance": null},
        /// Rules that this work also satisfies.
        satisfies: Vec<Code> = [],
        /// Check points of what this work renews whole: what they measured before it speaks no longer.
        renews: Vec<Code> = ["oil-level"],
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
    /// One recurring duty: exactly one of `every`, `season`, `calendar`, `when` and `expiry` is needed.
    NewIntervalRule {
        /// Its code, unique in the rulebook.
        code: Code,
        /// Its title, as a person reads it.
        title: Line<120> = "Engine oil and filter",
        /// Again and again after so much time or distance.
        every: Option<NewEvery>,
        /// Once a year inside a window of days.
        season: Option<NewSeason> = null,
        /// At instants of a calendar.
        calendar: Option<NewCalendar> = null,
        /// When something measured asks for it.
        when: Option<NewWhen> = null,
        /// When a paper expires.
        expiry: Option<NewExpiry> = null,
        /// The first interval, where it differs from those that follow.
        first: Option<NewEvery> = {"distance": {"value": 5000, "unit": "km"}, "months": 3},
        /// From where the interval counts; from when it was last done if not said.
        anchor: Option<Anchoring>,
        /// Whether the dash's own service indicator counts too; no if not said.
        indicator: Option<bool> = true,
        /// The interval under severe duty.
        severe: Option<NewEvery> = {"distance": {"value": 10_000, "unit": "km"}, "months": 6},
        /// How long before due it is approaching.
        lead: Option<NewReach>,
        /// How long after due it is not yet overdue.
        grace: Option<NewReach> = {"days": 7},
        /// Rules that this work also satisfies.
        satisfies: Many<Code, 0, 50> = [],
        /// Check points of what this work renews whole: what they measured before it speaks no longer.
        renews: Many<Code, 0, 50> = ["oil-level"],
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
    let said = [
        rule.every.is_some(),
        rule.season.is_some(),
        rule.calendar.is_some(),
        rule.when.is_some(),
        rule.expiry.is_some(),
    ];
    let triggers = said.into_iter().filter(|said| *said).count();
    if triggers != 1 {
        let wanted = "a rule needs exactly one of `every`, `season`, `calendar`, `when` and `expiry`";
        reader.fault("one-trigger", format!("{wanted}; this has {triggers}"));
    }
}

impl From<model::IntervalRule> for IntervalRule {
    fn from(rule: model::IntervalRule) -> Self {
        let told = Self {
            code: rule.code,
            title: rule.title,
            every: None,
            season: None,
            calendar: None,
            when: None,
            expiry: None,
            first: rule.first.map(Every::from),
            anchor: rule.anchor,
            indicator: rule.indicator,
            severe: rule.severe.map(Every::from),
            lead: rule.lead.into(),
            grace: rule.grace.into(),
            satisfies: rule.satisfies,
            renews: rule.renews,
            applies_to: rule.applies_to.into(),
            authority: rule.authority,
            caution: rule.caution,
            baseline: rule.baseline,
        };
        match rule.trigger {
            Trigger::Every(every) => Self { every: Some(every.into()), ..told },
            Trigger::Season(season) => Self { season: Some(season.into()), ..told },
            Trigger::Calendar(calendar) => Self { calendar: Some(Calendar { cron: calendar.cron }), ..told },
            Trigger::When(when) => Self { when: Some(when.into()), ..told },
            Trigger::Expiry(expiry) => Self { expiry: Some(expiry.into()), ..told },
        }
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
        let season = self.season.map(|season| Trigger::Season(season.into()));
        let calendar =
            self.calendar.map(|calendar| Trigger::Calendar(model::Calendar { cron: calendar.cron.0 }));
        let when = self.when.and_then(NewWhen::asked).map(Trigger::When);
        let expiry = self.expiry.map(|expiry| Trigger::Expiry(expiry.into()));
        Some(model::IntervalRule {
            code: self.code,
            title: self.title.0,
            trigger: every.or(season).or(calendar).or(when).or(expiry)?,
            first: self.first.map(model::Every::from),
            anchor: self.anchor.unwrap_or(Anchoring::LastDone),
            indicator: self.indicator.unwrap_or(false),
            severe: self.severe.map(model::Every::from),
            lead: self.lead.map(model::Reach::from).unwrap_or_default(),
            grace: self.grace.map(model::Reach::from).unwrap_or_default(),
            satisfies: self.satisfies.0,
            renews: self.renews.0,
            applies_to: self.applies_to.map(model::AppliesTo::from).unwrap_or_default(),
            authority: self.authority.map(|line| line.0),
            caution: self.caution.map(|text| text.0),
            baseline: self.baseline.unwrap_or(BaselineDefault::Ask),
        })
    }
}
