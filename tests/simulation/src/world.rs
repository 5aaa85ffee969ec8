//! The world of a life: a clock, a relay, two fleets, and the programs that look after them.

use crate::dice::Dice;
use crate::faults::{Hardship, ZONES};
use crate::fleet::{Fleet, Van};
use crate::life::{Broken, Lived};
use crate::moments::Counter;
use crate::people::{Errand, choosing, learning};
use crate::place::Place;
use crate::relay::Relay;
use crate::rules;
use crate::stage::Stage;
use crate::tally::Tally;
use chrono::{DateTime, TimeDelta, Utc};
use clerk::organisation::{self, NewDepot, NewPerson};
use clerk::{Asked, Clerk};
use courier::{Courier, Mail, Security, Settings, SmtpSettings};
use model::{Clock, FleetId, Jurisdiction, LetterId, Role, SheetPoint};
use scheduler::Scheduler;
use std::collections::{BTreeMap, VecDeque};
use std::sync::Arc;
use store::{Engine, Store};
use testkit::world::{code, operator};
use testkit::{FakeClock, SeededChance};

/// So many of the last lines are kept for whoever has to look into a broken law.
const KEPT_LINES: usize = 60;

/// A running program.
pub struct Program {
    /// Its clerk.
    pub clerk: Clerk,
    /// Its schedulers.
    pub schedulers: Vec<Arc<Scheduler>>,
    /// Its couriers.
    pub couriers: Vec<Arc<Courier>>,
}

/// Everything there is.
pub struct World {
    /// What decides.
    pub dice: Dice,
    /// How hard life is.
    pub hardship: Hardship,
    /// The clock of the machines.
    pub clock: Arc<FakeClock>,
    /// By how much it is wrong.
    pub clock_error: TimeDelta,
    /// Until when programs surely hold it for wrong, in true time.
    pub disbelieved_until: Option<DateTime<Utc>>,
    /// When it was last put right.
    pub put_right_at: Option<DateTime<Utc>>,
    /// Where everybody acts.
    pub stage: Stage,
    /// The relay.
    pub relay: Relay,
    /// Until when it is away.
    pub relay_away_until: Option<DateTime<Utc>>,
    /// Where everything is kept.
    pub place: Place,
    /// One that only looks, and never dies.
    pub onlooker: Clerk,
    /// The programs; none while one is not running.
    pub programs: Vec<Option<Program>>,
    /// The two fleets.
    pub fleets: Vec<Fleet>,
    /// What was asked for and not answered yet.
    pub errands: Vec<Errand>,
    /// Which step it is.
    pub step: u64,
    /// What happened.
    pub tally: Tally,
    /// What happened last, in words.
    pub last: VecDeque<String>,
    /// Notices that a letter carried which the relay took, by what they decide.
    pub carried: BTreeMap<String, LetterId>,
    /// How many copies the relay had taken when the laws were last looked at.
    pub looked_at: usize,
    /// Counts moments of programs, where one of them shall go wrong.
    pub moments: Option<Counter>,
    /// Whether the last scene had nobody in it but couriers.
    pub record_stood_still: bool,
}

impl World {
    /// Makes the world of `seed`.
    ///
    /// # Errors
    /// What the store or the clerk do wrong already.
    pub async fn new(seed: u64, place: Place) -> Result<Self, Broken> {
        let hardship = Hardship::draw(&Dice::of(seed, 4), place.engine());
        Self::founded(seed, place, hardship).await
    }

    /// The same, as hard as said.
    ///
    /// # Errors
    /// What the store or the clerk do wrong already.
    pub async fn founded(seed: u64, place: Place, hardship: Hardship) -> Result<Self, Broken> {
        let dice = Dice::of(seed, 1);
        let began = "2027-01-04T06:00:00Z".parse::<DateTime<Utc>>().unwrap_or_default()
            + TimeDelta::hours(i64::try_from(dice.below(24 * 365)).unwrap_or(0));
        let clock = Arc::new(FakeClock::at(began));
        let stage = Stage::default();
        let relay = Relay::new(Dice::of(seed, 2), stage.clone());
        let store = place.prepare().await?;
        let onlooker = Clerk::new(store, clock.clone(), Arc::new(SeededChance::from_seed(seed)));
        let mut world = Self {
            programs: (0..hardship.programs).map(|_| None).collect(),
            hardship,
            clock,
            clock_error: TimeDelta::zero(),
            disbelieved_until: None,
            put_right_at: None,
            stage,
            relay,
            relay_away_until: None,
            place,
            onlooker,
            fleets: Vec::new(),
            errands: Vec::new(),
            step: 0,
            tally: Tally::default(),
            last: VecDeque::new(),
            carried: BTreeMap::new(),
            looked_at: 0,
            moments: None,
            record_stood_still: false,
            dice,
        };
        world.found_fleet('A', world.hardship.vehicles).await?;
        world.found_fleet('B', 2).await?;
        Ok(world)
    }

    /// The time that people know it is.
    pub fn true_now(&self) -> DateTime<Utc> {
        self.clock.now() - self.clock_error
    }

    /// Whether programs hold the clock for wrong.
    pub fn is_disbelieved(&self) -> bool {
        self.disbelieved_until.is_some_and(|until| self.true_now() < until)
    }

    /// The store as the one sees it that only looks.
    pub const fn store(&self) -> &Store {
        self.onlooker.store()
    }

    /// Notes what happened.
    pub fn say(&mut self, what: impl std::fmt::Display) {
        if self.last.len() == KEPT_LINES {
            self.last.pop_front();
        }
        let now = self.clock.now().format("%F %T");
        self.last.push_back(format!("{:>3} {now} {what}", self.step));
    }

