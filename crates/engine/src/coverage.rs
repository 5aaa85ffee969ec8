//! Coverage windows: when each really ends, and what must be looked at before.

use crate::explain::WindowStart;
use crate::known::{Crossing, Known};
use crate::timeline::{from_start_of, marks_of, once_over, whichever_first};
use chrono::NaiveDate;
use model::horizon::{Band, Basis, Cycle, DueItem, ItemKey, ItemKind, Mark, Moment, Timeline, WindowOutlook};
use model::{
    CoverageWindow, DistanceFrom, FindingId, LastDay, ServiceRecord, WindowKind, add_days, add_months,
    day_after, day_start,
};
use quantity::Distance;

/// The check sheet of a closing check.
const CLOSING_SHEET: &str = "closing-check";
/// The closing check is announced so many days before it is due, and overdue as many after (house setting, no source).
const CLOSING_MARGIN_DAYS: i64 = 14;
/// A closing check made so many days before it was due still serves (house setting, no source).
const CLOSING_SERVES_DAYS: i64 = 60;

/// A window with what follows from its terms.
pub(crate) struct Outlook<'a> {
    pub(crate) window: &'a CoverageWindow,
    pub(crate) starts_on: NaiveDate,
    pub(crate) start: WindowStart,
    pub(crate) last_day: Option<NaiveDate>,
    /// The odometer from which the distance counts, and the one at which cover lapses.
    pub(crate) odometers: Option<(Distance, Distance)>,
    pub(crate) crossing: Crossing,
    pub(crate) ends: Band,
    pub(crate) distance_first: Option<f64>,
    pub(crate) ended: Option<Moment>,
}

/// All windows, in the order of the facts.
pub(crate) fn outlooks<'a>(known: &Known<'a>) -> Vec<Outlook<'a>> {
    known.facts.windows.iter().map(|window| Outlook::of(known, window)).collect()
}

impl<'a> Outlook<'a> {
    pub(crate) fn of(known: &Known<'a>, window: &'a CoverageWindow) -> Self {
        let terms = &window.terms;
        let (starts_on, start) = start(known, window);
        let last_day = terms.months.map(|months| match terms.last_day {
            LastDay::DayBefore => add_days(add_months(starts_on, months), -1),
            LastDay::Anniversary => add_months(starts_on, months),
        });
        let odometers = odometers(known, window);
        let crossing = odometers.map_or(Crossing::Unknown, |(_, limit)| known.crossing(limit, starts_on));
        let met = match crossing {
            Crossing::Met(counted) => Some(known.read(&counted, starts_on)),
            Crossing::Ahead(_) | Crossing::Unknown => None,
        };
        Self {
            window,
            starts_on,
            start,
            last_day,
            odometers,
            crossing,
            ends: ends(known, last_day, met, &crossing),
            distance_first: distance_first(known, last_day, odometers.map(|(_, limit)| limit), met),
            ended: whichever_first(last_day.map(|day| once_over(day, known.zone)), met),
        }
    }

    /// The key of the window.
    pub(crate) fn key(&self) -> ItemKey {
        ItemKey(format!("window:{}", self.window.id))
    }

    /// What the first day of the end rests on: the calendar, a reading or a forecast.
    fn early_basis(&self) -> Basis {
        match self.crossing {
            _ if self.ends.early.is_some() && self.ends.early == self.last_day => Basis::Date,
            Crossing::Met(_) => Basis::Reading,
            Crossing::Ahead(_) | Crossing::Unknown => Basis::Forecast,
        }
    }

