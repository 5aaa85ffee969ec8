//! Time off the road.

use crate::define::{answer, request};
use crate::reader::Reader;
use crate::text::{Line, Text};
use chrono::{DateTime, Utc};
use model::{StayId, WorkshopId};

answer! {
    /// Time off the road. While it lasts nobody is reminded of the vehicle, but of what must not be driven.
    Stay {
        /// Its id.
        id: StayId,
        /// Where.
        workshop: Option<WorkshopId>,
        /// When the vehicle went in.
        in_at: DateTime<Utc>,
        /// When it came out; null while it is there.
        out_at: Option<DateTime<Utc>> = null,
        /// Why.
        reason: String = "Gearbox noise, to be opened.",
        /// What it waits for: a part, an answer.
        waiting_for: Option<String> = "A bearing set from the maker",
        /// When it was recorded.
        recorded_at: DateTime<Utc>,
        /// 1 while the vehicle is there, 2 once it came out; in quotes it is the `ETag`.
        version: i64 = 1,
    }
}

impl From<model::Stay> for Stay {
    fn from(stay: model::Stay) -> Self {
        let model::Stay { id, workshop, in_at, out_at, reason, waiting_for, recorded_at } = stay;
        let version = if out_at.is_some() { 2 } else { 1 };
        Self { id, workshop, in_at, out_at, reason, waiting_for, recorded_at, version }
    }
}

request! {
    /// That a vehicle went off the road, and perhaps that it came back.
    NewStay {
        /// Where.
        workshop: Option<WorkshopId>,
        /// When it went in.
        in_at: DateTime<Utc>,
        /// When it came out; left out while it is there.
        out_at: Option<DateTime<Utc>> = null,
        /// Why.
        reason: Text<1000> = "Gearbox noise, to be opened.",
        /// What it waits for: a part, an answer.
        waiting_for: Option<Line<200>> = "A bearing set from the maker",
    } checked by goes_in_first
}

fn goes_in_first(stay: &NewStay, reader: &mut Reader) {
    if stay.out_at.is_some_and(|out| out <= stay.in_at) {
        reader.within("out_at", |reader| reader.fault("order", "it comes out after it went in"));
    }
}

request! {
    /// That a vehicle came out again.
    StayEnd {
        /// When.
        out_at: DateTime<Utc>,
    }
}
