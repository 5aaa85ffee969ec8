//! One life: a world made from a seed, its steps, the laws after each.

use crate::calm;
use crate::invariants;
use crate::place::Place;
use crate::steps;
use crate::tally::Tally;
use crate::world::World;
use std::fmt;
use store::Engine;

/// A life in which every law held.
#[derive(Debug, Clone, PartialEq)]
pub struct Lived {
    /// What happened.
    pub tally: Tally,
    /// Years that its vehicles lived, added up.
    pub vehicle_years: f64,
    /// Its steps.
    pub steps: u64,
}

/// A law that was broken.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Violation {
    /// The seed that breaks it.
    pub seed: u64,
    /// On which engine.
    pub engine: Engine,
    /// In which step.
    pub step: u64,
    /// Which law.
    pub law: &'static str,
    /// How.
    pub how: String,
    /// What happened last.
    pub last: Vec<String>,
    /// How to see it again.
    pub again: String,
}

impl fmt::Display for Violation {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self { seed, engine, step, law, how, last, again } = self;
        writeln!(f, "seed {seed} on {engine:?}, step {step}: broken: {law}\n  {how}\nthe last steps:")?;
        for line in last {
            writeln!(f, "  {line}")?;
        }
        let postgres = if *engine == Engine::Postgres { " --postgres" } else { "" };
        write!(f, "again: cargo run --release -p simulation -- {again}{postgres}")
    }
}

/// A law that was broken, before anybody knows when.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Broken {
    pub(crate) law: &'static str,
    pub(crate) how: String,
}

impl Broken {
    pub(crate) fn new(law: &'static str, how: impl fmt::Display) -> Self {
        Self { law, how: how.to_string() }
    }
}

/// What the store itself does wrong breaks a law, too.
impl From<store::StoreError> for Broken {
    fn from(error: store::StoreError) -> Self {
        Self::new("the store does as asked", with_causes(&error))
    }
}

impl From<clerk::ActError> for Broken {
    fn from(error: clerk::ActError) -> Self {
        Self::new("the clerk does as asked", with_causes(&error))
    }
}

/// An error and what it comes from.
pub(crate) fn with_causes(error: &dyn std::error::Error) -> String {
    let mut text = error.to_string();
    let mut cause = error.source();
    while let Some(next) = cause {
        text = format!("{text}: {next}");
        cause = next.source();
    }
    text
}

/// Lives the life of `seed`. Not to be called inside an async runtime.
///
/// # Errors
/// The first law that is broken.
///
/// # Panics
/// When there is no place to keep it.
pub fn live(seed: u64, engine: Engine) -> Result<Lived, Box<Violation>> {
    let place = Place::new(engine);
    let again = format!("--seeds 1 --from {seed}");
    testkit::tell(async {
        let mut world = match World::new(seed, place).await {
            Ok(world) => world,
            Err(Broken { law, how }) => {
                return Err(Box::new(Violation { seed, engine, step: 0, law, how, last: Vec::new(), again }));
            }
        };
        match go_on(&mut world).await {
            Ok(()) => Ok(world.lived()),
            Err(Broken { law, how }) => {
                let (step, last) = (world.step, world.last.iter().cloned().collect());
                Err(Box::new(Violation { seed, engine, step, law, how, last, again }))
            }
        }
    })
}

async fn go_on(world: &mut World) -> Result<(), Broken> {
    for step in 1..=world.hardship.steps {
        world.step = step;
        steps::take(world).await?;
        invariants::after_a_step(world).await?;
        if world.dice.percent(7) {
            calm::an_hour(world).await?;
            invariants::after_calm(world).await?;
        }
    }
    calm::an_hour(world).await?;
    invariants::after_calm(world).await?;
    calm::four_days(world).await?;
    invariants::at_the_end(world).await
}
