//! The languages of letters: which of them a person reads, and what is said in it.
//!
//! All words of this crate stand in `messages/`, one file a language, in the Fluent format. Sentences of the engine, of
//! gauges and of shipped rulebooks are British English; [`Language::adapted`] puts them in the reader's.

mod spelling;

use chrono::{DateTime, Datelike, NaiveDate, Utc};
use chrono_tz::Tz;
use fluent_bundle::concurrent::FluentBundle;
use fluent_bundle::{FluentArgs, FluentResource, FluentValue};
use std::borrow::Cow;
use std::sync::LazyLock;
use unic_langid::LanguageIdentifier;

/// A language that letters are written in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default)]
pub enum Language {
    /// British English, `en-GB`: also for whoever reads none of the others.
    #[default]
    British,
    /// American English, `en-US`.
    American,
}

/// An argument of a message.
pub type Argument<'a> = (&'static str, FluentValue<'a>);

type Messages = FluentBundle<FluentResource>;

static WORDS: LazyLock<Words> = LazyLock::new(|| {
    Words::new(include_str!("../messages/en-GB.ftl"), include_str!("../messages/en-US.ftl"))
});

/// The messages of one room in every language.
pub struct Words {
    british: Messages,
    american: Messages,
}

impl Words {
    /// The messages of these files, in the Fluent format.
    pub fn new(british: &str, american: &str) -> Self {
        Self {
            british: messages(Language::British, british),
            american: messages(Language::American, american),
        }
    }

    /// The message with this id. One that does not exist is its id: a test of its room finds none.
    pub fn say<const N: usize>(&self, language: Language, id: &str, arguments: [Argument<'_>; N]) -> String {
        let messages = match language {
            Language::British => &self.british,
            Language::American => &self.american,
        };
        let Some(pattern) = messages.get_message(id).and_then(|message| message.value()) else {
            return id.to_owned();
        };
        let arguments: FluentArgs<'_> = arguments.into_iter().collect();
        messages.format_pattern(pattern, Some(&arguments), &mut Vec::new()).into_owned()
    }
}

/// The messages of one file. A message that cannot be read is left out, and a test finds none.
fn messages(language: Language, text: &str) -> Messages {
    let resource =
        FluentResource::try_new(text.to_owned()).unwrap_or_else(|(what_can_be_read, _)| what_can_be_read);
    let mut bundle = Messages::new_concurrent(vec![language.identifier()]);
    // The marks that set an argument apart are for texts of two directions; names come without such marks.
    bundle.set_use_isolating(false);
    bundle.add_resource_overriding(resource);
    bundle
}

impl Language {
    /// Every language, the one to fall back to first.
    pub const ALL: [Self; 2] = [Self::British, Self::American];

    /// Its tag (BCP 47).
    pub const fn tag(self) -> &'static str {
        match self {
            Self::British => "en-GB",
            Self::American => "en-US",
        }
    }

    /// The language for a person whose tag this is: the one of the same language and region, else British English.
    ///
    /// A likely region is never put in: whoever says no more than `en`, or is in a third country, must not be taken for an
    /// American because most who write English are.
    pub fn of(tag: &str) -> Self {
        // What follows a subtag of one letter is an extension, or of private use (RFC 5646, 2.2.6 and 2.2.7).
        let plain: Vec<&str> = tag.trim().split(['-', '_']).take_while(|subtag| subtag.len() > 1).collect();
        let Ok(wanted) = plain.join("-").parse::<LanguageIdentifier>() else { return Self::default() };
        let is_wanted = |offered: &Self| {
            let offered = offered.identifier();
            (offered.language, offered.region) == (wanted.language, wanted.region)
        };
        Self::ALL.into_iter().find(is_wanted).unwrap_or_default()
    }

    fn identifier(self) -> LanguageIdentifier {
        self.tag().parse().unwrap_or_default()
    }

