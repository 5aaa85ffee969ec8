//! Taking in a technician's batch: many vehicles, each entry with a result of its own.
//!
//! All entries are judged in pure code first, then stored table by table in one statement each. Nothing measured is
//! lost: what is refused is kept raw, what cannot be right is held, the rest counts. A measurement that cannot be taken
//! as it was written is set aside until a person settles it ([`crate::set_asides`]).

mod clock;
mod content;
mod fitted;
mod known;
pub(crate) mod measured;
mod plan;
mod results;

use crate::Act;
use crate::error::{ActError, Fault};
use chrono::{DateTime, Utc};
use model::horizon::{DueItem, Graded};
use model::{Code, Doubt, FindingWeight, InspectionId, Place, SetAside, VehicleId};
use plan::Plan;
use quantity::Entered;
use std::collections::BTreeSet;
use uuid::Uuid;

/// A batch as it came in.
#[derive(Debug, Clone)]
pub struct Batch {
    /// The id the phone gave it.
    pub id: Uuid,
    /// Which phone.
    pub device_id: String,
    /// The phone's own counter.
    pub device_seq: Option<i64>,
    /// When the phone says it sent it.
    pub device_sent_at: DateTime<Utc>,
    /// When it arrived.
    pub received_at: DateTime<Utc>,
    /// The whole body as received.
    pub raw: String,
    /// Its entries.
    pub entries: Vec<RawEntry>,
}

/// One entry as received, with what reading it gave.
#[derive(Debug, Clone)]
pub struct RawEntry {
    /// As received.
    pub raw: serde_json::Value,
    /// The entry id as written, whether or not it is a UUID.
    pub entry_id_text: Option<String>,
    /// The entry, or everything that is wrong with its form; pointers are relative to the entry.
    pub parsed: Result<Entry, Vec<Fault>>,
}

/// One inspection of one vehicle, read but not yet judged.
#[derive(Debug, Clone)]
pub struct Entry {
    /// Made by the phone when the technician tapped *keep*.
    pub entry_id: Uuid,
    /// Which vehicle: id, plate, label or VIN.
    pub vehicle: String,
    /// Which check sheet was followed.
    pub check_sheet: SheetRef,
    /// When, by the phone's clock.
    pub performed_at: DateTime<Utc>,
    /// Odometer.
    pub odometer: Option<Entered>,
    /// What is wrong with an odometer that could not be read: it is set aside.
    pub unread_odometer: Option<Fault>,
    /// What was measured.
    pub measurements: Vec<MeasurementEntered>,
    /// What was found.
    pub findings: Vec<FindingEntered>,
    /// Free text.
    pub note: Option<String>,
    /// The entry this one corrects.
    pub corrects: Option<Uuid>,
    /// Members nobody knows; kept and reported.
    pub unknown_members: Vec<String>,
}

/// A check sheet by code and, if the phone knew it, version.
#[derive(Debug, Clone)]
pub struct SheetRef {
    /// The code.
    pub code: Code,
    /// The version followed; the newest where none is said.
    pub version: Option<i64>,
}

/// A measured value as written.
#[derive(Debug, Clone)]
pub struct MeasurementEntered {
    /// Check point code.
    pub point: String,
    /// Where on the vehicle.
    pub place: String,
    /// Where at the place.
    pub zone: Option<String>,
    /// What it came to.
    pub observed: Observed,
}

/// What a check point came to, as written.
#[derive(Debug, Clone)]
pub enum Observed {
    /// A number was measured.
    Measured {
        /// The number.
        value: f64,
        /// Its unit.
        unit: String,
    },
    /// A word was answered.
    Seen(String),
    /// It has not the form of a measurement.
    Unread {
        /// The member that is wrong, as a pointer within the measurement; empty for the whole.
        member: &'static str,
        /// Everything wrong with it.
        detail: String,
    },
}

