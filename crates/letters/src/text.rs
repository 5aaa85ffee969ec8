//! Text that people typed, made fit for one line of a letter.

/// `text` as one line of at most `most` characters: control characters and line separators become spaces, runs of blanks
/// one blank, and what is cut off is shown by an ellipsis.
///
/// The characters that turn the direction of everything after them (embeddings, overrides, isolates) are dropped, since
/// a name that leaves one open would turn the rest of the line; the plain marks of Arabic and Hebrew texts stay.
pub fn one_line(text: &str, most: usize) -> String {
    let mut line = String::new();
    let mut length = 0;
    let mut blank = false;
    for c in text.chars().filter(|c| !turns_direction(*c)) {
        if c.is_whitespace() || c.is_control() || matches!(c, '\u{2028}' | '\u{2029}') {
            blank = length > 0;
            continue;
        }
        if length + 1 + usize::from(blank) > most {
            return ellipsis(&line, most);
        }
        if std::mem::take(&mut blank) {
            line.push(' ');
            length += 1;
        }
        line.push(c);
        length += 1;
    }
    line
}

fn ellipsis(line: &str, most: usize) -> String {
    let kept: String = line.chars().take(most.saturating_sub(1)).collect();
    format!("{}…", kept.trim_end())
}

/// Directional formatting characters of the Unicode Bidirectional Algorithm (UAX 9) that open or close a span.
const fn turns_direction(c: char) -> bool {
    matches!(c, '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}')
}

/// `text` broken at blanks into lines of at most `width` characters, each after `indent` blanks. A word longer than a
/// line stays whole.
pub fn wrapped(text: &str, indent: usize, width: usize) -> Vec<String> {
    let mut lines = Vec::new();
    let mut line = String::new();
    let mut length = 0;
    for word in text.split(' ').filter(|word| !word.is_empty()) {
        let letters = word.chars().count();
        if length > 0 && indent + length + 1 + letters > width {
            lines.push(format!("{:indent$}{line}", ""));
            line.clear();
            length = 0;
        }
        if length > 0 {
            line.push(' ');
            length += 1;
        }
        line.push_str(word);
        length += letters;
    }
    if length > 0 {
        lines.push(format!("{:indent$}{line}", ""));
    }
    lines
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_typed_text_becomes_one_line() {
        let cases = [
            ("Van 7", "Van 7"),
            ("Van\r\nBcc: all@example.test", "Van Bcc: all@example.test"),
            ("a\0b\tc\u{2028}d\u{85}e", "a b c d e"),
            ("  spaced   out  ", "spaced out"),
            ("\u{202e}gnorw\u{202c} way", "gnorw way"),
            ("\u{200f}עברית", "\u{200f}עברית"),
            ("", ""),
        ];
        for (typed, line) in cases {
            assert_eq!(one_line(typed, 100), line);
        }
    }

    #[test]
    fn what_is_too_long_ends_in_an_ellipsis() {
        assert_eq!(one_line("abcdef", 6), "abcdef");
        assert_eq!(one_line("abcdefg", 6), "abcde…");
        assert_eq!(one_line("abcd efg", 6), "abcd…");
        assert_eq!(one_line(&"🚐".repeat(1_000_000), 3), "🚐🚐…");
    }

    #[test]
    fn long_text_is_broken_at_blanks_only() {
        assert_eq!(wrapped("one two three", 2, 9), ["  one two", "  three"]);
        assert_eq!(wrapped("unbreakable", 2, 5), ["  unbreakable"]);
        assert!(wrapped("", 2, 9).is_empty());
    }
}
