//! What a component went through: every place it was fitted, how far it was driven there, what was measured of it.
//!
//! Time in store does not count: nothing is driven there.

use super::odometer::{Stand, at_inspection, on_day};
use super::rates::Rates;
use crate::known::Known;
use crate::questions::fittings_at;
use crate::usage::to_nine_digits;
use chrono::{DateTime, NaiveDate, Utc};
use gauge::{DepthSet, WearPoint};
use model::{Component, Fitting, FittingId, MeasurementId, Place, SpellElsewhere};
use quantity::{Depth, Distance};

/// One time in one place.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Spell {
    pub(crate) fitting: FittingId,
    pub(crate) place: Place,
    pub(crate) from: NaiveDate,
    /// Whether it was on another vehicle.
    pub(crate) elsewhere: bool,
    pub(crate) km: f64,
    pub(crate) mm_per_km: f64,
}

/// One measurement on the component's way.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Measured {
    pub(crate) measurement: MeasurementId,
    pub(crate) at: DateTime<Utc>,
    /// The odometer then, or what had been driven since its fitting on another vehicle.
    pub(crate) stand: Stand,
    pub(crate) elsewhere: bool,
    /// Whether nothing lower can have been missed.
    is_whole: bool,
    exact: i64,
    pub(crate) depth_mm: f64,
    /// Kilometres driven by then, front and rear.
    pub(crate) km: [f64; 2],
    /// Wear to be expected of what it was driven by then, mm.
    pub(crate) wear_mm: f64,
}

/// All of it, in the order of time.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct History {
    pub(crate) spells: Vec<Spell>,
    pub(crate) measured: Vec<Measured>,
    /// The depth before any wear, where it is known and still speaks of this component.
    pub(crate) new_mm: Option<f64>,
    /// Wear to be expected of what it was driven by the last counted reading, mm.
    pub(crate) wear_now_mm: f64,
}

/// A time in one place, wherever that was.
enum Source<'a> {
    Here(&'a Fitting),
    Elsewhere(&'a SpellElsewhere),
}

impl Source<'_> {
    fn order(&self) -> (NaiveDate, FittingId) {
        match self {
            Self::Here(fitting) => (fitting.from, fitting.id),
            Self::Elsewhere(spell) => (spell.from, spell.fitting),
        }
    }
}

/// What was driven before a spell: wear expected of it, and kilometres front and rear.
#[derive(Debug, Clone, Copy, Default)]
struct Driven {
    wear_mm: f64,
    km: [f64; 2],
}

impl Driven {
    fn and(self, km: f64, place: Place, rates: &Rates) -> Self {
        let mut sum = Self { wear_mm: self.wear_mm + rates.mm_per_km(place) * km, ..self };
        match gauge::Axle::of(place) {
            Some(gauge::Axle::Front) => sum.km[0] += km,
            Some(gauge::Axle::Rear) => sum.km[1] += km,
            None => {}
        }
        sum
    }
}

