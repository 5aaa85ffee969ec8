//! The pages about an item of a vehicle: that it was seen, and that it is wanted later.

use crate::desk::{Desk, Opened, Pressed};
use crate::page::{Button, Choice, Day, Fact, Page};
use crate::words::say;
use chrono::{DateTime, NaiveDate, Utc};
use clerk::ActError;
use clerk::linked::{self, Looked};
use clerk::post::Subject;
use clerk::replies::Topic;
use letters::links::ItemLinks;
use letters::text::one_line;
use letters::{ItemLine, Language, Reader, Telling, Told, VehicleCard, vehicle_lines};
use model::{add_days, local_day};

/// Days that a reminder can be put off by at a press; all lie within what an act allows.
const DAYS: [i64; 6] = [1, 3, 7, 14, 30, 90];

/// The one of them that is chosen as long as nobody chooses another.
const CHOSEN: i64 = 7;

/// Longest reason, in characters.
const REASON: usize = 200;

/// Longest name shown, in characters.
const NAME: usize = 120;

/// Says to have seen it: the page before and after the button.
pub async fn acknowledge(desk: &Desk, opened: Opened, topic: Topic) -> Result<Page, ActError> {
    let pressed = match &opened.pressed {
        Pressed::Button(_) => Some(linked::acknowledge(desk.clerk(), opened.link, topic.clone()).await),
        Pressed::Nothing | Pressed::Blindly | Pressed::OneClick => None,
    };
    let view = View::of(desk, &opened, &topic).await?;
    match pressed.transpose() {
        Err(ActError::Conflict { code, .. }) => Ok(view.refused(code)),
        Err(error) => Err(error),
        Ok(done) => Ok(view.seen(done)),
    }
}

/// Puts it off: the page before and after the button.
pub async fn postpone(desk: &Desk, opened: Opened, topic: Topic) -> Result<Page, ActError> {
    let pressed = match &opened.pressed {
        Pressed::Button(form) => {
            let until = form.get("until").and_then(|day| day.parse::<NaiveDate>().ok()).unwrap_or_default();
            let reason = one_line(form.get("reason").unwrap_or_default(), REASON);
            let reason = if reason.is_empty() { "by a link in a letter".to_owned() } else { reason };
            Some(linked::postpone(desk.clerk(), opened.link, topic.clone(), (until, reason)).await)
        }
        Pressed::Nothing | Pressed::Blindly | Pressed::OneClick => None,
    };
    let view = View::of(desk, &opened, &topic).await?;
    match pressed.transpose() {
        Err(ActError::Conflict { code, .. }) => Ok(view.refused(code)),
        Err(ActError::Faults(_)) => Ok(view.to_put_off(true)),
        Err(error) => Err(error),
        Ok(done) => Ok(view.put_off(done)),
    }
}

/// What a page about an item is made from.
struct View<'o> {
    opened: &'o Opened,
    looked: Looked,
    language: Language,
    now: DateTime<Utc>,
}

impl<'o> View<'o> {
    async fn of(desk: &Desk, opened: &'o Opened, topic: &Topic) -> Result<Self, ActError> {
        let looked = linked::look(desk.clerk(), opened.link, topic).await?;
        let looked = looked.ok_or(ActError::NotFound { kind: "vehicle" })?;
        let language = Language::of(&looked.person.language);
        Ok(Self { opened, looked, language, now: desk.clerk().now() })
    }

    /// That it was seen, or the button to say so.
    fn seen(&self, done: Option<linked::Pressed>) -> Page {
        let language = self.language;
        let own = self.looked.person.role.may_acknowledge();
        let mut page = match (done, self.looked.seen_at) {
            (Some(linked::Pressed::Now), _) => {
                let lead = vec![say(language, "seen-now-what", [])];
                Page::new(200, language, say(language, "seen-now", []), lead)
            }
            (_, Some(at)) => {
                let lead = vec![say(language, "seen-before-when", self.moment(at))];
                Page::new(200, language, say(language, "seen-before", []), lead)
            }
            (_, None) if self.looked.subject.is_none() => return self.refused("over"),
            (_, None) if !own => return self.refused("not-allowed"),
            (_, None) => {
                let title = say(language, "seen-ask", []);
                let mut page = Page::new(self.status(), language, title, self.lead("seen-ask-what"));
                page.buttons.push(self.button("seen", say(language, "seen-button", []), None));
                page
            }
        };
        if self.looked.is_stopped {
            page.warnings.push(say(language, "seen-not-fit", []));
        }
        self.about_it(page)
    }

    /// That it was put off, or the choice of days.
    fn put_off(&self, done: Option<linked::Pressed>) -> Page {
        let language = self.language;
        let Some(until) = self.looked.put_off_until else { return self.to_put_off(false) };
        let day = || [("day", language.long_day(until).into())];
        let page = match done {
            Some(linked::Pressed::Now) => {
                let lead = vec![say(language, "later-now-what", [])];
                Page::new(200, language, say(language, "later-now", day()), lead)
            }
            Some(linked::Pressed::Before) | None => {
                let lead = vec![say(language, "later-before-what", [])];
                Page::new(200, language, say(language, "later-before", day()), lead)
            }
        };
        self.about_it(page)
    }

