//! From the content of a letter to its words in order: what comes first, what is folded, what is left out.

use crate::content::{Content, Tally, Unreachable};
use crate::days::CalendarChanges;
use crate::document::{Closing, Document, Entry, Item, Link, Said, Section};
use crate::language::Language;
use crate::line::{ItemLine, Urgency, VehicleLine};
use crate::text::one_line;
use chrono::NaiveDate;
use chrono_tz::Tz;

/// Reasons shown under an item.
const MOST_REASONS: usize = 6;

/// People named whom no letter reaches, at most (house setting, no source).
const MOST_UNREACHABLE: usize = 10;

/// What frames the lines of a letter.
pub(crate) struct Frame<'a> {
    /// The reader's language.
    pub language: Language,
    /// The subject.
    pub subject: &'a str,
    /// The fleet's name.
    pub fleet: &'a str,
    /// The day the letter is written, as the reader counts it.
    pub day: NaiveDate,
    /// The reader's zone.
    pub zone: Tz,
    /// Who reads.
    pub reader: &'a str,
    /// Where the list is shown.
    pub base_url: Option<&'a str>,
    /// What else changes in the reader's calendar.
    pub changes: &'a CalendarChanges,
}

/// A letter with the first `most` of its items.
pub(crate) fn document(frame: &Frame<'_>, content: &Content, most: usize) -> Document {
    let language = frame.language;
    let heading = [("fleet", frame.fleet.into()), ("day", language.long_day(frame.day).into())];
    let left_out = items(content, frame.changes).saturating_sub(most);
    Document {
        language,
        subject: frame.subject.to_owned(),
        heading: language.say("heading", heading),
        intro: intro(frame, content),
        action: action(language, content),
        sections: sections(frame, content, most),
        left_out: (left_out > 0).then(|| language.say("not-shown", [("count", left_out.into())])),
        closing: closing(frame, content),
    }
}

/// How many items there are to tell.
pub(crate) fn items(content: &Content, changes: &CalendarChanges) -> usize {
    let lines = content.lines().into_iter().chain(&changes.moved);
    lines.map(|line| line.items.len()).sum::<usize>() + changes.no_longer.len()
}

/// The lines with their first `most` items; `most` is what is left of it then.
pub(crate) fn first_items<'a>(
    lines: impl IntoIterator<Item = &'a VehicleLine>,
    most: &mut usize,
) -> Vec<VehicleLine> {
    let mut kept = Vec::new();
    for line in lines {
        let items: Vec<ItemLine> = line.items.iter().take(*most).cloned().collect();
        *most -= items.len();
        if !items.is_empty() {
            kept.push(VehicleLine { items, ..line.clone() });
        }
    }
    kept
}

fn intro(frame: &Frame<'_>, content: &Content) -> Vec<String> {
    let language = frame.language;
    let fleet = || ("fleet", frame.fleet.into());
    match content {
        Content::AtOnce(_) | Content::Notices(_) => Vec::new(),
        Content::WeekAhead(week) => {
            let brings = (!week.lines.is_empty())
                .then(|| language.say("digest-week", [("count", week.lines.len().into())]));
            let tally = Some(tally(language, &week.tally).join(" ")).filter(|tally| !tally.is_empty());
            brings.into_iter().chain(tally).chain(unreachable(language, &week.unreachable)).collect()
        }
        Content::DayAhead(day) => {
            vec![language.say("tomorrow", [("day", language.long_day(day.day).into())])]
        }
        Content::SignIn(sign_in) => {
            let day = model::local_day(sign_in.good_until, frame.zone);
            let time = language.time_of_day(sign_in.good_until, frame.zone);
            let until = [("time", time.into()), ("day", language.day(day).into())];
            vec![
                language.say("sign-in", [fleet()]),
                language.say("sign-in-until", until),
                language.say("sign-in-not-you", []),
            ]
        }
        Content::AddressTest => vec![language.say("address-test", [fleet()])],
    }
}

