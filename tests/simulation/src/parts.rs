//! Putting everybody on the stage, and what comes of it.

use crate::dice::Dice;
use crate::faults::Hardship;
use crate::fleet::Standing;
use crate::life::{Broken, with_causes};
use crate::moments::Counter;
use crate::people::{self, Answer, Deed, Errand, learning};
use crate::stage::{Director, Fate, Part, Point, Stage};
use crate::tally::Tally;
use crate::world::World;
use chrono::TimeDelta;
use clerk::ActError;
use courier::{Courier, CourierError};
use scheduler::Scheduler;
use std::sync::Arc;
use store::Stop;
use testkit::FakeClock;

/// What a part came to.
pub enum Came {
    /// A scheduler's turns.
    Scheduled(Result<Vec<scheduler::Ticked>, ActError>),
    /// A courier's turns.
    Carried(Result<Vec<courier::Ticked>, CourierError>),
    /// A deed.
    Done(Box<Errand>, Result<Answer, ActError>),
}

/// Decides by the seed.
pub struct Chance<'a> {
    /// What decides.
    pub dice: &'a Dice,
    /// How hard; nothing goes wrong without.
    pub hardship: Option<&'a Hardship>,
    /// Counts moments, where one of them shall go wrong.
    pub moments: Option<&'a mut Counter>,
    /// What is counted.
    pub tally: &'a mut Tally,
    /// The clock, which goes on while somebody waits.
    pub clock: &'a FakeClock,
    /// What happened, in words.
    pub said: &'a mut Vec<String>,
}

/// Longer than a scheduler's lease, or a courier's, or a courier's and what an uncertain letter waits.
const LULLS: [i64; 4] = [16, 40, 16 * 60, 32 * 60];

impl Director for Chance<'_> {
    fn rank(&mut self) -> u64 {
        self.dice.between(1 << 20, 1 << 40)
    }

    fn note_held_up(&mut self) {
        self.tally.count("stage: held up");
    }

    fn fate(&mut self, name: &str, point: Point) -> Fate {
        if let Some(counter) = &mut self.moments
            && point != Point::Entrance
            && counter.strikes()
        {
            self.said.push(format!("the program of {name} dies at {point}"));
            return Fate::Die;
        }
        let Some(hardship) = self.hardship else { return Fate::GoOn };
        let more = if matches!(point, Point::Between | Point::Answer("the dot")) { 12 } else { 1 };
        if self.dice.in_thousand(hardship.lulls * more) {
            let seconds = *self.dice.pick(&LULLS);
            self.clock.pass(TimeDelta::seconds(seconds));
            self.tally.count("time: lull beyond a lease");
            self.said.push(format!("{seconds} s pass while {name} waits at {point}"));
        }
        let dearer = if matches!(point, Point::Verb("the dot") | Point::Answer("the dot")) { 4 } else { 1 };
        if point != Point::Entrance && self.dice.in_thousand(hardship.deaths * dearer) {
            let moment = match point {
                Point::Transaction(stop) => format!("{stop:?}"),
                other => other.to_string(),
            };
            self.tally.count(format!("crash: {moment}"));
            self.said.push(format!("the program of {name} dies at {point}"));
            return Fate::Die;
        }
        // Where others have most to do meanwhile.
        let tempting = matches!(point, Point::Answer("the dot") | Point::Transaction(Stop::BeforeCommit));
        let delays = if tempting { hardship.delays * 3 } else { hardship.delays };
        if self.dice.in_thousand(delays) { Fate::FallBehind } else { Fate::GoOn }
    }
}

/// Who comes on stage.
#[derive(Debug, Default)]
pub struct Cast {
    /// Whether each scheduler comes.
    pub schedulers: bool,
    /// Whether each courier comes.
    pub couriers: bool,
    /// Most turns of a worker.
    pub turns: u64,
    /// What people and phones want.
    pub errands: Vec<Errand>,
}

