//! Where the parts of a program act, one at a time: each waits at every moment of a transaction and at every verb and
//! answer of the relay until it is told to go on, so that chance alone decides who comes next, and who dies.

use std::collections::{BTreeMap, BTreeSet};
use std::fmt;
use std::future::{Future, poll_fn};
use std::pin::Pin;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::task::{Context, Poll};
use std::time::Duration;
use store::{Stop, Stops};
use tokio::time::timeout;

/// Where a part waits.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Point {
    /// It has not begun.
    Entrance,
    /// At a moment of a transaction.
    Transaction(Stop),
    /// The relay has heard a verb and done nothing yet.
    Verb(&'static str),
    /// The relay has done what it will, and its answer is under way.
    Answer(&'static str),
    /// Between two turns of a loop.
    Between,
}

impl fmt::Display for Point {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Entrance => f.write_str("the start"),
            Self::Transaction(stop) => write!(f, "{stop:?}"),
            Self::Verb(verb) => write!(f, "verb {verb}"),
            Self::Answer(verb) => write!(f, "answer to {verb}"),
            Self::Between => f.write_str("between turns"),
        }
    }
}

/// One that acts: a scheduler, a courier, a person, a phone.
pub struct Part<T> {
    /// What it is called.
    pub name: String,
    /// The program it belongs to: it dies with it.
    pub program: usize,
    /// What it does.
    pub acting: Pin<Box<dyn Future<Output = T>>>,
}

/// What is decided when a part is to go on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Fate {
    /// It goes on.
    GoOn,
    /// Others come first for a while.
    FallBehind,
    /// Its program dies.
    Die,
}

/// Who decides. Every decision is drawn from the seed.
pub trait Director {
    /// A place in line for a part; the highest goes first.
    fn rank(&mut self) -> u64;
    /// What becomes of a part that waits at `point`.
    fn fate(&mut self, name: &str, point: Point) -> Fate;
    /// A part was held up, or slow, and is left to itself.
    fn note_held_up(&mut self);
}

#[derive(Debug, Default)]
struct Inner {
    acting: Option<usize>,
    waiting: BTreeMap<usize, Point>,
    may_go_on: BTreeSet<usize>,
}

/// The stage. Clones are the same stage.
#[derive(Debug, Clone, Default)]
pub struct Stage(Arc<Mutex<Inner>>);

impl Stage {
    fn inner(&self) -> MutexGuard<'_, Inner> {
        self.0.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Waits at `point`; off stage, where nobody acts, it does not wait.
    pub fn wait(&self, point: Point) -> Waiting {
        Waiting { stage: self.clone(), point, part: None, gone_on: false }
    }

    /// Plays until every part has ended or died; what each came to, in their order, and the programs that died.
    ///
    /// `alone`: a part that goes on is waited for until it waits again, so that the same decisions give the same play.
    /// Otherwise a part may be held up by what another has locked, and is left to itself after a moment.
    pub async fn play<T>(
        &self,
        parts: Vec<Part<T>>,
        director: &mut dyn Director,
        alone: bool,
    ) -> (Vec<Option<T>>, BTreeSet<usize>) {
        *self.inner() = Inner::default();
        let ranks = parts.iter().map(|_| director.rank()).collect();
        let count = parts.len();
        self.inner().waiting = (0..count).map(|part| (part, Point::Entrance)).collect();
        let mut play = Play {
            stage: self.clone(),
            parts: parts.into_iter().map(Some).collect(),
            ranks,
            going: BTreeSet::new(),
            ended: (0..count).map(|_| None).collect(),
            dead: BTreeSet::new(),
            alone,
        };
        play.run(director).await;
        (play.ended, play.dead)
    }
}

impl Stops for Stage {
    fn reached(&self, stop: Stop) -> Pin<Box<dyn Future<Output = ()> + Send>> {
        Box::pin(self.wait(Point::Transaction(stop)))
    }
}

/// Waits until it is told to go on.
#[derive(Debug)]
pub struct Waiting {
    stage: Stage,
    point: Point,
    part: Option<usize>,
    gone_on: bool,
}

impl Future for Waiting {
    type Output = ();

    fn poll(self: Pin<&mut Self>, _: &mut Context<'_>) -> Poll<()> {
        let this = self.get_mut();
        if this.gone_on {
            return Poll::Ready(());
        }
        let mut inner = this.stage.inner();
        match (this.part, inner.acting) {
            (None, None) => this.gone_on = true,
            (None, Some(part)) => {
                inner.waiting.insert(part, this.point);
                this.part = Some(part);
            }
            (Some(part), _) => this.gone_on = inner.may_go_on.remove(&part),
        }
        if this.gone_on { Poll::Ready(()) } else { Poll::Pending }
    }
}

