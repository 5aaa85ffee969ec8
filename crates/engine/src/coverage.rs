//! Coverage windows: when each really ends, and what must be looked at before.

mod act_by;
mod battery;
mod capacity;
mod capacity_test;
mod checks;
mod cover_ends;
mod credits;
mod ends;
mod hands;
mod lease;
mod limits;
mod marks;

pub(crate) use capacity::{BelowFloor, Capacity, Last, Losing};
pub(crate) use capacity_test::{TestWanted, capacity_test, test_wanted};
pub(crate) use checks::{closing_check, closing_day, return_check, return_day};
pub(crate) use credits::credits;
pub(crate) use hands::{Hands, notice_item};
pub(crate) use lease::{Beyond, beyond_cap, minor};
pub(crate) use limits::{Applied, second_hand, through};

use crate::explain::WindowStart;
use crate::known::{Crossing, Known};
use crate::timeline::{once_over, whichever_first};
use chrono::NaiveDate;
use limits::Limits;
use model::horizon::{ActBy, Band, Basis, Cycle, DueItem, ItemKey, Moment, WindowOutlook};
use model::{CoverageWindow, Finding, WindowKind, add_days, day_start};
use quantity::Distance;

/// A window with what follows from its terms.
pub(crate) struct Outlook<'a> {
    pub(crate) window: &'a CoverageWindow,
    pub(crate) starts_on: NaiveDate,
    pub(crate) start: WindowStart,
    /// The limits that hold, and what has reduced them.
    pub(crate) limits: Limits,
    /// What becomes of it because the vehicle changed hands.
    pub(crate) hands: Hands,
    pub(crate) last_day: Option<NaiveDate>,
    /// The total distance from which the distance counts, and the one at which cover lapses or the cap is reached.
    pub(crate) odometers: Option<(Distance, Distance)>,
    pub(crate) crossing: Crossing,
    pub(crate) ends: Band,
    pub(crate) distance_first: Option<f64>,
    pub(crate) ended: Option<Moment>,
    /// What a traction battery holds against the window's floor.
    pub(crate) capacity: Option<Capacity>,
}

/// All windows, in the order of the facts.
pub(crate) fn outlooks<'a>(known: &Known<'a>) -> Vec<Outlook<'a>> {
    known.facts.windows.iter().map(|window| Outlook::of(known, window)).collect()
}

impl<'a> Outlook<'a> {
    pub(crate) fn of(known: &Known<'a>, window: &'a CoverageWindow) -> Self {
        let (starts_on, start) = limits::start(known, window);
        let limits = Limits::of(known, window);
        let hands = Hands::of(known, window, starts_on, start);
        let by_calendar =
            limits.months.map(|months| limits::through(starts_on, months, window.terms.last_day));
        let last_day = by_calendar.into_iter().chain(hands.last_day()).min();
        let odometers = limits::odometers(known, window, &limits);
        let crossing = odometers.map_or(Crossing::Unknown, |(_, limit)| known.crossing(limit, starts_on));
        // The distance of a lease is paid for, not forbidden: it ends nothing.
        let ending = if window.terms.kind == WindowKind::Lease { Crossing::Unknown } else { crossing };
        let met = match ending {
            Crossing::Met(counted) => Some(known.read(&counted, starts_on)),
            Crossing::Ahead(_) | Crossing::Unknown => None,
        };
        let limit = odometers.map(|(_, limit)| limit).filter(|_| window.terms.kind != WindowKind::Lease);
        let mut outlook = Self {
            window,
            starts_on,
            start,
            hands,
            last_day,
            odometers,
            crossing,
            ends: ends::ends(known, last_day, met, &ending),
            distance_first: ends::distance_first(known, last_day, limit, met),
            ended: whichever_first(last_day.map(|day| once_over(day, known.zone)), met),
            limits,
            capacity: None,
        };
        outlook.capacity = capacity::capacity(known, &outlook);
        outlook
    }

    /// The key of the window.
    pub(crate) fn key(&self) -> ItemKey {
        ItemKey(format!("window:{}", self.window.id))
    }

    pub(crate) fn is_lease(&self) -> bool {
        self.window.terms.kind == WindowKind::Lease
    }

