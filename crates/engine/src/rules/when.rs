//! Rules that wait for what is measured: a grade, or the limit of a fitted component.

use super::limits::lead_days;
use super::{Anchor, Bounds, Plan, RuleDuty};
use crate::conditions::{ATTEND_WITHIN_DAYS, History};
use crate::known::{Crossing, Known};
use crate::timeline::whichever_first;
use chrono::{NaiveDate, TimeDelta};
use model::horizon::{Basis, Cycle, Graded, Moment, Timeline, WearOutlook};
use model::{Code, FittingId, Grade, Place, Reach, RuleVersion, add_days, day_after, day_start};
use quantity::Distance;

/// What a rule that waits for a grade rests on.
pub(crate) struct GradePlan {
    pub(crate) point: Code,
    pub(crate) at_least: Grade,
    /// Where it is that bad, and how bad.
    pub(crate) places: Vec<(Place, Grade)>,
    /// The measurement that opened the oldest of the unbroken runs.
    pub(crate) opened_by: Graded,
    pub(crate) overdue_after_days: i64,
}

/// What a rule that waits for a component's limit rests on.
pub(crate) struct LimitPlan {
    pub(crate) outlook: WearOutlook,
    pub(crate) within: Reach,
    pub(crate) fitting: FittingId,
    /// The likely day of the limit less the days ahead.
    pub(crate) by_days: Option<NaiveDate>,
    /// The likely odometer of the limit less the distance ahead, and the day on which it is reached.
    pub(crate) by_distance: Option<(Distance, NaiveDate)>,
    pub(crate) lead_days: i64,
    pub(crate) grace_days: i64,
}

/// Due while a standing grade of the point is at least that bad and no work was done since it was measured.
pub(crate) fn grade_duty<'a>(
    known: &Known<'_>,
    version: &'a RuleVersion,
    (point, at_least): (&Code, Grade),
    grades: &[Graded],
    done: Option<Anchor>,
) -> Option<RuleDuty<'a>> {
    let is_new = |graded: &Graded| done.is_none_or(|done| known.day(graded.measured_at) > done.on);
    let is_bad = |graded: &Graded| graded.grade >= at_least && is_new(graded);
    let bad: Vec<&Graded> =
        grades.iter().filter(|graded| graded.point == point.as_str() && is_bad(graded)).collect();
    if bad.is_empty() {
        return None;
    }
    let history = History::of(known);
    let openings = bad.iter().map(|graded| history.first_of_run(graded, |before, _| is_bad(before)));
    let opened_by = openings.min_by_key(|graded| (graded.measured_at, graded.measurement))?;
    let moment = |at| Some(Moment { at, basis: Basis::Reading });
    let days = version.rule.grace.days.map_or(ATTEND_WITHIN_DAYS, i64::from);
    let at = opened_by.measured_at;
    Some(RuleDuty {
        version,
        cycle: Cycle(format!("measurement:{}", opened_by.measurement)),
        bounds: Bounds::default(),
        crossing: None,
        timeline: Timeline {
            approaching: moment(at),
            due: moment(at),
            overdue: moment(at + TimeDelta::days(days)),
        },
        plan: Plan::Grade(Box::new(GradePlan {
            point: point.clone(),
            at_least,
            places: bad.iter().map(|graded| (graded.place, graded.grade)).collect(),
            opened_by,
            overdue_after_days: days,
        })),
    })
}

/// Due when the first component of the kind is likely to come so near its limit; once for each fitting.
pub(crate) fn limit_duty<'a>(
    known: &Known<'_>,
    version: &'a RuleVersion,
    (component, within): (&Code, Reach),
    wear: &[WearOutlook],
    done: Option<Anchor>,
) -> Option<RuleDuty<'a>> {
    let of_kind = wear.iter().filter(|outlook| outlook.kind == *component);
    let nearing = of_kind.filter_map(|outlook| {
        let fitting = fitting_of(known, outlook, done)?;
        let (by_days, by_distance) = (by_days(outlook, within), by_distance(known, outlook, within));
        let due = by_days.into_iter().chain(by_distance.map(|(_, day)| day)).min()?;
        Some((due, outlook.place, outlook.component, (outlook, fitting, by_days, by_distance)))
    });
    let (due_on, .., (outlook, fitting, by_days, by_distance)) =
        nearing.min_by_key(|(due, place, component, _)| (*due, *place, *component))?;
    let (lead_days, grace_days) = (lead_days(known, &version.rule, None), version.rule.grace.days_or_none());
    let due = known.forecast(due_on);
    let overdue = Moment { at: day_after(add_days(due_on, grace_days), known.zone), basis: Basis::Forecast };
    Some(RuleDuty {
        version,
        cycle: Cycle(format!("fitting:{fitting}")),
        bounds: Bounds::default(),
        crossing: Some(outlook.crossing),
        timeline: Timeline {
            approaching: whichever_first(Some(known.forecast(add_days(due_on, -lead_days))), Some(due)),
            due: Some(due),
            overdue: Some(Moment { at: overdue.at.max(due.at), ..overdue }),
        },
        plan: Plan::Limit(Box::new(LimitPlan {
            outlook: outlook.clone(),
            within,
            fitting,
            by_days,
            by_distance,
            lead_days,
            grace_days,
        })),
    })
}

/// The fitting it is in now, unless the work was done after that day: a fitting asks once.
fn fitting_of(known: &Known<'_>, outlook: &WearOutlook, done: Option<Anchor>) -> Option<FittingId> {
    let fittings = known.facts.fittings.iter().filter(|fitting| {
        fitting.component == outlook.component && fitting.place == outlook.place && fitting.to.is_none()
    });
    let fitting = fittings.max_by_key(|fitting| (fitting.from, fitting.id))?;
    done.is_none_or(|done| done.on <= fitting.from).then_some(fitting.id)
}

fn by_days(outlook: &WearOutlook, within: Reach) -> Option<NaiveDate> {
    let ahead = match (within.days, within.distance) {
        (Some(days), _) => i64::from(days),
        (None, None) => 0,
        (None, Some(_)) => return None,
    };
    outlook.crossing.likely.map(|likely| add_days(likely, -ahead))
}

fn by_distance(known: &Known<'_>, outlook: &WearOutlook, within: Reach) -> Option<(Distance, NaiveDate)> {
    within.distance?;
    let (driving, left) = (known.driving.as_ref()?, outlook.km_left[1]?);
    let odometer = driving.anchor.odometer + Distance::nearest_km(left) - within.distance_exact();
    let anchored_on = known.day(driving.anchor.at);
    let reached = known.reached(odometer, anchored_on, &Crossing::Unknown)?;
    Some((odometer, known.day(reached.at.max(day_start(anchored_on, known.zone)))))
}
