//! What a line, a link or a day in a calendar is about.

use model::horizon::{Cycle, ItemKey};
use model::{FleetId, VehicleId};
use sha2::{Digest, Sha256};
use std::fmt::Write as _;

/// One item of one vehicle, in one cycle.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub struct About {
    /// The vehicle.
    pub vehicle: VehicleId,
    /// What the item is called for good.
    pub item: ItemKey,
    /// Which round of it.
    pub cycle: Cycle,
}

impl About {
    /// 16 octets that are the same for ever: the first half of a SHA-256 over all parts.
    fn octets(&self, fleet: FleetId) -> [u8; 16] {
        let mut hash = Sha256::new();
        hash.update(fleet.0.as_bytes());
        hash.update(self.vehicle.0.as_bytes());
        for part in [&self.item.0, &self.cycle.0] {
            // The length before each part: two parts never run into one another.
            hash.update(u64::try_from(part.len()).unwrap_or(u64::MAX).to_be_bytes());
            hash.update(part.as_bytes());
        }
        let mut octets = [0; 16];
        octets.iter_mut().zip(hash.finalize()).for_each(|(octet, of_hash)| *octet = of_hash);
        octets
    }
}

/// The id that all letters led by this item refer to (RFC 5322, 3.6.4), without angle brackets.
pub fn thread_id(about: &About, fleet: FleetId, domain: &str) -> String {
    let name = about.octets(fleet).iter().fold(String::new(), |mut name, octet| {
        let _ = write!(name, "{octet:02x}"); // Writing into a String cannot fail.
        name
    });
    format!("thread.{name}@{domain}")
}

/// The UID of the item's day in calendars: a UUID of version 8 (RFC 9562, 5.8), without host or domain, as RFC 7986, 5.3,
/// asks. So it stays the same where the sender's address changes.
pub fn calendar_uid(about: &About, fleet: FleetId) -> String {
    uuid::Builder::from_custom_bytes(about.octets(fleet)).into_uuid().to_string()
}
