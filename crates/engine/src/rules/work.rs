//! Rules that follow other work: fasteners tightened again once the wheels have settled, a monitor that must learn anew.

use super::last_done::LastDone;
use super::limits::{Around, Limits};
use super::{Anchor, Bounds, Plan, RuleDuty};
use crate::known::Known;
use crate::timeline::follow_up_marks;
use model::horizon::Mark;
use model::{Code, Reach, RuleVersion, ServiceRecord, add_days};
use quantity::{Distance, Entered};

/// What a rule that follows other work rests on.
pub(crate) struct WorkPlan {
    /// The rule whose work it follows.
    pub(crate) work: Code,
    pub(crate) within: Reach,
    pub(crate) anchor: Anchor,
    pub(crate) limits: Limits,
    /// Told from the work on, to those who did it and those who drive.
    pub(crate) marks: Vec<Mark>,
}

/// Open from the newest work on one of these rules until the rule's own work is on a later record.
///
/// Work that is put on record only after its follow-up would have been overdue asks for nothing: it is history.
pub(crate) fn duty<'a>(
    known: &Known<'_>,
    version: &'a RuleVersion,
    (of, within): (&[Code], Reach),
    last_done: &LastDone<'_>,
) -> Option<RuleDuty<'a>> {
    let order = |service: &ServiceRecord| (service.done_on, service.id);
    let works = of.iter().filter_map(|code| Some((code, last_done.service(code)?)));
    let (work, service) = works.max_by_key(|(code, service)| (order(service), *code))?;
    let grace = version.rule.grace;
    let is_done = last_done
        .service(&version.rule.code)
        .is_some_and(|done| done.id != service.id && order(done) > order(service));
    let days = within.days.map(i64::from);
    let last = add_days(service.done_on, days.unwrap_or(LATEST_DAYS) + grace.days_or_none());
    if is_done || known.day(service.recorded_at) > last {
        return None;
    }
    let anchor = super::last_done::from_service(known, service);
    let (date, odometer) = bounds(&anchor, within);
    let bounds = Bounds { date, odometer, ..Bounds::default() };
    // It can be seen to as soon as the vehicle has gone a little: no lead before the work itself.
    let around = Around { lead_days: days.unwrap_or(0), lead: within.distance_exact(), grace };
    let limits = Limits::of(known, service.done_on, bounds, around);
    let timeline = limits.timeline(known);
    Some(RuleDuty {
        version,
        cycle: anchor.cycle(),
        bounds,
        crossing: limits.crossing.band(known.zone),
        timeline,
        plan: Plan::Work(Box::new(WorkPlan {
            work: work.clone(),
            within,
            anchor,
            marks: follow_up_marks(&timeline, service.recorded_at),
            limits,
        })),
    })
}

/// Work of a follow-up that names no days is history when it is put on record so many days late (house setting, no source).
const LATEST_DAYS: i64 = 30;

fn bounds(anchor: &Anchor, within: Reach) -> (Option<chrono::NaiveDate>, Option<Distance>) {
    let date = within.days.map(|days| add_days(anchor.on, i64::from(days)));
    let distance = within.distance.map(|distance: Entered| Distance::parse(distance).unwrap_or_default());
    (date, anchor.odometer.zip(distance).map(|(from, distance)| from + distance))
}
