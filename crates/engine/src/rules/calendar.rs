//! Rules of a calendar: at instants of a cron expression, on the depot's clocks.

use super::limits::Around;
use super::{Anchor, Bounds, Plan, RuleDuty, begins_on};
use crate::known::Known;
use crate::timeline::{from_start_of, not_before, once_over};
use chrono::{DateTime, NaiveDate, SecondsFormat, TimeDelta, Utc};
use model::horizon::{Basis, Cycle, Moment, Timeline};
use model::{Calendar, CronExpression, RuleVersion, add_days, day_after, day_start};
use quantity::Distance;

/// What an open instant rests on.
pub(crate) struct CalendarPlan<'a> {
    pub(crate) cron: &'a str,
    /// The newest work, where there was any.
    pub(crate) done: Option<Anchor>,
    /// The first instant that is not done.
    pub(crate) at: DateTime<Utc>,
    pub(crate) around: Around,
}

/// The first instant that no work counts for; `None` where the calendar has none left.
///
/// Work counts for every instant up to the end of its day and the lead. An expression that cannot be read is refused with
/// its rulebook, so none comes here.
pub(crate) fn duty<'a>(
    known: &Known<'_>,
    version: &'a RuleVersion,
    calendar: &'a Calendar,
    done: Option<Anchor>,
) -> Option<RuleDuty<'a>> {
    let expression: CronExpression = calendar.cron.parse().ok()?;
    let (at, lead_days) = if let Some(done) = done {
        first_not_done(known, version, &expression, done.on)?
    } else {
        let start = day_start(begins_on(known, version), known.zone);
        let at = expression.next_after(start - TimeDelta::nanoseconds(1), known.zone)?;
        (at, lead_days(known, version, &expression, at))
    };
    let on = known.day(at);
    let around = Around { lead_days, lead: Distance::ZERO, grace: version.rule.grace };
    let timeline = Timeline {
        approaching: Some(from_start_of(add_days(on, -lead_days), known.zone)),
        due: Some(Moment { at, basis: Basis::Date }),
        overdue: Some(once_over(add_days(on, around.grace.days_or_none()), known.zone)),
    };
    let since = done.map_or(begins_on(known, version), |done| done.on);
    Some(RuleDuty {
        version,
        cycle: Cycle(format!("calendar:{}", at.to_rfc3339_opts(SecondsFormat::Secs, true))),
        plan: Plan::Calendar(CalendarPlan { cron: &calendar.cron, done, at, around }),
        bounds: Bounds { date: Some(on), ..Bounds::default() },
        crossing: None,
        timeline: not_before(day_start(since, known.zone), timeline),
    })
}

fn first_not_done(
    known: &Known<'_>,
    version: &RuleVersion,
    expression: &CronExpression,
    done_on: NaiveDate,
) -> Option<(DateTime<Utc>, i64)> {
    let mut after = day_after(done_on, known.zone) - TimeDelta::nanoseconds(1);
    loop {
        let at = expression.next_after(after, known.zone)?;
        let lead_days = lead_days(known, version, expression, at);
        if add_days(known.day(at), -lead_days) > done_on {
            return Some((at, lead_days));
        }
        after = at;
    }
}

/// The rule's lead, else the fleet's, but no more than half of the time to the instant after it.
fn lead_days(
    known: &Known<'_>,
    version: &RuleVersion,
    expression: &CronExpression,
    at: DateTime<Utc>,
) -> i64 {
    let wanted = version.rule.lead.days.unwrap_or(known.policy.lead_days);
    let next = expression.next_after(at, known.zone);
    let most = next.map_or(i64::MAX, |next| (known.day(next) - known.day(at)).num_days() / 2);
    i64::from(wanted).min(most)
}
