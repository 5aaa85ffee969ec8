//! Work done on a vehicle, and its papers.

use crate::coverage::CoverageWindow;
use crate::define::{answer, request};
use crate::list::Many;
use crate::number::{Amount, Whole};
use crate::quantity::{Distance, Quantity};
use crate::reader::Reader;
use crate::text::{Currency, Line, Text};
use ::quantity::Unit;
use chrono::{DateTime, NaiveDate, Utc};
use model::horizon::{DueItem, FOLLOW_UP};
use model::{Code, LastDay, PaperId, PaperKind, ReadingId, ServiceId, WorkshopId};

answer! {
    /// A part used in a service.
    Part {
        /// What it is.
        name: String = "Oil filter",
        /// Maker's number.
        number: Option<String> = "OF-118",
        /// How many.
        quantity: f64 = 1,
    }
}

request! {
    /// A part used in a service.
    NewPart {
        /// What it is.
        name: Line<120> = "Oil filter",
        /// Maker's number.
        number: Option<Line<80>> = "OF-118",
        /// How many; one if not said.
        quantity: Option<Amount>,
        /// The warranty that comes with it.
        warranty: Option<NewPartWarranty>,
    }
}

request! {
    /// The warranty that comes with a part fitted. It opens a coverage window that counts from the day and the odometer of
    /// the record, and is withdrawn with it.
    NewPartWarranty {
        /// What is covered: the component's code.
        component: Code = "alternator",
        /// Months it lasts. At least one of `months` and `distance` is needed.
        months: Option<Whole<1, 600>> = 24,
        /// Distance it lasts.
        distance: Option<Distance> = {"value": 40_000, "unit": "km"},
        /// Which day is the last; the day before the anniversary if not said.
        last_day: Option<LastDay>,
    } checked by has_a_limit
}

fn has_a_limit(warranty: &NewPartWarranty, reader: &mut Reader) {
    if warranty.months.is_none() && warranty.distance.is_none() {
        reader.fault("no-limit", "a warranty needs `months`, `distance` or both");
    }
}

answer! {
    /// What work cost.
    Cost {
        /// In the minor unit of the currency: cents.
        minor: i64 = 12900,
        /// The currency (ISO 4217).
        currency: String = "EUR",
    }
}

impl From<model::Cost> for Cost {
    fn from(cost: model::Cost) -> Self {
        Self { minor: cost.minor, currency: cost.currency }
    }
}

request! {
    /// What work cost.
    NewCost {
        /// In the minor unit of the currency: cents.
        minor: Whole<0, 1_000_000_000_000> = 12900,
        /// The currency (ISO 4217).
        currency: Currency,
    }
}

answer! {
    /// A record of work done.
    ServiceRecord {
        /// Its id.
        id: ServiceId,
        /// The day the work was done, in the depot's zone.
        done_on: NaiveDate,
        /// The odometer then, as entered.
        odometer: Quantity,
        /// The entry it made in the meter log.
        reading: ReadingId,
        /// Codes of the rules it satisfies.
        rules: Vec<Code>,
        /// Where it was done.
        workshop: Option<WorkshopId>,
        /// Parts used.
        parts: Vec<Part>,
        /// What it cost.
        cost: Option<Cost>,
        /// Invoice number or other evidence.
        evidence: Option<String> = "Invoice 2026-0417",
        /// Free text.
        note: Option<String> = "Drain plug gasket renewed.",
        /// When it was recorded.
        recorded_at: DateTime<Utc>,
    }
}

answer! {
    /// A record just made, and what it asks for.
    RecordedService {
        /// The id of the record.
        id: ServiceId,
        /// The record as it is kept.
        record: ServiceRecord,
        /// What the work asks for now.
        follow_ups: Vec<FollowUp>,
        /// The windows that the warranties of its parts opened.
        coverage_windows: Vec<CoverageWindow>,
    }
}

answer! {
    /// What work asks for once it was done, such as wheel fasteners tightened again.
    FollowUp {
        /// The due item's key.
        key: String = "rule:fastener-re-torque",
        /// As a person reads it.
        title: String = "Wheel fasteners tightened again",
        /// The last day, in the depot's zone.
        by: Option<NaiveDate>,
        /// The odometer allowed, whichever comes first.
        by_odometer: Option<Quantity>,
        /// What can hurt.
        caution: Option<String> = "By torque wrench to the maker's torque, on firm level ground.",
    }
}

