//! What a letter says of each vehicle, and in which order.

use crate::about::About;
use crate::days::{Dated, DayShown, InCalendar};
use crate::language::Language;
use crate::links::ItemLinks;
use crate::text::one_line;
use crate::words;
use chrono::{DateTime, NaiveDate, Utc};
use chrono_tz::Tz;
use model::horizon::{Basis, Cycle, DueItem, ItemKey, WindowOutlook};
use model::{Role, VehicleId};
use quantity::Unit;
use std::collections::BTreeMap;

/// Things with another day, told in one letter at most (house setting, no source).
const MOST_MOVED: usize = 25;

/// A forecast that moves by so many days is worth a word to whoever has it in a calendar (house setting, no source).
const FORECAST_MOVED_DAYS: i64 = 7;

/// How pressing an item is; this is the order of a letter.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Urgency {
    /// The vehicle must not be driven.
    DoNotDrive,
    /// It follows work just done, and is to be done today.
    Today,
    /// Due now, or within seven days.
    ThisWeek,
    /// The rest.
    Later,
}

/// Who reads the letter, and when: texts are put in their words for this.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Reader {
    /// The duty of the person. A driver is told the odometer, not a date.
    pub role: Role,
    /// The instant the letter is written.
    pub now: DateTime<Utc>,
    /// In which language.
    pub language: Language,
}

/// How a vehicle is known to the person who looks for it in the yard.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct VehicleCard {
    /// Its id, by which lines are brought together.
    pub id: VehicleId,
    /// The fleet's own name for it.
    pub label: String,
    /// Registration plate.
    pub plate: Option<String>,
    /// Make and model.
    pub make_model: String,
    /// The unit its odometer shows.
    pub odometer_unit: Unit,
    /// The zone its dates are read in.
    pub zone: Tz,
}

/// One thing to tell about one vehicle.
#[derive(Debug, Clone, PartialEq)]
pub struct Telling {
    /// The vehicle.
    pub vehicle: VehicleCard,
    /// Whether it was decided to be told at once.
    pub urgent: bool,
    /// The code of the mark that fired.
    pub mark: String,
    /// What.
    pub told: Told,
    /// What was measured or found, for a condition.
    pub reason: Option<String>,
    /// That others were told before and have not answered.
    pub unanswered: Option<Unanswered>,
    /// What the reader may do by a link.
    pub links: ItemLinks,
    /// How it stands in the reader's calendar; none keeps its day out of it.
    pub calendar: Option<InCalendar>,
}

impl Telling {
    /// What it is about.
    pub fn about(&self) -> About {
        let (item, cycle) = self.told.name();
        About { vehicle: self.vehicle.id, item: item.clone(), cycle: cycle.clone() }
    }
}

/// That others were told before the reader is, and that nobody has answered.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Unanswered {
    /// When it was decided to tell them.
    pub since: DateTime<Utc>,
    /// Whom the first letter reached, by name, but for the reader.
    pub told: Vec<String>,
    /// Whether the reader is one of those whom it reached.
    pub with_reader: bool,
}

/// What a notice is about.
#[derive(Debug, Clone, PartialEq)]
pub enum Told {
    /// A due item.
    Item(Box<DueItem>),
    /// A coverage window.
    Window(Box<WindowOutlook>),
}

impl Told {
    /// What it is called, and in which cycle: two notices with the same name are one line.
    fn name(&self) -> (&ItemKey, &Cycle) {
        match self {
            Self::Item(item) => (&item.key, &item.cycle),
            Self::Window(window) => (&window.key, &window.cycle),
        }
    }
}

/// One item of a vehicle, in words.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ItemLine {
    /// What it is about.
    pub about: About,
    /// How pressing it is.
    pub urgency: Urgency,
    /// When it falls due, as far as known; orders items of the same urgency.
    pub due_at: Option<DateTime<Utc>>,
    /// In a few words, for a subject or a folded line.
    pub headline: String,
    /// In a sentence.
    pub text: String,
    /// When an odometer limit comes, with its uncertainty.
    pub forecast: Option<String>,
    /// Why, a sentence each; left out where it is not pressing.
    pub because: Vec<String>,
    /// What can hurt.
    pub caution: Option<String>,
    /// What the reader may do by a link.
    pub links: ItemLinks,
    /// What the letter tells the reader's calendar; none if that shows it already, or does not show it at all.
    pub dated: Option<Dated>,
}

/// What a letter says of one vehicle.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct VehicleLine {
    /// The fleet's own name for it.
    pub label: String,
    /// Registration plate.
    pub plate: Option<String>,
    /// Make and model.
    pub make_model: String,
    /// Its items, the most pressing first; never empty in a letter.
    pub items: Vec<ItemLine>,
}

impl VehicleLine {
    /// How pressing the vehicle's first item is.
    pub fn urgency(&self) -> Urgency {
        self.items.first().map_or(Urgency::Later, |item| item.urgency)
    }