    /// The message with this id. One that does not exist is its id: a test finds none.
    pub(crate) fn say<const N: usize>(self, id: &str, arguments: [Argument<'_>; N]) -> String {
        WORDS.say(self, id, arguments)
    }

    /// A civil day: `3 Sep 2026`, or `Sep 3, 2026`.
    pub fn day(self, day: NaiveDate) -> String {
        let month = self.say("month", [("number", day.month().into())]);
        self.say("day", [("day", day.day().to_string().into()), ("month", month.into()), year(day)])
    }

    /// A civil day with its name: `Tuesday 2 Mar 2027`.
    pub fn long_day(self, day: NaiveDate) -> String {
        let weekday = self.say("weekday", [("number", day.weekday().number_from_monday().into())]);
        self.say("weekday-and-day", [("weekday", weekday.into()), ("day", self.day(day).into())])
    }

    /// The time of day of an instant in a zone: `07:45`, or `7:45 AM`.
    pub fn time_of_day(self, at: DateTime<Utc>, zone: Tz) -> String {
        let form = match self {
            Self::British => "%H:%M",
            Self::American => "%-I:%M %p",
        };
        at.with_timezone(&zone).format(form).to_string()
    }

    /// `items` as a person lists them: `a, b and c`.
    pub(crate) fn listed(self, items: &[String]) -> String {
        match items {
            [] => String::new(),
            [only] => only.clone(),
            [firsts @ .., last] => {
                self.say("and", [("firsts", firsts.join(", ").into()), ("last", last.as_str().into())])
            }
        }
    }

    /// A British text of the program in this language: its spelling, its words of the trade, its dates.
    pub fn adapted(self, british: &str) -> Cow<'_, str> {
        match self {
            Self::British => Cow::Borrowed(british),
            Self::American => Cow::Owned(spelling::american(british)),
        }
    }

    /// Like [`Self::adapted`], but for what a person typed within it, which stays as it is.
    pub(crate) fn adapted_around(self, british: &str, typed: &str) -> String {
        if typed.is_empty() {
            return self.adapted(british).into_owned();
        }
        let pieces: Vec<String> =
            british.split(typed).map(|piece| self.adapted(piece).into_owned()).collect();
        pieces.join(typed)
    }
}

fn year(day: NaiveDate) -> Argument<'static> {
    ("year", day.year().to_string().into())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_person_reads_the_nearest_language_there_is() {
        let cases = [
            ("en-GB", Language::British),
            ("en-US", Language::American),
            ("en-us", Language::American),
            ("en-US-x-fleet", Language::American),
            ("en", Language::British),
            ("en-Latn-US", Language::American),
            ("en-AU", Language::British),
            ("de", Language::British),
            ("und", Language::British),
            ("", Language::British),
            ("no tag at all", Language::British),
        ];
        for (tag, language) in cases {
            assert_eq!(Language::of(tag), language, "{tag}");
        }
    }

    #[test]
    fn days_are_written_as_they_are_read() {
        let day: NaiveDate = "2026-09-03".parse().expect("a day");
        assert_eq!(Language::British.long_day(day), "Thursday 3 Sep 2026");
        assert_eq!(Language::American.long_day(day), "Thursday, Sep 3, 2026");
    }

    #[test]
    fn a_british_day_is_the_engines() {
        for month in 1..=12 {
            let day = NaiveDate::from_ymd_opt(2027, month, 9).expect("a day");
            assert_eq!(Language::British.day(day), engine::words::day(day));
            assert_eq!(Language::American.adapted(&engine::words::day(day)), Language::American.day(day));
        }
    }

    #[test]
    fn a_list_reads_like_a_sentence() {
        let words = |text: &str| text.split(' ').map(str::to_owned).collect::<Vec<_>>();
        for language in Language::ALL {
            assert_eq!(language.listed(&[]), "");
            assert_eq!(language.listed(&words("a")), "a");
            assert_eq!(language.listed(&words("a b")), "a and b");
            assert_eq!(language.listed(&words("a b c")), "a, b and c");
        }
    }

    #[test]
    fn what_a_person_typed_keeps_its_spelling() {
        let text = "Check the tyre: Tyre Centre Bow cover, by 3 Sep 2026";
        assert_eq!(
            Language::American.adapted_around(text, "Tyre Centre Bow cover"),
            "Check the tire: Tyre Centre Bow cover, by Sep 3, 2026"
        );
    }
}
