//! The shape of the demo file.

use model::{
    Code, Cost, CoverageTerms, Duty, FindingWeight, IndicatorLeft, Jurisdiction, PaperKind, Part, Placard,
    Place, Powertrain, Role, WorkshopKind,
};
use quantity::{Entered, Unit};
use serde::Deserialize;

/// The whole file.
#[derive(Deserialize)]
pub struct DemoFile {
    pub fleet: FleetPart,
    pub depots: Vec<DepotPart>,
    pub people: Vec<PersonPart>,
    pub workshops: Vec<WorkshopPart>,
    pub vehicles: Vec<VehiclePart>,
}

#[derive(Deserialize)]
pub struct FleetPart {
    pub name: String,
}

#[derive(Deserialize)]
pub struct DepotPart {
    pub r#ref: String,
    pub name: String,
    pub zone: String,
    pub jurisdiction: Jurisdiction,
    #[serde(default)]
    pub design_low: Option<Entered>,
}

#[derive(Deserialize)]
pub struct PersonPart {
    pub role: Role,
    pub depots: Vec<String>,
    pub name: String,
    pub email: Option<String>,
    pub language: String,
}

#[derive(Deserialize)]
pub struct WorkshopPart {
    pub r#ref: String,
    pub name: String,
    pub kind: WorkshopKind,
    pub lead_days: u32,
}

#[derive(Deserialize)]
pub struct VehiclePart {
    pub vin: Option<String>,
    pub make: String,
    pub model: String,
    pub model_year_offset: Option<i32>,
    pub powertrain: Powertrain,
    pub gross_mass_kg: Option<u32>,
    #[serde(default)]
    pub tags: Vec<String>,
    pub in_service_days_ago: Option<i64>,
    pub in_service_odometer: Option<Entered>,
    #[serde(default)]
    pub history_unknown: bool,
    pub acquired_days_ago: Option<i64>,
    pub odometer_unit: Unit,
    #[serde(default)]
    pub placard: Placard,
    pub depot: String,
    pub duty: Duty,
    pub severe: Option<bool>,
    pub label: String,
    pub plate: Option<String>,
    pub operating_weekdays: u8,
    pub rulebook: String,
    #[serde(default)]
    pub readings: Vec<(i64, String, f64, String)>,
    #[serde(default)]
    pub services: Vec<ServicePart>,
    #[serde(default)]
    pub papers: Vec<PaperPart>,
    #[serde(default)]
    pub windows: Vec<WindowPart>,
    #[serde(default)]
    pub inspections: Vec<InspectionPart>,
    #[serde(default)]
    pub components: Vec<ComponentPart>,
    #[serde(default)]
    pub stays: Vec<StayPart>,
    #[serde(default)]
    pub indicators: Vec<IndicatorPart>,
    #[serde(default)]
    pub hours: Vec<(i64, String, f64, String)>,
}

#[derive(Deserialize)]
pub struct ServicePart {
    pub days_ago: i64,
    pub odometer: Entered,
    pub rules: Vec<Code>,
    pub workshop: Option<String>,
    #[serde(default)]
    pub parts: Vec<Part>,
    pub cost_minor: Option<i64>,
    pub currency: Option<String>,
    pub evidence: Option<String>,
    pub note: Option<String>,
}

#[derive(Deserialize)]
pub struct StayPart {
    pub workshop: Option<String>,
    pub in_days_ago: i64,
    pub in_time: String,
    pub out_days_ago: Option<i64>,
    pub out_time: Option<String>,
    pub reason: String,
    pub waiting_for: Option<String>,
}

#[derive(Deserialize)]
pub struct IndicatorPart {
    pub days_ago: i64,
    pub time: String,
    pub rule: Code,
    pub left: IndicatorLeft,
}

#[derive(Deserialize)]
pub struct PaperPart {
    pub kind: PaperKind,
    pub reference: Option<String>,
    pub issued_days_ago: Option<i64>,
    pub expires_days_ago: i64,
}

#[derive(Deserialize)]
pub struct WindowPart {
    pub starts_days_ago: Option<i64>,
    #[serde(flatten)]
    pub terms: CoverageTerms,
}

#[derive(Deserialize)]
pub struct InspectionPart {
    pub days_ago: i64,
    pub time: String,
    pub sheet: Code,
    pub odometer: Option<Entered>,
    #[serde(default)]
    pub measurements: Vec<(String, String, String, f64, String)>,
    #[serde(default)]
    pub findings: Vec<FindingPart>,
    pub note: Option<String>,
}

#[derive(Deserialize)]
pub struct FindingPart {
    pub code: Code,
    pub component: Option<Code>,
    pub place: Option<Place>,
    pub weight: FindingWeight,
    pub note: String,
}

#[derive(Deserialize)]
pub struct ComponentPart {
    pub kind: Code,
    pub product: String,
    pub depth_new: Option<Entered>,
    #[serde(default)]
    pub came_used: bool,
    pub cost: Option<Cost>,
    #[serde(default)]
    pub fittings: Vec<FittingPart>,
}

#[derive(Deserialize)]
pub struct FittingPart {
    pub place: Place,
    pub from_days_ago: i64,
    pub from_odometer: Entered,
    pub to_days_ago: Option<i64>,
    pub to_odometer: Option<Entered>,
}
