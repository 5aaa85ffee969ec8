//! Items and windows in words. Sentences about them come from `engine::words`, so that letters and pages say the same,
//! and are put into the reader's language here; what a person typed in them stays as it is.

use crate::about::About;
use crate::language::Language;
use crate::line::{ItemLine, Reader, Telling, Unanswered, Urgency};
use crate::links::ItemLinks;
use crate::text::one_line;
use chrono::{DateTime, NaiveDate, TimeDelta, Utc};
use chrono_tz::Tz;
use engine::words::{band, distance, item_line, window_line};
use model::horizon::{Band, Basis, DueItem, FOLLOW_UP, ItemKind, Stage, WindowOutlook, WindowStage};
use model::{Role, local_day};
use quantity::{Distance, Unit};

/// Longest title, in characters.
const TITLE: usize = 100;

/// Longest sentence, in characters.
pub(crate) const SENTENCE: usize = 600;

/// Longest caution, in characters: what can hurt is told whole.
const CAUTION: usize = 1_000;

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
    const fn language(&self) -> Language {
        self.reader.language
    }

    fn day_of(&self, at: DateTime<Utc>) -> String {
        self.language().day(local_day(at, self.zone))
    }

    fn odometer(&self, limit: Distance) -> String {
        distance(limit, self.unit)
    }

    /// Whether `at` lies within the next seven days or has passed.
    fn is_this_week(&self, at: DateTime<Utc>) -> bool {
        at <= self.reader.now + TimeDelta::days(7)
    }
}

/// A due item as a line of a letter.
pub fn item(item: &DueItem, telling: &Telling, about: About, shown: &Shown) -> ItemLine {
    let now = shown.reader.now;
    let item = &DueItem { title: one_line(&item.title, TITLE), ..item.clone() };
    let (stage, _) = item.timeline.stage_at(now);
    let urgency = urgency(item, telling, stage, shown);
    let mark = if urgency == Urgency::DoNotDrive { "do_not_drive" } else { mark_of(stage) };
    let adapted = |text: &str| shown.language().adapted_around(text, typed_title(item));
    ItemLine {
        about,
        urgency,
        due_at: due_at(item),
        headline: headline(&DueItem { title: adapted(&item.title), ..item.clone() }, stage, shown),
        text: one_line(&adapted(&item_line(item, mark, shown.unit, shown.zone)), SENTENCE),
        forecast: item_forecast(item, stage, shown),
        because: item_because(item, shown.language()),
        caution: item.caution.as_deref().map(|text| one_line(&shown.language().adapted(text), CAUTION)),
        links: ItemLinks::default(),
        dated: None,
    }
}

fn due_at(item: &DueItem) -> Option<DateTime<Utc>> {
    item.timeline.due.or(item.timeline.overdue).map(|moment| moment.at)
}

fn urgency(item: &DueItem, telling: &Telling, stage: Stage, shown: &Shown) -> Urgency {
    let follows_up = telling.mark == FOLLOW_UP;
    let is_stopped = item.do_not_drive_from.is_some_and(|from| from <= shown.reader.now);
    let presses =
        matches!(stage, Stage::Due | Stage::Overdue) || due_at(item).is_some_and(|at| shown.is_this_week(at));
    match (is_stopped || (telling.urgent && !follows_up), telling.urgent, presses) {
        (true, ..) => Urgency::DoNotDrive,
        (false, true, _) => Urgency::Today,
        (false, false, true) => Urgency::ThisWeek,
        (false, false, false) => Urgency::Later,
    }
}

/// The title of a coverage window within that of an item about it: a person typed it.
fn typed_title(item: &DueItem) -> &str {
    match item.kind {
        ItemKind::ClosingCheck | ItemKind::ReturnCheck | ItemKind::CapacityTest | ItemKind::Transfer => {
            item.title.split_once(": ").map_or("", |(_, window)| window)
        }
        ItemKind::Rule
        | ItemKind::Age
        | ItemKind::Paper
        | ItemKind::Baseline
        | ItemKind::BeforeOut
        | ItemKind::ReadingWanted
        | ItemKind::Condition => "",
    }
}

