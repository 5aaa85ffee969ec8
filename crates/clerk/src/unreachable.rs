//! People whom no letter reaches: a relay said for good that their address takes none. Nobody writes there until
//! somebody releases it, or the person has another address.

use crate::Act;
use crate::error::ActError;
use chrono::{DateTime, Utc};
use hmac::{Hmac, Mac};
use model::{Chance, FleetId, NoticeId, Person, PersonId};
use serde::Serialize;
use sha2::Sha256;
use store::Conn;
use store::suppressions::Suppressed;

/// What the secret is called under which addresses are hashed.
const SECRET: &str = "suppressed addresses";

/// A person whom no letter reaches.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Unreachable {
    /// Who.
    pub person: PersonId,
    /// The name.
    pub name: String,
    /// Since when.
    pub since: DateTime<Utc>,
    /// What the relay said, without the address.
    pub reply: String,
}

/// Everybody whom no letter reaches, in order of ids.
///
/// # Errors
/// Storage errors.
pub async fn all(conn: &mut Conn<'_>, fleet: FleetId) -> Result<Vec<Unreachable>, ActError> {
    let suppressed = store::suppressions::all(conn, fleet).await?;
    let Some(secret) = store::installation::secret(conn, SECRET).await?.filter(|_| !suppressed.is_empty())
    else {
        return Ok(Vec::new());
    };
    let people = store::people::all(conn, fleet).await?;
    let refused = |person: &Person| {
        let hash = hash(&secret, fleet, person.email.as_deref()?);
        suppressed.iter().find(|address| address.address_hash == hash)
    };
    let unreachable = people.into_iter().filter_map(|person| {
        let Suppressed { reason, suppressed_at, .. } = refused(&person)?;
        let (reply, since) = (reason.clone(), *suppressed_at);
        Some(Unreachable { person: person.id, name: person.name, since, reply })
    });
    Ok(unreachable.collect())
}

/// The address, if no letter goes there: locked until the transaction ends.
pub(crate) async fn suppressed(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    address: &str,
) -> Result<Option<Suppressed>, ActError> {
    let Some(secret) = store::installation::secret(conn, SECRET).await? else { return Ok(None) };
    Ok(store::suppressions::hold(conn, fleet, &hash(&secret, fleet, address)).await?)
}

/// Lets no letter go to the address any more.
pub(crate) async fn suppress(
    conn: &mut Conn<'_>,
    chance: &dyn Chance,
    fleet: FleetId,
    address: &str,
    reply: &str,
    at: DateTime<Utc>,
) -> Result<(), ActError> {
    let secret = secret(conn, chance).await?;
    let address_hash = hash(&secret, fleet, address);
    let suppressed = Suppressed { address_hash, reason: reply.to_owned(), suppressed_at: at };
    Ok(store::suppressions::suppress(conn, fleet, &suppressed).await?)
}

/// The secret under which addresses are hashed, made where there is none: of several at once the first wins.
async fn secret(conn: &mut Conn<'_>, chance: &dyn Chance) -> Result<Vec<u8>, ActError> {
    if let Some(secret) = store::installation::secret(conn, SECRET).await? {
        return Ok(secret);
    }
    let mut fresh = [0; 32];
    chance.fill(&mut fresh);
    store::installation::insert_secret(conn, SECRET, &fresh).await?;
    Ok(store::installation::secret(conn, SECRET).await?.unwrap_or_else(|| fresh.to_vec()))
}

/// Keyed, since whoever has a list of addresses could try them all otherwise. Case makes no other address: in truth that
/// is for its server to say (RFC 5321, 2.4), but two people whose addresses differ by it alone are not to be expected.
fn hash(secret: &[u8], fleet: FleetId, address: &str) -> Vec<u8> {
    let mut mac = Hmac::<Sha256>::new_from_slice(secret).expect("HMAC takes keys of any length");
    mac.update(fleet.0.as_bytes());
    mac.update(address.to_ascii_lowercase().as_bytes());
    mac.finalize().into_bytes().to_vec()
}

/// The reply without the address, which relays like to repeat: it is kept for longer than the person may be.
pub(crate) fn without_address(reply: &str, address: &str) -> String {
    let wanted = address.to_ascii_lowercase();
    let mut kept = String::new();
    let mut rest = reply;
    while !wanted.is_empty()
        && let Some(at) = rest.to_ascii_lowercase().find(&wanted)
    {
        kept.push_str(&rest[..at]);
        kept.push_str("the address");
        rest = &rest[at + wanted.len()..];
    }
    kept + rest
}

