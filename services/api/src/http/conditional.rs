//! Entity tags and the conditions that name them (RFC 9110, sections 8.8.3 and 13.1).

use super::refusal::Refusal;
use base64::Engine;
use base64::engine::general_purpose::URL_SAFE_NO_PAD;
use contract::ProblemKind;
use serde::Serialize;
use sha2::{Digest, Sha256};
use std::fmt;

/// An entity tag.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Tag {
    weak: bool,
    opaque: String,
}

impl Tag {
    /// The tag of a version of something that may be changed.
    pub fn version(version: i64) -> Self {
        Self { weak: false, opaque: version.to_string() }
    }

    /// The tag of something derived: it follows from the body. Weak, since the body may travel compressed or plain.
    pub fn hash_of(body: &str) -> Self {
        let digest = Sha256::digest(body.as_bytes());
        Self { weak: true, opaque: URL_SAFE_NO_PAD.encode(&digest[..16]) }
    }

    /// The tag of something derived that is told as JSON.
    pub fn of<T: Serialize>(told: &T) -> Self {
        // What cannot be written as JSON is not told either.
        Self::hash_of(&serde_json::to_string(told).unwrap_or_default())
    }

    /// The tag written `text`.
    pub fn parse(text: &str) -> Option<Self> {
        let text = text.trim();
        let (weak, quoted) = match text.strip_prefix("W/") {
            Some(rest) => (true, rest),
            None => (false, text),
        };
        let opaque = quoted.strip_prefix('"')?.strip_suffix('"')?;
        let plain = opaque.chars().all(|c| c != '"' && !c.is_control() && c != ' ');
        plain.then(|| Self { weak, opaque: opaque.to_owned() })
    }
}

impl fmt::Display for Tag {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}\"{}\"", if self.weak { "W/" } else { "" }, self.opaque)
    }
}

/// Whether an `If-None-Match` names `tag`, by weak comparison.
pub fn has(if_none_match: &str, tag: &Tag) -> bool {
    if_none_match.trim() == "*"
        || if_none_match.split(',').filter_map(Tag::parse).any(|named| named.opaque == tag.opaque)
}

/// A version that nothing has: versions count from 1.
const NO_VERSION: i64 = 0;
/// The greatest version looked for; nothing is changed that often.
const MOST_VERSION: i64 = 1 << 53;

/// The version an `If-Match` names. It is compared where the change is made, inside the statement itself, and only
/// after everything else was found in order (RFC 9110, section 13.2.1). A tag that is none of ours, or a weak one,
/// which never matches strongly, names a version that nothing has.
///
/// # Errors
/// 428 without the header; 400 if it names no tag or several.
pub fn version_wanted(if_match: Option<&str>) -> Result<i64, Refusal> {
    let Some(named) = if_match else {
        return Err(Refusal::new(ProblemKind::VersionMissing, "The header If-Match is missing."));
    };
    let Some(tag) = Tag::parse(named) else {
        let form = "If-Match must name the one ETag you loaded, in quotes";
        return Err(Refusal::new(ProblemKind::MalformedRequest, "The header If-Match cannot be read.")
            .because_of("If-Match", "wrong-form", form));
    };
    let version = tag.opaque.parse().ok().filter(|version| (1..=MOST_VERSION).contains(version) && !tag.weak);
    Ok(version.unwrap_or(NO_VERSION))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_version_is_read_from_one_strong_tag_and_from_nothing_else() {
        let kind = |header| version_wanted(header).map_err(|refusal| refusal.kind());
        assert_eq!(kind(Some("\"7\"")), Ok(7));
        assert_eq!(kind(None), Err(ProblemKind::VersionMissing));
        for none in ["W/\"7\"", "\"abc\"", "\"\"", "\"-1\"", "\"9223372036854775807\""] {
            assert_eq!(kind(Some(none)), Ok(NO_VERSION), "{none}");
        }
        assert_eq!(kind(Some("7")), Err(ProblemKind::MalformedRequest));
        assert_eq!(kind(Some("*")), Err(ProblemKind::MalformedRequest));
        assert_eq!(kind(Some("\"7\", \"8\"")), Err(ProblemKind::MalformedRequest));
    }

    /// The table of RFC 9110, section 8.8.3.2, weak comparison.
    #[test]
    fn a_known_tag_is_found_by_weak_comparison() {
        let tag = Tag::version(1);
        for (named, same) in
            [("W/\"1\"", true), ("\"1\"", true), ("\"2\"", false), ("\"2\", W/\"1\"", true), ("*", true)]
        {
            assert_eq!(has(named, &tag), same, "{named}");
        }
        assert!(has("W/\"1\"", &Tag { weak: true, opaque: "1".to_owned() }));
    }
}
