//! Access keys: recognisable, refused cheaply, stored as a hash, bound to one fleet, shown once.

use crate::error::{ActError, Fault, none_of};
use crate::{Act, Clerk};
use base64::Engine;
use base64::engine::general_purpose::URL_SAFE_NO_PAD;
use chrono::{DateTime, Utc};
use model::{Actor, ActorKind, FleetId, KeyId, KeyKind, PersonId, Scope, VehicleId};
use sha2::{Digest, Sha256};
use store::Reach;
pub use store::keys::AccessKey;
use subtle::ConstantTimeEq;

/// Random bytes in a key.
const RANDOM_BYTES: usize = 24;

/// A key to be made.
#[derive(Debug, Clone)]
pub struct NewKey {
    /// What sort of holder it is for.
    pub kind: KeyKind,
    /// The person it belongs to.
    pub person: Option<PersonId>,
    /// The one vehicle a driver's key is for.
    pub vehicle: Option<VehicleId>,
    /// What it is for, in words.
    pub label: String,
    /// What it may do.
    pub scopes: Vec<Scope>,
    /// When it ends.
    pub expires_at: Option<DateTime<Utc>>,
}

/// Who holds a key that is in force.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct KeyHolder {
    /// The one fleet it opens.
    pub fleet: FleetId,
    /// The key.
    pub key: KeyId,
    /// The person it belongs to.
    pub person: Option<PersonId>,
    /// The one vehicle it is for.
    pub vehicle: Option<VehicleId>,
    /// What it may do.
    pub scopes: Vec<Scope>,
}

impl KeyHolder {
    /// The holder as the actor of an act.
    pub fn actor(&self) -> Actor {
        Actor { kind: ActorKind::Key, key: Some(self.key), person: self.person, source: "api".to_owned() }
    }

    /// Whether the key bears `scope`.
    pub fn may(&self, scope: Scope) -> bool {
        self.scopes.contains(&scope)
    }
}

/// Makes a key; its text comes back once and is not stored.
///
/// # Errors
/// Faults if no scope is named or person or vehicle are unknown; storage errors.
pub async fn create_key(act: &mut Act, new: NewKey) -> Result<(AccessKey, String), ActError> {
    check(act, &new).await?;
    let text = key_text(act.clerk(), new.kind);
    let key = AccessKey {
        id: KeyId(act.new_id()),
        kind: new.kind,
        person: new.person,
        vehicle: new.vehicle,
        label: new.label,
        scopes: new.scopes,
        recorded_at: act.at(),
        expires_at: new.expires_at,
        revoked_at: None,
    };
    let fleet = act.fleet();
    store::keys::insert(&mut act.conn(), fleet, &key, &hash(&text)).await?;
    act.note("access_key", key.id, "create", None, Some(&key));
    Ok((key, text))
}

async fn check(act: &mut Act, new: &NewKey) -> Result<(), ActError> {
    let fleet = act.fleet();
    let mut faults = Vec::new();
    if new.scopes.is_empty() {
        faults.push(Fault::new("/scopes", "empty", "a key needs at least one scope"));
    }
    if let Some(person) = new.person
        && store::people::find(&mut act.conn(), fleet, person).await?.is_none()
    {
        faults.push(Fault::new("/person", "unknown", format!("there is no person {person}")));
    }
    if let Some(vehicle) = new.vehicle
        && store::vehicles::find(&mut act.conn(), fleet, vehicle).await?.is_none()
    {
        faults.push(Fault::new("/vehicle", "unknown", format!("there is no vehicle {vehicle}")));
    }
    if new.expires_at.is_some_and(|end| end <= act.at()) {
        faults.push(Fault::new("/expires_at", "past", "a key must end in the future"));
    }
    none_of(faults)
}

/// Revokes a key; it is refused from the next request on.
///
/// # Errors
/// [`ActError::NotFound`]; storage errors.
pub async fn revoke_key(act: &mut Act, id: KeyId) -> Result<(), ActError> {
    let (fleet, at) = (act.fleet(), act.at());
    if !store::keys::revoke(&mut act.conn(), fleet, id, at).await? {
        return Err(ActError::NotFound { kind: "access key" });
    }
    act.note::<()>("access_key", id, "revoke", None, None);
    Ok(())
}

/// Who holds the key `text`; none if it is malformed (asked nowhere), unknown, expired or revoked.
///
/// # Errors
/// Storage errors.
pub async fn authenticate(clerk: &Clerk, text: &str) -> Result<Option<KeyHolder>, ActError> {
    if !is_well_formed(text) {
        return Ok(None);
    }
    let wanted = hash(text);
    let mut tx = clerk.store().reader(Reach::All).await?;
    let Some(found) = store::keys::by_hash(&mut tx.conn(), &wanted).await? else { return Ok(None) };
    let now = clerk.now();
    let same = bool::from(found.secret_hash.as_slice().ct_eq(&wanted));
    let ended = found.key.revoked_at.is_some() || found.key.expires_at.is_some_and(|end| end <= now);
    if !same || ended {
        return Ok(None);
    }
    let AccessKey { id, person, vehicle, scopes, .. } = found.key;
    Ok(Some(KeyHolder { fleet: found.fleet, key: id, person, vehicle, scopes }))
}

/// `ostler_<kind>_<random><crc>`: 24 random bytes and a CRC-32 of all before it, in URL-safe base64 and hex.
fn key_text(clerk: &Clerk, kind: KeyKind) -> String {
    let mut random = [0; RANDOM_BYTES];
    clerk.chance().fill(&mut random);
    let open = format!("ostler_{kind}_{}", URL_SAFE_NO_PAD.encode(random));
    let check = crc32fast::hash(open.as_bytes());
    format!("{open}{check:08x}")
}

/// Whether a text has the form of a key and its checksum fits.
fn is_well_formed(text: &str) -> bool {
    let Some(split) = text.len().checked_sub(8).filter(|at| text.is_char_boundary(*at)) else { return false };
    let (open, check) = text.split_at(split);
    open.starts_with("ostler_")
        && text.len() <= 128
        && u32::from_str_radix(check, 16).is_ok_and(|wanted| wanted == crc32fast::hash(open.as_bytes()))
}

fn hash(text: &str) -> [u8; 32] {
    Sha256::digest(text.as_bytes()).into()
}
