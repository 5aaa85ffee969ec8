//! Lists page by page: by key, never by number, with a cursor that fits one list of one fleet only.

use super::answer::Answer;
use super::refusal::{Refusal, Stop};
use base64::Engine;
use base64::engine::general_purpose::URL_SAFE_NO_PAD;
use contract::{Fault, Page};
use hmac::{Hmac, Mac};
use serde::Serialize;
use serde::de::DeserializeOwned;
use sha2::Sha256;

/// Items of a page if the client does not say.
const USUAL_LIMIT: i64 = 50;
/// Bytes of a cursor that prove where it came from.
const SEAL_BYTES: usize = 16;

/// Which page of a list is wanted. `K` is what the list is ordered by.
pub struct Paging<K> {
    after: Option<K>,
    limit: i64,
    list: List,
}

/// One list: an address with its filter, and the secret that seals its cursors.
pub struct List {
    /// The path, which names the fleet.
    pub path: String,
    /// The query without `cursor` and `limit`, sorted.
    pub filter: Vec<(String, String)>,
    /// The installation's secret.
    pub secret: [u8; 32],
}

impl<K: Serialize + DeserializeOwned> Paging<K> {
    /// The page that `cursor` leads to.
    ///
    /// # Errors
    /// 422 for a cursor that was not made for this list.
    pub fn new(list: List, limit: Option<i64>, cursor: Option<&str>) -> Result<Self, Refusal> {
        let after = match cursor {
            None => None,
            Some(cursor) => {
                let detail = "this cursor was not given for this list with this filter";
                let fault =
                    || Refusal::invalid(vec![Fault::of_parameter("cursor", "not-of-this-list", detail)]);
                Some(list.open(cursor).ok_or_else(fault)?)
            }
        };
        Ok(Self { after, limit: limit.unwrap_or(USUAL_LIMIT), list })
    }

    /// What the page begins behind.
    pub fn after(&self) -> Option<K>
    where
        K: Clone,
    {
        self.after.clone()
    }

    /// How many rows to fetch: one more than the page has, to see whether there is another.
    pub const fn fetch(&self) -> i64 {
        self.limit + 1
    }

    /// The answer: the page's items, and where the next one is.
    ///
    /// # Errors
    /// 500 if it cannot be written.
    pub fn answer<R, T: Serialize>(
        &self,
        mut rows: Vec<R>,
        key: impl Fn(&R) -> K,
        told: impl FnMut(R) -> T,
    ) -> Result<Answer, Stop> {
        let wanted = usize::try_from(self.limit).unwrap_or(0);
        let more = rows.len() > wanted;
        rows.truncate(wanted);
        let next = rows.last().filter(|_| more).map(|last| self.list.seal(&key(last)));
        let page = Page { items: rows.into_iter().map(told).collect(), next_cursor: next.clone() };
        let answer = Answer::hashed(&page)?;
        Ok(match next {
            Some(cursor) => answer.followed_by(&self.list.address(self.limit, &cursor)),
            None => answer,
        })
    }
}

impl List {
    /// A cursor: a seal over list and key, and the key.
    fn seal<K: Serialize>(&self, key: &K) -> String {
        let key = serde_json::to_vec(key).unwrap_or_default();
        let mut cursor = self.mac(&key).finalize().into_bytes()[..SEAL_BYTES].to_vec();
        cursor.extend_from_slice(&key);
        URL_SAFE_NO_PAD.encode(cursor)
    }

    fn open<K: DeserializeOwned>(&self, cursor: &str) -> Option<K> {
        let cursor = URL_SAFE_NO_PAD.decode(cursor).ok()?;
        let (seal, key) = cursor.split_at_checked(SEAL_BYTES)?;
        self.mac(key).verify_truncated_left(seal).ok()?;
        serde_json::from_slice(key).ok()
    }

    /// Every part goes in with its length, so that none can pass for another.
    fn mac(&self, key: &[u8]) -> Hmac<Sha256> {
        let mut mac = Hmac::<Sha256>::new_from_slice(&self.secret).expect("HMAC takes keys of any length");
        let filter = self.filter.iter().flat_map(|(name, value)| [name.as_bytes(), value.as_bytes()]);
        for part in [b"cursor".as_slice(), self.path.as_bytes()].into_iter().chain(filter).chain([key]) {
            mac.update(&(part.len() as u64).to_be_bytes());
            mac.update(part);
        }
        mac
    }

    fn address(&self, limit: i64, cursor: &str) -> String {
        let filter = self.filter.iter().map(|(name, value)| format!("{}={}&", escaped(name), escaped(value)));
        format!("{}?{}limit={limit}&cursor={cursor}", self.path, filter.collect::<String>())
    }
}

/// Percent-encodes all but the unreserved characters (RFC 3986, section 2.3).
fn escaped(text: &str) -> String {
    let one = |byte: u8| match byte {
        b'A'..=b'Z' | b'a'..=b'z' | b'0'..=b'9' | b'-' | b'.' | b'_' | b'~' => char::from(byte).to_string(),
        _ => format!("%{byte:02X}"),
    };
    text.bytes().map(one).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn list(path: &str, filter: &[(&str, &str)]) -> List {
        let filter = filter.iter().map(|(n, v)| ((*n).to_owned(), (*v).to_owned())).collect();
        List { path: path.to_owned(), filter, secret: [7; 32] }
    }

    fn opens(list: List, cursor: &str) -> bool {
        Paging::<(i64, String)>::new(list, None, Some(cursor)).is_ok()
    }

    #[test]
    fn a_cursor_opens_the_list_it_was_made_for_and_no_other() {
        let cursor = list("/v1/fleets/a/due-items", &[("stage", "due")]).seal(&(5, "x"));
        assert!(opens(list("/v1/fleets/a/due-items", &[("stage", "due")]), &cursor));
        assert!(!opens(list("/v1/fleets/b/due-items", &[("stage", "due")]), &cursor));
        assert!(!opens(list("/v1/fleets/a/due-items", &[("stage", "overdue")]), &cursor));
        assert!(!opens(list("/v1/fleets/a/due-items", &[]), &cursor));
        assert!(!opens(list("/v1/fleets/a/due-items", &[("stag", "edue")]), &cursor));
    }

    #[test]
    fn a_cursor_that_was_touched_does_not_open() {
        let cursor = list("/v1/x", &[]).seal(&(5, "x"));
        for at in 0..cursor.len() {
            let mut touched = cursor.clone().into_bytes();
            touched[at] = if touched[at] == b'A' { b'B' } else { b'A' };
            let touched = String::from_utf8(touched).expect("ASCII");
            assert!(!opens(list("/v1/x", &[]), &touched), "byte {at}");
        }
        assert!(!opens(list("/v1/x", &[]), "") && !opens(list("/v1/x", &[]), "§"));
    }

    #[test]
    fn the_next_page_begins_behind_the_last_item_and_keeps_the_filter() {
        let paging = Paging::new(list("/v1/x", &[("q", "a b&c")]), Some(2), None).expect("no cursor");
        let answer = paging.answer(vec![1_i64, 2, 3], |n| *n, |n| n);
        let Ok(answer) = answer else { panic!("no answer") };
        let link = format!("{answer:?}");
        assert!(link.contains("</v1/x?q=a%20b%26c&limit=2&cursor="), "{link}");
        let last = paging.answer(vec![1_i64, 2], |n| *n, |n| n);
        let Ok(last) = last else { panic!("no answer") };
        assert!(format!("{last:?}").contains("link: None"));
    }
}
