//! Which program derived a row.

/// Raise it with every change that may give other moments, grades or judgements from the same facts; limit tables of
/// `gauge` and formulas of `forecast` count.
const REVISION: &str = "7";

const LENGTH: usize = "engine-".len() + REVISION.len() + "+tz-".len() + chrono_tz::IANA_TZDB_VERSION.len();

const JOINED: [u8; LENGTH] = {
    let parts = ["engine-", REVISION, "+tz-", chrono_tz::IANA_TZDB_VERSION];
    let mut joined = [0; LENGTH];
    let (mut part, mut filled) = (0, 0);
    while part < parts.len() {
        let bytes = parts[part].as_bytes();
        let mut at = 0;
        while at < bytes.len() {
            joined[filled] = bytes[at];
            filled += 1;
            at += 1;
        }
        part += 1;
    }
    joined
};

/// What derived rows are stamped with: the engine's revision and the release of the time zone tables, such as
/// `engine-3+tz-2025b`. Rows with another stamp are due for renewal.
pub const ENGINE_VERSION: &str = match std::str::from_utf8(&JOINED) {
    Ok(text) => text,
    Err(_) => REVISION,
};

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_version_names_the_revision_and_the_time_zone_release() {
        let expected = format!("engine-{REVISION}+tz-{}", chrono_tz::IANA_TZDB_VERSION);
        assert_eq!(ENGINE_VERSION, expected);
    }
}
