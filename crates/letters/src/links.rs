//! Signed links: what a person may do from a letter without signing in.
//!
//! A link only leads to a page with a button: whoever serves it acts on a confirming POST and on nothing else, but for
//! the one-click POST of RFC 8058, which unsubscribes. A link carries what it is for, whom it was sent to and until when it
//! holds, under an HMAC-SHA-256 (RFC 2104, with FIPS 180-4). It hides nothing: the parts can be read by anybody.

use crate::about::About;
use base64::Engine as _;
use base64::engine::general_purpose::URL_SAFE_NO_PAD;
use chrono::{DateTime, TimeDelta, Utc};
use hmac::{Hmac, Mac};
use model::horizon::{Cycle, ItemKey};
use model::{FleetId, OptionalLetter, PersonId, VehicleId};
use sha2::{Digest, Sha256};
use std::fmt;
use uuid::Uuid;

/// The first octet of a token: the form of what follows.
const FORM: u8 = 1;

/// Octets of the code kept: half of it, the least that RFC 2104, section 5, advises.
const CODE: usize = 16;

/// A link about an item holds for so long (house setting, no source). The cycle it names mostly ends before.
pub const ITEM_LINK_HOLDS: TimeDelta = TimeDelta::days(30);

/// A link that ends a kind of letter holds for so long (house setting, no source): who keeps letters can still end them.
pub const UNSUBSCRIBE_LINK_HOLDS: TimeDelta = TimeDelta::days(366);

/// The key that links are signed with. It is never shown.
#[derive(Clone)]
pub struct LinkKey([u8; 32]);

impl LinkKey {
    /// A key of 32 octets made by chance.
    pub const fn new(octets: [u8; 32]) -> Self {
        Self(octets)
    }

    /// The key made of a secret text, by SHA-256.
    pub fn of_text(text: &str) -> Self {
        Self(Sha256::digest(text.as_bytes()).into())
    }

    /// The code over `signed`. Each use has a name of its own, so that what is made for one never serves another.
    fn mac(&self, what_for: &[u8], signed: &[u8]) -> Hmac<Sha256> {
        let mut mac = Hmac::<Sha256>::new_from_slice(&self.0).expect("HMAC takes keys of any length");
        mac.update(what_for);
        mac.update(signed);
        mac
    }
}

impl fmt::Debug for LinkKey {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("•••")
    }
}

/// The use of the key that signs links.
const LINK: &[u8] = b"ostler link\0";

/// The use of the key that makes the codes of buttons.
const BUTTON: &[u8] = b"ostler button\0";

/// What a link is for.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Purpose {
    /// Say that one has seen an item.
    Acknowledge(About),
    /// Be told of an item later.
    Postpone(About),
    /// Look at an item.
    See(About),
    /// Get no more letters of this kind.
    Unsubscribe(OptionalLetter),
    /// Sign in.
    SignIn,
}

impl Purpose {
    const fn number(&self) -> u8 {
        match self {
            Self::Acknowledge(_) => 1,
            Self::Postpone(_) => 2,
            Self::See(_) => 3,
            Self::Unsubscribe(_) => 4,
            Self::SignIn => 5,
        }
    }

    const fn about(&self) -> Option<&About> {
        match self {
            Self::Acknowledge(about) | Self::Postpone(about) | Self::See(about) => Some(about),
            Self::Unsubscribe(_) | Self::SignIn => None,
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
    if let Purpose::Unsubscribe(letter) = facts.purpose {
        token.push(number_of(letter));
    }
    let code = key.mac(LINK, &token).finalize().into_bytes();
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
    key.mac(LINK, signed).verify_truncated_left(code).map_err(|_| LinkError::Forged)?;
    let facts = read(&mut Octets(signed)).ok_or(LinkError::Malformed)?;
    if now >= facts.expires_at { Err(LinkError::Expired(facts.expires_at)) } else { Ok(facts) }
}

/// How a kind of letter stands in a token; kept for ever.
const fn number_of(letter: OptionalLetter) -> u8 {
    match letter {
        OptionalLetter::WeekAhead => 1,
        OptionalLetter::DayAhead => 2,
    }
}

/// What the button on the page of `token` says, so that the page, and not the address alone, is needed to press it.
pub fn button(token: &str, key: &LinkKey) -> String {
    let code = key.mac(BUTTON, token.as_bytes()).finalize().into_bytes();
    URL_SAFE_NO_PAD.encode(code.get(..CODE).unwrap_or_default())
}

/// Whether `said` is what the button on the page of `token` says; compared in constant time.
pub fn is_button(said: &str, token: &str, key: &LinkKey) -> bool {
    let code = URL_SAFE_NO_PAD.decode(said).unwrap_or_default();
    code.len() == CODE && key.mac(BUTTON, token.as_bytes()).verify_truncated_left(&code).is_ok()
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

    fn letter(&mut self) -> Option<OptionalLetter> {
        let number = self.octet()?;
        OptionalLetter::ALL.iter().copied().find(|letter| number_of(*letter) == number)
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
        4 => Purpose::Unsubscribe(octets.letter()?),
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

/// Makes the links of letters to one person.
#[derive(Debug, Clone, Copy)]
pub struct Linking<'a> {
    /// The fleet.
    pub fleet: FleetId,
    /// Whom the letter goes to.
    pub person: PersonId,
    /// When it is written.
    pub now: DateTime<Utc>,
    /// The base address of the pages.
    pub base_url: &'a str,
    /// The key to sign with.
    pub key: &'a LinkKey,
}

impl Linking<'_> {
    /// The links of an item; none for one whose name cannot stand in a link.
    pub fn item(&self, about: &About) -> ItemLinks {
        let until = self.now + ITEM_LINK_HOLDS;
        ItemLinks::signed((self.fleet, self.person), about, until, (self.base_url, self.key))
            .unwrap_or_default()
    }

    /// The link that ends letters of this kind.
    pub fn unsubscribe(&self, letter: OptionalLetter) -> Option<String> {
        let facts = LinkFacts {
            purpose: Purpose::Unsubscribe(letter),
            fleet: self.fleet,
            person: self.person,
            expires_at: self.now + UNSUBSCRIBE_LINK_HOLDS,
        };
        sign(&facts, self.key).ok().map(|token| address(self.base_url, &token))
    }
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
