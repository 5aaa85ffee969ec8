//! What people do: one deed after the other, each asked for under a key, so that it can be asked for again.

pub mod choosing;
pub mod fitting;
pub mod house;
pub mod learning;
pub mod replying;

use chrono::{DateTime, NaiveDate, Utc};
use chrono_tz::Tz;
use clerk::coverage as covers;
use clerk::findings::ClosureKind;
use clerk::inspections::{Batch, EntryOutcome};
use clerk::organisation::{self, DepotChange, NewPerson, PersonChange};
use clerk::papers::NewPaper;
use clerk::readings::NewReading;
use clerk::services::NewService;
use clerk::stays::NewStay;
use clerk::vehicles::NewVehicle;
use clerk::{Act, ActError, Asked, Clerk, StoredAnswer};
use fitting::Fitting;
use house::House;
use model::{
    Actor, ActorKind, BaselineChoice, CoverageTerms, Decision, DepotId, Every, FindingId, FleetId,
    IntervalRule, OverrideId, PaperId, PaperKind, PersonId, ReadingId, ReadingSource, Role, RulebookId,
    ServiceId, StayId, VehicleId, WindowId, WorkshopId,
};
use quantity::Entered;
use replying::Reply;
use testkit::world::code;
use uuid::Uuid;

/// Something somebody wants done.
#[derive(Debug, Clone)]
pub enum Deed {
    /// A vehicle comes.
    Register(Box<NewVehicle>),
    /// A vehicle leaves.
    Retire { vehicle: VehicleId, version: i64, on: NaiveDate },
    /// An odometer was read.
    Read { vehicle: VehicleId, at: DateTime<Utc>, value: Entered },
    /// A reading is decided on.
    Decide { vehicle: VehicleId, reading: ReadingId, decision: Decision },
    /// Work was done.
    Serve { vehicle: VehicleId, on: NaiveDate, value: Entered, rule: String },
    /// It was not.
    UndoService { vehicle: VehicleId, service: ServiceId },
    /// A paper came.
    Paper { vehicle: VehicleId, kind: PaperKind, expires_on: NaiveDate },
    /// It was not this vehicle's.
    UndoPaper { vehicle: VehicleId, paper: PaperId },
    /// A warranty or lease begins.
    Cover { vehicle: VehicleId, terms: Box<CoverageTerms> },
    /// It does not.
    UndoCover { vehicle: VehicleId, window: WindowId },
    /// A vehicle goes off the road.
    GoIn { vehicle: VehicleId, at: DateTime<Utc>, workshop: Option<WorkshopId> },
    /// It comes out again.
    ComeOut { vehicle: VehicleId, stay: StayId, at: DateTime<Utc> },
    /// It was not off the road.
    UndoStay { vehicle: VehicleId, stay: StayId },
    /// A rule is different for a vehicle.
    Override { vehicle: VehicleId, rule: String, every: Option<Every> },
    /// It is not.
    UndoOverride { vehicle: VehicleId, exception: OverrideId },
    /// The rulebook is edited.
    ReviseRules { rulebook: RulebookId, version: i64, rules: Vec<IntervalRule> },
    /// Somebody joins.
    Hire { role: Role, email: Option<String>, zone: Tz },
    /// Somebody's details change.
    ChangePerson { person: PersonId, version: i64, change: PersonChange },
    /// Somebody goes.
    ErasePerson { person: PersonId, version: i64 },
    /// Somebody's address takes mail again.
    ReleaseAddress { person: PersonId },
    /// The depot moves.
    MoveZone { depot: DepotId, version: i64, zone: Tz },
    /// A finding is closed.
    CloseFinding { vehicle: VehicleId, finding: FindingId, kind: ClosureKind },
    /// A used vehicle's past is settled.
    AnswerBaseline { vehicle: VehicleId, answers: Vec<(String, BaselineChoice)> },
    /// A reminder is answered.
    Reply(Reply),
    /// Something is decided for the fleet.
    House(House),
    /// Something is done to a component.
    Fitting(Fitting),
    /// A phone sends what it holds.
    Batch(Box<Batch>),
    /// Somebody reaches for another fleet's vehicle.
    Trespass { vehicle: VehicleId, at: DateTime<Utc> },
}

/// A deed under its key.
#[derive(Debug, Clone)]
pub struct Errand {
    /// The place of the fleet in the world.
    pub fleet: usize,
    /// That fleet.
    pub fleet_id: FleetId,
    /// What.
    pub deed: Deed,
    /// Whose, and under which key.
    pub asked: Asked,
    /// How often it was asked for without an answer.
    pub tries: u32,
}

/// What was answered.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Answer {
    /// The id of what was made.
    pub id: Option<Uuid>,
    /// Of a batch: each entry and what became of it.
    pub entries: Vec<(Uuid, String)>,
    /// Whether this is what was answered before.
    pub is_repeated: bool,
    /// Whether it is so old that only its status is kept: it is done, and no more is said.
    pub is_bare: bool,
}

