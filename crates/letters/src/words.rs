//! The wording that only letters need. Sentences about items, windows, days and distances come from `engine::words`, so
//! that letters and pages say the same.

use crate::line::{ItemLine, Reader, Urgency, VehicleLine};
use crate::text::{listed, one_line};
use chrono::{DateTime, Datelike, NaiveDate, TimeDelta, Utc};
use chrono_tz::Tz;
use engine::words::{band, day, day_of, distance, item_line, window_line};
use model::Role;
use model::horizon::{Band, Basis, DueItem, ItemKind, Stage, WindowOutlook, WindowStage};
use quantity::{Distance, Unit};

/// Longest title, in characters.
const TITLE: usize = 100;

/// Longest sentence, in characters.
pub(crate) const SENTENCE: usize = 1_000;

/// Titles named in a list.
const NAMED: usize = 20;

/// How values are shown: to whom, in which zone, in which unit of distance.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Shown {
    /// Who reads, and when.
    pub reader: Reader,
    /// The vehicle's zone.
    pub zone: Tz,
    /// The unit the vehicle's odometer shows.
    pub unit: Unit,
}

impl Shown {
    fn odometer(&self, limit: Distance) -> String {
        distance(limit, self.unit)
    }

    /// Whether `at` lies within the next seven days or has passed.
    fn is_this_week(&self, at: DateTime<Utc>) -> bool {
        at <= self.reader.now + TimeDelta::days(7)
    }
}

/// A due item as a line of a letter; `urgent` if it was decided to be told at once.
pub fn item(item: &DueItem, urgent: bool, shown: &Shown) -> ItemLine {
    let now = shown.reader.now;
    let item = &DueItem { title: one_line(&item.title, TITLE), ..item.clone() };
    let (stage, _) = item.timeline.stage_at(now);
    let stopped = urgent || item.do_not_drive_from.is_some_and(|from| from <= now);
    let due_at = item.timeline.due.or(item.timeline.overdue).map(|moment| moment.at);
    let pressing =
        matches!(stage, Stage::Due | Stage::Overdue) || due_at.is_some_and(|at| shown.is_this_week(at));
    let mark = if stopped { "do_not_drive" } else { mark_of(stage) };
    ItemLine {
        urgency: match (stopped, pressing) {
            (true, _) => Urgency::DoNotDrive,
            (false, true) => Urgency::ThisWeek,
            (false, false) => Urgency::Later,
        },
        due_at,
        headline: headline(item, stage, shown),
        text: one_line(&item_line(item, mark, shown.unit, shown.zone), SENTENCE),
        forecast: item_forecast(item, stage, shown),
        because: item_because(item),
        caution: item.caution.as_deref().map(|caution| one_line(caution, SENTENCE)),
    }
}

/// The mark that falls where a stage begins: the engine words its lines by mark.
const fn mark_of(stage: Stage) -> &'static str {
    match stage {
        Stage::Clear | Stage::Approaching => "approaching",
        Stage::Due => "due",
        Stage::Overdue => "overdue",
    }
}

fn headline(item: &DueItem, stage: Stage, shown: &Shown) -> String {
    let title = item.title.as_str();
    let over = item.date_limit.is_some_and(|limit| model::day_after(limit, shown.zone) <= shown.reader.now);
    // A paper that nobody has recorded expires on no day: the limit is that of recording it.
    let is_missing = item.cycle.0.starts_with("no-paper:");
    match (item.kind, stage, item.date_limit.filter(|_| !is_missing)) {
        (ItemKind::Condition, ..) | (ItemKind::Paper, _, None) => title.to_owned(),
        (ItemKind::ReadingWanted, ..) => "odometer reading wanted".to_owned(),
        (ItemKind::Paper, _, Some(limit)) => {
            format!("{title} {} {}", if over { "expired" } else { "expires" }, day(limit))
        }
        (_, Stage::Overdue, _) => format!("{title} overdue"),
        (_, Stage::Due, _) => format!("{title} due now"),
        (_, Stage::Approaching | Stage::Clear, _) => match item.timeline.due {
            Some(due) => format!("{title} due {}", day_of(due.at, shown.zone)),
            None => title.to_owned(),
        },
    }
}

/// When the odometer limit is met, with its uncertainty; not once it has been.
fn item_forecast(item: &DueItem, stage: Stage, shown: &Shown) -> Option<String> {
    let (limit, crossing) = (item.odometer_limit?, item.crossing?);
    let ahead = matches!(stage, Stage::Clear | Stage::Approaching);
    (ahead && is_uncertain(&crossing))
        .then(|| format!("At the present use {} is reached: {}.", shown.odometer(limit), band(&crossing)))
}

/// Whether a band says more than one day.
fn is_uncertain(band: &Band) -> bool {
    band.likely.is_some() && band.early != band.late
}

fn item_because(item: &DueItem) -> Vec<String> {
    let mut reasons = Vec::new();
    // Other items say themselves what they cover; of a rule that a grade asks for it is the places.
    if item.kind == ItemKind::Rule && item.grade.is_none() && !item.covers.is_empty() {
        let covers: Vec<String> =
            item.covers.iter().take(NAMED).map(|code| one_line(&code.replace('-', " "), 60)).collect();
        reasons.push(format!("Done along with it: {}.", listed(&covers)));
    }
    if let Some(authority) = &item.authority {
        reasons.push(format!("Says who: {}.", one_line(authority, SENTENCE).trim_end_matches('.')));
    }
    reasons
}

