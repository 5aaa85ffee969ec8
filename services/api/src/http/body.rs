//! The body of a request: its type, its size on the way and once it is decompressed.

use super::refusal::Refusal;
use actix_web::http::header::{CONTENT_ENCODING, CONTENT_LENGTH, CONTENT_TYPE, HeaderMap, HeaderName};
use actix_web::web::{Bytes, BytesMut, Payload};
use contract::ProblemKind;
use futures_util::StreamExt;
use std::io::Read;
use std::time::Duration;

/// Bytes of a body at most, also once it is decompressed.
pub const MOST_BYTES: usize = 1024 * 1024;

/// What a body may be.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Media {
    /// A whole thing.
    Json,
    /// What is to change about a thing (RFC 7396).
    MergePatch,
}

impl Media {
    /// The media type.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Json => "application/json",
            Self::MergePatch => "application/merge-patch+json",
        }
    }
}

/// Reads the body of a request that is to be `media`.
///
/// # Errors
/// 415, 413, 408 or 400, before anything is parsed.
pub async fn read(
    headers: &HeaderMap,
    mut payload: Payload,
    media: Media,
    patience: Duration,
) -> Result<Bytes, Refusal> {
    check_type(headers, media)?;
    let gzip = is_compressed(headers)?;
    let said = text_of(headers, &CONTENT_LENGTH).and_then(|length| length.parse::<usize>().ok());
    if said.is_some_and(|length| length > MOST_BYTES) {
        return Err(too_large());
    }
    let body = tokio::time::timeout(patience, async {
        let mut body = BytesMut::new();
        while let Some(chunk) = payload.next().await {
            let chunk = chunk.map_err(|error| cut_off(&error))?;
            if body.len() + chunk.len() > MOST_BYTES {
                return Err(too_large());
            }
            body.extend_from_slice(&chunk);
        }
        Ok(body.freeze())
    });
    let body = body.await.unwrap_or_else(|_| {
        Err(Refusal::new(ProblemKind::RequestTimeout, "The body did not arrive in time."))
    })?;
    if gzip { unzip(&body) } else { Ok(body) }
}

fn check_type(headers: &HeaderMap, media: Media) -> Result<(), Refusal> {
    let said = text_of(headers, &CONTENT_TYPE).unwrap_or_default();
    let (kind, parameters) = said.split_once(';').unwrap_or((said, ""));
    let parameters = parameters.trim().to_ascii_lowercase().replace('"', "");
    let plain = parameters.is_empty() || parameters == "charset=utf-8";
    if kind.trim().eq_ignore_ascii_case(media.name()) && plain {
        return Ok(());
    }
    Err(Refusal::wrong_type(format!("The body must be {} in UTF-8.", media.name()), false))
}

fn is_compressed(headers: &HeaderMap) -> Result<bool, Refusal> {
    match text_of(headers, &CONTENT_ENCODING).unwrap_or("identity").trim() {
        coding if coding.eq_ignore_ascii_case("identity") => Ok(false),
        coding if coding.eq_ignore_ascii_case("gzip") => Ok(true),
        _ => Err(Refusal::wrong_type("The body must be plain or compressed with gzip.", true)),
    }
}

fn text_of<'h>(headers: &'h HeaderMap, name: &HeaderName) -> Option<&'h str> {
    headers.get(name).and_then(|value| value.to_str().ok())
}

/// Decompresses no further than the limit, so that a small body cannot fill the memory.
fn unzip(body: &[u8]) -> Result<Bytes, Refusal> {
    let mut plain = Vec::new();
    let limit = u64::try_from(MOST_BYTES).unwrap_or(u64::MAX) + 1;
    let done = flate2::read::MultiGzDecoder::new(body).take(limit).read_to_end(&mut plain);
    if done.is_err() {
        let detail = "The body is said to be compressed with gzip, but cannot be decompressed.";
        return Err(Refusal::new(ProblemKind::MalformedRequest, detail));
    }
    if plain.len() > MOST_BYTES { Err(too_large()) } else { Ok(plain.into()) }
}

fn too_large() -> Refusal {
    Refusal::new(ProblemKind::TooLarge, format!("The body is larger than {MOST_BYTES} bytes."))
}

fn cut_off(error: &actix_web::error::PayloadError) -> Refusal {
    tracing::debug!(%error, "a body broke off");
    Refusal::new(ProblemKind::MalformedRequest, "The body broke off or was not framed as HTTP wants.")
}

#[cfg(test)]
mod tests {
    use super::*;
    use actix_web::http::header::HeaderValue;
    use std::io::Write;

    fn zipped(plain: &[u8]) -> Vec<u8> {
        let mut encoder = flate2::write::GzEncoder::new(Vec::new(), flate2::Compression::best());
        encoder.write_all(plain).expect("memory");
        encoder.finish().expect("memory")
    }

    #[test]
    fn a_body_that_grows_beyond_the_limit_when_decompressed_is_refused() {
        let bomb = zipped(&vec![b' '; 64 * MOST_BYTES]);
        assert!(bomb.len() < MOST_BYTES);
        assert_eq!(unzip(&bomb).expect_err("too large").kind(), ProblemKind::TooLarge);
        assert_eq!(unzip(&zipped(&vec![b' '; MOST_BYTES])).expect("fits").len(), MOST_BYTES);
        assert_eq!(unzip(b"no gzip").expect_err("broken").kind(), ProblemKind::MalformedRequest);
    }

    #[test]
    fn only_the_named_type_in_utf_8_is_taken() {
        let taken = |said: &'static str| {
            let mut headers = HeaderMap::new();
            headers.insert(CONTENT_TYPE, HeaderValue::from_static(said));
            check_type(&headers, Media::Json).is_ok()
        };
        assert!(taken("application/json") && taken("Application/JSON; charset=UTF-8"));
        for other in ["text/plain", "application/json; charset=latin1", "", "application/merge-patch+json"] {
            assert!(!taken(other), "{other}");
        }
    }
}