impl Deed {
    /// What it is called.
    pub const fn name(&self) -> &'static str {
        match self {
            Self::Register(_) => "register",
            Self::Retire { .. } => "retire",
            Self::Read { .. } => "read",
            Self::Decide { .. } => "decide",
            Self::Serve { .. } => "serve",
            Self::UndoService { .. } => "undo service",
            Self::Paper { .. } => "paper",
            Self::UndoPaper { .. } => "undo paper",
            Self::Cover { .. } => "cover",
            Self::UndoCover { .. } => "undo cover",
            Self::GoIn { .. } => "go in",
            Self::ComeOut { .. } => "come out",
            Self::UndoStay { .. } => "undo stay",
            Self::Override { .. } => "override",
            Self::UndoOverride { .. } => "undo override",
            Self::ReviseRules { .. } => "revise rules",
            Self::Hire { .. } => "hire",
            Self::ChangePerson { .. } => "change person",
            Self::ErasePerson { .. } => "erase person",
            Self::ReleaseAddress { .. } => "release address",
            Self::MoveZone { .. } => "move zone",
            Self::CloseFinding { .. } => "close finding",
            Self::AnswerBaseline { .. } => "answer baseline",
            Self::Reply(reply) => reply.name(),
            Self::House(house) => house.name(),
            Self::Fitting(fitting) => fitting.name(),
            Self::Batch(_) => "batch",
            Self::Trespass { .. } => "trespass",
        }
    }

    async fn perform(self, act: &mut Act) -> Result<Answer, ActError> {
        let made = |id: Uuid| Answer { id: Some(id), ..Answer::default() };
        match self {
            Self::Batch(batch) => return take_in(act, *batch).await,
            Self::Reply(reply) => reply.perform(act).await,
            Self::House(house) => house.perform(act).await,
            Self::Fitting(fitting) => fitting.perform(act).await,
            Self::Register(new) => clerk::vehicles::register(act, *new).await.map(|van| made(van.id.0)),
            Self::Retire { vehicle, version, on } => {
                clerk::vehicles::retire(act, vehicle, version, on).await.map(|()| Answer::default())
            }
            Self::Hire { role, email, zone } => {
                organisation::create_person(act, person(role, email, zone)).await.map(|one| made(one.id.0))
            }
            Self::ChangePerson { person, version, change } => {
                let changed = organisation::change_person(act, person, version, change);
                changed.await.map(|_| Answer::default())
            }
            Self::ErasePerson { person, version } => {
                organisation::erase_person(act, person, version).await.map(|()| Answer::default())
            }
            Self::ReleaseAddress { person } => {
                let released = clerk::unreachable::release_address(act, person, "mended".to_owned());
                released.await.map(|_| Answer::default())
            }
            Self::MoveZone { depot, version, zone } => {
                let change = DepotChange { zone: Some(zone), ..DepotChange::default() };
                organisation::change_depot(act, depot, version, change).await.map(|_| Answer::default())
            }
            Self::ReviseRules { rulebook, version, rules } => {
                let revised = clerk::rulebooks::revise(act, rulebook, version, "Vans".to_owned(), rules);
                revised.await.map(|_| Answer::default())
            }
            of_vehicle => of_vehicle.done_to_vehicle(act).await,
        }
    }

    async fn done_to_vehicle(self, act: &mut Act) -> Result<Answer, ActError> {
        let made = |id: Uuid| Answer { id: Some(id), ..Answer::default() };
        match self {
            Self::Read { vehicle, at, value } => read(act, vehicle, at, value).await,
            Self::Trespass { vehicle, at } => read(act, vehicle, at, testkit::world::km(1.0)).await,
            Self::Decide { vehicle, reading, decision } => {
                let decided =
                    clerk::readings::decide(act, vehicle, reading, decision, "looked again".to_owned());
                decided.await.map(|_| Answer::default())
            }
            Self::Serve { vehicle, on, value, rule } => {
                clerk::services::record(act, vehicle, service(on, value, &rule))
                    .await
                    .map(|one| made(one.id.0))
            }
            Self::UndoService { vehicle, service } => {
                clerk::services::withdraw(act, vehicle, service).await.map(|()| Answer::default())
            }
            Self::Paper { vehicle, kind, expires_on } => {
                let new = NewPaper { kind, reference: None, issued_on: None, expires_on };
                clerk::papers::record(act, vehicle, new).await.map(|one| made(one.id.0))
            }
            Self::UndoPaper { vehicle, paper } => {
                clerk::papers::withdraw(act, vehicle, paper).await.map(|()| Answer::default())
            }
            Self::Cover { vehicle, terms } => {
                covers::open(act, vehicle, *terms).await.map(|one| made(one.id.0))
            }
            Self::UndoCover { vehicle, window } => {
                covers::withdraw(act, vehicle, window).await.map(|()| Answer::default())
            }
            others => others.done_off_the_road(act).await,
        }
    }

    async fn done_off_the_road(self, act: &mut Act) -> Result<Answer, ActError> {
        let made = |id: Uuid| Answer { id: Some(id), ..Answer::default() };
        match self {
            Self::GoIn { vehicle, at, workshop } => {
                clerk::stays::open(act, vehicle, stay(at, workshop)).await.map(|one| made(one.id.0))
            }
            Self::ComeOut { vehicle, stay, at } => {
                clerk::stays::close(act, vehicle, stay, at).await.map(|_| Answer::default())
            }
            Self::UndoStay { vehicle, stay } => {
                clerk::stays::withdraw(act, vehicle, stay).await.map(|_| Answer::default())
            }
            Self::Override { vehicle, rule, every } => {
                let why = "town work only".to_owned();
                let recorded = clerk::rulebooks::override_rule(act, vehicle, code(&rule), every, why);
                recorded.await.map(|one| made(one.id.0))
            }
            Self::UndoOverride { vehicle, exception } => {
                let withdrawn = clerk::rulebooks::withdraw_override(act, vehicle, exception);
                withdrawn.await.map(|()| Answer::default())
            }
            Self::CloseFinding { vehicle, finding, kind } => {
                let closed = clerk::findings::close(act, vehicle, finding, kind, "seen to".to_owned(), None);
                closed.await.map(|_| Answer::default())
            }
            Self::AnswerBaseline { vehicle, answers } => {
                let answers = answers.into_iter().map(|(rule, choice)| (code(&rule), choice)).collect();
                clerk::rulebooks::answer_baseline(act, vehicle, answers).await.map(|_| Answer::default())
            }
            // The others are done above.
            _ => Ok(Answer::default()),
        }
    }
}