impl FollowUp {
    /// The item as a follow-up of this record, if it is one; distances in `unit`.
    fn of(item: &DueItem, record: ServiceId, unit: Unit) -> Option<Self> {
        let follows = item.cycle.0 == format!("service:{record}")
            && item.marks.iter().any(|mark| mark.code == FOLLOW_UP);
        follows.then(|| Self {
            key: item.key.0.clone(),
            title: item.title.clone(),
            by: item.date_limit,
            by_odometer: item.odometer_limit.map(|limit| limit.to(unit).into()),
            caution: item.caution.clone(),
        })
    }
}

impl RecordedService {
    /// The record with the windows it opened and those of its vehicle's due items that follow from it; distances in `unit`.
    pub fn of(
        record: model::ServiceRecord,
        items: &[DueItem],
        windows: Vec<model::CoverageWindow>,
        unit: Unit,
    ) -> Self {
        let id = record.id;
        let follow_ups = items.iter().filter_map(|item| FollowUp::of(item, id, unit)).collect();
        let coverage_windows = windows.into_iter().map(CoverageWindow::from).collect();
        Self { id, record: record.into(), follow_ups, coverage_windows }
    }
}

impl From<model::ServiceRecord> for ServiceRecord {
    fn from(record: model::ServiceRecord) -> Self {
        let part = |p: model::Part| Part { name: p.name, number: p.number, quantity: p.quantity };
        Self {
            id: record.id,
            done_on: record.done_on,
            odometer: record.odometer_entered.into(),
            reading: record.reading,
            rules: record.rules,
            workshop: record.workshop,
            parts: record.parts.into_iter().map(part).collect(),
            cost: record
                .cost_minor
                .map(|minor| Cost { minor, currency: record.currency.unwrap_or_default() }),
            evidence: record.evidence,
            note: record.note,
            recorded_at: record.recorded_at,
        }
    }
}

request! {
    /// Work that was done.
    NewServiceRecord {
        /// The day the work was done, in the depot's zone.
        done_on: NaiveDate,
        /// The odometer then. It goes into the meter log and is judged there.
        odometer: Distance,
        /// Codes of the rules it satisfies.
        rules: Many<Code, 0, 100>,
        /// Where it was done.
        workshop: Option<WorkshopId>,
        /// Parts used.
        parts: Many<NewPart, 0, 100>,
        /// What it cost.
        cost: Option<NewCost>,
        /// Invoice number or other evidence.
        evidence: Option<Line<200>> = "Invoice 2026-0417",
        /// Free text.
        note: Option<Text<4000>> = "Drain plug gasket renewed.",
    }
}

answer! {
    /// A document of a vehicle that expires. The newest expiry of a kind is the one that holds.
    Paper {
        /// Its id.
        id: PaperId,
        /// What it is.
        kind: PaperKind,
        /// Its number or reference.
        reference: Option<String> = "AT-55120",
        /// Day of issue.
        issued_on: Option<NaiveDate>,
        /// The last day it is valid.
        expires_on: NaiveDate = "2027-11-01",
        /// When it was recorded.
        recorded_at: DateTime<Utc>,
    }
}

impl From<model::Paper> for Paper {
    fn from(paper: model::Paper) -> Self {
        let model::Paper { id, kind, reference, issued_on, expires_on, recorded_at } = paper;
        Self { id, kind, reference, issued_on, expires_on, recorded_at }
    }
}

request! {
    /// A document that expires.
    NewPaper {
        /// What it is.
        kind: PaperKind,
        /// Its number or reference.
        reference: Option<Line<120>> = "AT-55120",
        /// Day of issue.
        issued_on: Option<NaiveDate>,
        /// The last day it is valid.
        expires_on: NaiveDate = "2027-11-01",
    } checked by issued_before_expiry
}

fn issued_before_expiry(paper: &NewPaper, reader: &mut Reader) {
    let Some(issued) = paper.issued_on.filter(|issued| *issued > paper.expires_on) else { return };
    reader.within("expires_on", |reader| {
        reader.fault("before-issue", format!("it cannot expire before it was issued on {issued}"));
    });
}