    /// The choice of days; `is_again` after one that cannot be.
    fn to_put_off(&self, is_again: bool) -> Page {
        let language = self.language;
        if self.looked.subject.is_none() {
            return self.refused("over");
        }
        if self.looked.is_stopped {
            return self.refused("do-not-drive");
        }
        if !self.looked.person.role.may_postpone() {
            return self.refused("not-allowed");
        }
        let status = if is_again { 422 } else { self.status() };
        let title = say(language, "later-ask", []);
        let mut page = Page::new(status, language, title, self.lead("later-ask-what"));
        let choice = Choice {
            question: say(language, "later-question", []),
            fault: is_again.then(|| say(language, "later-fault", [])),
            days: self.days(),
            reason: say(language, "later-reason", []),
        };
        page.buttons.push(self.button("later", say(language, "later-button", []), Some(choice)));
        self.about_it(page)
    }

    fn days(&self) -> Vec<Day> {
        let today = local_day(self.now, self.looked.vehicle.zone);
        let day = |days: i64| {
            let day = add_days(today, days);
            let long = ("day", self.language.long_day(day).into());
            let words = say(self.language, "later-day", [long, ("count", days.into())]);
            Day { value: day.to_string(), words, is_chosen: days == CHOSEN }
        };
        DAYS.into_iter().map(day).collect()
    }

    /// Why it cannot be done.
    fn refused(&self, code: &str) -> Page {
        let language = self.language;
        let page = match code {
            "over" => {
                let lead = vec![say(language, "over-why", [])];
                return Page::new(410, language, say(language, "over", []), lead);
            }
            "do-not-drive" => {
                let lead = vec![say(language, "cannot-wait-why", [])];
                Page::new(409, language, say(language, "cannot-wait", []), lead)
            }
            _ => {
                let lead = vec![say(language, "not-allowed-why", [])];
                return Page::new(403, language, say(language, "not-allowed", []), lead);
            }
        };
        self.about_it(page)
    }

    /// A press without the button's code is told that it did nothing.
    const fn status(&self) -> u16 {
        match self.opened.pressed {
            Pressed::Nothing | Pressed::Button(_) => 200,
            Pressed::Blindly | Pressed::OneClick => 400,
        }
    }

    fn lead(&self, what: &str) -> Vec<String> {
        let nothing_yet = say(self.language, "nothing-yet", []);
        vec![nothing_yet, say(self.language, what, [])]
    }

    fn button(&self, press: &'static str, words: String, choice: Option<Choice>) -> Button {
        Button { code: self.opened.button.clone(), press, words, choice }
    }

    fn moment(&self, at: DateTime<Utc>) -> [letters::Argument<'static>; 2] {
        let zone = self.looked.person.zone;
        let time = self.language.time_of_day(at, zone);
        [("time", time.into()), ("day", self.language.day(local_day(at, zone)).into())]
    }

    /// The page with the vehicle, the item in words, and whose link it is.
    fn about_it(&self, mut page: Page) -> Page {
        let language = self.language;
        let person = &self.looked.person;
        if self.looked.is_stopped && page.warnings.is_empty() {
            page.warnings.push(say(language, "not-fit", []));
        }
        page.facts.push(Fact { name: say(language, "vehicle", []), said: self.vehicle() });
        if let Some(line) = self.line() {
            let said = [line.text].into_iter().chain(line.forecast).chain(line.because).collect();
            page.facts.push(Fact { name: say(language, "what", []), said });
            if let Some(caution) = line.caution {
                page.facts.push(Fact { name: say(language, "caution", []), said: vec![caution] });
            }
        }
        page.facts.push(Fact { name: say(language, "who", []), said: vec![one_line(&person.name, NAME)] });
        let fleet = one_line(&self.looked.fleet.name, NAME);
        page.facts.push(Fact { name: say(language, "fleet", []), said: vec![fleet] });
        if !page.buttons.is_empty() {
            page.small.push(say(language, "good-until", self.moment(self.opened.good_until)));
            page.small.push(say(language, "not-you", []));
        }
        page
    }

    fn vehicle(&self) -> Vec<String> {
        let vehicle = &self.looked.vehicle;
        let plate = vehicle.plate.iter().map(|plate| one_line(plate, NAME));
        let known_by: Vec<String> = plate.chain([one_line(&vehicle.make_model, NAME)]).collect();
        vec![one_line(&vehicle.label, NAME), known_by.join(", ")]
    }

    /// The item as a letter to this person says it.
    fn line(&self) -> Option<ItemLine> {
        let vehicle = &self.looked.vehicle;
        let telling = Telling {
            vehicle: VehicleCard {
                id: vehicle.id,
                label: vehicle.label.clone(),
                plate: vehicle.plate.clone(),
                make_model: vehicle.make_model.clone(),
                odometer_unit: vehicle.odometer_unit,
                zone: vehicle.zone,
            },
            urgent: false,
            mark: String::new(),
            told: match self.looked.subject.clone()? {
                Subject::Item(item) => Told::Item(item),
                Subject::Window(window) => Told::Window(window),
            },
            reason: self.looked.reason.clone(),
            unanswered: None,
            links: ItemLinks::default(),
            calendar: None,
        };
        let reader = Reader { role: self.looked.person.role, now: self.now, language: self.language };
        vehicle_lines(&[telling], reader).into_iter().flat_map(|line| line.items).next()
    }
}
