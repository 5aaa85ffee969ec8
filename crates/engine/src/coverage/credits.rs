//! Pro-rata cover: what share of the price is credited until when.

use super::{Outlook, limits::through};
use crate::known::Known;
use model::ProRataStep;
use model::horizon::Credit;
use quantity::Distance;

/// One step of the schedule with the limits it comes to.
pub(crate) struct CreditStep {
    pub(crate) terms: ProRataStep,
    /// As a person sees it.
    pub(crate) credit: Credit,
    /// The odometer at its end, in total distance.
    pub(crate) total: Option<Distance>,
}

/// The steps in order, none of them beyond the window's own limits; those that a reduced window cuts off are left out.
pub(crate) fn credits(known: &Known<'_>, outlook: &Outlook<'_>) -> Vec<CreditStep> {
    let terms = &outlook.window.terms;
    let mut steps: Vec<CreditStep> = Vec::with_capacity(terms.pro_rata.len());
    for step in &terms.pro_rata {
        let until = step.months.map(|months| {
            let end = through(outlook.starts_on, months, terms.last_day);
            outlook.last_day.map_or(end, |last_day| end.min(last_day))
        });
        let total = step.distance.and_then(|far| Distance::parse(far).ok()).map(|far| {
            let (from, limit) = outlook.odometers.unwrap_or_default();
            let end = from + far;
            if outlook.odometers.is_some() { end.min(limit) } else { end }
        });
        let is_cut_off =
            steps.last().is_some_and(|before| (before.credit.until, before.total) == (until, total));
        if is_cut_off {
            continue;
        }
        let until_odometer = total.map(|total| known.limit_shown(total, &outlook.crossing));
        let credit = Credit { until, until_odometer, percent: step.credit_percent };
        steps.push(CreditStep { terms: *step, credit, total });
    }
    steps
}
