//! Signed links: what a person may do from a letter without signing in.
//!
//! A link only leads to a page with a button: whoever serves it acts on a confirming POST and on nothing else, but for
//! the one-click POST of RFC 8058, which unsubscribes. A link carries what it is for, whom it was sent to and until when it
//! holds, under an HMAC-SHA-256 (RFC 2104, with FIPS 180-4). It hides nothing: the parts can be read by anybody.

use crate::about::About;
use base64::Engine as _;
use base64::engine::general_purpose::URL_SAFE_NO_PAD;
use chrono::{DateTime, Utc};
use hmac::{Hmac, Mac};
use model::horizon::{Cycle, ItemKey};
use model::{FleetId, PersonId, VehicleId};
use sha2::Sha256;
use std::fmt;
use uuid::Uuid;

/// The first octet of a token: the form of what follows.
const FORM: u8 = 1;

/// Octets of the code kept: half of it, the least that RFC 2104, section 5, advises.
const CODE: usize = 16;

/// The key that links are signed with. It is never shown.
#[derive(Clone)]
pub struct LinkKey([u8; 32]);

impl LinkKey {
    /// A key of 32 octets made by chance.
    pub const fn new(octets: [u8; 32]) -> Self {
        Self(octets)
    }

    fn mac(&self, signed: &[u8]) -> Hmac<Sha256> {
        let mut mac = Hmac::<Sha256>::new_from_slice(&self.0).expect("HMAC takes keys of any length");
        // Another use of the same key never signs a link.
        mac.update(b"ostler link\0");
        mac.update(signed);
        mac
    }
}

impl fmt::Debug for LinkKey {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("•••")
    }
}

/// What a link is for.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Purpose {
    /// Say that one has seen an item.
    Acknowledge(About),
    /// Be told of an item later.
    Postpone(About),
    /// Look at an item.
    See(About),
    /// Get no more optional letters.
    Unsubscribe,
    /// Sign in.
    SignIn,
}

impl Purpose {
    const fn number(&self) -> u8 {
        match self {
            Self::Acknowledge(_) => 1,
            Self::Postpone(_) => 2,
            Self::See(_) => 3,
            Self::Unsubscribe => 4,
            Self::SignIn => 5,
        }
    }

    const fn about(&self) -> Option<&About> {
        match self {
            Self::Acknowledge(about) | Self::Postpone(about) | Self::See(about) => Some(about),
            Self::Unsubscribe | Self::SignIn => None,
        }
    }
}

/// All that a link says.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LinkFacts {
    /// What it is for.
    pub purpose: Purpose,
    /// The fleet it acts in.
    pub fleet: FleetId,
    /// Whom it was sent to.
    pub person: PersonId,
    /// From this instant on it does nothing; whole seconds.
    pub expires_at: DateTime<Utc>,
}

/// Why there is no link, or why it does nothing.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum LinkError {
    /// A name is too long to stand in a link.
    #[error("an item or cycle of more than 255 octets cannot stand in a link")]
    TooLong,
    /// It is no link of this program.
    #[error("this is no link of this program")]
    Malformed,
    /// It was not signed with this key, or changed since.
    #[error("the link was not signed here, or was changed")]
    Forged,
    /// Its time is over.
    #[error("the link was good until {0}")]
    Expired(DateTime<Utc>),
}

/// The token that says `facts`, signed: of letters, digits, `-` and `_`.
///
/// # Errors
/// [`LinkError::TooLong`].
pub fn sign(facts: &LinkFacts, key: &LinkKey) -> Result<String, LinkError> {
    let mut token = vec![FORM, facts.purpose.number()];
    token.extend(facts.expires_at.timestamp().to_be_bytes());
    token.extend(facts.fleet.0.as_bytes());
    token.extend(facts.person.0.as_bytes());
    if let Some(about) = facts.purpose.about() {
        token.extend(about.vehicle.0.as_bytes());
        for name in [&about.item.0, &about.cycle.0] {
            token.push(u8::try_from(name.len()).map_err(|_| LinkError::TooLong)?);
            token.extend(name.as_bytes());
        }
    }
    let code = key.mac(&token).finalize().into_bytes();
    token.extend(code.iter().take(CODE));
    Ok(URL_SAFE_NO_PAD.encode(token))
}

