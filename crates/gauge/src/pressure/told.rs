//! What other notes say about a cold pressure: the air it will stand in, the maximum marked, and how it fell.

use super::air::{Air, gauge_at};
use super::leak::{LOSS, LeakRate, LeakReading, leak_rate};
use super::set_point::set_point;
use super::{SETTING, percent};
use crate::assessment::{Assessment, Opinion};
use crate::caution::Hazard;
use crate::grading::Bench;
use crate::limit::{Bound, Limit};
use crate::measured::MeasuredSet;
use crate::points::point;
use crate::shown::{published, shown, to_be_set};
use model::{Grade, Inspection, Place};
use quantity::{Entered, Pressure, Temperature, Unit};

static MARKED_LOW: Limit = Limit {
    key: "pressure-maximum",
    name: "maximum marked on the tyre, share under the placard",
    grade: Some(Grade::Attend),
    bound: Bound::Above(percent(0.0)),
    ..SETTING
};

pub(super) fn limits() -> impl Iterator<Item = &'static Limit> {
    [&MARKED_LOW].into_iter()
}

fn marked_maximum(bench: &Bench<'_>, place: Place) -> Option<(Entered, i64)> {
    let noted = bench.noted_of("tyre", "tyre-maximum", place)?;
    Some((noted.lowest.entered, noted.lowest.exact))
}

/// A tyre that may not be filled to what the vehicle asks for does not belong on it.
pub(super) fn hear_maximum(
    assessment: &mut Assessment,
    bench: &Bench<'_>,
    set: &MeasuredSet<'_>,
    placard: i64,
) {
    let Some((marked, exact)) = marked_maximum(bench, set.place) else { return };
    let held = bench.yardstick.held(&MARKED_LOW);
    if exact >= placard || set.place == Place::Spare {
        return;
    }
    let unit = set.lowest.entered.unit;
    let reason = format!(
        "The tyre is marked for at most {}, less than the placard's {}: it does not belong on this axle.",
        published(marked, exact, unit),
        shown(placard, unit),
    );
    assessment.hear(Opinion::on_comparison(&held, reason));
    assessment.advise(
        "Never inflate it above its mark; fit a tyre that may be filled to the placard.",
        &[Hazard::Inflating, Hazard::Lifting, Hazard::Wheel],
    );
}

/// The pressure to set, told in the unit of the gauge.
pub(super) struct Target {
    /// As it stands after "to".
    pub told: String,
    /// What it will come to where the vehicle will stand, and what it would without; none where the tyre has enough.
    pub out_there: Option<String>,
    /// Whether the tyre has less.
    pub is_above: bool,
}

/// The placard's pressure, or, where the tyre is warmer than where it will stand (both noted in the same inspection), the
/// pressure here and now that will be the placard's out there; never less than the placard.
pub(super) fn target(bench: &Bench<'_>, set: &MeasuredSet<'_>, (entered, placard): (Entered, i64)) -> Target {
    let unit = set.lowest.entered.unit;
    let cold = to_be_set(entered, placard, unit);
    let Some(raised) = raised(bench, set, placard) else {
        return Target { told: cold, out_there: None, is_above: false };
    };
    let told = match raised.capped_by {
        Some((mark, exact)) => format!("{}, the most marked on the tyre", published(mark, exact, unit)),
        None => to_be_set(Entered::from_exact(raised.exact, unit), raised.exact, unit),
    };
    let comes_to = if raised.capped_by.is_some() {
        format!("less than {cold}")
    } else {
        format!("the placard's {cold}")
    };
    let out_there = format!(
        "Where it will stand, at {}, the tyre as it is would show about {}; the pressure to set here, where it is warmer, \
         comes to {comes_to} there.",
        raised.stands_at,
        one_decimal(raised.would_show, unit),
    );
    let is_above = set.lowest.exact < raised.exact;
    Target { told, out_there: is_above.then_some(out_there), is_above }
}

struct Raised {
    exact: i64,
    stands_at: Entered,
    would_show: i64,
    /// The tyre's mark, where it stops the pressure short of what the cold asks for.
    capped_by: Option<(Entered, i64)>,
}

