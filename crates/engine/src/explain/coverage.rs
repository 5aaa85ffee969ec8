//! Steps of a coverage window and of what it asks for.

mod capacity;

use super::{CoverStep, Step, forecasting};
use crate::coverage::{
    Applied, Beyond, Hands, Outlook, TestWanted, beyond_cap, capacity_test, closing_check, closing_day,
    credits, minor, notice_item, return_check, return_day, test_wanted, through,
};
use crate::known::Known;
use model::add_months;
use model::horizon::Basis;

/// Title and steps of a window, or of the due item of this `kind` that it asks for.
pub(crate) fn explained(known: &Known<'_>, outlook: &Outlook<'_>, kind: &str) -> Option<(String, Vec<Step>)> {
    Some(match kind {
        "closing" => (closing_check(known, outlook)?.title, closing_steps(known, outlook)),
        "return" => (return_check(known, outlook)?.title, return_steps(known, outlook)),
        "capacity" => (capacity_test(known, outlook)?.title, capacity_steps(known, outlook)),
        "transfer" => (notice_item(known, outlook)?.title, notice_steps(known, outlook)),
        _ => (outlook.window.terms.title.clone(), steps(known, outlook)),
    })
}

fn steps(known: &Known<'_>, outlook: &Outlook<'_>) -> Vec<Step> {
    let mut steps = vec![Step::WindowStarts { on: outlook.starts_on, start: outlook.start }];
    steps.extend(outlook.limits.applied.iter().map(|applied| reduced(known, applied)));
    steps.extend(last_day(outlook));
    steps.extend(hands(known, outlook));
    if let (Some((from, limit)), Some(distance)) = (outlook.odometers, outlook.limits.distance) {
        steps.push(Step::OdometerLimit { from, distance, limit });
        steps.extend(forecasting::steps(known, limit, &outlook.crossing));
    }
    if outlook.is_lease() {
        steps.extend(lease(known, outlook));
    } else {
        steps.extend(whichever_first(known, outlook));
    }
    steps.extend(credited(known, outlook));
    let terms = &outlook.window.terms;
    let void = terms.voided_by.clone().map(|conditions| CoverStep::VoidedBy { conditions });
    let floor = capacity::steps(known, outlook);
    steps.extend(floor.into_iter().chain(void).chain(act_by(known, outlook)).map(Step::Cover));
    steps
}

fn reduced(known: &Known<'_>, applied: &Applied) -> Step {
    Step::Cover(CoverStep::Reduced {
        cause: applied.reduction.when,
        duty: applied.duty,
        acquired_on: known.facts.vehicle.acquired_on,
        in_service_on: known.facts.vehicle.in_service_on,
        months: applied.reduction.months,
        distance: applied.reduction.distance,
        holds: applied.holds,
    })
}

fn last_day(outlook: &Outlook<'_>) -> Option<Step> {
    let months = outlook.limits.months?;
    let rule = outlook.window.terms.last_day;
    Some(Step::Cover(CoverStep::LastDay {
        from: outlook.starts_on,
        months,
        anniversary: add_months(outlook.starts_on, months),
        rule,
        last_day: through(outlook.starts_on, months, rule),
    }))
}

fn hands(known: &Known<'_>, outlook: &Outlook<'_>) -> Option<Step> {
    let acquired_on = known.facts.vehicle.acquired_on;
    match outlook.hands {
        Hands::Kept => None,
        Hands::Ended(last_day) => Some(CoverStep::HandsEnded { acquired_on, last_day }),
        Hands::OnNotice { by, within_days, told_on } => {
            Some(CoverStep::HandsOnNotice { acquired_on, within_days, by, told_on })
        }
    }
    .map(Step::Cover)
}

fn whichever_first(known: &Known<'_>, outlook: &Outlook<'_>) -> Vec<Step> {
    let mut steps = Vec::new();
    if let (Some(probability), Some(last_day)) = (outlook.distance_first, outlook.last_day) {
        steps.push(Step::DistanceFirst { probability, last_day });
    }
    let by_distance = outlook.crossing.band(known.zone).and_then(|band| band.likely);
    steps.extend(outlook.ends.likely.map(|first| Step::WhicheverFirst {
        by_date: outlook.last_day,
        by_distance,
        by_hours: None,
        first,
        basis: match outlook.ended {
            Some(ended) if ended.basis == Basis::Reading => Basis::Reading,
            _ if Some(first) == outlook.last_day => Basis::Date,
            _ => Basis::Forecast,
        },
    }));
    steps
}

