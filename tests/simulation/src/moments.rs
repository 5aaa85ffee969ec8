//! One short life again and again, with one thing going wrong in it at the first moment, the second, the third …, until it
//! goes by untouched: the program dies at a moment of a transaction, at a verb or answer of the relay; or the relay fails at
//! a verb. Once singly, once from there on.

use crate::calm;
use crate::dice::Dice;
use crate::faults::Hardship;
use crate::fleet::day_of;
use crate::invariants;
use crate::invariants::told;
use crate::life::{Broken, Violation};
use crate::parts::{self, Cast};
use crate::people::Deed;
use crate::phones;
use crate::place::Place;
use crate::relay::Fault;
use crate::world::World;
use chrono::TimeDelta;
use model::{PaperKind, add_days};
use std::collections::BTreeSet;
use store::Engine;

/// More moments than the life has: one that is not through by then does not end.
const MOST: u64 = 2000;

/// The seed of the life.
const SEED: u64 = 1;

/// What goes wrong.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Wrong {
    /// The program dies.
    Death,
    /// The relay answers or cuts the connection as that fault says.
    Relay(Fault),
}

/// Everything that is tried.
pub const WRONGS: [Wrong; 4] = [
    Wrong::Death,
    Wrong::Relay(Fault::Reply("451 4.3.0 try again later")),
    Wrong::Relay(Fault::CutBefore),
    Wrong::Relay(Fault::CutAfter),
];

/// Counts moments, and says when it goes wrong.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Counter {
    counted: u64,
    goes_wrong_at: u64,
    is_lasting: bool,
}

impl Counter {
    /// How many moments were counted.
    pub const fn counted(&self) -> u64 {
        self.counted
    }

    /// Whether it goes wrong at this moment, which is counted.
    pub const fn strikes(&mut self) -> bool {
        self.counted += 1;
        self.counted == self.goes_wrong_at || self.is_lasting && self.counted > self.goes_wrong_at
    }
}

/// Lives the life until nothing goes wrong in it any more; how often that was.
///
/// # Errors
/// The law that is broken.
pub fn each(engine: Engine, wrong: Wrong, is_lasting: bool) -> Result<u64, Box<Violation>> {
    let untouched = life(engine, wrong, Counter { counted: 0, goes_wrong_at: 0, is_lasting: false })?.told;
    for moment in 1..MOST {
        let counter = Counter { counted: 0, goes_wrong_at: moment, is_lasting };
        let lived = life(engine, wrong, counter)?;
        if !is_lasting && lived.told != untouched {
            let how = format!("at moment {moment}: {:?}", lived.told.symmetric_difference(&untouched));
            let broken = Broken::new("all is told as if nothing had happened", how);
            return Err(Box::new(violation(engine, moment, broken)));
        }
        if lived.counted < moment {
            return Ok(moment);
        }
    }
    Err(Box::new(violation(engine, MOST, Broken::new("a life ends", "it has too many moments"))))
}

fn violation(engine: Engine, step: u64, Broken { law, how }: Broken) -> Violation {
    let again = "--each-moment".to_owned();
    Violation { seed: SEED, engine, step, law, how, last: Vec::new(), again }
}

/// What one of them came to.
struct Lived {
    counted: u64,
    told: BTreeSet<String>,
}

fn life(engine: Engine, wrong: Wrong, counter: Counter) -> Result<Lived, Box<Violation>> {
    let place = Place::new(engine);
    testkit::tell(async {
        let broken = |broken| Box::new(violation(engine, counter.goes_wrong_at, broken));
        let mut world = World::founded(SEED, place, Hardship::none()).await.map_err(broken)?;
        match wrong {
            Wrong::Death => world.moments = Some(counter),
            Wrong::Relay(fault) => world.relay.fail(fault, counter),
        }
        let lived = live(&mut world).await;
        lived.map_err(|broken| {
            let last = world.last.iter().cloned().collect();
            let how = format!("{:?} at moment {}: {}", wrong, counter.goes_wrong_at, broken.how);
            Box::new(Violation { last, ..violation(engine, world.step, Broken { how, ..broken }) })
        })
    })
}

async fn live(world: &mut World) -> Result<Lived, Broken> {
    let wishes = [grounding(world), paper(world), Vec::new()];
    for deeds in wishes {
        world.step += 1;
        scene(world, deeds).await?;
        invariants::after_a_step(world).await?;
        world.clock.pass(TimeDelta::hours(26));
    }
    let counted = world.moments.take().map_or(0, |counter| counter.counted).max(world.relay.heal());
    calm::an_hour(world).await?;
    world.clock.pass(TimeDelta::hours(26));
    calm::an_hour(world).await?;
    invariants::after_calm(world).await?;
    Ok(Lived { counted, told: told::to_whom(world).await? })
}

/// People ask, schedulers and couriers have their turns; who was not answered asks again, and a dead program is started.
async fn scene(world: &mut World, deeds: Vec<Deed>) -> Result<(), Broken> {
    for deed in deeds {
        let errand = world.errand(0, deed);
        world.errands.push(errand);
    }
    let workers = [(false, false), (true, false), (false, true), (true, false), (false, true)];
    for (schedulers, couriers) in workers {
        world.start_programs().await?;
        let errands = std::mem::take(&mut world.errands);
        world.record_stood_still = !schedulers && errands.is_empty();
        parts::play(world, Cast { schedulers, couriers, turns: 1, errands }, false).await?;
        world.clock.pass(TimeDelta::seconds(20));
    }
    Ok(())
}

/// A tyre worn through, found by a technician.
fn grounding(world: &World) -> Vec<Deed> {
    let now = world.true_now();
    let dice = Dice::of(SEED, 3);
    vec![phones::worn_tyre(&dice, &world.fleets[0].vans[0], now)]
}

/// A paper that expires soon.
fn paper(world: &World) -> Vec<Deed> {
    let expires_on = add_days(day_of(world.true_now()), 20);
    vec![Deed::Paper { vehicle: world.fleets[0].vans[1].id, kind: PaperKind::AnnualTest, expires_on }]
}