async fn read(
    act: &mut Act,
    vehicle: VehicleId,
    read_at: DateTime<Utc>,
    value: Entered,
) -> Result<Answer, ActError> {
    let new = NewReading { value, read_at, source: ReadingSource::Driver };
    let reading = clerk::readings::record(act, vehicle, new).await?;
    Ok(Answer { id: Some(reading.id.0), ..Answer::default() })
}

async fn take_in(act: &mut Act, batch: Batch) -> Result<Answer, ActError> {
    let results = clerk::inspections::take_in(act, batch).await?;
    let entry = |text: Option<String>| text.and_then(|text| text.parse().ok()).unwrap_or_default();
    let entries = results.into_iter().map(|result| {
        let outcome = match result.outcome {
            EntryOutcome::Accepted(taken) if taken.do_not_drive => "do not drive".to_owned(),
            EntryOutcome::Accepted(_) => "accepted".to_owned(),
            EntryOutcome::Duplicate { .. } => "duplicate".to_owned(),
            EntryOutcome::Held { .. } => "held".to_owned(),
            EntryOutcome::Rejected { code, .. } => format!("rejected as {code}"),
        };
        (entry(result.entry_id), outcome)
    });
    Ok(Answer { entries: entries.collect(), ..Answer::default() })
}

fn person(role: Role, email: Option<String>, zone: Tz) -> NewPerson {
    let (name, language) = (format!("A {role}"), "en-GB".to_owned());
    NewPerson {
        role,
        depots: Vec::new(),
        name,
        email,
        language,
        zone,
        quiet_hours: None,
        letter_days: None,
        letter_time: None,
        declined_letters: Vec::new(),
    }
}

fn service(done_on: NaiveDate, odometer: Entered, rule: &str) -> NewService {
    NewService {
        done_on,
        odometer,
        rules: vec![code(rule)],
        workshop: None,
        parts: Vec::new(),
        cost_minor: None,
        currency: None,
        evidence: None,
        note: None,
        warranties: Vec::new(),
    }
}

fn stay(in_at: DateTime<Utc>, workshop: Option<WorkshopId>) -> NewStay {
    NewStay { workshop, in_at, out_at: None, reason: "bodywork".to_owned(), waiting_for: None }
}

/// Does the errand as a request does: once, however often it is asked for; the answer is kept beside the effect.
///
/// # Errors
/// As the act's.
pub async fn run(clerk: &Clerk, errand: &Errand) -> Result<Answer, ActError> {
    let actor = Actor { kind: ActorKind::Operator, key: None, person: None, source: "simulation".to_owned() };
    let mut act = clerk.begin(errand.fleet_id, &actor, errand.deed.name(), None).await?;
    if let Some(kept) = act.stored_answer(&errand.asked).await? {
        let is_bare = kept.body.is_none();
        return Ok(Answer { is_repeated: true, is_bare, ..read_answer(&kept.body.unwrap_or_default()) });
    }
    let answer = errand.deed.clone().perform(&mut act).await?;
    let kept = StoredAnswer {
        status: 200,
        location: None,
        etag: None,
        content_type: "application/json".to_owned(),
        body: Some(serde_json::json!([answer.id, answer.entries]).to_string()),
    };
    act.keep_answer(&errand.asked, &kept).await?;
    act.commit().await?;
    Ok(answer)
}

fn read_answer(body: &str) -> Answer {
    let (id, entries) = serde_json::from_str(body).unwrap_or_default();
    Answer { id, entries, ..Answer::default() }
}