    pub(crate) fn shown(&self, known: &Known<'_>) -> WindowOutlook {
        let start = day_start(self.starts_on, known.zone);
        let warned = known.policy.window_marks_days.iter().max().copied().unwrap_or(0);
        let ending = self.ends.early.map(|early| Moment {
            at: day_start(add_days(early, -i64::from(warned)), known.zone).max(start),
            basis: self.early_basis(),
        });
        WindowOutlook {
            window: self.window.id,
            key: self.key(),
            cycle: Cycle(self.key().0),
            title: self.window.terms.title.clone(),
            starts_on: self.starts_on,
            start_proven: self.start.is_proven(),
            last_day: self.last_day,
            odometer_limit: self.odometers.map(|(_, limit)| limit),
            ends: self.ends,
            distance_first: self.distance_first,
            ending,
            ended: self.ended,
            reduced_by: Vec::new(),
            credits: Vec::new(),
            excess: None,
            act_by: None,
            findings: self.open_findings(known),
            marks: self.marks(known),
        }
    }

    /// Open findings on a component within the scope; on any, where the scope is the whole vehicle.
    fn open_findings(&self, known: &Known<'_>) -> Vec<FindingId> {
        let scope = &self.window.terms.scope;
        let open = known.facts.findings.iter().filter(|finding| finding.closed_at.is_none());
        let within = open.filter(|finding| {
            scope.is_empty() || finding.component.as_ref().is_some_and(|component| scope.contains(component))
        });
        let mut findings: Vec<FindingId> = within.map(|finding| finding.id).collect();
        findings.sort();
        findings
    }

    /// Marks before the early end, nearer ones ranking higher, and the end itself. Those that would fall before the
    /// window starts are left out, and all of a window that was over before the vehicle came.
    fn marks(&self, known: &Known<'_>) -> Vec<Mark> {
        let acquired = day_start(known.facts.vehicle.acquired_on, known.zone);
        if self.ended.is_some_and(|ended| ended.at <= acquired) {
            return Vec::new();
        }
        let mut days: Vec<u32> = known.policy.window_marks_days.clone();
        days.sort_unstable_by(|one, other| other.cmp(one));
        days.dedup();
        let before = self.ends.early.into_iter().flat_map(|early| {
            days.iter().zip(1_i16..).filter_map(move |(days, place)| {
                let day = add_days(early, -i64::from(*days));
                let code = format!("days_{days}");
                (day >= self.starts_on).then(|| Mark {
                    code,
                    rank: place * 10,
                    at: day_start(day, known.zone),
                })
            })
        });
        let mut marks: Vec<Mark> = before.collect();
        let last_rank = marks.last().map_or(0, |mark| mark.rank);
        let rank = (last_rank + 10).max(50);
        marks.extend(self.ended.map(|ended| Mark { code: "ended".to_owned(), rank, at: ended.at }));
        marks
    }
}

/// The first day covered, and how it is known.
fn start(known: &Known<'_>, window: &CoverageWindow) -> (NaiveDate, WindowStart) {
    let vehicle = &known.facts.vehicle;
    if let Some(day) = window.terms.starts_on {
        return (day, WindowStart::Terms);
    }
    if let Some(service) = opening_service(known, window) {
        return (service.done_on, WindowStart::Service(service.id));
    }
    if let Some(day) = vehicle.in_service_on {
        return (day, WindowStart::InService);
    }
    // Vehicles of a model year are sold from the year before: the earliest plausible day promises least.
    let earliest = vehicle.model_year.and_then(|year| NaiveDate::from_ymd_opt(year.saturating_sub(1), 1, 1));
    match earliest.filter(|day| *day <= vehicle.acquired_on) {
        Some(day) => (day, WindowStart::ModelYear),
        None => (vehicle.acquired_on, WindowStart::Acquired),
    }
}

/// The service record that opened the window.
fn opening_service<'a>(known: &Known<'a>, window: &CoverageWindow) -> Option<&'a ServiceRecord> {
    let id = window.terms.opened_by?;
    known.facts.services.iter().find(|service| service.id == id)
}