fn raised(bench: &Bench<'_>, set: &MeasuredSet<'_>, placard: i64) -> Option<Raised> {
    let (_, now) = value_in(set.inspection, "tyre-temperature")?;
    let (entered, stands_at) = value_in(set.inspection, "standing-temperature")?;
    let (now, stands_at) = (Temperature::from_mk(now), Temperature::from_mk(stands_at));
    let marked = marked_maximum(bench, set.place);
    let placard = Pressure::from_mpa(placard);
    let set_to =
        set_point(placard, stands_at, now, marked.map(|(_, exact)| Pressure::from_mpa(exact))).ok()?;
    let measured = Pressure::from_mpa(set.lowest.exact);
    let would_show = gauge_at(measured, Air::at_sea_level(now), Air::at_sea_level(stands_at))?;
    (set_to > placard).then(|| Raised {
        exact: set_to.mpa(),
        stands_at: entered,
        would_show: would_show.mpa(),
        capped_by: marked.filter(|(_, exact)| *exact == set_to.mpa()),
    })
}

fn one_decimal(exact: i64, unit: Unit) -> String {
    let steps = if unit == Unit::Bar { 100.0 } else { 10.0 };
    Entered::new((Entered::from_exact(exact, unit).value * steps).round() / steps, unit).to_string()
}

/// What was noted of the vehicle in the same inspection.
fn value_in(inspection: &Inspection, code: &str) -> Option<(Entered, i64)> {
    let point = point(code)?;
    let is_it = |value: &&model::Measurement| value.point.as_str() == code && point.would_take(value);
    inspection.measurements.iter().rfind(is_it).map(|value| (value.entered, value.exact))
}

/// A slow leak, from all cold pressures measured at this place since the tyre was fitted there. Where temperatures are not
/// known it is only advised on: a turn of the weather takes as much.
pub(super) fn hear_leak(assessment: &mut Assessment, bench: &Bench<'_>, set: &MeasuredSet<'_>) {
    let Some(rate) = leak_rate(&bench.yardstick, &readings(bench, set)) else { return };
    if rate.grade(&bench.yardstick).0 == Grade::Good {
        return;
    }
    let told = in_words(&rate, set.lowest.entered.unit);
    if rate.at_one_temperature {
        assessment.hear(Opinion::on_comparison(&bench.yardstick.held(&LOSS), told));
        assessment.advise(
            "Look for a nail, a leaking valve or a corroded rim seat.",
            &[Hazard::Lifting, Hazard::Wheel],
        );
    } else {
        assessment.advise(
            format!("{told} Temperatures were not noted, so colder weather may be all there is to it."),
            &[],
        );
    }
}

fn in_words(rate: &LeakRate, unit: Unit) -> String {
    let shown = |kpa: f64| {
        let exact = Entered::new(kpa, Unit::Kilopascal).exact().unwrap_or_default();
        one_decimal(exact, unit)
    };
    let brought = if rate.at_one_temperature { ", brought to one temperature," } else { "" };
    format!(
        "By {} readings{brought} from {} to {} it loses about {} in 30 days, likely between {} and {}.",
        rate.readings,
        rate.since,
        rate.until,
        shown(rate.likely_kpa),
        shown(rate.least_kpa),
        shown(rate.most_kpa),
    )
}

fn readings(bench: &Bench<'_>, set: &MeasuredSet<'_>) -> Vec<LeakReading> {
    let since = bench.fitted_since("tyre", set.place);
    let mut inspections: Vec<&Inspection> = bench
        .inspections
        .iter()
        .filter(|one| !one.clock_in_doubt && since.is_none_or(|since| bench.day_of(one) >= since))
        .collect();
    inspections.sort_by_key(|one| (one.performed_at, one.id));
    let of_inspection = |inspection: &&Inspection| {
        let temperature =
            value_in(inspection, "tyre-temperature").map(|(_, exact)| Temperature::from_mk(exact));
        let here = inspection.measurements.iter().filter(|value| {
            value.point.as_str() == set.point.code && value.place == set.place && set.point.would_take(value)
        });
        let day = bench.day_of(inspection);
        here.map(|value| LeakReading { day, pressure: Pressure::from_mpa(value.exact), temperature })
            .collect::<Vec<_>>()
    };
    inspections.iter().flat_map(of_inspection).collect()
}