    /// What the life came to.
    pub fn lived(&self) -> Lived {
        let now = self.true_now();
        let days = |van: &Van| f64::from(u32::try_from((now - van.since.0).num_days()).unwrap_or(0));
        let years = self.fleets.iter().flat_map(|fleet| &fleet.vans).map(days).sum::<f64>() / 365.25;
        Lived { tally: self.tally.clone(), vehicle_years: years, steps: self.hardship.steps }
    }

    /// Starts the programs that are not running.
    ///
    /// # Errors
    /// Storage errors.
    pub async fn start_programs(&mut self) -> Result<(), Broken> {
        for place in 0..self.programs.len() {
            if self.programs[place].is_none() {
                let store = self.place.open(self.clock.never_set(), &self.stage).await?;
                let chance = SeededChance::from_seed(self.dice.below(u64::MAX));
                let clerk = Clerk::new(store, self.clock.clone(), Arc::new(chance));
                self.programs[place] = Some(self.program(clerk)?);
                // Alone, a program takes the clock for right that it finds.
                self.disbelieved_until = self.disbelieved_until.filter(|_| !self.is_alone());
            }
        }
        Ok(())
    }

    fn program(&self, clerk: Clerk) -> Result<Program, Broken> {
        let smtp =
            SmtpSettings { security: Security::PlainForLoopbackOnly, ..SmtpSettings::new("relay.example") };
        let settings = Settings::new(Mail::Smtp(smtp), "Ostler <ostler@fleet.example>");
        let (mut schedulers, mut couriers) = (Vec::new(), Vec::new());
        for _ in 0..self.hardship.workers {
            schedulers.push(Arc::new(Scheduler::new(clerk.clone())));
            let courier = Courier::new(clerk.clone(), settings.clone());
            let courier = courier.map_err(|error| Broken::new("the settings can be used", error))?;
            couriers.push(Arc::new(courier.dialling(Arc::new(self.relay.clone()))));
        }
        Ok(Program { clerk, schedulers, couriers })
    }

    /// An errand under a key of its own.
    pub fn errand(&self, fleet: usize, deed: crate::people::Deed) -> Errand {
        let holder = crate::phones::id(&self.dice);
        let asked = Asked {
            holder,
            method: "POST".to_owned(),
            path_template: format!("/{}", deed.name()),
            key: holder.to_string(),
            body_hash: [0; 32],
        };
        Errand { fleet, fleet_id: self.fleets[fleet].id, deed, asked, tries: 0 }
    }

    async fn found_fleet(&mut self, letter: char, vans: u64) -> Result<(), Broken> {
        let clerk = self.onlooker.clone();
        let id = clerk::fleets::create_fleet(&clerk, &format!("Fleet {letter}")).await?.id;
        let mut fleet = self.furnish(&clerk, id, letter).await?;
        for _ in 0..vans {
            let new = choosing::new_van(&self.dice, &mut fleet, self.clock.now());
            let deed = crate::people::Deed::Register(Box::new(new));
            self.fleets.push(fleet);
            let errand = self.errand(self.fleets.len() - 1, deed);
            let answer = crate::people::run(&clerk, &errand).await?;
            let daily = self.daily();
            fleet = self.fleets.pop().unwrap_or_else(|| unreachable!("it was put there a moment ago"));
            learning::learn(&mut fleet, &errand, &answer, self.clock.now(), daily);
        }
        self.fleets.push(fleet);
        Ok(())
    }

    /// How far a vehicle goes a day, km.
    pub fn daily(&self) -> f64 {
        f64::from(u32::try_from(self.dice.between(10, 220)).unwrap_or(80))
    }

    async fn furnish(&self, clerk: &Clerk, id: FleetId, letter: char) -> Result<Fleet, Broken> {
        let mut act = clerk.begin(id, &operator(), "founding", None).await?;
        let zone = *self.dice.pick(&ZONES);
        let depot = NewDepot {
            name: "Harbour".to_owned(),
            zone,
            jurisdiction: *self.dice.pick(&[Jurisdiction::Eu, Jurisdiction::Uk, Jurisdiction::Us]),
            design_low: None,
        };
        let depot = organisation::create_depot(&mut act, depot).await?.id;
        let rulebook = clerk::rulebooks::create(&mut act, "Vans".to_owned(), rules::all()).await?.id;
        let points = ["tread-depth", "cold-pressure"].map(|point| SheetPoint {
            units: Vec::new(),
            point: code(point),
            places: Vec::new(),
            how: "As usual.".to_owned(),
            caution: None,
        });
        let (sheet, title) = (code("yard-walk"), "Yard walk".to_owned());
        clerk::sheets::publish(&mut act, sheet, title, points.to_vec()).await?;
        for role in [Role::Manager, Role::Technician] {
            let email = format!("{role}@{}.example", letter.to_ascii_lowercase());
            let new = NewPerson {
                role,
                depots: Vec::new(),
                name: format!("The {role}"),
                email: Some(email),
                language: "en-GB".to_owned(),
                zone,
                quiet_hours: None,
                letter_days: None,
                letter_time: None,
                declined_letters: Vec::new(),
            };
            organisation::create_person(&mut act, new).await?;
        }
        act.commit().await?;
        Ok(Fleet {
            id,
            letter,
            depot: (depot, 1),
            rulebook: (rulebook, 1),
            policy: 1,
            workshops: Vec::new(),
            parts: Vec::new(),
            vans: Vec::new(),
            people: Vec::new(),
            unreachable: Vec::new(),
            facts: BTreeMap::new(),
            unnamed: BTreeMap::new(),
            sent: Vec::new(),
            named: 0,
        })
    }

    /// Whether one part at a time acts: where the order of everything is chance's alone.
    pub fn is_alone(&self) -> bool {
        self.place.engine() == Engine::Sqlite
    }
}
