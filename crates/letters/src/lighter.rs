//! A letter without what is attached to it, for relays that find it too large.

/// The same message with what was attached left out: same headers, same text, same Message-ID. None if nothing is
/// attached, or if the message is none that [`compose`](crate::compose) made.
///
/// It is cut out of the bytes and not written anew, so that it says what the letter said when it was made.
pub fn without_attachments(letter: &[u8]) -> Option<Vec<u8>> {
    let letter = std::str::from_utf8(letter).ok()?;
    let (head, body) = letter.split_once("\r\n\r\n")?;
    let fields = fields(head);
    let content_type = fields.iter().find(|field| is_content_type(field))?;
    let opening = format!("--{}", boundary_of_mixed(content_type)?);
    // The text stands first, before all that is attached (RFC 2046, 5.1.3).
    let (_, parts) = body.split_once(&format!("{opening}\r\n"))?;
    let (text, _) = parts.split_once(&format!("\r\n{opening}"))?;
    let kept = fields.iter().filter(|field| !is_content_type(field)).map(String::as_str);
    // The part brings its own type, and an empty line after that.
    let lighter: Vec<&str> = kept.chain([text, ""]).collect();
    Some(lighter.join("\r\n").into_bytes())
}

/// The fields of a head, each with the lines it is folded into (RFC 5322, 2.2.3).
fn fields(head: &str) -> Vec<String> {
    let mut fields: Vec<String> = Vec::new();
    for line in head.split("\r\n") {
        match fields.last_mut() {
            Some(field) if line.starts_with([' ', '\t']) => {
                field.push_str("\r\n");
                field.push_str(line);
            }
            _ => fields.push(line.to_owned()),
        }
    }
    fields
}

fn is_content_type(field: &str) -> bool {
    field.split_once(':').is_some_and(|(name, _)| name.eq_ignore_ascii_case("content-type"))
}

/// The boundary, if the type is that of a letter with something attached.
fn boundary_of_mixed(content_type: &str) -> Option<&str> {
    let (_, value) = content_type.split_once(':')?;
    if !value.trim_start().to_ascii_lowercase().starts_with("multipart/mixed") {
        return None;
    }
    let (_, quoted) = value.split_once("boundary=\"")?;
    quoted.split_once('"').map(|(boundary, _)| boundary)
}