/// Plays one scene. With `is_hard` everything may go wrong that goes wrong in this life.
///
/// # Errors
/// What nobody may answer, and what no worker may fail with.
pub async fn play(world: &mut World, cast: Cast, is_hard: bool) -> Result<(), Broken> {
    let (parts, alone) = (parts(world, cast, is_hard), world.is_alone());
    if parts.is_empty() {
        return Ok(());
    }
    let mut said = Vec::new();
    let (came, dead) = {
        let mut chance = Chance {
            dice: &world.dice,
            hardship: is_hard.then_some(&world.hardship),
            moments: world.moments.as_mut(),
            tally: &mut world.tally,
            clock: &world.clock,
            said: &mut said,
        };
        world.stage.clone().play(parts, &mut chance, alone).await
    };
    for line in said {
        world.say(line);
    }
    for program in dead {
        world.programs[program] = None;
    }
    for came in came.into_iter().flatten() {
        take_in(world, came)?;
    }
    Ok(())
}

fn parts(world: &mut World, cast: Cast, is_hard: bool) -> Vec<Part<Came>> {
    let mut parts = Vec::new();
    let comes = |world: &World| !is_hard || world.dice.percent(75);
    for (place, program) in world.programs.iter().enumerate() {
        let Some(program) = program else { continue };
        for (number, scheduler) in program.schedulers.iter().enumerate() {
            if cast.schedulers && comes(world) {
                let turns = world.dice.between(1, cast.turns);
                let acting = Box::pin(schedule(scheduler.clone(), world.stage.clone(), turns));
                parts.push(Part { name: format!("scheduler {place}.{number}"), program: place, acting });
            }
        }
        for (number, courier) in program.couriers.iter().enumerate() {
            if cast.couriers && comes(world) {
                let turns = world.dice.between(1, cast.turns);
                let acting = Box::pin(carry(courier.clone(), world.stage.clone(), turns));
                parts.push(Part { name: format!("courier {place}.{number}"), program: place, acting });
            }
        }
    }
    let running: Vec<usize> = (0..world.programs.len()).filter(|at| world.programs[*at].is_some()).collect();
    for mut errand in cast.errands {
        errand.tries += 1;
        world.errands.push(errand.clone());
        let Some(place) = (!running.is_empty()).then(|| *world.dice.pick(&running)) else { continue };
        let Some(program) = &world.programs[place] else { continue };
        let clerk = program.clerk.clone();
        let name = format!("{} in {}", errand.deed.name(), world.fleets[errand.fleet].letter);
        let acting = Box::pin(async move {
            let answer = people::run(&clerk, &errand).await;
            Came::Done(Box::new(errand), answer)
        });
        parts.push(Part { name, program: place, acting });
    }
    parts
}

async fn schedule(scheduler: Arc<Scheduler>, stage: Stage, turns: u64) -> Came {
    let mut ticked = Vec::new();
    for _ in 0..turns {
        match scheduler.tick().await {
            Ok(done) => ticked.push(done),
            Err(error) => return Came::Scheduled(Err(error)),
        }
        stage.wait(Point::Between).await;
    }
    Came::Scheduled(Ok(ticked))
}

async fn carry(courier: Arc<Courier>, stage: Stage, turns: u64) -> Came {
    let mut ticked = Vec::new();
    for _ in 0..turns {
        match courier.tick().await {
            Ok(done) => ticked.push(done),
            Err(error) => return Came::Carried(Err(error)),
        }
        stage.wait(Point::Between).await;
    }
    Came::Carried(Ok(ticked))
}

fn take_in(world: &mut World, came: Came) -> Result<(), Broken> {
    match came {
        Came::Scheduled(Ok(ticked)) => {
            let sum = |of: fn(&scheduler::Ticked) -> usize| ticked.iter().map(of).sum::<usize>();
            let (fired, notices, lost) = (sum(|t| t.fired), sum(|t| t.notices), sum(|t| t.lost));
            let (faulty, jobs) = (sum(|t| t.faulty), sum(|t| t.jobs));
            world.say(format!("scheduler: {fired} fired, {notices} notices, {lost} lost, {jobs} jobs"));
            world.tally.add("scheduler: claim lost", count(lost));
            world.tally.add("scheduler: job", count(jobs));
            if faulty > 0 {
                return Err(Broken::new("every vehicle can be worked off", format!("{faulty} cannot")));
            }
        }
        Came::Carried(Ok(ticked)) => {
            let sum = |of: fn(&courier::Ticked) -> usize| ticked.iter().map(of).sum::<usize>();
            let (gathered, sent, retried) = (sum(|t| t.gathered), sum(|t| t.sent), sum(|t| t.retried));
            let (uncertain, lost) = (sum(|t| t.uncertain), sum(|t| t.lost));
            world.say(format!(
                "courier: {gathered} gathered, {sent} sent, {retried} retried, {uncertain} uncertain, {lost} lost"
            ));
            world.tally.add("courier: claim lost", count(lost));
            if sum(|t| t.unwritable) > 0 {
                return Err(Broken::new("every letter can be written", "one cannot"));
            }
        }
        Came::Scheduled(Err(error)) | Came::Carried(Err(CourierError::Store(error))) => {
            failed(world, &error)?;
        }
        Came::Carried(Err(error)) => return Err(Broken::new("every letter can be written", error)),
        Came::Done(errand, answer) => done(world, &errand, answer)?,
    }
    Ok(())
}

