//! Addresses no letter goes to, because a relay said for good that they take none. Kept as hashes, which outlive the
//! person; who makes the hash is the caller's business.

use crate::{Conn, StoreError};
use chrono::{DateTime, Utc};
use model::FleetId;

statements! {
    /// Refused again while it is suppressed, it has been so since the first time.
    SUPPRESS = {
        "INSERT INTO suppressed_address (fleet_id, address_hash, reason, suppressed_at) VALUES ($1, $2, $3, $4)"
        "ON CONFLICT (fleet_id, address_hash) DO UPDATE SET reason = excluded.reason, released_at = NULL,"
        "suppressed_at = CASE WHEN suppressed_address.released_at IS NULL THEN suppressed_address.suppressed_at"
        "ELSE excluded.suppressed_at END"
    }
    /// Locked, so that an act which releases it comes before what is decided on it, or after.
    HOLD = {
        "SELECT address_hash, reason, suppressed_at FROM suppressed_address"
        "WHERE fleet_id = $1 AND address_hash = $2 AND released_at IS NULL" postgres: "FOR UPDATE"
    }
    ALL = {
        "SELECT address_hash, reason, suppressed_at FROM suppressed_address"
        "WHERE fleet_id = $1 AND released_at IS NULL ORDER BY suppressed_at, address_hash"
    }
    RELEASE = {
        "UPDATE suppressed_address SET released_at = $3"
        "WHERE fleet_id = $1 AND address_hash = $2 AND released_at IS NULL"
    }
}

/// An address no letter goes to.
#[derive(Debug, Clone, PartialEq, Eq, sqlx::FromRow)]
pub struct Suppressed {
    /// The hash of the address.
    pub address_hash: Vec<u8>,
    /// What the relay said.
    pub reason: String,
    /// Since when.
    pub suppressed_at: DateTime<Utc>,
}

/// Suppresses an address.
pub async fn suppress(conn: &mut Conn<'_>, fleet: FleetId, address: &Suppressed) -> Result<(), StoreError> {
    let Suppressed { address_hash, reason, suppressed_at } = address;
    execute!(conn, SUPPRESS, fleet.0, address_hash.as_slice(), reason, *suppressed_at)?;
    Ok(())
}

/// The address of that hash, if it is suppressed, locked until the transaction ends: needs a writer.
pub async fn hold(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    hash: &[u8],
) -> Result<Option<Suppressed>, StoreError> {
    fetch!(fetch_optional, conn, Suppressed, HOLD, fleet.0, hash)
}

/// Every suppressed address of the fleet, the longest suppressed first.
pub async fn all(conn: &mut Conn<'_>, fleet: FleetId) -> Result<Vec<Suppressed>, StoreError> {
    fetch!(fetch_all, conn, Suppressed, ALL, fleet.0)
}

/// Lets letters go to the address again; `false` if it was not suppressed.
pub async fn release(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    hash: &[u8],
    at: DateTime<Utc>,
) -> Result<bool, StoreError> {
    Ok(execute!(conn, RELEASE, fleet.0, hash, at)? == 1)
}