/// Whom no letter reaches, one by one, and of more than a few how many there are.
fn unreachable(language: Language, people: &[Unreachable]) -> Vec<String> {
    let one = |person: &Unreachable| {
        let said = [
            ("name", one_line(&person.name, 100).into()),
            ("day", language.day(person.since).into()),
            ("reply", one_line(&person.reply, 200).into()),
        ];
        language.say("unreachable", said)
    };
    let more = people.len().saturating_sub(MOST_UNREACHABLE);
    let rest = (more > 0).then(|| language.say("unreachable-more", [("count", more.into())]));
    people.iter().take(MOST_UNREACHABLE).map(one).chain(rest).collect()
}

fn tally(language: Language, tally: &Tally) -> Vec<String> {
    let said = [
        ("tally-do-not-drive", tally.do_not_drive),
        ("tally-overdue", tally.overdue),
        ("tally-readings", tally.readings_wanted),
        ("tally-held", tally.held),
        ("tally-off-road", tally.off_road),
    ];
    let said = said.into_iter().filter(|(_, count)| *count > 0);
    said.map(|(message, count)| language.say(message, [("count", count.into())])).collect()
}

fn action(language: Language, content: &Content) -> Option<Link> {
    let Content::SignIn(sign_in) = content else { return None };
    Some(Link { words: language.say("sign-in-button", []), address: sign_in.link.clone() })
}

fn sections(frame: &Frame<'_>, content: &Content, most: usize) -> Vec<Section> {
    let mut left = most;
    let mut sections = match content {
        Content::DayAhead(day) => {
            let mut sections = Vec::new();
            for depot in &day.depots {
                let lines = first_items(&depot.lines, &mut left);
                let entries = lines.iter().map(|line| whole(frame, content, line)).collect();
                let title = one_line(&depot.depot, 100);
                sections.push(Section { tone: "calm", title, entries });
            }
            sections.retain(|section| !section.entries.is_empty());
            sections
        }
        _ => by_urgency(frame, content, &first_items(content.lines(), &mut left)),
    };
    sections.extend(moved(frame, &mut left));
    sections.extend(no_longer(frame, left));
    sections
}

/// The lines, which are in order, in a section for each urgency. Where something presses, the rest is folded.
fn by_urgency(frame: &Frame<'_>, content: &Content, lines: &[VehicleLine]) -> Vec<Section> {
    let language = frame.language;
    let presses = lines.iter().any(|line| line.urgency() != Urgency::Later);
    lines
        .chunk_by(|one, other| one.urgency() == other.urgency())
        .map(|lines| {
            let urgency = lines.first().map_or(Urgency::Later, VehicleLine::urgency);
            let is_folded = presses && urgency == Urgency::Later;
            let entry = |line| if is_folded { folded(line) } else { whole(frame, content, line) };
            let (tone, title) = match urgency {
                Urgency::DoNotDrive => ("stop", language.say("section-do-not-drive", [])),
                Urgency::Today => ("soon", language.say("section-today", [])),
                Urgency::ThisWeek => ("soon", language.say("section-this-week", [])),
                Urgency::Later if is_folded => ("calm", language.say("section-rest", [])),
                Urgency::Later => ("calm", language.say("section-later", [])),
            };
            Section { tone, title, entries: lines.iter().map(entry).collect() }
        })
        .collect()
}

fn entry(line: &VehicleLine, said: Said) -> Entry {
    let plate = line.plate.as_deref().into_iter();
    let known: Vec<&str> = plate.chain([line.make_model.as_str()]).filter(|part| !part.is_empty()).collect();
    let known_by = if known.is_empty() { String::new() } else { format!("({})", known.join(", ")) };
    let is_stopped = line.urgency() == Urgency::DoNotDrive;
    Entry { is_stopped, name: line.label.clone(), known_by, said }
}

/// One short line.
fn folded(line: &VehicleLine) -> Entry {
    let texts: Vec<&str> = line.items.iter().map(|item| item.text.as_str()).collect();
    entry(line, Said::Line(texts.join("; ")))
}

