//! Fluids and filters by the usual life of their kind, where no rule of the fleet says when.

use super::{bare, is_asked};
use crate::conditions::renews;
use crate::explain::{Instead, Started};
use crate::known::{Crossing, Known};
use crate::rules::{Around, Bounds, Limits};
use chrono::{Datelike, NaiveDate, Offset, TimeZone};
use gauge::filters::{Duty, Filter, Hemisphere, filter_life, is_better_before_pollen, month_before_pollen};
use gauge::{Limit, brake_fluid};
use model::horizon::{Cycle, DueItem, Graded, ItemKey};
use model::{Place, Reach, Trigger, add_days, add_months};
use quantity::Distance;

/// Left so many days beyond its usual life it is overdue (house setting, no source).
const GRACE_DAYS: u32 = 30;
/// A vehicle with this tag breathes the dust of building sites, unpaved roads or harvest.
const DUST: &str = "dust";

/// What grows old.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum What {
    BrakeFluid,
    Filter(Filter),
}

/// A fluid or a filter with its usual life.
pub(crate) struct LifeAge {
    pub(crate) what: What,
    pub(crate) started: Started,
    pub(crate) since: NaiveDate,
    pub(crate) odometer: Option<Distance>,
    pub(crate) months: u32,
    pub(crate) distance: Option<Distance>,
    /// Its end by the calendar alone.
    pub(crate) full_life: NaiveDate,
    /// Where something else than its age sets the day.
    pub(crate) instead: Option<Instead>,
    /// Who says how long it lives.
    pub(crate) limit: &'static Limit,
    pub(crate) limits: Limits,
}

impl What {
    const ALL: [Self; 3] = [Self::BrakeFluid, Self::Filter(Filter::Cabin), Self::Filter(Filter::EngineAir)];

    /// As in the key of its item.
    pub(crate) const fn code(self) -> &'static str {
        match self {
            Self::BrakeFluid => "brake-fluid",
            Self::Filter(Filter::Cabin) => "cabin-filter",
            Self::Filter(Filter::EngineAir) => "engine-air-filter",
        }
    }

    /// As a person reads it.
    pub(crate) const fn title(self) -> &'static str {
        match self {
            Self::BrakeFluid => "Brake fluid, by age",
            Self::Filter(Filter::Cabin) => "Cabin filter, by age and distance",
            Self::Filter(Filter::EngineAir) => "Engine air filter, by age and distance",
        }
    }

    /// The check points of what is renewed with it.
    const fn points(self) -> &'static [&'static str] {
        match self {
            Self::BrakeFluid => &["brake-fluid-water", "brake-fluid-boiling"],
            Self::Filter(Filter::Cabin) => &["cabin-filter"],
            Self::Filter(Filter::EngineAir) => &["engine-air-filter"],
        }
    }

    /// The kind of component it is, where it is one.
    const fn component(self) -> Option<&'static str> {
        match self {
            Self::BrakeFluid => None,
            Self::Filter(Filter::Cabin) => Some("cabin-filter"),
            Self::Filter(Filter::EngineAir) => Some("air-filter"),
        }
    }

    /// Whether a rule in force gives it dates: then that rule is its duty.
    fn has_a_rule(self, known: &Known<'_>) -> bool {
        known.rules.iter().any(|rule| {
            let of_dates = match rule.version.rule.trigger {
                Trigger::Every(_) | Trigger::Season(_) | Trigger::Calendar(_) => true,
                Trigger::When(_) | Trigger::Expiry(_) => false,
            };
            of_dates && rule.version.rule.renews.iter().any(|point| self.points().contains(&point.as_str()))
        })
    }
}

pub(super) fn ageing(known: &Known<'_>, grades: &[Graded]) -> Vec<LifeAge> {
    let is_open = |what: &What| {
        !what.has_a_rule(known) && !is_asked(grades, |graded| what.points().contains(&graded.point.as_str()))
    };
    What::ALL.into_iter().filter(is_open).filter_map(|what| LifeAge::of(known, what, grades)).collect()
}

impl LifeAge {
    fn of(known: &Known<'_>, what: What, grades: &[Graded]) -> Option<Self> {
        let (started, since, odometer) = started(known, what)?;
        let yardstick = known.yardstick();
        let (months, distance, limit, lead_days) = match what {
            What::BrakeFluid => {
                let ([test, replace], limit) = brake_fluid::age_marks(&yardstick);
                let lead = add_months(since, replace) - add_months(since, test);
                (replace, None, limit, lead.num_days().max(0))
            }
            What::Filter(filter) => {
                let is_dusty = known.facts.vehicle.tags.iter().any(|tag| tag == DUST);
                let life = filter_life(filter, if is_dusty { Duty::Dusty } else { Duty::Usual });
                let (months, distance) = (life.months(&yardstick), life.distance(&yardstick));
                (months, Some(distance), &life.age, i64::from(known.policy.lead_days))
            }
        };
        let full_life = add_months(since, months);
        let instead = match what {
            What::BrakeFluid => measured_instead(known, grades, full_life),
            What::Filter(Filter::Cabin) => before_pollen(known, since, full_life),
            What::Filter(Filter::EngineAir) => None,
        };
        let date = instead.map_or(full_life, Instead::day);
        let bounds = Bounds {
            date: Some(date),
            odometer: odometer.zip(distance).map(|(from, far)| from + far),
            running: None,
        };
        let grace = Reach { days: Some(GRACE_DAYS), distance: None };
        let around = Around { lead_days, lead: Distance::ZERO, grace };
        let limits = Limits::of(known, since, bounds, around);
        Some(Self { what, started, since, odometer, months, distance, full_life, instead, limit, limits })
    }

