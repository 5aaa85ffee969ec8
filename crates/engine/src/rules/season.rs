//! Rules of a season: once a year, inside a window of days.

use super::limits::{Around, Limits, lead_days};
use super::{Anchor, Bounds, Plan, RuleDuty, begins_on};
use crate::known::Known;
use crate::timeline::{from_start_of, whichever_first};
use chrono::{Datelike, NaiveDate};
use model::horizon::{Cycle, Timeline};
use model::{RuleVersion, Season, add_days, day_start};
use quantity::Distance;

const DAYS_A_YEAR: i64 = 365;

/// What an open season rests on.
pub(crate) struct SeasonPlan {
    pub(crate) season: Season,
    /// The newest work, and the first day of the season that it counts for.
    pub(crate) done: Option<(Anchor, NaiveDate)>,
    /// The open season's first and last day.
    pub(crate) window: (NaiveDate, NaiveDate),
    pub(crate) around: Around,
}

/// The open season of the rule: the one after that for which the newest work counts; of a newcomer the first whose window
/// had not closed when it came.
pub(crate) fn duty<'a>(
    known: &Known<'_>,
    version: &'a RuleVersion,
    season: Season,
    done: Option<Anchor>,
) -> RuleDuty<'a> {
    let came_on = begins_on(known, version);
    let half = DAYS_A_YEAR / 2;
    let lead_days = lead_days(known, &version.rule, Some(DAYS_A_YEAR)).min(half);
    let done = done.map(|done| (done, year_of_work(season, done.on, lead_days)));
    let first = first_year(season, came_on);
    let year = done.map_or(first, |(_, counts_for)| first.max(counts_for + 1));
    let window = window(season, year);
    let around = Around { lead_days, lead: Distance::ZERO, grace: version.rule.grace };
    let since = done.map_or(came_on, |(done, _)| done.on);
    let bounds = Bounds { date: Some(window.1), ..Bounds::default() };
    let by_lead = Limits::of(known, since, bounds, around).timeline(known);
    let opens = from_start_of(window.0.max(since), known.zone);
    let approaching = whichever_first(by_lead.approaching, Some(opens));
    let timeline = Timeline {
        approaching: approaching.map(|moment| model::horizon::Moment {
            at: moment.at.max(day_start(since, known.zone)),
            ..moment
        }),
        ..by_lead
    };
    RuleDuty {
        version,
        cycle: Cycle(format!("season:{year}")),
        plan: Plan::Season(SeasonPlan {
            season,
            done: done.map(|(done, year)| (done, self::window(season, year).0)),
            window,
            around,
        }),
        bounds,
        crossing: None,
        timeline,
    }
}

/// First and last day of the window that opens in `year`.
fn window(season: Season, year: i32) -> (NaiveDate, NaiveDate) {
    let closes = if season.to < season.from { year + 1 } else { year };
    (season.from.in_year(year), season.to.in_year(closes))
}

/// The first window that had not closed on `day`.
fn first_year(season: Season, day: NaiveDate) -> i32 {
    let before = day.year() - 1;
    (before..=before + 2).find(|year| window(season, *year).1 >= day).unwrap_or(before + 2)
}

/// The season for which work of that day counts: the newest that was open or within its lead.
fn year_of_work(season: Season, day: NaiveDate, lead_days: i64) -> i32 {
    let next = day.year() + 1;
    let has_opened = |year: &i32| add_days(window(season, *year).0, -lead_days) <= day;
    (next - 2..=next).rev().find(has_opened).unwrap_or(next - 2)
}
