//! Gathering a person's notices into one letter, each checked to be still true.

use crate::Clerk;
use crate::error::ActError;
use crate::{facts, retraction};
use chrono::{DateTime, Utc};
use model::horizon::{DueItem, WindowOutlook};
use model::{FleetId, LetterId, NoticeId, NoticeState, Person, PersonId, VehicleId};
use quantity::Unit;
use store::derived::SubjectKind;
use store::letters::NewLetter;
use store::notices::WaitingNotice;
use store::{Conn, Reach, Tx};

/// Who is written to.
#[derive(Debug, Clone)]
pub struct Addressee {
    /// The fleet.
    pub fleet: FleetId,
    /// Its name.
    pub fleet_name: String,
    /// The person.
    pub person: Person,
    /// A manager to ring, other than the addressee where there is one.
    pub to_ring: Option<String>,
}

/// A vehicle as a letter names it.
#[derive(Debug, Clone, PartialEq)]
pub struct VehicleCard {
    /// Its id.
    pub id: VehicleId,
    /// The fleet's own name for it.
    pub label: String,
    /// Its plate.
    pub plate: Option<String>,
    /// Make and model.
    pub make_model: String,
    /// What its odometer shows.
    pub odometer_unit: Unit,
    /// The zone its dates are read in.
    pub zone: chrono_tz::Tz,
}

/// What a notice is about, as it stands now.
#[derive(Debug, Clone, PartialEq)]
pub enum Subject {
    /// Something to do.
    Item(Box<DueItem>),
    /// A coverage window.
    Window(Box<WindowOutlook>),
}

/// A notice that is still true.
#[derive(Debug, Clone)]
pub struct GatheredNotice {
    /// Its id.
    pub id: NoticeId,
    /// Whether it goes at once.
    pub urgent: bool,
    /// The vehicle.
    pub vehicle: VehicleCard,
    /// Which mark fired.
    pub mark: String,
    /// What it is about.
    pub subject: Subject,
    /// What was measured or found, in one sentence, for a condition.
    pub reason: Option<String>,
}

/// The notices of one person, gathered in an open transaction: seal it into a letter, or drop it to undo.
pub struct Gathering {
    tx: Tx,
    clerk: Clerk,
    letter: LetterId,
    /// Who is written to.
    pub addressee: Addressee,
    /// What is told, by vehicle label.
    pub notices: Vec<GatheredNotice>,
}

/// A finished letter.
#[derive(Debug, Clone)]
pub struct SealedLetter {
    /// What kind of letter.
    pub kind: &'static str,
    /// Its subject line.
    pub subject: String,
    /// Its Message-ID, without angle brackets.
    pub message_id: String,
    /// The one address it goes to.
    pub address: String,
    /// Its exact bytes.
    pub bytes: Vec<u8>,
}

/// People who have notices waiting whose time has come.
///
/// # Errors
/// Storage errors.
pub async fn waiting_addressees(clerk: &Clerk, most: u32) -> Result<Vec<(FleetId, PersonId)>, ActError> {
    let mut tx = clerk.store().reader(Reach::All).await?;
    Ok(store::notices::waiting_addressees(&mut tx.conn(), clerk.now(), most).await?)
}

/// Opens the gathering of a person's notices. Those no longer true are withdrawn; none left: `None`.
///
/// # Errors
/// Storage errors.
pub async fn open_gathering(
    clerk: &Clerk,
    fleet: FleetId,
    person: PersonId,
) -> Result<Option<Gathering>, ActError> {
    let now = clerk.now();
    let mut tx = clerk.store().writer(Reach::Fleet(fleet)).await?;
    let waiting = store::notices::waiting_for(&mut tx.conn(), fleet, person, now).await?;
    let Some(addressee) = addressee(&mut tx.conn(), fleet, person).await? else {
        let ids: Vec<NoticeId> = waiting.iter().map(|notice| notice.id).collect();
        store::notices::set_state(&mut tx.conn(), fleet, &ids, NoticeState::ListOnly, now).await?;
        tx.commit().await?;
        return Ok(None);
    };
    let notices = still_true(&mut tx.conn(), fleet, waiting, now).await?;
    if notices.is_empty() {
        tx.commit().await?;
        return Ok(None);
    }
    let letter = LetterId(clerk.new_id());
    Ok(Some(Gathering { tx, clerk: clerk.clone(), letter, addressee, notices }))
}

async fn addressee(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    person: PersonId,
) -> Result<Option<Addressee>, ActError> {
    let Some(found) = store::fleets::find(conn, fleet).await? else { return Ok(None) };
    let person = store::people::find(conn, fleet, person).await?;
    let Some(person) = person.filter(|person| person.email.is_some()) else { return Ok(None) };
    let managers = store::people::managers(conn, fleet).await?;
    let to_ring = managers.iter().find(|m| m.id != person.id).or_else(|| managers.first());
    let to_ring = to_ring.map(|manager| manager.name.clone());
    Ok(Some(Addressee { fleet, fleet_name: found.name, person, to_ring }))
}

