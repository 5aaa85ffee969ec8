//! Steps that only due items of rules, conditions and stays have.

use super::written::{dated_kilometres, kilometres, maybe_kilometres};
use chrono::{DateTime, NaiveDate, NaiveDateTime, Utc};
use model::horizon::ItemKey;
use model::{
    Code, FittingId, Grade, IndicatorId, IndicatorLeft, MeasurementId, MonthDay, Place, Reach, ReadingId,
    RulebookId, StayId,
};
use quantity::{Distance, Entered};
use serde::Serialize;

/// The rule that asks, as it stands in its rulebook.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Asking {
    /// The rule.
    pub rule: Code,
    /// The rulebook it stands in.
    pub rulebook: RulebookId,
    /// That rulebook's version.
    pub version: i64,
}

/// One step of a duty, from facts to dates.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(tag = "step", rename_all = "snake_case")]
pub enum DutyStep {
    /// Multiples counted from a fixed day and odometer.
    Grid {
        /// The first multiple that is not done, counted from 1.
        number: u32,
        /// First day of the grid.
        from: NaiveDate,
        /// The odometer then.
        #[serde(serialize_with = "kilometres")]
        odometer: Distance,
        /// Whether work has closed the multiples before it.
        is_done: bool,
        /// Work counts for what falls due so many days later.
        lead_days: i64,
        /// Or so much distance later.
        #[serde(serialize_with = "kilometres")]
        lead: Distance,
    },
    /// The limit by running time of the engine, seconds.
    HoursLimit {
        /// Counted from.
        from: i64,
        /// How far.
        hours: i64,
        /// The running time allowed.
        limit: i64,
    },
    /// A reading of the hour meter has met the limit.
    HoursMet {
        /// The reading.
        reading: ReadingId,
        /// Its civil day at the depot.
        on: NaiveDate,
        /// What it said, seconds.
        shown: i64,
    },
    /// No reading of the hour meter has met the limit, or none tells from where it counts.
    HoursNotMet,
    /// What the dash's own service indicator said since the work was last done.
    Indicator {
        /// The reading.
        indicator: IndicatorId,
        /// Its civil day at the depot.
        read_on: NaiveDate,
        /// What it said was left.
        left: IndicatorLeft,
        /// The odometer then, where known.
        #[serde(serialize_with = "maybe_kilometres")]
        odometer: Option<Distance>,
        /// The last day that follows.
        date: Option<NaiveDate>,
        /// The odometer that follows.
        #[serde(serialize_with = "maybe_kilometres")]
        limit: Option<Distance>,
        /// Whether that day comes before the rule's own, or the rule has none.
        governs_date: bool,
        /// Whether that odometer comes before the rule's own, or the rule has none.
        governs_odometer: bool,
    },
    /// How long before due it is approaching, and how long after it is not yet overdue.
    LeadAndGrace {
        /// Days before.
        lead_days: i64,
        /// Distance before; nothing where only days count.
        #[serde(serialize_with = "kilometres")]
        lead: Distance,
        /// Days and distance after.
        grace: Reach,
    },
    /// Once a year inside a window of days.
    Season {
        /// The rule.
        asking: Asking,
        /// First day of the window.
        from: MonthDay,
        /// Last day of the window.
        to: MonthDay,
        /// First day of the season for which the newest work counts.
        done_for: Option<NaiveDate>,
        /// The day the vehicle came, or the rule if that was later.
        came_on: NaiveDate,
        /// The open season's first and last day.
        window: (NaiveDate, NaiveDate),
        /// Work counts for a season so many days before it opens.
        lead_days: i64,
    },
    /// At instants of a calendar.
    Calendar {
        /// The rule.
        asking: Asking,
        /// The cron expression.
        cron: String,
        /// The day of the newest work.
        done_on: Option<NaiveDate>,
        /// The day the vehicle came, or the rule if that was later.
        came_on: NaiveDate,
        /// Work counts for instants so many days later.
        lead_days: i64,
        /// The first instant that is not done.
        at: DateTime<Utc>,
        /// The same on the depot's clocks.
        shown: NaiveDateTime,
    },
    /// A grade asks for it.
    GradeAsks {
        /// The rule.
        asking: Asking,
        /// The check point.
        point: Code,
        /// The mildest grade that asks.
        at_least: Grade,
        /// Where it is that bad, and how bad.
        places: Vec<(Place, Grade)>,
        /// The measurement that was the first of them, without a break since.
        opened_by: MeasurementId,
        /// Its civil day at the depot.
        since: NaiveDate,
        /// Overdue so many days later.
        overdue_after_days: i64,
    },
    /// Work that was done asks for more.
    WorkAsks {
        /// The rule.
        asking: Asking,
        /// The rule whose work it follows.
        work: Code,
        /// How soon after.
        within: Reach,
    },
    /// A fitted component comes near its limit.
    LimitNears {
        /// The rule.
        asking: Asking,
        /// The kind of component.
        kind: Code,
        /// Where it is fitted.
        place: Place,
        /// The fitting that the limit belongs to.
        fitting: FittingId,
        /// The likely day of the limit.
        likely: Option<NaiveDate>,
        /// How far ahead the rule looks.
        within: Reach,
        /// The likely day less the days.
        by_days: Option<NaiveDate>,
        /// The odometer at the limit less the distance, and its likely day.
        #[serde(serialize_with = "dated_kilometres")]
        by_distance: Option<(Distance, NaiveDate)>,
    },
    /// The grade has asked for work without a break since an earlier measurement.
    BadSince {
        /// The measurement that opened the round.
        opened_by: MeasurementId,
        /// Its civil day at the depot.
        on: NaiveDate,
        /// What was measured, as entered.
        measured: Entered,
        /// How that was graded.
        grade: Grade,
        /// The day from which it was `do_not_drive`.
        do_not_drive_on: Option<NaiveDate>,
    },
    /// The vehicle is off the road.
    OffTheRoad {
        /// The stay.
        stay: StayId,
        /// The civil day at the depot on which it went in.
        on: NaiveDate,
        /// Why.
        reason: String,
        /// What it waits for.
        waiting_for: Option<String>,
    },
    /// What stood open when it went in.
    StoodOpen {
        /// Key and title of each.
        items: Vec<(ItemKey, String)>,
    },
}
