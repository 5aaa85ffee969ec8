//! Asking for a reading before the forecasts rest on too little.

use crate::known::Known;
use crate::stays;
use crate::timeline::{from_start_of, whichever_first};
use chrono::NaiveDate;
use model::horizon::{Basis, Cycle, DueItem, ItemKey, ItemKind, Mark, Moment, Timeline};
use model::{add_days, day_start};
use quantity::Distance;

/// The key of the due item.
pub(crate) const KEY: &str = "reading";
/// Overdue so many days after it was wanted (house setting, no source).
const OVERDUE_AFTER_DAYS: i64 = 14;

/// Why and when a reading is wanted.
pub(crate) struct ReadingWanted {
    /// The day on which the last reading is too old; the day the vehicle came where there is none.
    pub(crate) too_old_on: NaiveDate,
    /// The shortest lead distance of the rules in force, and the day on which it is expected to be driven.
    pub(crate) driven: Option<(Distance, NaiveDate)>,
    due: Moment,
}

/// When a reading is wanted; never of a parked vehicle, nor of one that is off the road, and after a stay not before it is
/// out again.
pub(crate) fn wanted(known: &Known<'_>) -> Option<ReadingWanted> {
    let vehicle = &known.facts.vehicle;
    if vehicle.attributes_now().is_some_and(|attributes| attributes.parked) {
        return None;
    }
    if known.facts.stays.iter().any(|stay| stay.out_at.is_none()) {
        return None;
    }
    let too_old_on = known.driving.as_ref().map_or(vehicle.acquired_on, |driving| {
        add_days(known.day(driving.anchor.at), i64::from(known.policy.reading_age_days))
    });
    let driven = shortest_lead(known).and_then(|lead| Some((lead, day_driven(known, lead)?)));
    let by_age = from_start_of(too_old_on, known.zone);
    let by_distance = driven.map(|(_, day)| known.forecast(day));
    let due = whichever_first(Some(by_age), by_distance)?;
    let due = match stays::on_the_road_from(&known.facts.stays, due.at) {
        Some(at) if at > due.at => Moment { at, basis: Basis::Date },
        _ => due,
    };
    Some(ReadingWanted { too_old_on, driven, due })
}

/// The day by which `distance` is expected to be driven since the last reading, but never that reading's own day.
fn day_driven(known: &Known<'_>, distance: Distance) -> Option<NaiveDate> {
    let driving = known.driving.as_ref()?;
    let days = distance.km() / driving.km_per_day();
    let day = driving.calendar.day_reached(&driving.origin, days)?;
    Some(day.max(add_days(known.day(driving.anchor.at), 1)))
}

fn shortest_lead(known: &Known<'_>) -> Option<Distance> {
    let leads = known.rules.iter().filter(|rule| rule.every.is_some());
    leads.map(|rule| rule.version.rule.lead.distance_exact()).filter(|lead| *lead > Distance::ZERO).min()
}

impl ReadingWanted {
    pub(crate) fn item(&self, known: &Known<'_>) -> DueItem {
        let cycle = match &known.driving {
            Some(driving) => format!("reading:{}", driving.anchor.id),
            None => format!("vehicle:{}", known.facts.vehicle.id),
        };
        let last_day = add_days(known.day(self.due.at), OVERDUE_AFTER_DAYS);
        let overdue = Moment { at: day_start(last_day, known.zone), basis: Basis::Date };
        let mark = |code: &str, rank, moment: Moment| Mark { code: code.to_owned(), rank, at: moment.at };
        DueItem {
            key: ItemKey(KEY.to_owned()),
            cycle: Cycle(cycle),
            kind: ItemKind::ReadingWanted,
            title: "Odometer reading".to_owned(),
            timeline: Timeline { approaching: None, due: Some(self.due), overdue: Some(overdue) },
            do_not_drive_from: None,
            date_limit: None,
            odometer_limit: None,
            hours_limit_seconds: None,
            crossing: None,
            grade: None,
            covers: Vec::new(),
            authority: None,
            caution: None,
            marks: vec![mark("reading_wanted", 10, self.due), mark("overdue", 30, overdue)],
        }
    }
}
