//! What a form, or the one click of a mail program, says.

use actix_web::http::header::{CONTENT_TYPE, HeaderMap};
use actix_web::web::{Bytes, BytesMut, Payload, Query};
use futures_util::{StreamExt, stream};
use std::convert::Infallible;
use std::time::Duration;

/// Bytes of a body at most.
const MOST_BYTES: usize = 16 * 1024;

/// A body must arrive within this time.
const PATIENCE: Duration = Duration::from_secs(30);

/// Members that were sent, in order.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Form(Vec<(String, String)>);

impl Form {
    /// The value of a member; the first, should there be several.
    pub fn get(&self, name: &str) -> Option<&str> {
        self.0.iter().find(|(member, _)| member == name).map(|(_, value)| value.as_str())
    }

    /// Whether it is the one click of a mail program (RFC 8058, 3.2), and nothing besides.
    pub fn is_one_click(&self) -> bool {
        matches!(self.0.as_slice(), [(name, value)] if name == "List-Unsubscribe" && value == "One-Click")
    }
}

/// Why a form cannot be read.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Unreadable {
    /// It is too large.
    TooLarge,
    /// It did not arrive in time, or was cut off.
    CutOff,
}

impl Unreadable {
    /// The HTTP status of it.
    pub const fn status(self) -> u16 {
        match self {
            Self::TooLarge => 413,
            Self::CutOff => 408,
        }
    }
}

/// Reads the members of a body: `application/x-www-form-urlencoded`, or `multipart/form-data` (RFC 7578), which a mail
/// program may send. Anything else has none.
///
/// # Errors
/// See [`Unreadable`].
pub async fn read(headers: &HeaderMap, payload: Payload) -> Result<Form, Unreadable> {
    let body = tokio::time::timeout(PATIENCE, whole(payload)).await.map_err(|_| Unreadable::CutOff)??;
    let said = headers.get(CONTENT_TYPE).and_then(|said| said.to_str().ok()).unwrap_or_default();
    let kind = said.split(';').next().unwrap_or_default().trim();
    if kind.eq_ignore_ascii_case("application/x-www-form-urlencoded") {
        return Ok(urlencoded(&body));
    }
    match multer::parse_boundary(said) {
        Ok(boundary) => Ok(multipart(body, boundary).await),
        Err(_) => Ok(Form::default()),
    }
}

async fn whole(mut payload: Payload) -> Result<Bytes, Unreadable> {
    let mut body = BytesMut::new();
    while let Some(chunk) = payload.next().await {
        let chunk = chunk.map_err(|_| Unreadable::CutOff)?;
        if body.len() + chunk.len() > MOST_BYTES {
            return Err(Unreadable::TooLarge);
        }
        body.extend_from_slice(&chunk);
    }
    Ok(body.freeze())
}

fn urlencoded(body: &[u8]) -> Form {
    let text = std::str::from_utf8(body).unwrap_or_default();
    Query::<Vec<(String, String)>>::from_query(text).map(|query| Form(query.into_inner())).unwrap_or_default()
}

/// The members up to the first that cannot be read.
async fn multipart(body: Bytes, boundary: String) -> Form {
    let mut parts = multer::Multipart::new(stream::iter([Ok::<_, Infallible>(body)]), boundary);
    let mut members = Vec::new();
    while let Ok(Some(part)) = parts.next_field().await {
        let Some(name) = part.name().map(str::to_owned) else { continue };
        let Ok(value) = part.text().await else { break };
        members.push((name, value));
    }
    Form(members)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_click_is_that_one_member_and_nothing_besides() {
        let form = |text: &str| urlencoded(text.as_bytes());
        assert!(form("List-Unsubscribe=One-Click").is_one_click());
        for other in ["", "List-Unsubscribe=Two", "a=b", "List-Unsubscribe=One-Click&a=b", "%ff"] {
            assert!(!form(other).is_one_click(), "{other}");
        }
    }

    // The example of RFC 8058, section 8.2.
    #[test]
    fn one_click_is_read_from_multipart_too() {
        let body = "--BOUNDARY\r\nContent-Disposition: form-data; name=\"List-Unsubscribe\"\r\n\r\nOne-Click\r\n--BOUNDARY--\r\n";
        let form = testkit::tell(multipart(Bytes::from_static(body.as_bytes()), "BOUNDARY".to_owned()));
        assert!(form.is_one_click(), "{form:?}");
    }

    #[test]
    fn what_is_no_multipart_has_no_members() {
        for body in ["", "--B", "--B\r\n\r\n", "--B\r\nContent-Disposition: form-data; name=\"a\"\r\n\r\nb"] {
            let form = testkit::tell(multipart(Bytes::from_static(body.as_bytes()), "B".to_owned()));
            assert_eq!(form, Form::default(), "{body:?}");
        }
    }
}