/// Something found wrong, as written.
#[derive(Debug, Clone)]
pub struct FindingEntered {
    /// What is wrong, as a code.
    pub code: Code,
    /// The component concerned.
    pub component: Option<Code>,
    /// Where.
    pub place: Option<Place>,
    /// How heavily it weighs.
    pub weight: FindingWeight,
    /// In the technician's words.
    pub note: String,
}

/// What became of one entry.
#[derive(Debug, Clone)]
pub struct EntryResult {
    /// The entry id as written.
    pub entry_id: Option<String>,
    /// The outcome.
    pub outcome: EntryOutcome,
}

/// The four things that can become of an entry.
#[derive(Debug, Clone)]
pub enum EntryOutcome {
    /// Stored, everything counts.
    Accepted(Taken),
    /// Stored before, with the same content.
    Duplicate {
        /// The inspection it made then.
        inspection: InspectionId,
    },
    /// Stored; the named parts wait for a person, the rest counts.
    Held {
        /// What was stored.
        taken: Taken,
        /// What waits.
        parts: Vec<HeldPart>,
    },
    /// Not stored as an inspection; kept raw, the entry id not used up.
    Rejected {
        /// The HTTP status it would have by itself: 404, 409 or 422.
        status: u16,
        /// Kind of refusal, a stable kebab-case word.
        code: &'static str,
        /// What is wrong; pointers relative to the entry.
        faults: Vec<Fault>,
    },
}

/// What an accepted entry made, and what it means.
#[derive(Debug, Clone)]
pub struct Taken {
    /// The vehicle.
    pub vehicle: VehicleId,
    /// The inspection.
    pub inspection: InspectionId,
    /// What its measurements mean.
    pub grades: Vec<Graded>,
    /// What the vehicle needs now or soon.
    pub items: Vec<DueItem>,
    /// Whether the vehicle must not be driven.
    pub do_not_drive: bool,
    /// Whether the phone's clock was off and the time was shifted.
    pub clock_corrected: bool,
    /// Members nobody knows.
    pub unknown_members: Vec<String>,
}

/// A part of an entry that waits for a person.
#[derive(Debug, Clone)]
pub struct HeldPart {
    /// Where in the entry.
    pub pointer: String,
    /// Why.
    pub reason: HeldReason,
    /// What was probably meant.
    pub suggested: Option<Entered>,
}

impl HeldPart {
    fn unsuggested(pointer: &str, reason: HeldReason) -> Self {
        Self { pointer: pointer.to_owned(), reason, suggested: None }
    }
}

/// Why a part waits.
#[derive(Debug, Clone, PartialEq)]
pub enum HeldReason {
    /// The reading cannot be right.
    Doubt(Doubt),
    /// The phone's clock is off by more than a day, or the time lies in the future or before the vehicle's time here.
    Clock,
    /// It corrects somebody else's entry or one older than seven days: a manager decides.
    CorrectionNeedsManager,
    /// A measurement cannot be taken as it was written.
    SetAside(SetAside),
    /// The check sheet has no such version. Nobody needs to decide: the inspection is kept under the newest.
    SheetVersion(SheetUnknown),
}

/// A version of a check sheet that an entry names and the fleet does not have.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SheetUnknown {
    /// The sheet.
    pub code: Code,
    /// The version named.
    pub said: i64,
    /// The newest, which the inspection is kept under.
    pub newest: i64,
}

/// Takes in a batch: every entry gets its result, in order.
///
/// # Errors
/// A conflict if a batch of this id came in before with other entries; storage errors. Then nothing is stored.
pub async fn take_in(act: &mut Act, batch: Batch) -> Result<Vec<EntryResult>, ActError> {
    let plan = Plan::make(act, &batch).await?;
    let vehicles: BTreeSet<VehicleId> = plan.vehicles();
    act.lock(&vehicles.iter().copied().collect::<Vec<_>>()).await?;
    plan.store(act, &batch).await?;
    let horizons = act.renew().await?;
    Ok(results::of(act.at(), plan, &horizons))
}
