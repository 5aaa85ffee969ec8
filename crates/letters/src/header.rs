//! Header fields: folded, ASCII, and with RFC 2047 encoded words for whatever is not plain.

/// Longest line to aim at (RFC 5322, 2.1.1: 78 characters should, 998 must not be exceeded).
const LINE: usize = 76;

/// Longest encoded word (RFC 2047, section 2).
const ENCODED_WORD: usize = 75;

/// Header fields in the order they were added.
#[derive(Debug, Default)]
pub struct Headers(String);

impl Headers {
    /// Adds a field whose value was made by this crate from parts known to be plain: ids, dates, fixed words.
    pub fn plain(&mut self, name: &str, value: &str) {
        debug_assert!(value.bytes().all(|byte| (b' '..0x7f).contains(&byte)), "{name}: {value:?}");
        self.fold(name, value.split(' ').map(str::to_owned));
    }

    /// Adds a field of free text, such as a subject.
    pub fn free(&mut self, name: &str, text: &str) {
        if is_plain(text) {
            self.fold(name, text.split(' ').map(str::to_owned));
        } else {
            self.fold(name, encoded_words(text));
        }
    }

    /// Adds a field of a name in words and something in angle brackets: a mailbox, or a list (RFC 2919).
    ///
    /// A name is written bare where it consists of atoms, else in encoded words; quoted strings are not used, so there is
    /// no quoting to get wrong.
    pub fn named(&mut self, field: &str, name: &str, bracketed: &str) {
        let bare = is_plain(name) && name.bytes().all(|byte| is_atom(byte) || byte == b' ');
        let mut words: Vec<String> = match name {
            "" => Vec::new(),
            name if bare => name.split(' ').map(str::to_owned).collect(),
            name => encoded_words(name).collect(),
        };
        words.push(format!("<{bracketed}>"));
        self.fold(field, words.into_iter());
    }

    /// The fields, each ended by CR LF.
    pub fn into_text(self) -> String {
        self.0
    }

    fn fold(&mut self, name: &str, words: impl Iterator<Item = String>) {
        self.0.push_str(name);
        self.0.push(':');
        let mut column = name.len() + 1;
        for (index, word) in words.enumerate() {
            // The first word stays on the field's own line: a line of blanks alone must not arise by folding.
            if index > 0 && column + 1 + word.len() > LINE {
                self.0.push_str("\r\n");
                column = 0;
            }
            self.0.push(' ');
            self.0.push_str(&word);
            column += 1 + word.len();
        }
        self.0.push_str("\r\n");
    }
}

/// Whether `text` may stand as it is. What looks like an encoded word must not: a reader would decode it.
fn is_plain(text: &str) -> bool {
    text.bytes().all(|byte| (b' '..0x7f).contains(&byte)) && !text.contains("=?")
}

/// Characters of an atom (RFC 5322, 3.2.3).
const fn is_atom(byte: u8) -> bool {
    byte.is_ascii_alphanumeric()
        || matches!(byte, b'!' | b'#' | b'$' | b'%' | b'&' | b'\'' | b'*' | b'+' | b'-' | b'/' | b'=' | b'?')
        || matches!(byte, b'^' | b'_' | b'`' | b'{' | b'|' | b'}' | b'~')
}

/// `text` as encoded words of the "Q" encoding with the characters allowed within a phrase (RFC 2047, section 5 (3)).
/// Each holds whole characters; the blanks between encoded words vanish when they are read.
fn encoded_words(text: &str) -> impl Iterator<Item = String> {
    const START: &str = "=?utf-8?q?";
    const END: &str = "?=";
    let mut words = Vec::new();
    let mut word = String::from(START);
    for c in text.chars() {
        let quoted = quoted(c);
        if word.len() + quoted.len() + END.len() > ENCODED_WORD {
            word.push_str(END);
            words.push(std::mem::replace(&mut word, String::from(START)));
        }
        word.push_str(&quoted);
    }
    word.push_str(END);
    words.push(word);
    words.into_iter()
}

fn quoted(c: char) -> String {
    match c {
        ' ' => "_".to_owned(),
        '!' | '*' | '+' | '-' | '/' => c.to_string(),
        c if c.is_ascii_alphanumeric() => c.to_string(),
        c => {
            c.encode_utf8(&mut [0; 4]).bytes().fold(String::new(), |word, byte| format!("{word}={byte:02X}"))
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn free(text: &str) -> String {
        let mut headers = Headers::default();
        headers.free("Subject", text);
        headers.into_text()
    }

    // RFC 2047, section 4.2: "_" stands for a blank, other octets for "=" and two capital hexadecimal digits.
    #[test]
    fn a_text_beyond_ascii_is_written_in_encoded_words() {
        assert_eq!(free("Ölstand für Bus 7"), "Subject: =?utf-8?q?=C3=96lstand_f=C3=BCr_Bus_7?=\r\n");
    }

    #[test]
    fn a_text_that_looks_encoded_already_is_encoded_again() {
        assert_eq!(free("=?utf-8?q?x?="), "Subject: =?utf-8?q?=3D=3Futf-8=3Fq=3Fx=3F=3D?=\r\n");
    }

    // RFC 5322, 2.2.3: a long field is folded at blanks; unfolding takes the CR LF away and leaves the blank.
    #[test]
    fn a_long_field_is_folded_and_unfolds_to_itself() {
        let text = "word ".repeat(40).trim_end().to_owned();
        let field = free(&text);
        assert!(field.lines().all(|line| line.len() <= 78), "{field}");
        assert_eq!(field.replace("\r\n", ""), format!("Subject: {text}"));
    }

    #[test]
    fn names_with_specials_need_no_quoting() {
        let mut headers = Headers::default();
        headers.named("To", "Ada Quill", "ada@example.test");
        headers.named("To", "Quill, Ada \"A\"", "ada@example.test");
        headers.named("To", "", "ada@example.test");
        let fields = headers.into_text();
        let lines: Vec<&str> = fields.lines().collect();
        assert_eq!(lines[0], "To: Ada Quill <ada@example.test>");
        assert_eq!(lines[1], "To: =?utf-8?q?Quill=2C_Ada_=22A=22?= <ada@example.test>");
        assert_eq!(lines[2], "To: <ada@example.test>");
    }
}