fn credited<'a>(known: &'a Known<'_>, outlook: &'a Outlook<'_>) -> impl Iterator<Item = Step> + use<'a> {
    credits(known, outlook).into_iter().map(|step| {
        Step::Cover(CoverStep::Credited {
            percent: step.credit.percent,
            months: step.terms.months,
            from: outlook.starts_on,
            until: step.credit.until,
            distance: step.terms.distance,
            until_odometer: step.credit.until_odometer,
        })
    })
}

fn act_by(known: &Known<'_>, outlook: &Outlook<'_>) -> Option<CoverStep> {
    let (early_end, act) = (outlook.ends.early?, outlook.act_by(known)?);
    let workshop = known.facts.workshops.iter().find(|workshop| workshop.id == act.workshop)?;
    Some(CoverStep::ActBy {
        early_end,
        in_by: act.in_by,
        lead_days: workshop.lead_days,
        book_by: act.book_by,
        workshop: workshop.name.clone(),
    })
}

fn lease(known: &Known<'_>, outlook: &Outlook<'_>) -> Vec<Step> {
    let Some(last_day) = outlook.last_day else { return Vec::new() };
    let mut steps = vec![Step::Cover(CoverStep::LeaseEnds { last_day })];
    let Some(beyond) = beyond_cap(known, outlook) else { return steps };
    let driving = known.driving.as_ref();
    steps.extend(driving.zip(beyond.item.as_ref()).map(|(driving, item)| forecasting::width(driving, item)));
    steps.push(Step::Cover(CoverStep::CapPassed { probability: beyond.probability, last_day }));
    steps.extend(beyond.price.map(|price| {
        Step::Cover(CoverStep::Price { per: price.per, minor: price.minor, currency: price.currency.clone() })
    }));
    steps.extend(beyond_steps(&beyond).into_iter().map(Step::Cover));
    steps
}

fn beyond_steps(beyond: &Beyond<'_>) -> Vec<CoverStep> {
    let usage = beyond.item.map(|item| item.usage);
    let step = |(quantile, km, over)| CoverStep::Beyond {
        quantile,
        operating_days: beyond.operating_days,
        km,
        left: beyond.left,
        beyond: over,
        price: beyond.price.map(|price| (minor(price, over), price.currency.clone())),
        check: usage.zip(beyond.operating_days).map(|(forecast::Usage { a, shape, scale }, days)| {
            format!("scipy.stats.betaprime.ppf({quantile}, {a} * {days}, {shape}) * {scale}")
        }),
    };
    // Once it has been driven there is one number, and no quantiles.
    let told = if beyond.operating_days.is_some() { beyond.quantiles.len() } else { 1 };
    beyond.quantiles.into_iter().take(told).map(step).collect()
}

fn closing_steps(known: &Known<'_>, outlook: &Outlook<'_>) -> Vec<Step> {
    let mut steps = steps(known, outlook);
    if let (Some(early_end), Some(due_on)) = (outlook.ends.early, closing_day(known, outlook)) {
        steps.push(Step::ClosingCheck { early_end, days: known.policy.closing_check_days, due_on });
    }
    steps
}

fn capacity_steps(known: &Known<'_>, outlook: &Outlook<'_>) -> Vec<Step> {
    let mut steps = steps(known, outlook);
    let wanted = test_wanted(known, outlook);
    steps.extend(
        wanted.map(|TestWanted { due_on, basis }| Step::Cover(CoverStep::CapacityTest { due_on, basis })),
    );
    steps
}

fn return_steps(known: &Known<'_>, outlook: &Outlook<'_>) -> Vec<Step> {
    let mut steps = steps(known, outlook);
    if let (Some(last_day), Some(due_on)) = (outlook.last_day, return_day(known, outlook)) {
        let days = known.policy.return_check_days;
        steps.push(Step::Cover(CoverStep::ReturnCheck { last_day, days, due_on }));
    }
    steps
}

/// Only what the duty to tell rests on: where the window started, and what its terms say of a change of hands.
fn notice_steps(known: &Known<'_>, outlook: &Outlook<'_>) -> Vec<Step> {
    let start = Step::WindowStarts { on: outlook.starts_on, start: outlook.start };
    [start].into_iter().chain(hands(known, outlook)).collect()
}