    /// What orders vehicles: urgency, the first due moment, then the label. What has no moment comes last.
    fn rank(&self) -> (Urgency, DateTime<Utc>, &str) {
        let due = self.items.first().and_then(|item| item.due_at).unwrap_or(DateTime::<Utc>::MAX_UTC);
        (self.urgency(), due, &self.label)
    }
}

/// The lines of a letter: one for each vehicle, the most pressing first; things told twice are said once.
pub fn vehicle_lines(tellings: &[Telling], reader: Reader) -> Vec<VehicleLine> {
    let mut vehicles: BTreeMap<VehicleId, Vec<&Telling>> = BTreeMap::new();
    for telling in tellings {
        vehicles.entry(telling.vehicle.id).or_default().push(telling);
    }
    let mut lines: Vec<VehicleLine> =
        vehicles.values().filter_map(|told| vehicle_line(told, reader)).collect();
    lines.sort_by(|one, other| one.rank().cmp(&other.rank()));
    lines
}

/// The lines of what was told before and has another day in the reader's calendar now: the first few of those
/// that moved far enough to be worth a word.
pub fn moved_lines(tellings: &[Telling], reader: Reader) -> Vec<VehicleLine> {
    let moved = tellings.iter().filter(|telling| has_moved(telling, reader)).take(MOST_MOVED);
    vehicle_lines(&moved.cloned().collect::<Vec<_>>(), reader)
}

/// Whether the calendar shows another day, or none. A forecast moves a little with every reading, which is not told.
fn has_moved(telling: &Telling, reader: Reader) -> bool {
    let Some(now) = item_line(telling, reader).dated else { return false };
    let Some(before) = telling.calendar.as_ref().and_then(|before| before.shows.as_ref()) else {
        return true;
    };
    let is_forecast = match &telling.told {
        Told::Item(item) => item.timeline.due.is_some_and(|due| due.basis == Basis::Forecast),
        Told::Window(window) => window.last_day != Some(now.shown.day),
    };
    let days = (now.shown.day - before.day).num_days().abs();
    days >= if is_forecast { FORECAST_MOVED_DAYS } else { 1 }
}

fn vehicle_line(tellings: &[&Telling], reader: Reader) -> Option<VehicleLine> {
    let card = &tellings.first()?.vehicle;
    let mut once: BTreeMap<(&ItemKey, &Cycle), ItemLine> = BTreeMap::new();
    for telling in tellings {
        let line = item_line(telling, reader);
        let kept = once.entry(telling.told.name()).or_insert_with(|| line.clone());
        if line.urgency < kept.urgency {
            *kept = line;
        }
    }
    let mut items: Vec<ItemLine> = once.into_values().collect();
    items.sort_by_key(|item| (item.urgency, item.due_at.unwrap_or(DateTime::<Utc>::MAX_UTC)));
    Some(VehicleLine {
        label: one_line(&card.label, 60),
        plate: card.plate.as_deref().map(|plate| one_line(plate, 20)),
        make_model: one_line(&card.make_model, 60),
        items,
    })
}

fn item_line(telling: &Telling, reader: Reader) -> ItemLine {
    let about = telling.about();
    let shown = words::Shown { reader, zone: telling.vehicle.zone, unit: telling.vehicle.odometer_unit };
    let (mut line, day) = match &telling.told {
        Told::Item(item) => (words::item(item, telling, about, &shown), words::day_of_item(item, &shown)),
        Told::Window(window) => (words::window(window, about, &shown), words::day_of_window(window, &shown)),
    };
    let reason = telling.reason.as_deref().map(|reason| {
        // What a person wrote of a finding stays in that person's words.
        let is_typed = line.about.item.0.starts_with("finding:");
        let reason = if is_typed { reason.into() } else { reader.language.adapted(reason) };
        one_line(&reason, words::SENTENCE)
    });
    let reason = reason.filter(|reason| !reason.is_empty());
    let unanswered = telling.unanswered.as_ref().map(|one| words::unanswered(one, &shown));
    line.because.splice(0..0, unanswered.into_iter().chain(reason));
    line.links = telling.links.clone();
    if matches!(line.urgency, Urgency::DoNotDrive | Urgency::Today) {
        line.links.postpone = None;
    }
    line.dated = dated(telling, &line, day, model::local_day(reader.now, shown.zone));
    line
}

/// What the letter tells the reader's calendar: the day, if it is to come and the vehicle may be driven until then. Where the
/// calendar shows a later day than is true, the item stands on today.
fn dated(telling: &Telling, line: &ItemLine, day: Option<NaiveDate>, today: NaiveDate) -> Option<Dated> {
    let before = telling.calendar.as_ref()?;
    let is_stopped = line.urgency == Urgency::DoNotDrive;
    let ahead = day.filter(|day| *day >= today && !is_stopped);
    let shows_later = before.shows.as_ref().is_some_and(|shown| shown.day > today);
    let presses = is_stopped || day.is_some_and(|day| day < today);
    let day = ahead.or_else(|| (shows_later && presses).then_some(today))?;
    let label = one_line(&telling.vehicle.label, 40);
    before.changed_to(DayShown { day, label, what: one_line(&line.headline, 120) })
}
