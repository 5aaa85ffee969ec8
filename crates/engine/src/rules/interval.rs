//! Rules that recur: from when they were last done, or on a grid.

use super::bounds::{From, days_of};
use super::limits::{Around, lead_days};
use super::{
    Anchor, Bounds, GridPoint, Indicated, Limits, Plan, RuleDuty, RuleInForce, RunningTime, grid, indicator,
};
use crate::explain::{IntervalSource, Opening};
use crate::known::Known;
use model::horizon::Cycle;
use model::{Anchoring, Every};

/// What an open round of a recurring rule rests on.
pub(crate) struct IntervalPlan<'a> {
    /// The interval that recurs.
    pub(crate) every: Every,
    pub(crate) source: &'a IntervalSource,
    /// When it was last done, or what it counts from.
    pub(crate) anchor: Anchor,
    /// Running time of the engine then, where known.
    pub(crate) running: Option<RunningTime>,
    pub(crate) round: Round,
    pub(crate) indicated: Option<Indicated>,
    pub(crate) limits: Limits,
}

/// Which round is open.
#[derive(Debug, Clone, Copy)]
pub(crate) enum Round {
    /// At once, as a person said.
    Now,
    /// The first one, with an interval of its own.
    First(Every),
    /// The one after it was last done.
    Next,
    /// A point of the grid.
    Grid(GridPoint),
}

pub(crate) fn duty<'a>(
    known: &Known<'_>,
    rule: &RuleInForce<'a>,
    (every, source): &'a (Every, IntervalSource),
    anchor: Anchor,
) -> RuleDuty<'a> {
    let version = rule.version;
    let running = match anchor.opening {
        Opening::InService(_) => every.engine_hours.map(|_| 0),
        _ => every.engine_hours.and_then(|_| known.hours_on(anchor.on)).map(|(hours, _)| hours),
    };
    let (round, bounds, around) = open_round(known, rule, every, &anchor, running);
    let indicated = match round {
        Round::Now => None,
        Round::First(_) | Round::Next | Round::Grid(_) => {
            indicator::newest(known, &version.rule, &anchor, &bounds)
        }
    };
    let both = indicated.as_ref().map_or(bounds, |indicated| bounds.sooner(indicated.bounds));
    let limits = Limits::of(known, anchor.on, both, around);
    RuleDuty {
        version,
        cycle: cycle_of(&round, &anchor),
        bounds: both,
        crossing: limits.crossing.band(known.zone),
        timeline: limits.timeline(known),
        plan: Plan::Interval(Box::new(IntervalPlan {
            every: *every,
            source,
            anchor,
            running,
            round,
            indicated,
            limits,
        })),
    }
}

fn cycle_of(round: &Round, anchor: &Anchor) -> Cycle {
    match round {
        Round::Grid(point) => Cycle(format!("grid:{}", point.number)),
        Round::Now | Round::First(_) | Round::Next => anchor.cycle(),
    }
}

fn open_round(
    known: &Known<'_>,
    rule: &RuleInForce<'_>,
    every: &Every,
    anchor: &Anchor,
    running: Option<RunningTime>,
) -> (Round, Bounds, Around) {
    let law = &rule.version.rule;
    let around = |interval: &Every| Around {
        lead_days: lead_days(known, law, days_of(interval)),
        lead: law.lead.distance_exact(),
        grace: law.grace,
    };
    if let Opening::DoNow(_) = anchor.opening {
        return (Round::Now, Bounds { date: Some(anchor.on), ..Bounds::default() }, around(every));
    }
    if law.anchor == Anchoring::Grid {
        let around = grid::around(around(every), every);
        let point = grid::open_point(known, every, rule.first.as_ref(), anchor, running, &around);
        return (Round::Grid(point), point.bounds, around);
    }
    let from = From { on: anchor.on, odometer: anchor.odometer, running };
    match (rule.first, anchor.opening) {
        (Some(first), Opening::InService(_)) => {
            (Round::First(first), Bounds::after(from, &first), around(&first))
        }
        _ => (Round::Next, Bounds::after(from, every), around(every)),
    }
}