/// What `token` says, if it was signed with this key and its time is not over. The code is compared in constant time.
///
/// # Errors
/// [`LinkError::Malformed`], [`LinkError::Forged`] or [`LinkError::Expired`].
pub fn verify(token: &str, key: &LinkKey, now: DateTime<Utc>) -> Result<LinkFacts, LinkError> {
    let octets = URL_SAFE_NO_PAD.decode(token).map_err(|_| LinkError::Malformed)?;
    let (signed, code) = octets.split_last_chunk::<CODE>().ok_or(LinkError::Malformed)?;
    key.mac(signed).verify_truncated_left(code).map_err(|_| LinkError::Forged)?;
    let facts = read(&mut Octets(signed)).ok_or(LinkError::Malformed)?;
    if now >= facts.expires_at { Err(LinkError::Expired(facts.expires_at)) } else { Ok(facts) }
}

/// Octets still to be read.
struct Octets<'a>(&'a [u8]);

impl<'a> Octets<'a> {
    fn take(&mut self, count: usize) -> Option<&'a [u8]> {
        let (taken, rest) = self.0.split_at_checked(count)?;
        self.0 = rest;
        Some(taken)
    }

    fn octet(&mut self) -> Option<u8> {
        self.take(1)?.first().copied()
    }

    fn id(&mut self) -> Option<Uuid> {
        Uuid::from_slice(self.take(16)?).ok()
    }

    fn name(&mut self) -> Option<String> {
        let length = usize::from(self.octet()?);
        String::from_utf8(self.take(length)?.to_vec()).ok()
    }

    fn about(&mut self) -> Option<About> {
        let vehicle = VehicleId(self.id()?);
        Some(About { vehicle, item: ItemKey(self.name()?), cycle: Cycle(self.name()?) })
    }
}

fn read(octets: &mut Octets<'_>) -> Option<LinkFacts> {
    let (form, purpose) = (octets.octet()?, octets.octet()?);
    let seconds = i64::from_be_bytes(octets.take(8)?.try_into().ok()?);
    let expires_at = DateTime::from_timestamp(seconds, 0)?;
    let (fleet, person) = (FleetId(octets.id()?), PersonId(octets.id()?));
    let purpose = match purpose {
        1 => Purpose::Acknowledge(octets.about()?),
        2 => Purpose::Postpone(octets.about()?),
        3 => Purpose::See(octets.about()?),
        4 => Purpose::Unsubscribe,
        5 => Purpose::SignIn,
        _ => return None,
    };
    let is_whole = form == FORM && octets.0.is_empty();
    is_whole.then_some(LinkFacts { purpose, fleet, person, expires_at })
}

/// Where a token leads, under the base address of the pages.
pub fn address(base_url: &str, token: &str) -> String {
    format!("{}/links/{token}", base_url.trim_end_matches('/'))
}

/// The links of one item in a letter to one person.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct ItemLinks {
    /// Says that the reader has seen it.
    pub seen: Option<String>,
    /// Puts it off. It never stands at what must not be driven, nor at what is to be done today.
    pub postpone: Option<String>,
}

impl ItemLinks {
    /// Both links of the item, for `person`, good until `expires_at`.
    ///
    /// # Errors
    /// [`LinkError::TooLong`].
    pub fn signed(
        (fleet, person): (FleetId, PersonId),
        about: &About,
        expires_at: DateTime<Utc>,
        (base_url, key): (&str, &LinkKey),
    ) -> Result<Self, LinkError> {
        let link = |purpose| {
            let facts = LinkFacts { purpose, fleet, person, expires_at };
            Ok(Some(address(base_url, &sign(&facts, key)?)))
        };
        Ok(Self {
            seen: link(Purpose::Acknowledge(about.clone()))?,
            postpone: link(Purpose::Postpone(about.clone()))?,
        })
    }
}
