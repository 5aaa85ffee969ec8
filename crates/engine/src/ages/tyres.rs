//! Tyres by age: the days on which each reaches an age that somebody sets a limit to.

use super::{bare, is_asked};
use crate::conditions::{ATTEND_WITHIN_DAYS, is_renewed_between, title};
use crate::known::Known;
use crate::timeline::{from_start_of, marks_of, not_before, once_over};
use chrono::NaiveDate;
use gauge::{AgeMark, DateCode, Noted, age_marks, noted_date_code, series};
use model::horizon::{Cycle, DueItem, Graded, ItemKey, Timeline};
use model::{Fitting, Grade, LAST_DAY, MeasurementId, Place, add_days, day_start};

/// The check point at which date codes are noted.
const POINT: &str = "tyre-date-code";

const CAUTION: &str = "Before a wheel comes off: firm level ground, wheels chocked, stands under the maker's lifting points, never \
     the jack alone. Tighten wheel nuts by torque wrench, and again as the maker says.";

/// A tyre whose date code is on record.
pub(crate) struct TyreAge {
    pub(crate) place: Place,
    pub(crate) code: DateCode,
    /// What was read, and when.
    pub(crate) measurement: MeasurementId,
    pub(crate) read_on: NaiveDate,
    /// Since when it is where it is, as far as is known.
    pub(crate) there_since: NaiveDate,
    /// The days on which it reaches each age that counts there, in their order.
    pub(crate) marks: Vec<AgeMark>,
    cycle: Cycle,
}

/// The tyres that no standing grade calls too old already, in the order of places.
pub(super) fn ageing(known: &Known<'_>, grades: &[Graded]) -> Vec<TyreAge> {
    let believed = crate::questions::believed(known.facts);
    let noted = series(POINT, &believed);
    if noted.is_empty() {
        return Vec::new();
    }
    let places = gauge::point(POINT).map_or(&[][..], |point| point.places);
    let is_new =
        |place: &&Place| !is_asked(grades, |graded| graded.point == POINT && graded.place == **place);
    places.iter().filter(is_new).filter_map(|place| TyreAge::of(known, *place, &noted)).collect()
}

impl TyreAge {
    fn of(known: &Known<'_>, place: Place, noted: &[Noted<'_>]) -> Option<Self> {
        let (read, root, there_since) = fitted(known, place)
            .map_or_else(|| unfitted(known, place, noted), |fitting| of(known, fitting, noted))?;
        let read_on = known.day(read.inspection.performed_at);
        let code = noted_date_code(read, read_on)?;
        Some(Self {
            place,
            code,
            measurement: read.value.id,
            read_on,
            there_since,
            marks: age_marks(code, &known.yardstick(), place),
            cycle: Cycle(root),
        })
    }

    /// The first day on which it is too old to be left as it is.
    pub(crate) fn too_old(&self) -> Option<&AgeMark> {
        self.marks.iter().find(|mark| mark.limit.grade >= Some(Grade::Attend))
    }

    /// The day from which the law keeps it off the road; a spare is not on it.
    fn forbidden(&self) -> Option<&AgeMark> {
        let on_the_road = self.place != Place::Spare;
        self.marks.iter().find(|mark| on_the_road && mark.limit.grade == Some(Grade::DoNotDrive))
    }

    /// When it approaches, is too old, and was left too long.
    pub(crate) fn timeline(&self, known: &Known<'_>) -> Timeline {
        let Some(limit) = self.last_day() else { return Timeline::default() };
        let lead = i64::from(known.policy.lead_days);
        let left = once_over(add_days(limit, ATTEND_WITHIN_DAYS), known.zone);
        let forbidden = self.forbidden().map(|mark| from_start_of(mark.on, known.zone));
        let timeline = Timeline {
            approaching: Some(from_start_of(add_days(limit, -lead), known.zone)),
            due: Some(from_start_of(limit, known.zone)),
            overdue: crate::timeline::whichever_first(Some(left), forbidden),
        };
        not_before(day_start(self.there_since, known.zone), timeline)
    }

    /// The last day on which it is not too old.
    pub(crate) fn last_day(&self) -> Option<NaiveDate> {
        self.too_old().map(|mark| add_days(mark.on, -1))
    }

    pub(super) fn item(&self, known: &Known<'_>, key: ItemKey) -> DueItem {
        let timeline = self.timeline(known);
        let start = day_start(self.there_since, known.zone);
        let do_not_drive_from = self.forbidden().map(|mark| day_start(mark.on, known.zone).max(start));
        let authority =
            self.too_old().map(|mark| format!("{} ({})", mark.limit.source, mark.limit.standing.word()));
        DueItem {
            do_not_drive_from,
            date_limit: self.last_day(),
            authority,
            caution: Some(CAUTION.to_owned()),
            marks: marks_of(&timeline, do_not_drive_from),
            ..bare(key, self.cycle.clone(), title("tyre-age", self.place), timeline)
        }
    }
}

/// What was last read off the tyre in this fitting, what names its round, and since when it is there.
fn of<'n, 'a>(
    known: &Known<'_>,
    fitting: &Fitting,
    noted: &'n [Noted<'a>],
) -> Option<(&'n Noted<'a>, String, NaiveDate)> {
    let read = noted.iter().rev().find(|one| is_of_component(known, fitting, one))?;
    Some((read, format!("fitting:{}", fitting.id), fitting.from))
}

/// The same where no tyre is on record at a place: named by the first that read the same code there.
fn unfitted<'n, 'a>(
    known: &Known<'_>,
    place: Place,
    noted: &'n [Noted<'a>],
) -> Option<(&'n Noted<'a>, String, NaiveDate)> {
    let mut here = noted.iter().filter(|one| one.value.place == place);
    let read = here.next_back()?;
    let first = here.find(|one| one.value.exact == read.value.exact).unwrap_or(read);
    let on = known.day(first.inspection.performed_at);
    let is_renewed = is_renewed_between(known, POINT, place, (on, LAST_DAY));
    (!is_renewed).then(|| (read, format!("measurement:{}", first.value.id), on))
}

/// The tyre that is at a place now, where it is on record.
fn fitted<'a>(known: &Known<'a>, place: Place) -> Option<&'a Fitting> {
    let is_tyre = |fitting: &&Fitting| {
        let component = known.facts.components.iter().find(|one| one.id == fitting.component);
        component.is_some_and(|component| component.kind.as_str() == "tyre")
    };
    let there = known.facts.fittings.iter().filter(|one| one.place == place && one.to.is_none());
    there.filter(is_tyre).max_by_key(|fitting| (fitting.from, fitting.id))
}

/// Whether a code was read off the component in this fitting, here or where it was before. On the day of a change it was
/// the one that came.
fn is_of_component(known: &Known<'_>, fitting: &Fitting, noted: &Noted<'_>) -> bool {
    let day = known.day(noted.inspection.performed_at);
    known.facts.fittings.iter().any(|one| {
        one.component == fitting.component
            && one.place == noted.value.place
            && one.from <= day
            && one.to.is_none_or(|to| day < to)
    })
}