fn count(number: usize) -> u64 {
    u64::try_from(number).unwrap_or(u64::MAX)
}

/// A worker may find the store away, and tries again; nothing else.
fn failed(world: &mut World, error: &ActError) -> Result<(), Broken> {
    let text = with_causes(error);
    world.say(format!("a worker broke off: {text}"));
    if matches!(error, ActError::Unavailable(_)) {
        world.tally.count("error: unavailable to a worker");
        return Ok(());
    }
    Err(Broken::new("workers fail only where the store is away", text))
}

fn done(world: &mut World, errand: &Errand, answer: Result<Answer, ActError>) -> Result<(), Broken> {
    let name = errand.deed.name();
    let is_trespass = matches!(errand.deed, Deed::Trespass { .. });
    match answer {
        Ok(_) if is_trespass => {
            return Err(Broken::new("nothing of a fleet is visible to another", "a reading was taken"));
        }
        Ok(answer) => {
            world.tally.count(format!("act: {name}"));
            if answer.is_repeated {
                world.tally.count("answer: lost after commit");
            }
            if errand.tries > 1 {
                world.tally.count("answer: repeated");
            }
            for (_, outcome) in &answer.entries {
                world.tally.count(format!("entry: {outcome}"));
            }
            world.say(format!(
                "{name} in {}: {errand_deed:?}",
                world.fleets[errand.fleet].letter,
                errand_deed = short(&errand.deed)
            ));
            let (now, daily) = (world.true_now(), world.daily());
            learning::learn(&mut world.fleets[errand.fleet], errand, &answer, now, daily);
        }
        // Asked for again later.
        Err(error @ (ActError::Unavailable(_) | ActError::Raced(_))) => {
            let text = with_causes(&error);
            let kinds = ["deadlock", "already kept"];
            let kind = kinds.into_iter().find(|kind| text.contains(kind)).unwrap_or("unavailable");
            world.tally.count(format!("error: {kind} to people"));
            world
                .say(format!("{name} in {} is to be asked again: {text}", world.fleets[errand.fleet].letter));
            return Ok(());
        }
        Err(ActError::NotFound { .. }) if is_trespass => world.tally.count("answer: trespass refused"),
        Err(error @ (ActError::Store(_) | ActError::KeyReused)) => {
            return Err(Broken::new(
                "an act fails only where the store is away",
                format!("{name}: {}", with_causes(&error)),
            ));
        }
        Err(error) => refused(world, errand, &error),
    }
    world.errands.retain(|one| one.asked.key != errand.asked.key);
    Ok(())
}

fn short(deed: &Deed) -> String {
    let mut text = format!("{deed:?}");
    if let Some((end, _)) = text.char_indices().nth(160) {
        text.truncate(end);
    }
    text
}

/// Nothing of it is stored; somebody who has seen an old version looks again.
fn refused(world: &mut World, errand: &Errand, error: &ActError) {
    world.tally.count(format!("refused: {}", errand.deed.name()));
    world.say(format!("{} refused: {error}", errand.deed.name()));
    let fleet = &mut world.fleets[errand.fleet];
    if let Some((kind, id)) = learning::withdraws(&errand.deed) {
        fleet.note(kind, id, Standing::Stands);
    }
    if matches!(error, ActError::Stale) {
        match &errand.deed {
            Deed::ReviseRules { .. } => fleet.rulebook.1 += 1,
            Deed::MoveZone { .. } => fleet.depot.1 += 1,
            Deed::House(house) => house.look_again(fleet),
            _ => {}
        }
    }
}