/// A coverage window as a line of a letter.
pub fn window(window: &WindowOutlook, shown: &Shown) -> ItemLine {
    let now = shown.reader.now;
    let window = &WindowOutlook { title: one_line(&window.title, TITLE), ..window.clone() };
    let (stage, basis) = window.stage_at(now);
    let end = window.ends.early.map(|early| model::day_after(early, shown.zone));
    let ended = stage == WindowStage::Ended;
    let this_week = !ended && end.is_some_and(|end| shown.is_this_week(end));
    // A driver can see the odometer, and how soon a date comes depends on how he drives. It ends no lease.
    let is_his = shown.reader.role == Role::Driver && !ended && window.kind == model::WindowKind::Warranty;
    let odometer = window.odometer_limit.filter(|_| is_his);
    let text = match odometer {
        Some(limit) => format!("{} ends at {} on the odometer", window.title, shown.odometer(limit)),
        None => window_line(window, if ended { "ended" } else { "" }, shown.unit, shown.zone),
    };
    ItemLine {
        urgency: if this_week { Urgency::ThisWeek } else { Urgency::Later },
        due_at: end,
        headline: window_headline(window, stage, odometer.map(|limit| shown.odometer(limit))),
        text: one_line(&text, SENTENCE),
        forecast: (odometer.is_none() && !ended).then(|| window_forecast(window, basis)).flatten(),
        because: Vec::new(),
        caution: None,
    }
}

fn window_headline(window: &WindowOutlook, stage: WindowStage, odometer: Option<String>) -> String {
    let title = window.title.as_str();
    match (stage, odometer, window.ends.early) {
        (WindowStage::Ended, ..) => format!("{title} has ended"),
        (_, Some(odometer), _) => format!("{title} ends at {odometer}"),
        (_, None, Some(early)) if window.last_day == Some(early) => {
            format!("{title} ends after {}", day(early))
        }
        (_, None, Some(early)) => format!("{title} may end as early as {}", day(early)),
        (_, None, None) => title.to_owned(),
    }
}

fn window_forecast(window: &WindowOutlook, basis: Option<Basis>) -> Option<String> {
    if basis == Some(Basis::Date) || !is_uncertain(&window.ends) {
        return None;
    }
    let first = window.distance_first.map_or_else(String::new, |share| {
        format!(
            " Chance that the odometer comes before the date: {:.0} %.",
            (share.clamp(0.0, 1.0) * 100.0).round()
        )
    });
    Some(format!("At the present use the end is {}.{first}", band(&window.ends)))
}

/// The day in the heading: `Tuesday 2 Mar 2027`.
pub fn long_day(date: NaiveDate) -> String {
    let name = match date.weekday() {
        chrono::Weekday::Mon => "Monday",
        chrono::Weekday::Tue => "Tuesday",
        chrono::Weekday::Wed => "Wednesday",
        chrono::Weekday::Thu => "Thursday",
        chrono::Weekday::Fri => "Friday",
        chrono::Weekday::Sat => "Saturday",
        chrono::Weekday::Sun => "Sunday",
    };
    format!("{name} {}", day(date))
}

/// The heading of a section.
pub const fn section(urgency: Urgency) -> &'static str {
    match urgency {
        Urgency::DoNotDrive => "DO NOT DRIVE",
        Urgency::ThisWeek => "THIS WEEK",
        Urgency::Later => "LATER",
    }
}

/// A vehicle as a person looks for it: `Van 7 (AB12 CDE, Corvane Trow)`.
pub fn vehicle_name(line: &VehicleLine) -> String {
    let plate = line.plate.as_deref().into_iter();
    let known: Vec<&str> = plate.chain([line.make_model.as_str()]).filter(|part| !part.is_empty()).collect();
    if known.is_empty() { line.label.clone() } else { format!("{} ({})", line.label, known.join(", ")) }
}

/// What to do with a vehicle that must not be driven. Whoever would have to ring himself is told so.
pub fn take_the_key(ring: Option<&str>, reader: &str) -> String {
    match ring {
        Some(name) if name == reader => {
            "Take the key, tag the wheel. You are the one to ring about it.".to_owned()
        }
        Some(name) => format!("Take the key, tag the wheel, ring {name}."),
        None => "Take the key, tag the wheel, ring the fleet manager.".to_owned(),
    }
}

/// What can hurt.
pub fn caution(text: &str) -> String {
    format!("Caution: {text}")
}

/// Said instead of what would make the letter too long.
pub fn not_shown(vehicles: usize) -> String {
    match vehicles {
        1 => "One more vehicle is on the list.".to_owned(),
        more => format!("{more} more vehicles are on the list."),
    }
}

/// Where the whole list is.
pub fn where_to_look(base_url: &str) -> String {
    format!("The whole list: {base_url}")
}

/// Who writes.
pub fn who_writes(fleet: &str) -> String {
    format!("Written by Ostler, which keeps the service list of {fleet}.")
}
