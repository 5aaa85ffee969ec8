//! British texts of the program in American English: spelling, words of the trade, days, percentages.
//!
//! The pairs are those of which both sides stand in dictionaries (for spelling: the lists of words `wbritish` and
//! `wamerican` of Debian, which a check holds the program's texts against); words of the trade: common practice, no
//! source. Words that mean something else in the other English are left alone where the context does not say which is
//! meant, such as "boot", which here is always the rubber one.

/// British and American, in small letters; what has several words stands before its parts.
const PAIRS: [(&str, &str); 52] = [
    ("number plate", "license plate"),
    ("wheel nuts", "lug nuts"),
    ("wheel nut", "lug nut"),
    ("reversing light", "backup light"),
    ("reversing lamp", "backup lamp"),
    ("aluminium", "aluminum"),
    ("bonnet", "hood"),
    ("bonnets", "hoods"),
    ("centimetre", "centimeter"),
    ("centimetres", "centimeters"),
    ("centre", "center"),
    ("centred", "centered"),
    ("centres", "centers"),
    ("colour", "color"),
    ("coloured", "colored"),
    ("colours", "colors"),
    ("demineralised", "demineralized"),
    ("fibre", "fiber"),
    ("fibres", "fibers"),
    ("gearbox", "transmission"),
    ("grey", "gray"),
    ("handbrake", "parking brake"),
    ("judgement", "judgment"),
    ("kerb", "curb"),
    ("kerbs", "curbs"),
    ("kerbside", "curbside"),
    ("kilometre", "kilometer"),
    ("kilometres", "kilometers"),
    ("labelled", "labeled"),
    ("licence", "license"),
    ("licences", "licenses"),
    ("litre", "liter"),
    ("litres", "liters"),
    ("metre", "meter"),
    ("metres", "meters"),
    ("millimetre", "millimeter"),
    ("millimetres", "millimeters"),
    ("mould", "mold"),
    ("neighbour", "neighbor"),
    ("neighbouring", "neighboring"),
    ("neighbours", "neighbors"),
    ("odour", "odor"),
    ("organisation", "organization"),
    ("petrol", "gasoline"),
    ("recognised", "recognized"),
    ("specialised", "specialized"),
    ("travelled", "traveled"),
    ("tyre", "tire"),
    ("tyres", "tires"),
    ("vapour", "vapor"),
    ("windscreen", "windshield"),
    ("windscreens", "windshields"),
];

const MONTHS: [&str; 12] =
    ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"];

/// `british` in American English.
pub(super) fn american(british: &str) -> String {
    let mut american = String::with_capacity(british.len());
    let mut rest = british;
    let mut before = None;
    while let Some(first) = rest.chars().next() {
        let starts_word = first.is_alphanumeric() && !before.is_some_and(char::is_alphanumeric);
        let replaced = if starts_word { day(rest).or_else(|| word(rest)) } else { percent(rest, before) };
        let (text, length) = replaced.unwrap_or_else(|| (first.to_string(), first.len_utf8()));
        american.push_str(&text);
        before = rest[..length].chars().next_back();
        rest = &rest[length..];
    }
    american
}

/// The replacement of the British word that `text` starts with, and that word's length in octets.
fn word(text: &str) -> Option<(String, usize)> {
    PAIRS.iter().find_map(|(british, american)| {
        let found = text.get(..british.len())?;
        let ends = !text[british.len()..].chars().next().is_some_and(char::is_alphanumeric);
        (ends && found.eq_ignore_ascii_case(british)).then(|| (in_case_of(found, american), british.len()))
    })
}

/// `word` in the case of `pattern`: capitals, a capital first, or small letters.
fn in_case_of(pattern: &str, word: &str) -> String {
    let is_capital = |c: char| !c.is_ascii_lowercase();
    if pattern.chars().all(is_capital) {
        return word.to_ascii_uppercase();
    }
    let mut letters = word.chars();
    match letters.next() {
        Some(first) if pattern.starts_with(is_capital) => {
            first.to_ascii_uppercase().to_string() + letters.as_str()
        }
        _ => word.to_owned(),
    }
}

/// `Sep 3, 2026` for the `3 Sep 2026` that `text` starts with, and the latter's length.
fn day(text: &str) -> Option<(String, usize)> {
    let digits = |text: &str| text.bytes().take_while(u8::is_ascii_digit).count();
    let (day, rest) = text.split_at(digits(text));
    let rest = rest.strip_prefix(' ').filter(|_| (1..=2).contains(&day.len()))?;
    let month = MONTHS.into_iter().find(|month| rest.starts_with(month))?;
    let rest = rest[month.len()..].strip_prefix(' ')?;
    let year = rest.get(..digits(rest)).filter(|year| year.len() == 4)?;
    let ends = !rest[year.len()..].chars().next().is_some_and(char::is_alphanumeric);
    ends.then(|| (format!("{month} {day}, {year}"), day.len() + month.len() + year.len() + 2))
}

/// A percent sign stands at its number.
fn percent(text: &str, before: Option<char>) -> Option<(String, usize)> {
    let is_share = before.is_some_and(|c| c.is_ascii_digit()) && text.starts_with(" %");
    is_share.then(|| ("%".to_owned(), 2))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn british_texts_become_american() {
        let cases = [
            ("Tyre check, and rotation where it helps", "Tire check, and rotation where it helps"),
            ("TYRES at the kerb", "TIRES at the curb"),
            ("the centre groove, 1.6 millimetres", "the center groove, 1.6 millimeters"),
            ("Licence to carry passengers for hire", "License to carry passengers for hire"),
            ("licensed practice", "licensed practice"),
            ("Tighten wheel nuts by torque wrench", "Tighten lug nuts by torque wrench"),
            ("tyre-check: 97 % of 3 %", "tire-check: 97% of 3%"),
            ("due 3 Sep 2026 or at 48,000 km", "due Sep 3, 2026 or at 48,000 km"),
            ("(early 20 Jul 2026, late 25 Aug 2026)", "(early Jul 20, 2026, late Aug 25, 2026)"),
            ("13 Sept 2026, 3 Sep 26, 123 Sep 2026", "13 Sept 2026, 3 Sep 26, 123 Sep 2026"),
            ("concentre untyred pyrometres metric", "concentre untyred pyrometres metric"),
            ("Ölstand für tyre Ä", "Ölstand für tire Ä"),
            ("", ""),
        ];
        for (british, expected) in cases {
            assert_eq!(american(british), expected);
        }
    }

    #[test]
    fn american_texts_stay_as_they_are() {
        for (_, word) in PAIRS {
            assert_eq!(american(word), word);
        }
    }

    #[test]
    fn what_has_several_words_stands_before_its_parts() {
        for (index, (long, _)) in PAIRS.iter().enumerate() {
            let parts = PAIRS[..index].iter().filter(|(short, _)| long.split(' ').any(|word| word == *short));
            assert_eq!(parts.count(), 0, "{long}");
        }
    }
}
