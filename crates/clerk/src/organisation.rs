//! Depots, people and workshops.

use crate::error::{ActError, Fault, none_of};
use crate::{Act, unreachable};
use chrono::NaiveTime;
use chrono_tz::Tz;
use model::{
    Depot, DepotId, Jurisdiction, LETTER_TIME, OptionalLetter, Person, PersonId, Role, Weekdays, Workshop,
    WorkshopId, WorkshopKind,
};
use quantity::{Entered, Temperature, Unit};

/// A depot to be made.
#[derive(Debug, Clone)]
pub struct NewDepot {
    /// Its name.
    pub name: String,
    /// Its time zone.
    pub zone: Tz,
    /// Whose law applies.
    pub jurisdiction: Jurisdiction,
    /// The coldest its vehicles must stand.
    pub design_low: Option<Entered>,
}

/// What to change about a depot.
#[derive(Debug, Clone, Default)]
pub struct DepotChange {
    /// Its name.
    pub name: Option<String>,
    /// Its time zone.
    pub zone: Option<Tz>,
    /// Whose law applies.
    pub jurisdiction: Option<Jurisdiction>,
    /// The coldest its vehicles must stand.
    pub design_low: Option<Option<Entered>>,
}

/// Makes a depot.
///
/// # Errors
/// Storage errors.
pub async fn create_depot(act: &mut Act, new: NewDepot) -> Result<Depot, ActError> {
    let depot = Depot {
        id: DepotId(act.new_id()),
        name: new.name,
        zone: new.zone,
        jurisdiction: new.jurisdiction,
        design_low: new.design_low.map(read_design_low).transpose()?,
        version: 1,
    };
    let (fleet, at) = (act.fleet(), act.at());
    store::depots::insert(&mut act.conn(), fleet, &depot, at).await?;
    act.note("depot", depot.id, "create", None, Some(&depot));
    Ok(depot)
}

/// Changes a depot that still has the version `expected`; vehicles that stand there are renewed by the scheduler.
///
/// # Errors
/// [`ActError::NotFound`], [`ActError::Stale`]; storage errors.
pub async fn change_depot(
    act: &mut Act,
    id: DepotId,
    expected: i64,
    change: DepotChange,
) -> Result<Depot, ActError> {
    act.take_turn_at_grounds().await?;
    let fleet = act.fleet();
    let before =
        store::depots::find(&mut act.conn(), fleet, id).await?.ok_or(ActError::NotFound { kind: "depot" })?;
    let after = Depot {
        id,
        name: change.name.unwrap_or_else(|| before.name.clone()),
        zone: change.zone.unwrap_or(before.zone),
        jurisdiction: change.jurisdiction.unwrap_or(before.jurisdiction),
        design_low: match change.design_low {
            Some(given) => given.map(read_design_low).transpose()?,
            None => before.design_low,
        },
        version: expected + 1,
    };
    if !store::depots::update(&mut act.conn(), fleet, &after, expected).await? {
        return Err(ActError::Stale);
    }
    let said_of_vehicles = |depot: &Depot| (depot.zone, depot.jurisdiction, depot.design_low);
    if said_of_vehicles(&before) != said_of_vehicles(&after) {
        store::states::raise_needed_all(&mut act.conn(), fleet).await?;
    }
    act.note("depot", id, "change", Some(&before), Some(&after));
    Ok(after)
}

/// The coldest and the warmest that a depot may name as its cold, degrees Celsius (house setting, no source).
const DESIGN_LOWS: std::ops::RangeInclusive<f64> = -60.0..=20.0;

fn read_design_low(given: Entered) -> Result<Temperature, ActError> {
    let read = Temperature::parse(given)
        .map_err(|error| ActError::Faults(vec![Fault::quantity("/design_low", &error)]))?;
    if DESIGN_LOWS.contains(&read.to(Unit::Celsius).value) {
        return Ok(read);
    }
    let detail = format!("{given} is no cold to be ready for; between -60 and 20 °C is allowed");
    Err(ActError::fault("/design_low", "range", detail))
}

/// A person to be entered.
#[derive(Debug, Clone)]
pub struct NewPerson {
    /// The duty.
    pub role: Role,
    /// Depots concerned; empty means all.
    pub depots: Vec<DepotId>,
    /// The name.
    pub name: String,
    /// Address for letters.
    pub email: Option<String>,
    /// Language tag.
    pub language: String,
    /// Zone of the quiet hours.
    pub zone: Tz,
    /// From when to when no letter is delivered.
    pub quiet_hours: Option<(NaiveTime, NaiveTime)>,
    /// Days on which letters come; Monday to Friday if none are said.
    pub letter_days: Option<Weekdays>,
    /// At which hour, local time; at seven if none is said.
    pub letter_time: Option<NaiveTime>,
    /// Optional letters the person does without.
    pub declined_letters: Vec<OptionalLetter>,
}

