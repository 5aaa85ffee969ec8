//! What makes a rule fall due, other than an interval: a season, a calendar, a measurement, a paper.

use super::interval::{NewReach, Reach};
use crate::define::{answer, request};
use crate::list::Many;
use crate::number::Whole;
use crate::reader::Reader;
use crate::text::Line;
use model::{Code, Grade, MonthDay, PaperKind};

answer! {
    /// A window of days in every year; one that ends before it begins runs over the new year.
    Season {
        /// Its first day, month and day.
        from: MonthDay,
        /// Its last day.
        to: MonthDay = "11-30",
    }
}

request! {
    /// A window of days in every year; one that ends before it begins runs over the new year.
    NewSeason {
        /// Its first day, month and day.
        from: MonthDay,
        /// Its last day.
        to: MonthDay = "11-30",
    }
}

answer! {
    /// Instants of a calendar, read in the depot's zone.
    Calendar {
        /// Minute, hour, day of the month, month, day of the week.
        cron: String = "0 7 1 * *",
    }
}

request! {
    /// Instants of a calendar, read in the depot's zone.
    NewCalendar {
        /// Minute, hour, day of the month, month, day of the week.
        cron: Line<100> = "0 7 1 * *",
    } checked by has_five_fields
}

fn has_five_fields(calendar: &NewCalendar, reader: &mut Reader) {
    let fields = calendar.cron.0.split_ascii_whitespace().count();
    if fields == 5 {
        return;
    }
    let wanted = "minute, hour, day of the month, month and day of the week are needed, such as `0 7 1 * *`";
    reader.within("cron", |reader| {
        reader.fault("wrong-form", format!("{wanted}; this has {fields} parts"));
    });
}

answer! {
    /// A grade that asks for work.
    WhenGrade {
        /// The check point.
        point: Code = "pad-thickness",
        /// The mildest grade that makes it due.
        at_least: Grade = "attend",
    }
}

request! {
    /// A grade that asks for work.
    NewWhenGrade {
        /// The check point.
        point: Code = "pad-thickness",
        /// The mildest grade that makes it due.
        at_least: Grade = "attend",
    }
}

answer! {
    /// A limit that a fitted component is forecast to meet.
    WhenLimit {
        /// The kind of component.
        component: Code = "tyre",
        /// How far ahead.
        within: Reach,
    }
}

request! {
    /// A limit that a fitted component is forecast to meet.
    NewWhenLimit {
        /// The kind of component.
        component: Code = "tyre",
        /// How far ahead, in days, distance or both.
        within: NewReach,
    } checked by looks_ahead
}

fn looks_ahead(limit: &NewWhenLimit, reader: &mut Reader) {
    if limit.within.days.is_none() && limit.within.distance.is_none() {
        reader.within("within", |reader| reader.fault("no-limit", "`days`, `distance` or both are needed"));
    }
}

answer! {
    /// Work that asks for more.
    WhenWork {
        /// The rules whose work it follows.
        of: Vec<Code> = ["tyre-check"],
        /// How soon after.
        within: Reach = {"days": 1, "distance": {"value": 80, "unit": "km"}},
    }
}

request! {
    /// Work that asks for more.
    NewWhenWork {
        /// The rules whose work it follows, all of the same rulebook.
        of: Many<Code, 1, 50> = ["tyre-check"],
        /// How soon after, in days, distance or both.
        within: NewReach = {"days": 1, "distance": {"value": 80, "unit": "km"}},
    } checked by follows_soon
}

fn follows_soon(work: &NewWhenWork, reader: &mut Reader) {
    if work.within.days.is_none() && work.within.distance.is_none() {
        reader.within("within", |reader| reader.fault("no-limit", "`days`, `distance` or both are needed"));
    }
}

answer! {
    /// Something measured or done that asks for work: it has one of `grade`, `limit` and `work`.
    When {
        /// A check point is graded this badly or worse.
        grade: Option<WhenGrade>,
        /// A fitted component is forecast to meet its limit so soon.
        limit: Option<WhenLimit> = null,
        /// Work on one of these rules was done.
        work: Option<WhenWork> = null,
    }
}

request! {
    /// Something measured or done that asks for work: exactly one of `grade`, `limit` and `work` is needed.
    NewWhen {
        /// A check point is graded this badly or worse.
        grade: Option<NewWhenGrade>,
        /// A fitted component is forecast to meet its limit so soon.
        limit: Option<NewWhenLimit> = null,
        /// Work on one of these rules was done.
        work: Option<NewWhenWork> = null,
    } checked by asks_for_one
}

fn asks_for_one(when: &NewWhen, reader: &mut Reader) {
    let said = [when.grade.is_some(), when.limit.is_some(), when.work.is_some()];
    if said.into_iter().filter(|said| *said).count() != 1 {
        reader.fault("one-of-three", "exactly one of `grade`, `limit` and `work` is needed");
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

impl From<model::Expiry> for Expiry {
    fn from(expiry: model::Expiry) -> Self {
        let model::Expiry { paper, renew_from_days, no_paper_no_drive } = expiry;
        Self { paper, renew_from_days, no_paper_no_drive }
    }
}

impl From<model::Season> for Season {
    fn from(season: model::Season) -> Self {
        Self { from: season.from, to: season.to }
    }
}

impl From<model::When> for When {
    fn from(when: model::When) -> Self {
        match when {
            model::When::Grade { point, at_least } => {
                Self { grade: Some(WhenGrade { point, at_least }), limit: None, work: None }
            }
            model::When::Limit { component, within } => {
                Self { grade: None, limit: Some(WhenLimit { component, within: within.into() }), work: None }
            }
            model::When::Work { of, within } => {
                Self { grade: None, limit: None, work: Some(WhenWork { of, within: within.into() }) }
            }
        }
    }
}

impl From<NewSeason> for model::Season {
    fn from(season: NewSeason) -> Self {
        Self { from: season.from, to: season.to }
    }
}

impl From<NewExpiry> for model::Expiry {
    fn from(expiry: NewExpiry) -> Self {
        Self {
            paper: expiry.paper,
            renew_from_days: expiry.renew_from_days.map(Whole::unsigned),
            no_paper_no_drive: expiry.no_paper_no_drive.unwrap_or(false),
        }
    }
}

impl NewWhen {
    /// What asks for work in the model's terms; `None` where nothing is said, which reading it has ruled out.
    pub fn asked(self) -> Option<model::When> {
        let grade = self.grade.map(|one| model::When::Grade { point: one.point, at_least: one.at_least });
        let limit =
            self.limit.map(|one| model::When::Limit { component: one.component, within: one.within.into() });
        let work = self.work.map(|one| model::When::Work { of: one.of.0, within: one.within.into() });
        grade.or(limit).or(work)
    }
}
