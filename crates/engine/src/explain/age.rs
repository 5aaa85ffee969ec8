//! Steps of what grows old.

use super::{AgeStep, Step, forecasting};
use crate::ages::{Ageing, LifeAge, TyreAge};
use crate::known::{Crossing, Known};
use crate::rules::Limits;
use model::horizon::{Moment, Timeline};

/// Title and steps.
pub(crate) fn explained(known: &Known<'_>, ageing: &Ageing) -> (String, Vec<Step>) {
    let item = ageing.item(known);
    let mut steps = match ageing {
        Ageing::Tyre(tyre) => of_tyre(tyre),
        Ageing::Life(life) => of_life(known, life),
    };
    steps.push(around(known, &item.timeline));
    steps.extend(item.authority.map(|authority| Step::Authority { authority }));
    (item.title, steps)
}

fn of_tyre(tyre: &TyreAge) -> Vec<Step> {
    let read = AgeStep::DateCode {
        measurement: tyre.measurement,
        read_on: tyre.read_on,
        code: tyre.code.to_string(),
        made_in: tyre.code.monday(),
    };
    let reaches = tyre.marks.iter().map(|mark| AgeStep::Reaches {
        on: mark.on,
        grade: mark.limit.grade,
        limit: mark.limit.bound.to_string(),
        source: mark.limit.source.to_owned(),
        standing: mark.limit.standing.word().to_owned(),
    });
    let last_day = tyre.last_day().map(|last_day| AgeStep::LastDay { last_day });
    [read].into_iter().chain(reaches).chain(last_day).map(Step::Age).collect()
}

fn of_life(known: &Known<'_>, life: &LifeAge) -> Vec<Step> {
    let mut steps = vec![
        Step::Age(AgeStep::Changed { by: life.started, on: life.since, odometer: life.odometer }),
        Step::Age(AgeStep::UsualLife {
            months: life.months,
            distance: life.distance,
            source: life.limit.source.to_owned(),
            standing: life.limit.standing.word().to_owned(),
        }),
        Step::DateLimit { from: life.since, months: Some(life.months), days: None, limit: life.full_life },
    ];
    steps.extend(life.instead.map(|instead| Step::Age(AgeStep::Instead { instead })));
    let bounds = life.limits.bounds;
    if let (Some(from), Some(distance), Some(limit)) = (life.odometer, life.distance, bounds.odometer) {
        let distance = distance.to(quantity::Unit::Kilometre);
        steps.push(Step::OdometerLimit { from, distance, limit });
        steps.extend(forecasting::steps(known, limit, &life.limits.crossing));
    }
    steps.extend(whichever_first(known, &life.limits));
    steps
}

fn whichever_first(known: &Known<'_>, limits: &Limits) -> Option<Step> {
    let due = limits.timeline(known).due?;
    let by_distance = match limits.crossing {
        Crossing::Unknown => None,
        crossing => crossing.band(known.zone).and_then(|band| band.likely),
    };
    Some(Step::WhicheverFirst {
        by_date: limits.bounds.date,
        by_distance,
        by_hours: None,
        first: known.day(due.at),
        basis: due.basis,
    })
}

fn around(known: &Known<'_>, timeline: &Timeline) -> Step {
    let day_of = |moment: Option<Moment>| moment.map(|m| (known.day(m.at), m.basis));
    Step::Around { approaching: day_of(timeline.approaching), overdue: day_of(timeline.overdue) }
}