/// What to change about a person.
#[derive(Debug, Clone, Default)]
pub struct PersonChange {
    /// The duty.
    pub role: Option<Role>,
    /// Depots concerned.
    pub depots: Option<Vec<DepotId>>,
    /// The name.
    pub name: Option<String>,
    /// Address for letters.
    pub email: Option<Option<String>>,
    /// Language tag.
    pub language: Option<String>,
    /// Zone of the quiet hours.
    pub zone: Option<Tz>,
    /// From when to when no letter is delivered.
    pub quiet_hours: Option<Option<(NaiveTime, NaiveTime)>>,
    /// Days on which letters come.
    pub letter_days: Option<Weekdays>,
    /// At which hour, local time.
    pub letter_time: Option<NaiveTime>,
    /// Optional letters the person does without.
    pub declined_letters: Option<Vec<OptionalLetter>>,
}

/// Enters a person.
///
/// # Errors
/// Faults for unknown depots or an address no letter could go to; storage errors.
pub async fn create_person(act: &mut Act, new: NewPerson) -> Result<Person, ActError> {
    let person = Person {
        id: PersonId(act.new_id()),
        role: new.role,
        depots: new.depots,
        name: new.name,
        email: new.email,
        language: new.language,
        zone: new.zone,
        quiet_hours: new.quiet_hours,
        letter_days: new.letter_days.unwrap_or(Weekdays::MONDAY_TO_FRIDAY),
        letter_time: new.letter_time.unwrap_or(LETTER_TIME),
        declined_letters: in_order(&new.declined_letters),
        version: 1,
    };
    check_person(act, &person).await?;
    let (fleet, at) = (act.fleet(), act.at());
    store::people::insert(&mut act.conn(), fleet, &person, at).await?;
    act.note("person", person.id, "create", None, Some(&traceless(&person)));
    Ok(person)
}

/// Changes a person who still has the version `expected`.
///
/// # Errors
/// As [`create_person`]; [`ActError::NotFound`], [`ActError::Stale`].
pub async fn change_person(
    act: &mut Act,
    id: PersonId,
    expected: i64,
    change: PersonChange,
) -> Result<Person, ActError> {
    let fleet = act.fleet();
    let before = store::people::find(&mut act.conn(), fleet, id)
        .await?
        .ok_or(ActError::NotFound { kind: "person" })?;
    let after = Person {
        id,
        role: change.role.unwrap_or(before.role),
        depots: change.depots.unwrap_or_else(|| before.depots.clone()),
        name: change.name.unwrap_or_else(|| before.name.clone()),
        email: change.email.unwrap_or_else(|| before.email.clone()),
        language: change.language.unwrap_or_else(|| before.language.clone()),
        zone: change.zone.unwrap_or(before.zone),
        quiet_hours: change.quiet_hours.unwrap_or(before.quiet_hours),
        letter_days: change.letter_days.unwrap_or(before.letter_days),
        letter_time: change.letter_time.unwrap_or(before.letter_time),
        declined_letters: in_order(change.declined_letters.as_ref().unwrap_or(&before.declined_letters)),
        version: expected + 1,
    };
    check_person(act, &after).await?;
    if !store::people::update(&mut act.conn(), fleet, &after, expected).await? {
        return Err(ActError::Stale);
    }
    let at = act.at();
    unreachable::moved(&mut act.conn(), fleet, &before, &after, at).await?;
    act.note("person", id, "change", Some(&traceless(&before)), Some(&traceless(&after)));
    Ok(after)
}

/// Erases a person's details; history keeps the bare id.
///
/// # Errors
/// [`ActError::NotFound`], [`ActError::Stale`]; storage errors.
pub async fn erase_person(act: &mut Act, id: PersonId, expected: i64) -> Result<(), ActError> {
    let (fleet, at) = (act.fleet(), act.at());
    let Some(before) = store::people::find(&mut act.conn(), fleet, id).await? else {
        return Err(ActError::NotFound { kind: "person" });
    };
    if !store::people::erase(&mut act.conn(), fleet, id, expected, at).await? {
        return Err(ActError::Stale);
    }
    // Answers are kept to be replayed; those that name the person are not.
    for detail in [Some(before.name), before.email].into_iter().flatten() {
        store::idempotency::forget_naming(&mut act.conn(), fleet, &detail).await?;
    }
    act.note::<()>("person", id, "erase", None, None);
    Ok(())
}

/// Each kind once, in one order.
fn in_order(letters: &[OptionalLetter]) -> Vec<OptionalLetter> {
    OptionalLetter::ALL.iter().copied().filter(|letter| letters.contains(letter)).collect()
}

/// A person without what must be erasable: the record of changes keeps duties, never names or addresses.
fn traceless(person: &Person) -> Person {
    Person { name: String::new(), email: None, quiet_hours: None, ..person.clone() }
}