/// What the record of changes keeps of a release.
#[derive(Debug, Serialize)]
struct Noted {
    suppressed_at: Option<DateTime<Utc>>,
    reply: Option<String>,
    reason: Option<String>,
}

/// Lets letters go to a person's address again; what could not be told meanwhile and is still true is told.
///
/// # Errors
/// [`ActError::NotFound`] if there is no such person; a conflict if letters go there as it is; a fault for an empty
/// reason; storage errors.
pub async fn release_address(act: &mut Act, id: PersonId, reason: String) -> Result<Person, ActError> {
    let (fleet, at) = (act.fleet(), act.at());
    let found = store::people::find(&mut act.conn(), fleet, id).await?;
    let person = found.ok_or(ActError::NotFound { kind: "person" })?;
    if reason.trim().is_empty() {
        return Err(ActError::fault("/reason", "empty", "say why, in a few words"));
    }
    let address = person.email.clone().unwrap_or_default();
    let Some(before) = suppressed(&mut act.conn(), fleet, &address).await? else {
        let detail = "letters go to this person's address as it is".to_owned();
        return Err(ActError::Conflict { code: "not-suppressed", detail });
    };
    store::suppressions::release(&mut act.conn(), fleet, &before.address_hash, at).await?;
    take_up_anew(&mut act.conn(), fleet, &person, at).await?;
    let Suppressed { reason: reply, suppressed_at, .. } = before;
    let before = Noted { suppressed_at: Some(suppressed_at), reply: Some(reply), reason: None };
    let after = Noted { suppressed_at: None, reply: None, reason: Some(reason) };
    act.note("person", id, "release_address", Some(&before), Some(&after));
    Ok(person)
}

/// Where a person has another address, and no letter went to the one before: what could not be told waits again.
pub(crate) async fn moved(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    before: &Person,
    after: &Person,
    at: DateTime<Utc>,
) -> Result<(), ActError> {
    let (Some(left), Some(new)) = (&before.email, &after.email) else { return Ok(()) };
    if left == new || suppressed(conn, fleet, left).await?.is_none() {
        return Ok(());
    }
    if suppressed(conn, fleet, new).await?.is_none() {
        take_up_anew(conn, fleet, after, at).await?;
    }
    Ok(())
}

/// Lets a person's notices that no letter could carry wait for the next. What is no longer true is sorted out there.
async fn take_up_anew(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    person: &Person,
    at: DateTime<Utc>,
) -> Result<(), ActError> {
    let listed = store::notices::listed_for(conn, fleet, person.id).await?;
    let ids = |urgent: bool| -> Vec<NoticeId> {
        listed.iter().filter(|notice| notice.urgent == urgent).map(|notice| notice.id).collect()
    };
    store::notices::tell_after_all(conn, fleet, &ids(true), at).await?;
    store::notices::tell_after_all(conn, fleet, &ids(false), person.may_come_from(at)).await?;
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use uuid::Uuid;

    #[test]
    fn an_address_is_hashed_under_a_secret_apart_for_each_fleet() {
        let (here, there) = (FleetId(Uuid::from_u128(1)), FleetId(Uuid::from_u128(2)));
        let one = hash(b"secret", here, "ada@quill.example");
        assert_eq!(one, hash(b"secret", here, "Ada@Quill.example"));
        assert_ne!(one, hash(b"secret", there, "ada@quill.example"));
        assert_ne!(one, hash(b"another", here, "ada@quill.example"));
        assert_eq!(one.len(), 32);
    }

    #[test]
    fn a_reply_is_kept_without_the_address() {
        let kept = |reply| without_address(reply, "Ada@Quill.example");
        assert_eq!(kept("550 5.1.1 <ada@quill.example>: unknown"), "550 5.1.1 <the address>: unknown");
        assert_eq!(kept("ADA@quill.EXAMPLE ada@quill.example"), "the address the address");
        assert_eq!(kept("550 äda unknown"), "550 äda unknown");
        assert_eq!(without_address("550 unknown", ""), "550 unknown");
    }
}
