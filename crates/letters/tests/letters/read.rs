//! A letter as a parser that is not ours reads it.

use mail_parser::{HeaderName, Message, MessageParser, MimeHeaders, PartType};
use std::fmt::Write as _;

/// A letter, decoded.
pub struct Read {
    pub headers: String,
    pub plain: String,
    pub html: String,
    /// Content-Type with its method, and the text.
    pub calendars: Vec<(String, String)>,
}

impl Read {
    pub fn of(bytes: &[u8]) -> Self {
        let text = std::str::from_utf8(bytes).expect("ASCII");
        let (headers, _) = text.split_once("\r\n\r\n").expect("headers and a body");
        let message = MessageParser::new().parse(bytes).expect("a message");
        assert_eq!((message.text_body.len(), message.html_body.len()), (1, 1), "one letter in two forms");
        let text = |text: &str| text.replace("\r\n", "\n");
        Self {
            headers: text(headers),
            plain: text(message.body_text(0).expect("plain text").as_ref()),
            html: text(&html(&message)),
            calendars: calendars(&message),
        }
    }

    /// All of it but the head of the HTML, for a person to read.
    pub fn shown(&self) -> String {
        let (_, body) = self.html.split_once("</head>").expect("a head");
        let mut shown = format!("{}\n\n{}\n{body}", self.headers, self.plain);
        for (content_type, text) in &self.calendars {
            write!(shown, "\n{content_type}\n{}", text.replace("\r\n", "\n")).expect("a String");
        }
        shown
    }
}

fn html(message: &Message<'_>) -> String {
    let part = message.html_part(0).expect("HTML");
    match &part.body {
        PartType::Html(html) => html.to_string(),
        other => panic!("no HTML: {other:?}"),
    }
}

fn calendars(message: &Message<'_>) -> Vec<(String, String)> {
    let parts = message.parts.iter().filter(|part| part.is_content_type("text", "calendar"));
    parts
        .map(|part| {
            let PartType::Text(text) = &part.body else { panic!("a calendar is text") };
            let content_type = part.content_type().expect("a Content-Type");
            let method = content_type.attribute("method").expect("a method");
            assert!(part.headers.iter().any(|header| header.name == HeaderName::ContentDisposition));
            (format!("text/calendar; method={method}"), text.to_string())
        })
        .collect()
}