    pub(super) fn item(&self, known: &Known<'_>, key: ItemKey) -> DueItem {
        let timeline = self.limits.timeline(known);
        let crossing = &self.limits.crossing;
        let cycle = match self.started {
            Started::Service(id) => format!("service:{id}"),
            Started::Fitting(id) => format!("fitting:{id}"),
        };
        DueItem {
            date_limit: self.limits.bounds.date,
            odometer_limit: self.limits.bounds.odometer.map(|limit| known.limit_shown(limit, crossing)),
            crossing: Crossing::band(crossing, known.zone),
            authority: Some(format!("{} ({})", self.limit.source, self.limit.standing.word())),
            caution: (self.what == What::BrakeFluid).then(|| BRAKE_FLUID_CAUTION.to_owned()),
            ..bare(key, Cycle(cycle), self.what.title().to_owned(), timeline)
        }
    }
}

const BRAKE_FLUID_CAUTION: &str = "Brakes are for trained persons; local codes and licensed practice come first. Brake fluid \
     attacks paint, skin and eyes: only the specified grade, from a sealed container, never reused. Test the pedal before the \
     vehicle moves.";

/// When it was last changed: the newest of service records and fittings.
fn started(known: &Known<'_>, what: What) -> Option<(Started, NaiveDate, Option<Distance>)> {
    let is_renewed = |point: &&str| {
        let mut rules = known.facts.rules.iter();
        rules.any(|version| version.rule.renews.iter().any(|renewed| renewed.as_str() == *point))
    };
    let points: Vec<&str> = what.points().iter().copied().filter(is_renewed).collect();
    let renewed = |work: &&model::ServiceRecord| points.iter().any(|point| renews(known, work, point));
    let work = known.facts.services.iter().filter(renewed).max_by_key(|work| (work.done_on, work.id));
    let work = work.map(|work| (Started::Service(work.id), work.done_on, Some(known.odometer_at(work).0)));
    let is_it = |fitting: &&model::Fitting| {
        let component = known.facts.components.iter().find(|one| one.id == fitting.component);
        let kind = component.map(|component| component.kind.as_str());
        fitting.to.is_none() && fitting.place == Place::Vehicle && kind.is_some() && kind == what.component()
    };
    let fitted = known.facts.fittings.iter().filter(is_it).max_by_key(|one| (one.from, one.id));
    let fitted = fitted.map(|fitting| {
        let odometer = known.total_on(fitting.from_odometer, fitting.from);
        (Started::Fitting(fitting.id), fitting.from, Some(odometer))
    });
    work.into_iter().chain(fitted).max_by_key(|(_, on, _)| *on)
}

/// A measured boiling point is what counts; it serves as long as there is between testing and replacing by age.
fn measured_instead(known: &Known<'_>, grades: &[Graded], full_life: NaiveDate) -> Option<Instead> {
    let measured = grades.iter().find(|graded| graded.point == "brake-fluid-boiling")?;
    let ([test, replace], _) = brake_fluid::age_marks(&known.yardstick());
    let (on, serves) = (known.day(measured.measured_at), replace.saturating_sub(test));
    let until = add_months(on, serves);
    (until > full_life).then_some(Instead::Measured { on, months: serves, until })
}

/// The last day of the month before the pollen, where the filter would fall due in the quarter of a year after it.
fn before_pollen(known: &Known<'_>, since: NaiveDate, full_life: NaiveDate) -> Option<Instead> {
    let hemisphere = hemisphere(known, full_life.year());
    if !u8::try_from(full_life.month()).is_ok_and(|month| is_better_before_pollen(month, hemisphere)) {
        return None;
    }
    let first = NaiveDate::from_ymd_opt(full_life.year(), u32::from(month_before_pollen(hemisphere)), 1)?;
    let last = add_days(add_months(first, 1), -1);
    (last > since).then_some(Instead::BeforePollen { last_day: last })
}

/// South where the clocks are ahead in January; every law known to the program is of the north.
fn hemisphere(known: &Known<'_>, year: i32) -> Hemisphere {
    let ahead = |month| {
        let noon = NaiveDate::from_ymd_opt(year, month, 1)?.and_hms_opt(12, 0, 0)?;
        Some(known.zone.offset_from_utc_datetime(&noon).fix().local_minus_utc())
    };
    match (ahead(1), ahead(7)) {
        (Some(january), Some(july)) if january > july => Hemisphere::Southern,
        _ => Hemisphere::Northern,
    }
}