/// Keeps the notices whose mark still stands and has come; takes the others back.
async fn still_true(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    waiting: Vec<WaitingNotice>,
    now: DateTime<Utc>,
) -> Result<Vec<GatheredNotice>, ActError> {
    let mut kept = Vec::new();
    let mut untrue = Vec::new();
    for notice in waiting {
        match subject_if_true(conn, fleet, &notice, now).await? {
            Some(subject) => kept.extend(gathered(conn, fleet, notice, subject).await?),
            None => untrue.push(notice),
        }
    }
    let vehicles = untrue.iter().map(|notice| (fleet, notice.vehicle)).collect();
    retraction::raise_needed(conn, vehicles).await?;
    retraction::take_back(conn, fleet, &untrue, now).await?;
    kept.sort_by(|a, b| (&a.vehicle.label, a.vehicle.id, a.id).cmp(&(&b.vehicle.label, b.vehicle.id, b.id)));
    Ok(kept)
}

/// What a notice is about, if its mark stands and has come.
pub(super) async fn subject_if_true(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    notice: &WaitingNotice,
    now: DateTime<Utc>,
) -> Result<Option<Subject>, ActError> {
    let found = subject_now(conn, fleet, notice).await?;
    let stands = |subject: &SubjectKind| {
        retraction::mark_of(subject, &notice.key).is_some_and(|mark| mark.at <= now)
            || cfg!(feature = "without-recheck")
    };
    Ok(found.filter(stands).map(|found| match found {
        SubjectKind::Item(item) => Subject::Item(item),
        SubjectKind::Window(window) => Subject::Window(window),
    }))
}

/// What a notice is about: as it is derived, or as the facts give it where a renewal is still to come, since rules may
/// have been edited meanwhile.
async fn subject_now(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    notice: &WaitingNotice,
) -> Result<Option<SubjectKind>, ActError> {
    let (vehicle, key) = (notice.vehicle, &notice.key.item_key);
    if !store::states::is_behind(conn, fleet, vehicle, engine::ENGINE_VERSION).await? {
        return Ok(store::derived::subject(conn, fleet, vehicle, key).await?.map(|found| found.kind));
    }
    let policy = store::fleets::policy(conn, fleet).await?;
    let facts = facts::load(conn, fleet, &[vehicle], &policy).await?;
    let Some(horizon) = facts.first().map(|facts| engine::horizon(facts, &policy)) else { return Ok(None) };
    let item = horizon.items.into_iter().find(|item| item.key.0 == *key);
    let window = horizon.windows.into_iter().find(|window| window.key.0 == *key);
    Ok(item
        .map(|item| SubjectKind::Item(Box::new(item)))
        .or(window.map(|w| SubjectKind::Window(Box::new(w)))))
}

async fn gathered(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    notice: WaitingNotice,
    subject: Subject,
) -> Result<Option<GatheredNotice>, ActError> {
    let Some(vehicle) = store::vehicles::find(conn, fleet, notice.vehicle).await? else { return Ok(None) };
    let attributes = vehicle.attributes_now();
    let card = VehicleCard {
        id: vehicle.id,
        label: attributes.map(|a| a.label.clone()).unwrap_or_default(),
        plate: attributes.and_then(|a| a.plate.clone()),
        make_model: format!("{} {}", vehicle.make, vehicle.model),
        odometer_unit: vehicle.odometer_unit,
        zone: vehicle.zone,
    };
    let reason = reason(conn, fleet, vehicle.id, &notice.key.item_key).await?;
    let mark = notice.key.mark;
    Ok(Some(GatheredNotice { id: notice.id, urgent: notice.urgent, vehicle: card, mark, subject, reason }))
}

/// What was measured or found, for a condition: the sentence of its grade, or the words of who found it.
async fn reason(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    vehicle: VehicleId,
    item_key: &str,
) -> Result<Option<String>, ActError> {
    if let Some(id) = item_key.strip_prefix("finding:").and_then(|id| id.parse().ok()) {
        let found = store::findings::find(conn, fleet, vehicle, id).await?;
        return Ok(found.map(|finding| finding.note));
    }
    let Some(where_graded) = item_key.strip_prefix("condition:") else { return Ok(None) };
    let all = store::derived::grades(conn, fleet, vehicle).await?;
    let graded = all.into_iter().find(|g| format!("{}:{}", g.point, g.place) == where_graded);
    Ok(graded.map(|graded| graded.reason))
}

impl Gathering {
    /// The id the letter will have.
    pub const fn letter_id(&self) -> LetterId {
        self.letter
    }

    /// When it was gathered.
    pub fn at(&self) -> DateTime<Utc> {
        self.clerk.now()
    }

    /// Stores the letter with its exact bytes and puts the notices into it, before anything is sent.
    ///
    /// # Errors
    /// Storage errors; the notices then wait on.
    pub async fn seal(mut self, sealed: SealedLetter) -> Result<LetterId, ActError> {
        let now = self.clerk.now();
        let fleet = self.addressee.fleet;
        let letter = NewLetter {
            id: self.letter,
            person: self.addressee.person.id,
            kind: sealed.kind.to_owned(),
            subject: sealed.subject,
            message_id: sealed.message_id,
            address: sealed.address,
            bytes: sealed.bytes,
            created_at: now,
        };
        store::letters::insert(&mut self.tx.conn(), fleet, &letter).await?;
        let ids: Vec<NoticeId> = self.notices.iter().map(|notice| notice.id).collect();
        store::notices::put_into(&mut self.tx.conn(), fleet, &ids, self.letter).await?;
        self.tx.commit().await?;
        Ok(self.letter)
    }
}