/// The day of an item for calendars: the one it is due on.
pub fn day_of_item(item: &DueItem, shown: &Shown) -> Option<NaiveDate> {
    due_at(item).map(|at| local_day(at, shown.zone))
}

/// The day of a window for calendars: the last to act, else the earliest it may end. A reader who is told the odometer has
/// none.
pub fn day_of_window(window: &WindowOutlook, shown: &Shown) -> Option<NaiveDate> {
    if window.ended.is_some() || is_told_by_odometer(window, shown) {
        return None;
    }
    window.act_by.map(|act| act.book_by).or(window.ends.early)
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
    let language = shown.language();
    let title = || ("title", item.title.as_str().into());
    let on = |day: String| ("day", day.into());
    let over = item.date_limit.is_some_and(|limit| model::day_after(limit, shown.zone) <= shown.reader.now);
    // A paper that nobody has recorded expires on no day: the limit is that of recording it.
    let is_missing = item.cycle.0.starts_with("no-paper:");
    match (item.kind, stage, item.date_limit.filter(|_| !is_missing)) {
        (ItemKind::Condition, ..) | (ItemKind::Paper, _, None) => item.title.clone(),
        (ItemKind::ReadingWanted, ..) => language.say("reading-wanted", []),
        (ItemKind::Paper, _, Some(limit)) => {
            let message = if over { "paper-expired" } else { "paper-expires" };
            language.say(message, [title(), on(language.day(limit))])
        }
        (_, Stage::Overdue, _) => language.say("item-overdue", [title()]),
        (_, Stage::Due, _) => language.say("item-due-now", [title()]),
        (_, Stage::Approaching | Stage::Clear, _) => match item.timeline.due {
            Some(due) if due.basis == Basis::Forecast => {
                language.say("item-likely-due", [title(), on(shown.day_of(due.at))])
            }
            Some(due) => language.say("item-due", [title(), on(shown.day_of(due.at))]),
            None => item.title.clone(),
        },
    }
}

/// When the odometer limit is met, with its uncertainty; not once it has been.
fn item_forecast(item: &DueItem, stage: Stage, shown: &Shown) -> Option<String> {
    let (limit, crossing) = (item.odometer_limit?, item.crossing?);
    let ahead = matches!(stage, Stage::Clear | Stage::Approaching);
    (ahead && is_uncertain(&crossing)).then(|| {
        let band = shown.language().adapted(&band(&crossing)).into_owned();
        let odometer = shown.odometer(limit);
        shown.language().say("item-forecast", [("odometer", odometer.into()), ("band", band.into())])
    })
}

/// Whether a band says more than one day.
fn is_uncertain(band: &Band) -> bool {
    band.likely.is_some() && band.early != band.late
}

/// That nobody has answered, for how long, and whom the first letter reached.
pub fn unanswered(unanswered: &Unanswered, shown: &Shown) -> String {
    let language = shown.language();
    let waited = (shown.reader.now - unanswered.since).max(TimeDelta::zero());
    let (minutes, hours) = (waited.num_minutes(), waited.num_hours());
    let long = if minutes < 120 {
        language.say("minutes-long", [("count", minutes.into())])
    } else if hours < 48 {
        language.say("hours-long", [("count", hours.into())])
    } else {
        language.say("days-long", [("count", waited.num_days().into())])
    };
    let others = unanswered.told.iter().take(NAMED).map(|name| one_line(name, 60));
    let you = unanswered.with_reader.then(|| language.say("you", []));
    let names: Vec<String> = you.into_iter().chain(others.filter(|name| !name.is_empty())).collect();
    if names.is_empty() {
        return language.say("unanswered", [("long", long.into())]);
    }
    let first = [
        ("long", long.into()),
        ("day", shown.day_of(unanswered.since).into()),
        ("time", language.time_of_day(unanswered.since, shown.zone).into()),
        ("names", language.listed(&names).into()),
    ];
    one_line(&language.say("unanswered-by", first), SENTENCE)
}