async fn check_person(act: &mut Act, person: &Person) -> Result<(), ActError> {
    let fleet = act.fleet();
    let mut faults = Vec::new();
    for (index, depot) in person.depots.iter().enumerate() {
        if store::depots::find(&mut act.conn(), fleet, *depot).await?.is_none() {
            faults.push(Fault::new(
                format!("/depots/{index}"),
                "unknown",
                format!("there is no depot {depot}"),
            ));
        }
    }
    if let Some(email) = person.email.as_ref().filter(|email| !looks_like_an_address(email)) {
        let detail = format!("{email:?} is no mail address: one @, a name before it and a domain after it");
        faults.push(Fault::new("/email", "address", detail));
    }
    none_of(faults)
}

/// The little that can be said of an address without asking its server: the grammar is the relay's business.
fn looks_like_an_address(text: &str) -> bool {
    let plain =
        text.len() <= 254 && text.chars().all(|c| c.is_ascii_graphic() && !"()<>[]:;,\\\"".contains(c));
    let dots_apart = |part: &str| !part.is_empty() && !part.split('.').any(str::is_empty);
    let parts: Vec<&str> = text.split('@').collect();
    plain
        && matches!(*parts, [local, domain] if dots_apart(local) && dots_apart(domain) && domain.contains('.'))
}

/// A workshop to be entered.
#[derive(Debug, Clone)]
pub struct NewWorkshop {
    /// Its name.
    pub name: String,
    /// What it is.
    pub kind: WorkshopKind,
    /// Working days of notice it needs.
    pub lead_days: u32,
    /// Whether it does work that a warranty pays for; none: a dealer does.
    pub warranty_work: Option<bool>,
    /// Days of the week on which it works; none: Monday to Friday.
    pub working_weekdays: Option<Weekdays>,
}

/// What to change about a workshop.
#[derive(Debug, Clone, Default)]
pub struct WorkshopChange {
    /// Its name.
    pub name: Option<String>,
    /// What it is.
    pub kind: Option<WorkshopKind>,
    /// Working days of notice it needs.
    pub lead_days: Option<u32>,
    /// Whether it does work that a warranty pays for.
    pub warranty_work: Option<bool>,
    /// Days of the week on which it works.
    pub working_weekdays: Option<Weekdays>,
}

/// Enters a workshop; the fleet's vehicles are renewed by the scheduler, since it may be the one to act on a warranty.
///
/// # Errors
/// Storage errors.
pub async fn create_workshop(act: &mut Act, new: NewWorkshop) -> Result<Workshop, ActError> {
    act.take_turn_at_grounds().await?;
    let id = WorkshopId(act.new_id());
    let workshop = Workshop {
        id,
        name: new.name,
        kind: new.kind,
        lead_days: new.lead_days,
        warranty_work: new.warranty_work.unwrap_or(new.kind == WorkshopKind::Dealer),
        working_weekdays: new.working_weekdays.unwrap_or(Weekdays::MONDAY_TO_FRIDAY),
        version: 1,
    };
    let (fleet, at) = (act.fleet(), act.at());
    store::workshops::insert(&mut act.conn(), fleet, &workshop, at).await?;
    store::states::raise_needed_all(&mut act.conn(), fleet).await?;
    act.note("workshop", id, "create", None, Some(&workshop));
    Ok(workshop)
}

/// Changes a workshop that still has the version `expected`; the fleet's vehicles are renewed by the scheduler.
///
/// # Errors
/// [`ActError::NotFound`], [`ActError::Stale`]; storage errors.
pub async fn change_workshop(
    act: &mut Act,
    id: WorkshopId,
    expected: i64,
    change: WorkshopChange,
) -> Result<Workshop, ActError> {
    act.take_turn_at_grounds().await?;
    let fleet = act.fleet();
    let before = store::workshops::find(&mut act.conn(), fleet, id)
        .await?
        .ok_or(ActError::NotFound { kind: "workshop" })?;
    let after = Workshop {
        id,
        name: change.name.unwrap_or_else(|| before.name.clone()),
        kind: change.kind.unwrap_or(before.kind),
        lead_days: change.lead_days.unwrap_or(before.lead_days),
        warranty_work: change.warranty_work.unwrap_or(before.warranty_work),
        working_weekdays: change.working_weekdays.unwrap_or(before.working_weekdays),
        version: expected + 1,
    };
    if !store::workshops::update(&mut act.conn(), fleet, &after, expected).await? {
        return Err(ActError::Stale);
    }
    // The last day to act on a warranty is a day on which a workshop works.
    store::states::raise_needed_all(&mut act.conn(), fleet).await?;
    act.note("workshop", id, "change", Some(&before), Some(&after));
    Ok(after)
}
