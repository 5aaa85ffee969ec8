//! R18: a letter without what is attached, read by a parser that is not ours.

use crate::samples::samples;
use letters::{Language, compose, without_attachments};
use mail_parser::{Message, MessageParser, MimeHeaders};

fn read(bytes: &[u8]) -> Message<'_> {
    MessageParser::default().parse(bytes).expect("a message")
}

/// The headers as they stand, but for the type of the body.
fn headers(message: &Message<'_>) -> Vec<(String, String)> {
    let all = message.headers_raw().map(|(name, value)| (name.to_owned(), value.trim().to_owned()));
    all.filter(|(name, _)| !name.eq_ignore_ascii_case("content-type")).collect()
}

#[test]
fn r18_what_is_attached_is_left_out_and_all_else_stays() {
    let mut lightened = 0;
    for language in Language::ALL {
        for sample in samples(language) {
            let whole = compose(&sample.facts).expect("a letter").bytes;
            let lighter = without_attachments(&whole);
            let message = read(&whole);
            assert_eq!(lighter.is_some(), message.attachment_count() > 0, "{}", sample.name);
            let Some(lighter) = lighter else { continue };
            let less = read(&lighter);
            assert_eq!(less.attachment_count(), 0, "{}", sample.name);
            assert!(less.content_type().is_some_and(|kind| kind.ctype() == "multipart"), "{}", sample.name);
            assert_eq!(headers(&less), headers(&message), "{}", sample.name);
            assert_eq!(less.body_text(0), message.body_text(0), "{}", sample.name);
            assert_eq!(less.body_html(0), message.body_html(0), "{}", sample.name);
            assert!(lighter.len() < whole.len() && lighter.ends_with(b"\r\n"), "{}", sample.name);
            assert_eq!(without_attachments(&lighter), None, "{}", sample.name);
            lightened += 1;
        }
    }
    assert!(lightened >= 4, "{lightened} letters with something attached");
}

#[test]
fn what_is_no_letter_of_ours_is_left_alone() {
    let headless = b"no message at all".as_slice();
    let plain = b"Content-Type: text/plain\r\n\r\n--x\r\nText\r\n--x--\r\n".as_slice();
    let endless = b"Content-Type: multipart/mixed; boundary=\"x\"\r\n\r\n--x\r\nText".as_slice();
    let unnamed = b"Content-Type: multipart/mixed\r\n\r\n--x\r\nText\r\n--x--\r\n".as_slice();
    for odd in [headless, plain, endless, unnamed, b"", &[0xff, 0x00]] {
        assert_eq!(without_attachments(odd), None, "{odd:?}");
    }
}
