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
    /// A name of 32 hexadecimal digits that is the same for ever: the first half of a SHA-256 over all parts.
    fn name(&self, fleet: FleetId) -> String {
        let mut hash = Sha256::new();
        hash.update(fleet.0.as_bytes());
        hash.update(self.vehicle.0.as_bytes());
        for part in [&self.item.0, &self.cycle.0] {
            // The length before each part: two parts never run into one another.
            hash.update(u64::try_from(part.len()).unwrap_or(u64::MAX).to_be_bytes());
            hash.update(part.as_bytes());
        }
        hash.finalize().iter().take(16).fold(String::new(), |mut name, byte| {
            let _ = write!(name, "{byte:02x}"); // Writing into a String cannot fail.
            name
        })
    }
}

/// The id that all letters led by this item refer to (RFC 5322, 3.6.4), without angle brackets.
pub fn thread_id(about: &About, fleet: FleetId, domain: &str) -> String {
    format!("thread.{}@{domain}", about.name(fleet))
}

/// The UID of the item's day in calendars (RFC 5545, 3.8.4.7).
pub fn calendar_uid(about: &About, fleet: FleetId, domain: &str) -> String {
    format!("day.{}@{domain}", about.name(fleet))
}