fn whole(frame: &Frame<'_>, content: &Content, line: &VehicleLine) -> Entry {
    let language = frame.language;
    let is_stopped = line.urgency() == Urgency::DoNotDrive;
    let mut orders = Vec::new();
    if is_stopped {
        orders.push(take_the_key(frame, content));
        let stopped = line.items.iter().filter(|item| item.urgency == Urgency::DoNotDrive);
        for text in stopped.filter_map(|item| item.caution.as_deref()) {
            let caution = caution(language, text);
            if !orders.contains(&caution) {
                orders.push(caution);
            }
        }
    }
    let items = line.items.iter().map(|line| item(language, line)).collect();
    entry(line, Said::Whole { orders, items })
}

/// One item; reasons are left out where nothing presses, and cautions too.
fn item(language: Language, line: &ItemLine) -> Item {
    let presses = line.urgency != Urgency::Later;
    let reasons = line.because.iter().take(if presses { MOST_REASONS } else { 0 });
    // What must not be driven has its cautions before the items.
    let cautions = matches!(line.urgency, Urgency::Today | Urgency::ThisWeek);
    let links = [("seen", &line.links.seen), ("postpone", &line.links.postpone)];
    Item {
        text: line.text.clone(),
        notes: line.forecast.iter().chain(reasons).cloned().collect(),
        caution: line.caution.as_deref().filter(|_| cautions).map(|text| caution(language, text)),
        links: links
            .into_iter()
            .filter_map(|(message, address)| {
                Some(Link { words: language.say(message, []), address: address.clone()? })
            })
            .collect(),
    }
}

pub(crate) fn caution(language: Language, text: &str) -> String {
    language.say("caution", [("text", text.into())])
}

/// What to do with a vehicle that must not be driven. Whoever would have to ring himself is told so.
fn take_the_key(frame: &Frame<'_>, content: &Content) -> String {
    let name = content.ring().map(|name| one_line(name, 100)).filter(|name| !name.is_empty());
    match name {
        Some(name) if name == frame.reader => frame.language.say("take-the-key-yourself", []),
        Some(name) => frame.language.say("take-the-key", [("name", name.into())]),
        None => frame.language.say("take-the-key-manager", []),
    }
}

/// What has another day than the reader was told, in a short line a vehicle.
fn moved(frame: &Frame<'_>, most: &mut usize) -> Option<Section> {
    let entries: Vec<Entry> = first_items(&frame.changes.moved, most).iter().map(folded).collect();
    let title = frame.language.say("section-moved", []);
    (!entries.is_empty()).then_some(Section { tone: "calm", title, entries })
}

fn no_longer(frame: &Frame<'_>, most: usize) -> Option<Section> {
    let gone = frame.changes.no_longer.iter().take(most).map(|gone| &gone.dated.shown);
    let entries: Vec<Entry> = gone
        .map(|shown| Entry {
            is_stopped: false,
            name: one_line(&shown.label, 60),
            known_by: String::new(),
            said: Said::Line(one_line(&shown.what, 100)),
        })
        .collect();
    let title = frame.language.say("section-no-longer", []);
    (!entries.is_empty()).then_some(Section { tone: "calm", title, entries })
}

fn closing(frame: &Frame<'_>, content: &Content) -> Vec<Closing> {
    let language = frame.language;
    let link = |message, address: &str| {
        Closing::Link(Link { words: language.say(message, []), address: address.to_owned() })
    };
    // Who signs in has one link to press.
    let shows_list = !matches!(content, Content::SignIn(_));
    let list = frame.base_url.filter(|_| shows_list).map(|base_url| link("whole-list", base_url));
    let words = Closing::Words(language.say("who-writes", [("fleet", frame.fleet.into())]));
    let end = content.unsubscribe().map(|address| link("unsubscribe", address));
    list.into_iter().chain([words]).chain(end).collect()
}
