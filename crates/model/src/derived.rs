//! Public ids of derived things: the same facts always give the same id.

use sha2::{Digest, Sha256};
use uuid::Uuid;

/// A UUIDv8 (RFC 9562) of the SHA-256 of the parts of a natural key, each preceded by its length.
pub fn derived_id(parts: &[&str]) -> Uuid {
    let mut hash = Sha256::new();
    for part in parts {
        hash.update((part.len() as u64).to_be_bytes());
        hash.update(part.as_bytes());
    }
    let digest = hash.finalize();
    let mut bytes = [0; 16];
    bytes.copy_from_slice(&digest[..16]);
    uuid::Builder::from_custom_bytes(bytes).into_uuid()
}