/// What is given up waits no longer.
impl Drop for Waiting {
    fn drop(&mut self) {
        if let (Some(part), false) = (self.part, self.gone_on) {
            let mut inner = self.stage.inner();
            inner.waiting.remove(&part);
            inner.may_go_on.remove(&part);
        }
    }
}

/// So long a part that may be held up by a lock is waited for, in real time.
const PATIENCE: Duration = Duration::from_millis(12);

struct Play<T> {
    stage: Stage,
    parts: Vec<Option<Part<T>>>,
    ranks: Vec<u64>,
    going: BTreeSet<usize>,
    ended: Vec<Option<T>>,
    dead: BTreeSet<usize>,
    alone: bool,
}

impl<T> Play<T> {
    async fn run(&mut self, director: &mut dyn Director) {
        loop {
            let Some((part, point)) = self.next() else {
                if self.going.is_empty() {
                    return;
                }
                self.until_one_waits(None).await;
                continue;
            };
            let Some(acting) = &self.parts[part] else { continue };
            match director.fate(&acting.name, point) {
                Fate::GoOn => self.let_go(part, director).await,
                Fate::FallBehind => {
                    self.ranks[part] = self.ranks.iter().min().map_or(0, |lowest| lowest.saturating_sub(1));
                    self.let_go_highest(part, director).await;
                }
                Fate::Die => self.let_die(part),
            }
        }
    }

    /// Whose turn it is: with one part at a time whoever has a transaction open, for nobody else could get anywhere.
    fn next(&self) -> Option<(usize, Point)> {
        let inner = self.stage.inner();
        let in_transaction = |point: &Point| matches!(point, Point::Transaction(Stop::BeforeCommit));
        let bound = inner.waiting.iter().find(|(_, point)| self.alone && in_transaction(point));
        let next = bound.or_else(|| inner.waiting.iter().max_by_key(|(part, _)| self.ranks[**part]));
        next.map(|(part, point)| (*part, *point))
    }

    /// One that has fallen behind goes on only if it is still the first.
    async fn let_go_highest(&mut self, part: usize, director: &mut dyn Director) {
        if self.next().is_some_and(|(next, _)| next == part) {
            self.let_go(part, director).await;
        }
    }

    async fn let_go(&mut self, part: usize, director: &mut dyn Director) {
        {
            let mut inner = self.stage.inner();
            if inner.waiting.remove(&part) != Some(Point::Entrance) {
                inner.may_go_on.insert(part);
            }
        }
        self.going.insert(part);
        if self.alone || self.is_unhindered(part) {
            self.until_one_waits(Some(part)).await;
        } else {
            // Whether it is held up or only slow makes no difference: it goes on by itself.
            if timeout(PATIENCE, self.until_one_waits(Some(part))).await.is_err() {
                director.note_held_up();
            }
        }
    }

    /// Whether nobody else can have locked what it needs.
    fn is_unhindered(&self, part: usize) -> bool {
        let inner = self.stage.inner();
        let open = |point: &Point| matches!(point, Point::Transaction(Stop::BeforeCommit));
        !inner.waiting.values().any(open) && self.going.iter().all(|other| *other == part)
    }

    fn let_die(&mut self, part: usize) {
        let Some(program) = self.parts[part].as_ref().map(|part| part.program) else { return };
        self.dead.insert(program);
        for other in 0..self.parts.len() {
            if self.parts[other].as_ref().is_some_and(|one| one.program == program) {
                self.parts[other] = None;
                self.going.remove(&other);
                let mut inner = self.stage.inner();
                inner.waiting.remove(&other);
                inner.may_go_on.remove(&other);
            }
        }
    }

    /// Lets those that go get on until `wanted` waits or has ended; any of them where none is named.
    async fn until_one_waits(&mut self, wanted: Option<usize>) {
        poll_fn(|context| {
            let before = self.going.len();
            for part in self.going.iter().copied().collect::<Vec<_>>() {
                self.poll_part(part, context);
            }
            let is_done = wanted.map_or(self.going.len() < before, |part| !self.going.contains(&part));
            if is_done { Poll::Ready(()) } else { Poll::Pending }
        })
        .await;
    }

    fn poll_part(&mut self, part: usize, context: &mut Context<'_>) {
        let Some(acting) = &mut self.parts[part] else { return };
        self.stage.inner().acting = Some(part);
        let polled = acting.acting.as_mut().poll(context);
        let mut inner = self.stage.inner();
        inner.acting = None;
        let waits = inner.waiting.contains_key(&part);
        drop(inner);
        if let Poll::Ready(came_to) = polled {
            self.ended[part] = Some(came_to);
            self.parts[part] = None;
        }
        if waits || self.parts[part].is_none() {
            self.going.remove(&part);
        }
    }
}