/// `None` before the first counted reading, from which distance is counted.
pub(crate) fn of(
    known: &Known<'_>,
    component: &Component,
    point: &WearPoint,
    rates: &Rates,
    sets: &[DepthSet<'_>],
) -> Option<History> {
    let mut sources: Vec<Source<'_>> = here(known, component).chain(elsewhere(known, component)).collect();
    sources.sort_by_key(Source::order);
    let mut history = History { spells: Vec::new(), measured: Vec::new(), new_mm: None, wear_now_mm: 0.0 };
    let mut driven = Driven::default();
    for source in sources {
        let (spell, measured) = match source {
            Source::Here(fitting) => spell_here(known, fitting, point, rates, sets, driven)?,
            Source::Elsewhere(spell) => spell_elsewhere(spell, point, rates, driven),
        };
        driven = driven.and(spell.km, spell.place, rates);
        history.spells.push(spell);
        history.measured.extend(measured);
    }
    history.wear_now_mm = driven.wear_mm;
    history.measured.sort_by_key(|measured| (measured.at, measured.measurement));
    history.new_mm = component.depth_new.and_then(|depth| Depth::parse(depth).ok()).map(Depth::mm);
    keep_comparable(&mut history);
    begin_anew_where_better(&mut history, point);
    Some(history)
}

fn here<'a>(known: &'a Known<'_>, component: &Component) -> impl Iterator<Item = Source<'a>> {
    let id = component.id;
    known.facts.fittings.iter().filter(move |fitting| fitting.component == id).map(Source::Here)
}

fn elsewhere<'a>(known: &'a Known<'_>, component: &Component) -> impl Iterator<Item = Source<'a>> {
    let id = component.id;
    let histories = known.facts.elsewhere.iter().filter(move |history| history.component == id);
    histories.flat_map(|history| &history.spells).map(Source::Elsewhere)
}

fn spell_here(
    known: &Known<'_>,
    fitting: &Fitting,
    point: &WearPoint,
    rates: &Rates,
    sets: &[DepthSet<'_>],
    before: Driven,
) -> Option<(Spell, Vec<Measured>)> {
    let logged = logged(known, fitting, point, sets)?;
    let measured = logged.measured.into_iter().map(|(set, stand, km)| {
        let driven = before.and(km, fitting.place, rates);
        let lowest = set.lowest();
        Measured {
            measurement: lowest.id,
            at: set.inspection().performed_at,
            stand,
            elsewhere: false,
            is_whole: set.is_whole(),
            exact: lowest.exact,
            depth_mm: Depth::from_nm(lowest.exact).mm(),
            km: driven.km,
            wear_mm: to_nine_digits(driven.wear_mm),
        }
    });
    let spell = Spell {
        fitting: fitting.id,
        place: fitting.place,
        from: fitting.from,
        elsewhere: false,
        km: logged.km,
        mm_per_km: rates.mm_per_km(fitting.place),
    };
    Some((spell, measured.collect()))
}

/// A time on this vehicle by its own log.
pub(super) struct Logged<'s, 'a> {
    /// Kilometres driven in it; until the last counted reading if it has not ended.
    pub(super) km: f64,
    /// What was measured in it, with the odometer then and the kilometres driven in it by then.
    pub(super) measured: Vec<(&'s DepthSet<'a>, Stand, f64)>,
}

/// How far a component was driven in this fitting and what was measured of it, by the vehicle's counted readings. `None`
/// before the first of them, where the odometer told at the fitting does not say it either.
pub(super) fn logged<'s, 'a>(
    known: &Known<'_>,
    fitting: &Fitting,
    point: &WearPoint,
    sets: &'s [DepthSet<'a>],
) -> Option<Logged<'s, 'a>> {
    let start = on_day(known, fitting.from, Some(fitting.from_odometer))?;
    let end = match fitting.to {
        Some(to) => on_day(known, to, fitting.to_odometer)?,
        None => Stand { km: known.log.last()?.odometer.km(), estimated: false },
    };
    let since_start = |km: f64| (km - start.km).max(0.0);
    let mine = sets.iter().filter(|set| is_measured_on(known, fitting, point, set));
    let measured = mine.filter_map(|set| {
        let stand = at_inspection(known, set.inspection())?;
        Some((set, stand, since_start(stand.km)))
    });
    Some(Logged { km: since_start(end.km), measured: measured.collect() })
}

/// Whether the set was taken of the component in its time there. On the day of a change it was the one that came.
fn is_measured_on(known: &Known<'_>, fitting: &Fitting, point: &WearPoint, set: &DepthSet<'_>) -> bool {
    if set.place() != fitting.place || set.point() != point.point {
        return false;
    }
    let day = known.day(set.inspection().performed_at);
    let was_there = |one: &&Fitting| one.from <= day && one.to.is_none_or(|to| day <= to);
    let there = fittings_at(known.facts, point, fitting.place).filter(was_there);
    there.max_by_key(|one| (one.from, one.id)).is_some_and(|newest| newest.id == fitting.id)
}

fn spell_elsewhere(
    spell: &SpellElsewhere,
    point: &WearPoint,
    rates: &Rates,
    before: Driven,
) -> (Spell, Vec<Measured>) {
    let mine = spell.measurements.iter().filter(|one| one.measurement.point.as_str() == point.point);
    let measured = mine.map(|one| {
        let km = one.driven.max(Distance::ZERO).km();
        let driven = before.and(km, spell.place, rates);
        Measured {
            measurement: one.measurement.id,
            at: one.at,
            stand: Stand { km, estimated: false },
            elsewhere: true,
            is_whole: one.is_whole,
            exact: one.measurement.exact,
            depth_mm: Depth::from_nm(one.measurement.exact).mm(),
            km: driven.km,
            wear_mm: to_nine_digits(driven.wear_mm),
        }
    });
    let driven = Spell {
        fitting: spell.fitting,
        place: spell.place,
        from: spell.from,
        elsewhere: true,
        km: spell.driven.max(Distance::ZERO).km(),
        mm_per_km: rates.mm_per_km(spell.place),
    };
    (driven, measured.collect())
}

/// One pad or one groove says little beside all of them: where the whole was ever seen, only such measurements count.
fn keep_comparable(history: &mut History) {
    if history.measured.iter().any(|measured| measured.is_whole) {
        history.measured.retain(|measured| measured.is_whole);
    }
}

/// Material does not grow: what was measured before a step up, and the depth when new, speak of something else.
fn begin_anew_where_better(history: &mut History, point: &WearPoint) {
    let is_better = |pair: &[Measured]| point.is_better(pair[0].exact, pair[1].exact);
    if let Some(last) = history.measured.windows(2).rposition(is_better) {
        history.measured.drain(..=last);
        history.new_mm = None;
    }
}
