//! What every letter of every kind in every language must keep to (R26, R30).

use crate::read::Read;
use crate::samples::samples;
use letters::{Language, compose};
use mail_parser::MessageParser;
use std::collections::BTreeSet;

/// The words of a text, without the signs that only plain text has.
fn words(text: &str) -> Vec<&str> {
    text.split_whitespace().filter(|word| !matches!(*word, "-" | "--")).collect()
}

/// The text of our HTML, with the address of each link after its words as plain text has it.
fn text_of(html: &str) -> String {
    let (_, body) = html.split_once("<body>").expect("a body");
    let mut text = String::new();
    let mut address = None;
    let mut rest = body;
    while let Some((before, tag)) = rest.split_once('<') {
        text.push_str(before);
        let (tag, after) = tag.split_once('>').expect("a whole tag");
        match tag.split_once(' ').map_or(tag, |(name, _)| name) {
            "a" => address = tag.split('"').nth(1),
            "/a" => text = format!("{text}: {} ", address.take().expect("an address")),
            "bdi" | "/bdi" | "span" | "/span" | "strong" | "/strong" => {}
            _ => text.push(' '),
        }
        rest = after;
    }
    // What the engine escapes: the five characters of HTML, the ampersand last.
    let named = [("&#60;", "<"), ("&#62;", ">"), ("&#34;", "\""), ("&#39;", "'"), ("&#38;", "&")];
    named.into_iter().fold(text, |text, (escape, plain)| text.replace(escape, plain))
}

/// Both forms say the same words in the same order.
pub fn assert_same_facts(letter: &Read) {
    let text = text_of(&letter.html);
    assert_eq!(words(&letter.plain), words(&text));
}

/// HTML that loads nothing, runs nothing and contains no tag but the template's.
pub fn assert_harmless(html: &str) {
    let known = [
        "!DOCTYPE", "a", "bdi", "body", "div", "h1", "h2", "h3", "head", "html", "li", "meta", "p", "span",
        "strong", "style", "title", "ul",
    ];
    let tags = html.split('<').skip(1).map(|tag| tag.trim_start_matches('/'));
    let names: BTreeSet<&str> = tags.map(|tag| tag.split([' ', '>']).next().unwrap_or_default()).collect();
    let unknown: Vec<&&str> = names.iter().filter(|name| !known.contains(name)).collect();
    assert!(unknown.is_empty(), "{unknown:?}");
    let lower = html.to_lowercase();
    let attributes: Vec<&str> =
        lower.split('<').filter_map(|tag| tag.split_once('>').map(|(tag, _)| tag)).collect();
    for word in ["src=", "srcset=", "background=", " on", "style="] {
        assert!(!attributes.iter().any(|tag| tag.contains(word)), "{word}");
    }
    let (head, _) = lower.split_once("</head>").expect("a head");
    for word in ["url(", "@import", "@font-face"] {
        assert!(!head.contains(word), "{word}");
    }
}

#[test]
fn r26_both_parts_of_every_kind_say_the_same() {
    for language in Language::ALL {
        for sample in samples(language) {
            let letter = compose(&sample.facts).expect("a letter");
            assert!(letter.bytes.len() < 100 * 1024, "{}", sample.name);
            let read = Read::of(&letter.bytes);
            assert_same_facts(&read);
            assert_harmless(&read.html);
            assert!(read.html.contains(&format!("<html lang=\"{}\">", language.tag())));
        }
    }
}

// RFC 5322, RFC 2919, RFC 3834, RFC 2369 and RFC 8058.
#[test]
fn r26_the_headers_of_every_kind() {
    for language in Language::ALL {
        for sample in samples(language) {
            let bytes = compose(&sample.facts).expect("a letter").bytes;
            let message = MessageParser::new().parse(&bytes).expect("a message");
            let header = |name: &str| {
                message.header_raw(name).map(|value| value.split_whitespace().collect::<String>())
            };
            assert_eq!(header("Auto-Submitted").as_deref(), Some("auto-generated"), "{}", sample.name);
            assert!(header("List-Id").is_some() && message.date().is_some(), "{}", sample.name);
            assert_eq!(message.message_id(), Some(sample.facts.message_id.as_str()));
            let one_click = sample.facts.content.is_optional().then_some("List-Unsubscribe=One-Click");
            assert_eq!(header("List-Unsubscribe-Post").as_deref(), one_click, "{}", sample.name);
            let leads = header("List-Unsubscribe")
                .map(|value| value.starts_with("<https://ostler.fleet.example/links/"));
            assert_eq!(leads, one_click.map(|_| true), "{}", sample.name);
            assert_eq!(header("References"), header("In-Reply-To"));
            assert_eq!(header("References").is_some(), threads(sample.name), "{}", sample.name);
        }
    }
}

/// Overviews, signing in and the test of an address belong to no item.
fn threads(sample: &str) -> bool {
    !matches!(sample, "week-ahead" | "day-ahead" | "sign-in" | "address-test")
}

#[test]
fn letters_led_by_the_same_item_stand_together() {
    let thread = |facts| {
        let bytes = compose(&facts).expect("a letter").bytes;
        let message = MessageParser::new().parse(&bytes).expect("a message");
        message.references().as_text().expect("a thread").to_owned()
    };
    let late = |label: &str| letters::VehicleCard { label: label.to_owned(), ..crate::world::van(3) };
    let of = |card, due| crate::world::letter_of(&[crate::world::tell(card, crate::world::oil(due))]);
    let first = thread(of(late("Van 3"), "2027-03-05"));
    assert_eq!(first, thread(of(late("Van 3, renamed"), "2027-02-05")), "another date, another name");
    assert_ne!(first, thread(of(crate::world::van(4), "2027-03-05")), "another vehicle");
    let mut next = crate::world::oil("2027-03-05");
    next.cycle.0 = "service:2".to_owned();
    assert_ne!(
        first,
        thread(crate::world::letter_of(&[crate::world::tell(late("Van 3"), next)])),
        "another round"
    );
}

#[test]
fn r30_the_template_switches_escaping_off_nowhere() {
    let template = include_str!("../../templates/letter.html");
    for word in ["|safe", "| safe", "|escape", "| escape", "{% filter", "autoescape", "include"] {
        assert!(!template.contains(word), "{word}");
    }
    let attributes: Vec<&str> = template.split("{{").filter(|before| before.ends_with('=')).collect();
    assert_eq!(attributes, Vec::<&str>::new(), "a value without quotes around it");
}

#[test]
fn r30_links_lead_to_the_base_address_alone() {
    for language in Language::ALL {
        for sample in samples(language) {
            let read = Read::of(&compose(&sample.facts).expect("a letter").bytes);
            let of_html = read.html.split("href=\"").skip(1).filter_map(|rest| rest.split('"').next());
            let of_plain = read.plain.split_whitespace().filter(|word| word.contains("://"));
            for address in of_html.chain(of_plain) {
                assert!(address.starts_with(crate::world::BASE), "{}: {address}", sample.name);
            }
        }
    }
}