/// From where the distance counts, and where it ends.
fn odometers(known: &Known<'_>, window: &CoverageWindow) -> Option<(Distance, Distance)> {
    let terms = &window.terms;
    let distance = terms.distance.and_then(|entered| Distance::parse(entered).ok())?;
    let from = match terms.distance_from {
        DistanceFrom::Zero => Distance::ZERO,
        DistanceFrom::StartOdometer => {
            let said = terms.start_odometer.and_then(|entered| Distance::parse(entered).ok());
            let opened = || opening_service(known, window).map(|service| known.odometer_at(service).0);
            said.or_else(opened).unwrap_or(known.facts.vehicle.in_service_odometer)
        }
    };
    Some((from, from + distance))
}

/// The last day covered: by the calendar or by distance, whichever first, at each of the three quantiles.
fn ends(known: &Known<'_>, last_day: Option<NaiveDate>, met: Option<Moment>, crossing: &Crossing) -> Band {
    let by_distance = match met {
        Some(met) => {
            let day = Some(known.day(met.at));
            Band { early: day, likely: day, late: day }
        }
        None => crossing.band(known.zone).unwrap_or_default(),
    };
    let first = |day: Option<NaiveDate>| last_day.into_iter().chain(day).min();
    Band { early: first(by_distance.early), likely: first(by_distance.likely), late: first(by_distance.late) }
}

/// Probability that the distance is driven before the last day is over; `None` where only one of them limits.
fn distance_first(
    known: &Known<'_>,
    last_day: Option<NaiveDate>,
    limit: Option<Distance>,
    met: Option<Moment>,
) -> Option<f64> {
    let (end, limit) = (day_after(last_day?, known.zone), limit?);
    match met {
        Some(met) => Some(if met.at < end { 1.0 } else { 0.0 }),
        None => known.driving.as_ref().map(|driving| driving.probability_by(limit, end)),
    }
}

/// The day on which the closing check of a warranty is due; `None` where there is none to make.
pub(crate) fn closing_day(known: &Known<'_>, outlook: &Outlook<'_>) -> Option<NaiveDate> {
    let was_over = outlook.last_day.is_some_and(|day| day < known.facts.vehicle.acquired_on);
    let is_run_out = outlook.ended.is_some_and(|ended| ended.basis == Basis::Reading);
    if outlook.window.terms.kind == WindowKind::Lease || was_over || is_run_out {
        return None;
    }
    Some(add_days(outlook.ends.early?, -i64::from(known.policy.closing_check_days)))
}

/// The closing check before a warranty ends, unless it has been made.
pub(crate) fn closing_check(known: &Known<'_>, outlook: &Outlook<'_>) -> Option<DueItem> {
    let due_on = closing_day(known, outlook)?;
    let serves_from = day_start(add_days(due_on, -CLOSING_SERVES_DAYS), known.zone);
    let is_made = known.facts.inspections.iter().any(|inspection| {
        inspection.sheet.as_str() == CLOSING_SHEET && inspection.performed_at >= serves_from
    });
    if is_made {
        return None;
    }
    let basis = outlook.early_basis();
    let on = |day| Some(Moment { basis, ..from_start_of(day, known.zone) });
    let timeline = Timeline {
        approaching: on(add_days(due_on, -CLOSING_MARGIN_DAYS)),
        due: on(due_on),
        overdue: on(add_days(due_on, CLOSING_MARGIN_DAYS)),
    };
    Some(DueItem {
        key: ItemKey(format!("closing:{}", outlook.window.id)),
        cycle: Cycle(outlook.key().0),
        kind: ItemKind::ClosingCheck,
        title: format!("Closing check: {}", outlook.window.terms.title),
        timeline,
        do_not_drive_from: None,
        date_limit: (basis == Basis::Date).then_some(due_on),
        odometer_limit: outlook.odometers.map(|(_, limit)| limit),
        hours_limit_seconds: None,
        crossing: outlook.crossing.band(known.zone),
        grade: None,
        covers: Vec::new(),
        authority: None,
        caution: None,
        marks: marks_of(&timeline, None),
    })
}
