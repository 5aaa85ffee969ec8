"""R26, R27, R30: letters of every kind as Python's `email`, `html.parser` and the `icalendar` package read them.

    cargo run -p letters --example every_kind -- FOLDER
    .venv/bin/python tests/oracles/letters_email.py FOLDER

Beside each letter lies what its facts say. Headers without defects and once each; plain text before HTML, with the same words;
no remote content, no scripts, links to the base address alone; calendars with the method of their part, a part for each
method, the expected days, words, revisions and UIDs (RFC 7986, 5.3: a UUID, no host), lines of at most 75 octets. Ends with 1
and what was wrong.
"""

import email
import email.policy
import html.parser
import json
import pathlib
import sys
import uuid

import icalendar

KINDS = {"at_once", "notices", "week_ahead", "day_ahead", "sign_in", "address_test"}
LANGUAGES = {"en-GB", "en-US"}
ONCE = ["From", "To", "Subject", "Date", "Message-ID", "List-Id", "Auto-Submitted", "MIME-Version", "Content-Type"]
ELEMENTS = {"html", "head", "meta", "title", "style", "body", "div", "p", "h1", "h2", "h3", "ul", "li", "span", "strong", "bdi", "a"}
INLINE = {"bdi", "span", "strong", "a"}


class Page(html.parser.HTMLParser):
    """The text of a page, with the address of each link after its words as plain text has it."""

    def __init__(self, source):
        super().__init__()
        self.text, self.links, self.elements, self.attributes = "", [], set(), []
        self.in_body = False
        self.feed(source)
        self.close()

    def handle_starttag(self, tag, attributes):
        self.elements.add(tag)
        self.attributes += attributes
        self.in_body |= tag == "body"
        if tag == "a":
            self.links.append(dict(attributes)["href"])
        if tag not in INLINE:
            self.text += " "

    def handle_endtag(self, tag):
        if tag == "a":
            self.text += f": {self.links[-1]}"
        elif tag not in INLINE:
            self.text += " "

    def handle_data(self, data):
        if self.in_body:
            self.text += data


def words(text):
    return [word for word in text.split() if word not in ("-", "--")]


def check_headers(letter, expected):
    for name in ONCE:
        assert len(letter.get_all(name, [])) == 1, f"{name}: {letter.get_all(name)}"
    for name, value in letter.items():
        assert not value.defects, f"{name}: {value.defects}"
    assert letter["Auto-Submitted"] == "auto-generated"
    assert letter["Message-ID"].strip("<>") == expected["message_id"]
    [to] = letter["To"].addresses
    assert [to.display_name, to.addr_spec] == expected["to"], to
    one_click = [letter["List-Unsubscribe-Post"]] if expected["optional"] else [None]
    assert one_click == (["List-Unsubscribe=One-Click"] if expected["optional"] else [None])
    assert (letter["List-Unsubscribe"] is not None) == expected["optional"]
    assert letter["References"] == letter["In-Reply-To"]


def check_parts(letter, expected):
    alternative = letter if not expected["days"] else letter.get_payload(0)
    assert alternative.get_content_type() == "multipart/alternative"
    plain, page = alternative.iter_parts()
    assert [plain.get_content_type(), page.get_content_type()] == ["text/plain", "text/html"]
    for part in letter.walk():
        assert not part.defects, f"{part.get_content_type()}: {part.defects}"
    plain = plain.get_content()
    page = Page(page.get_content())
    assert words(plain) == words(page.text), "the parts do not say the same"
    for told in expected["told"]:
        assert " ".join(words(told)) in " ".join(words(plain)), f"{told!r} is not told"
    assert page.elements <= ELEMENTS, page.elements - ELEMENTS
    for name, _ in page.attributes:
        assert name in {"lang", "charset", "name", "content", "class", "href"}, name
    for link in page.links:
        assert expected["base_url"] and link.startswith(expected["base_url"]), link


def check_calendars(letter, expected):
    found, methods = [], []
    for part in letter.walk():
        if part.get_content_type() != "text/calendar":
            continue
        octets = part.get_payload(decode=True)
        lines = octets.split(b"\r\n")
        assert all(len(line) <= 75 for line in lines) and b"\n" not in b"".join(lines)
        calendar = icalendar.Calendar.from_ical(octets)
        assert not calendar.errors and calendar["VERSION"] == "2.0" and calendar["PRODID"]
        assert part["Content-Type"].params["method"] == calendar["METHOD"]
        assert part.is_attachment() and part.get_filename().endswith(".ics")
        methods.append(calendar["METHOD"])
        for event in calendar.walk("VEVENT"):
            assert not event.errors, event.errors
            status = {"PUBLISH": "CONFIRMED", "CANCEL": "CANCELLED"}[calendar["METHOD"]]
            assert event["STATUS"] == status and event["ORGANIZER"] == "mailto:ostler@fleet.example"
            assert event["SUMMARY"] and event.decoded("DTSTAMP") == letter["Date"].datetime
            assert event["DTSTART"].params["VALUE"] == "DATE"
            day = event.decoded("DTSTART").isoformat()
            assert uuid.UUID(event["UID"]).version == 8 and str(uuid.UUID(event["UID"])) == event["UID"]
            assert ("DESCRIPTION" in event) == (calendar["METHOD"] == "PUBLISH")
            found.append(
                {
                    "uid": event["UID"],
                    "day": day,
                    "sequence": event["SEQUENCE"],
                    "summary": str(event["SUMMARY"]),
                    "method": calendar["METHOD"],
                }
            )
    assert found == expected["days"], f"{found} for {expected['days']}"
    assert len(set(methods)) == len(methods), f"one method in two parts: {methods}"
    uids = [event["uid"] for event in found]
    assert len(set(uids)) == len(uids), f"one day twice: {uids}"
    return methods


def main(folder):
    seen, wrong, days, both = set(), [], 0, 0
    for path in sorted(pathlib.Path(folder).glob("*.eml")):
        expected = json.loads(path.with_suffix(".json").read_text())
        octets = path.read_bytes()
        try:
            assert octets.isascii() and len(octets) < 100 * 1024
            letter = email.message_from_bytes(octets, policy=email.policy.default)
            for check in (check_headers, check_parts):
                check(letter, expected)
            both += len(check_calendars(letter, expected)) == 2
        except AssertionError as error:
            wrong.append(f"{path.name}: {error}")
        seen.add((expected["kind"], expected["language"]))
        days += len(expected["days"])
    missing = {(kind, language) for kind in KINDS for language in LANGUAGES} - seen
    for line in [*wrong, *(f"no letter of {kind} in {language}" for kind, language in missing)]:
        print(line, file=sys.stderr)
    print(f"{len(seen)} kinds and languages, {days} days in calendars, {both} letters with both methods, {len(wrong)} wrong")
    return 1 if wrong or missing or days < 10 or both < len(LANGUAGES) else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1]))
