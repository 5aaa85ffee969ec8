//! Service records: work done, with the odometer reading it brings.

use crate::Act;
use crate::entered::read_odometer;
use crate::error::{ActError, Fault, none_of};
use crate::vehicles::find;
use crate::{coverage, readings};
use chrono::NaiveDate;
use model::{
    Code, CoverageTerms, DistanceFrom, LastDay, OdometerReading, Part, ReadingId, ReadingSource, ServiceId,
    ServiceRecord, Transfer, Vehicle, VehicleId, WindowKind, WorkshopId, local_day, noon,
};
use quantity::Entered;
use store::readings::ReadingLinks;

/// A service to be recorded.
#[derive(Debug, Clone)]
pub struct NewService {
    /// The day the work was done, in the depot's zone.
    pub done_on: NaiveDate,
    /// Odometer, as entered.
    pub odometer: Entered,
    /// Codes of the rules it satisfies.
    pub rules: Vec<Code>,
    /// Where it was done.
    pub workshop: Option<WorkshopId>,
    /// Parts used.
    pub parts: Vec<Part>,
    /// Cost in minor units.
    pub cost_minor: Option<i64>,
    /// Currency (ISO 4217).
    pub currency: Option<String>,
    /// Invoice number or other evidence.
    pub evidence: Option<String>,
    /// Free text.
    pub note: Option<String>,
    /// Warranties that come with parts fitted.
    pub warranties: Vec<PartWarranty>,
}

/// A warranty that comes with a part fitted in a service. It opens a coverage window that counts from that day and odometer.
#[derive(Debug, Clone)]
pub struct PartWarranty {
    /// Which of the parts, counted from zero.
    pub part: usize,
    /// What is covered: the component's code.
    pub component: Code,
    /// Months it lasts.
    pub months: Option<u32>,
    /// Distance it lasts, as entered.
    pub distance: Option<Entered>,
    /// Which day is the last.
    pub last_day: LastDay,
}

impl PartWarranty {
    /// The terms of the window that it opens.
    fn terms(&self, service: ServiceId, parts: &[Part]) -> CoverageTerms {
        CoverageTerms {
            kind: WindowKind::Warranty,
            title: parts
                .get(self.part)
                .map_or_else(String::new, |part| format!("Replaced part: {}", part.name)),
            scope: vec![self.component.clone()],
            starts_on: None,
            start_odometer: None,
            opened_by: Some(service),
            months: self.months,
            distance: self.distance,
            distance_from: DistanceFrom::StartOdometer,
            last_day: self.last_day,
            capacity_floor_percent: None,
            reduced_if: Vec::new(),
            pro_rata: Vec::new(),
            transfer: Transfer::Automatic,
            transfer_within_days: None,
            transferred_on: None,
            excess: None,
            voided_by: None,
        }
    }
}

/// Records a service, its odometer in the meter log, and the warranties of the parts fitted.
///
/// # Errors
/// [`ActError::NotFound`]; faults for a day in the future, unknown rules or workshop, a warranty without a limit; storage
/// errors.
pub async fn record(act: &mut Act, vehicle: VehicleId, new: NewService) -> Result<ServiceRecord, ActError> {
    act.lock(&[vehicle]).await?;
    let known = find(act, vehicle).await?;
    let mut faults = check(act, &known, &new).await?;
    let odometer = read_odometer(Some(new.odometer), "/odometer", &mut faults);
    let id = ServiceId(act.new_id());
    let windows: Vec<CoverageTerms> =
        new.warranties.iter().map(|warranty| warranty.terms(id, &new.parts)).collect();
    for (warranty, terms) in new.warranties.iter().zip(&windows) {
        coverage::check_limits(terms, &format!("/parts/{}/warranty", warranty.part), &mut faults);
    }
    none_of(faults)?;
    let reading = OdometerReading {
        id: ReadingId(act.new_id()),
        entered: new.odometer,
        odometer,
        read_at: noon(new.done_on, known.zone).min(act.at()),
        recorded_at: act.at(),
        source: ReadingSource::Service,
        clock_in_doubt: false,
    };
    let links = ReadingLinks { service: Some(id), inspection: None, ..ReadingLinks::default() };
    readings::insert(act, vehicle, &reading, &links).await?;
    let service = ServiceRecord {
        id,
        done_on: new.done_on,
        odometer_entered: new.odometer,
        odometer,
        reading: reading.id,
        rules: new.rules,
        workshop: new.workshop,
        parts: new.parts,
        cost_minor: new.cost_minor,
        currency: new.currency,
        evidence: new.evidence,
        note: new.note,
        recorded_at: act.at(),
    };
    let (fleet, stamp) = (act.fleet(), act.stamp());
    store::services::insert(&mut act.conn(), fleet, vehicle, &service, &stamp).await?;
    act.note("service_record", id, "record", None, Some(&service));
    for terms in windows {
        coverage::insert(act, vehicle, terms).await?;
    }
    Ok(service)
}

async fn check(act: &mut Act, vehicle: &Vehicle, new: &NewService) -> Result<Vec<Fault>, ActError> {
    let fleet = act.fleet();
    let mut faults = Vec::new();
    let today = local_day(act.at(), vehicle.zone);
    if new.done_on > today {
        let detail = format!("{} lies in the future; today is {today} where the vehicle stands", new.done_on);
        faults.push(Fault::new("/done_on", "future", detail));
    }
    if let Some(workshop) = new.workshop
        && store::workshops::find(&mut act.conn(), fleet, workshop).await?.is_none()
    {
        faults.push(Fault::new("/workshop", "unknown", format!("there is no workshop {workshop}")));
    }
    let book = match vehicle.attributes_now().and_then(|a| a.rulebook) {
        Some(id) => store::rulebooks::find(&mut act.conn(), fleet, id).await?,
        None => None,
    };
    for (index, code) in new.rules.iter().enumerate() {
        let known = book.as_ref().is_some_and(|book| book.rules.iter().any(|rule| rule.code == *code));
        if !known {
            let detail = format!("the vehicle's rulebook has no rule {code}");
            faults.push(Fault::new(format!("/rules/{index}"), "unknown", detail));
        }
    }
    Ok(faults)
}

/// Withdraws a service record with its meter entry and the coverage windows it opened: what it satisfied is open again.
///
/// # Errors
/// [`ActError::NotFound`]; storage errors.
pub async fn withdraw(act: &mut Act, vehicle: VehicleId, id: ServiceId) -> Result<(), ActError> {
    act.lock(&[vehicle]).await?;
    let (fleet, at) = (act.fleet(), act.at());
    let Some(service) = store::services::find(&mut act.conn(), fleet, vehicle, id).await? else {
        return Err(ActError::NotFound { kind: "service record" });
    };
    if !store::services::withdraw(&mut act.conn(), fleet, vehicle, id, at).await? {
        return Err(ActError::Conflict {
            code: "already-withdrawn",
            detail: "it was withdrawn before".to_owned(),
        });
    }
    store::readings::withdraw(&mut act.conn(), fleet, vehicle, service.reading, at).await?;
    act.note("service_record", id, "withdraw", Some(&service), None);
    // Without the record they would count from the vehicle's first day, which nobody has promised.
    for window in store::coverage::opened_by(&mut act.conn(), fleet, vehicle, id).await? {
        coverage::withdraw(act, vehicle, window.id).await?;
    }
    Ok(())
}
