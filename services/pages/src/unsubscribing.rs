//! The page that ends an optional kind of letter, and lets it come again.

use crate::desk::{Desk, Opened, Pressed};
use crate::page::{Button, Fact, Page};
use crate::words::say;
use clerk::ActError;
use clerk::linked::{self, Declines};
use letters::Language;
use letters::text::one_line;
use model::{OptionalLetter, Person, local_day};

/// The value of the button that lets letters come again.
const AGAIN: &str = "again";

/// Longest name shown, in characters.
const NAME: usize = 120;

/// Letters of a kind, ended or wanted again: the page before and after a button.
pub async fn page(desk: &Desk, opened: Opened, letter: OptionalLetter) -> Result<Page, ActError> {
    let wanted = match &opened.pressed {
        Pressed::Button(form) if form.get("press") == Some(AGAIN) => Some(Declines::NoLonger),
        Pressed::OneClick | Pressed::Button(_) => Some(Declines::From),
        Pressed::Nothing | Pressed::Blindly => None,
    };
    let pressed = match wanted {
        Some(wanted) => Some((wanted, linked::decline(desk.clerk(), opened.link, letter, wanted).await?)),
        None => None,
    };
    let found = linked::holder(desk.clerk(), opened.link).await?;
    let (fleet, person) = found.ok_or(ActError::NotFound { kind: "person" })?;
    let mut page = shown(&opened, letter, &person, pressed);
    let facts = [("who", person.name), ("fleet", fleet.name)];
    for (name, said) in facts {
        page.facts.push(Fact { name: say(page.language, name, []), said: vec![one_line(&said, NAME)] });
    }
    Ok(page)
}

fn shown(
    opened: &Opened,
    letter: OptionalLetter,
    person: &Person,
    pressed: Option<(Declines, linked::Pressed)>,
) -> Page {
    let language = Language::of(&person.language);
    let kind = || [("letters", kind_of(letter, language).into())];
    let title = match (pressed, person.declines(letter)) {
        (Some((Declines::From, linked::Pressed::Now)), _) => say(language, "ended-now", kind()),
        (Some((Declines::NoLonger, linked::Pressed::Now)), _) => say(language, "again-now", kind()),
        (Some((Declines::NoLonger, linked::Pressed::Before)), _) => say(language, "again-before", kind()),
        (Some((Declines::From, linked::Pressed::Before)) | None, true) => {
            say(language, "ended-before", kind())
        }
        (Some((Declines::From, linked::Pressed::Before)) | None, false) => say(language, "end-ask", kind()),
    };
    let is_asked = pressed.is_none() && !person.declines(letter);
    let nothing_yet = is_asked.then(|| say(language, "nothing-yet", []));
    let lead = nothing_yet.into_iter().chain([say(language, "still-told", [])]).collect();
    let status = if opened.pressed == Pressed::Blindly { 400 } else { 200 };
    let mut page = Page::new(status, language, title, lead);
    let (press, words) = if person.declines(letter) {
        (AGAIN, say(language, "again-button", kind()))
    } else {
        ("end", say(language, "end-button", kind()))
    };
    page.buttons.push(Button { code: opened.button.clone(), press, words, choice: None });
    let zone = person.zone;
    let time = language.time_of_day(opened.good_until, zone);
    let until = [("time", time.into()), ("day", language.day(local_day(opened.good_until, zone)).into())];
    page.small.push(say(language, "good-until", until));
    if is_asked {
        page.small.push(say(language, "not-you", []));
    }
    page
}

fn kind_of(letter: OptionalLetter, language: Language) -> String {
    match letter {
        OptionalLetter::WeekAhead => say(language, "kind-week-ahead", []),
        OptionalLetter::DayAhead => say(language, "kind-day-ahead", []),
    }
}