fn item_because(item: &DueItem, language: Language) -> Vec<String> {
    let mut reasons = Vec::new();
    // Other items say themselves what they cover; of a rule that a grade asks for it is the places.
    if item.kind == ItemKind::Rule && item.grade.is_none() && !item.covers.is_empty() {
        let words = |code: &String| language.adapted(&one_line(&code.replace('-', " "), 60)).into_owned();
        let covers: Vec<String> = item.covers.iter().take(NAMED).map(words).collect();
        reasons.push(language.say("done-along", [("items", language.listed(&covers).into())]));
    }
    if let Some(authority) = &item.authority {
        let authority = one_line(&language.adapted(authority), SENTENCE);
        reasons.push(language.say("says-who", [("authority", authority.trim_end_matches('.').into())]));
    }
    reasons
}

/// A coverage window as a line of a letter.
pub fn window(window: &WindowOutlook, about: About, shown: &Shown) -> ItemLine {
    let now = shown.reader.now;
    let window = &WindowOutlook { title: one_line(&window.title, TITLE), ..window.clone() };
    let (stage, basis) = window.stage_at(now);
    let end = window.ends.early.map(|early| model::day_after(early, shown.zone));
    let ended = stage == WindowStage::Ended;
    let this_week = !ended && end.is_some_and(|end| shown.is_this_week(end));
    let by_odometer = !ended && is_told_by_odometer(window, shown);
    let odometer = window.odometer_limit.filter(|_| by_odometer).map(|limit| shown.odometer(limit));
    let text = if let Some(odometer) = &odometer {
        let title = ("title", window.title.as_str().into());
        shown.language().say("window-ends-on-odometer", [title, ("odometer", odometer.as_str().into())])
    } else {
        let text = window_line(window, if ended { "ended" } else { "" }, shown.unit, shown.zone);
        shown.language().adapted_around(&text, &window.title)
    };
    ItemLine {
        about,
        urgency: if this_week { Urgency::ThisWeek } else { Urgency::Later },
        due_at: end,
        forecast: (odometer.is_none() && !ended)
            .then(|| window_forecast(window, basis, shown.language()))
            .flatten(),
        headline: window_headline(window, stage, odometer, shown.language()),
        text: one_line(&text, SENTENCE),
        because: Vec::new(),
        caution: None,
        links: ItemLinks::default(),
        dated: None,
    }
}

/// A driver can see the odometer, and how soon a date comes depends on how he drives. It ends no lease.
fn is_told_by_odometer(window: &WindowOutlook, shown: &Shown) -> bool {
    let is_warranty = window.kind == model::WindowKind::Warranty;
    shown.reader.role == Role::Driver && is_warranty && window.odometer_limit.is_some()
}

fn window_headline(
    window: &WindowOutlook,
    stage: WindowStage,
    odometer: Option<String>,
    language: Language,
) -> String {
    let title = ("title", window.title.as_str().into());
    match (stage, odometer, window.ends.early) {
        (WindowStage::Ended, ..) => language.say("window-ended", [title]),
        (_, Some(odometer), _) => language.say("window-ends-at", [title, ("odometer", odometer.into())]),
        (_, None, Some(early)) => {
            let is_certain = window.last_day == Some(early);
            let message = if is_certain { "window-ends-after" } else { "window-may-end" };
            language.say(message, [title, ("day", language.day(early).into())])
        }
        (_, None, None) => window.title.clone(),
    }
}

fn window_forecast(window: &WindowOutlook, basis: Option<Basis>, language: Language) -> Option<String> {
    if basis == Some(Basis::Date) || !is_uncertain(&window.ends) {
        return None;
    }
    let band = language.adapted(&band(&window.ends)).into_owned();
    let end = language.say("window-forecast", [("band", band.into())]);
    let first = window.distance_first.map(|share| {
        let percent = format!("{:.0}", (share.clamp(0.0, 1.0) * 100.0).round());
        language.say("window-distance-first", [("percent", percent.into())])
    });
    Some([Some(end), first].into_iter().flatten().collect::<Vec<_>>().join(" "))
}