    /// Whether its last day had passed when the vehicle came.
    pub(crate) fn was_over(&self, known: &Known<'_>) -> bool {
        self.last_day.is_some_and(|day| day < known.facts.vehicle.acquired_on)
    }

    /// Whether a counted reading has ended it.
    pub(crate) fn is_run_out(&self) -> bool {
        self.ended.is_some_and(|ended| ended.basis == Basis::Reading)
    }

    /// The odometer at which cover lapses, as the instrument shows it.
    pub(crate) fn odometer_shown(&self, known: &Known<'_>) -> Option<Distance> {
        self.odometers.map(|(_, limit)| known.limit_shown(limit, &self.crossing))
    }

    /// What the first day of the end rests on: the calendar, a reading or a forecast.
    pub(crate) fn early_basis(&self) -> Basis {
        match self.crossing {
            _ if self.ends.early.is_some() && self.ends.early == self.last_day => Basis::Date,
            Crossing::Met(_) => Basis::Reading,
            Crossing::Ahead(_) | Crossing::Unknown => Basis::Forecast,
        }
    }

    pub(crate) fn shown(&self, known: &Known<'_>) -> WindowOutlook {
        let findings = self.open_findings(known);
        WindowOutlook {
            window: self.window.id,
            key: self.key(),
            cycle: Cycle(self.key().0),
            kind: self.window.terms.kind,
            title: self.window.terms.title.clone(),
            starts_on: self.starts_on,
            start_proven: self.start.is_proven(),
            last_day: self.last_day,
            odometer_limit: self.odometer_shown(known),
            ends: self.ends,
            distance_first: self.distance_first,
            ending: self.ending(known),
            ended: self.ended,
            reduced_by: self.limits.reduced_by(),
            credits: credits(known, self).into_iter().map(|step| step.credit).collect(),
            excess: beyond_cap(known, self).and_then(|beyond| beyond.excess()),
            act_by: self.act_by(known),
            capacity: self.capacity.as_ref().map(Capacity::outlook),
            marks: marks::marks(known, self, &findings),
            findings: findings.into_iter().map(|finding| finding.id).collect(),
        }
    }

    /// From here it is ending: the earliest mark before its early end, but not before it starts.
    fn ending(&self, known: &Known<'_>) -> Option<Moment> {
        let warned = known.policy.window_marks_days.iter().max().copied().unwrap_or(0);
        let start = day_start(self.starts_on, known.zone);
        self.ends.early.map(|early| {
            let at = day_start(add_days(early, -i64::from(warned)), known.zone).max(start);
            // A window that was over before it began to count is never more than ended.
            let at = self.ended.map_or(at, |ended| at.min(ended.at));
            Moment { at, basis: self.early_basis() }
        })
    }

    /// The last day to act and the workshop that can; `None` where nothing can be gained any more.
    pub(crate) fn act_by(&self, known: &Known<'_>) -> Option<ActBy> {
        if self.was_over(known) || self.is_run_out() {
            return None;
        }
        act_by::act_by(&known.facts.workshops, self.ends.early?)
    }

    /// Open findings on a component within the scope, in the order of their ids; on any, where the scope is the whole
    /// vehicle.
    pub(crate) fn open_findings(&self, known: &Known<'a>) -> Vec<&'a Finding> {
        let scope = &self.window.terms.scope;
        let open = known.facts.findings.iter().filter(|finding| finding.closed_at.is_none());
        let within = open.filter(|finding| {
            scope.is_empty() || finding.component.as_ref().is_some_and(|component| scope.contains(component))
        });
        let mut findings: Vec<&Finding> = within.collect();
        findings.sort_by_key(|finding| finding.id);
        findings
    }
}

/// The due items that windows ask for.
pub(crate) fn items(known: &Known<'_>, outlooks: &[Outlook<'_>]) -> Vec<DueItem> {
    outlooks
        .iter()
        .flat_map(|outlook| {
            [
                closing_check(known, outlook),
                return_check(known, outlook),
                notice_item(known, outlook),
                capacity_test(known, outlook),
            ]
        })
        .flatten()
        .collect()
}
