//! A relay in this process: it hears each verb, answers, refuses, is away, or lets the connection die, as chance wants.

mod conversation;

use crate::dice::Dice;
use crate::moments::Counter;
use crate::stage::Stage;
use crate::tally::Tally;
use conversation::Conversation;
use courier::smtp::{Dial, Dialled, Talk};
use std::io;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

/// A letter the relay has taken: one copy.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Taken {
    /// Its Message-ID, without angle brackets.
    pub message_id: String,
    /// Where it goes.
    pub to: String,
    /// Its bytes, as they came over the wire.
    pub text: String,
}

/// How a conversation goes wrong.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Fault {
    /// A reply that is not wanted.
    Reply(&'static str),
    /// The connection dies before the relay has done anything.
    CutBefore,
    /// The connection dies before its answer arrives.
    CutAfter,
}

#[derive(Debug)]
struct State {
    is_away: bool,
    faulty_percent: u64,
    scripted: Option<(Fault, Counter)>,
    taken: Vec<Arc<Taken>>,
    tally: Tally,
}

/// The relay. Clones are the same relay.
#[derive(Debug, Clone)]
pub struct Relay {
    state: Arc<Mutex<State>>,
    dice: Arc<Dice>,
    stage: Stage,
}

/// At which verb, what, how often beside the others.
const FAULTS: &[(&str, Fault, u64)] = &[
    ("greeting", Fault::Reply("421 4.3.2 closing"), 2),
    ("greeting", Fault::Reply("554 5.3.2 no service"), 1),
    ("greeting", Fault::CutBefore, 1),
    ("EHLO", Fault::CutAfter, 1),
    ("MAIL", Fault::Reply("451 4.3.0 try again later"), 2),
    ("MAIL", Fault::Reply("530 5.7.0 sign in first"), 1),
    ("MAIL", Fault::CutAfter, 1),
    ("RCPT", Fault::Reply("450 4.7.1 greylisted"), 10),
    ("RCPT", Fault::Reply("550 5.1.1 unknown"), 1),
    ("RCPT", Fault::CutBefore, 1),
    ("DATA", Fault::Reply("451 4.3.0 try again later"), 3),
    ("DATA", Fault::CutAfter, 1),
    ("the dot", Fault::Reply("452 4.3.1 full"), 3),
    ("the dot", Fault::Reply("554 5.6.0 malformed"), 1),
    ("the dot", Fault::CutBefore, 5),
    ("the dot", Fault::CutAfter, 8),
];

impl Relay {
    /// A relay that works.
    pub fn new(dice: Dice, stage: Stage) -> Self {
        let works = State {
            is_away: false,
            faulty_percent: 0,
            scripted: None,
            taken: Vec::new(),
            tally: Tally::default(),
        };
        Self { state: Arc::new(Mutex::new(works)), dice: Arc::new(dice), stage }
    }

    fn state(&self) -> MutexGuard<'_, State> {
        self.state.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Takes it away or brings it back.
    pub fn set_away(&self, is_away: bool) {
        self.state().is_away = is_away;
    }

    /// How many conversations in a hundred go wrong.
    pub fn set_faulty(&self, percent: u64) {
        self.state().faulty_percent = percent;
    }

    /// Fails so at the verb that is counted to.
    pub fn fail(&self, fault: Fault, counter: Counter) {
        self.state().scripted = Some((fault, counter));
    }

    /// Fails no more in that way; how many verbs were counted.
    pub fn heal(&self) -> u64 {
        self.state().scripted.take().map_or(0, |(_, counter)| counter.counted())
    }

    /// The fault at this verb, which is counted.
    fn scripted(&self) -> Option<Fault> {
        let mut state = self.state();
        let (fault, counter) = state.scripted.as_mut()?;
        counter.strikes().then_some(*fault)
    }

    /// Copies taken so far, in order.
    pub fn taken(&self) -> Vec<Arc<Taken>> {
        self.state().taken.clone()
    }

    /// How many copies were taken so far.
    pub fn taken_count(&self) -> usize {
        self.state().taken.len()
    }

    /// What went wrong so far.
    pub fn tally(&self) -> Tally {
        self.state().tally.clone()
    }

    fn take(&self, to: &str, letter: &str) {
        let header = letter.lines().find_map(|line| line.strip_prefix("Message-ID: "));
        let message_id = header.unwrap_or_default().trim().trim_matches(['<', '>']).to_owned();
        let taken = Taken { message_id, to: to.to_owned(), text: letter.to_owned() };
        self.state().taken.push(Arc::new(taken));
    }

    fn draw_fault(&self) -> Option<(&'static str, Fault)> {
        let percent = self.state().faulty_percent;
        if !self.dice.percent(percent) {
            return None;
        }
        let all: u64 = FAULTS.iter().map(|(_, _, weight)| weight).sum();
        let mut place = self.dice.below(all);
        for (verb, fault, weight) in FAULTS {
            if place < *weight {
                return Some((verb, *fault));
            }
            place -= weight;
        }
        None
    }

    fn count(&self, fault: Fault) {
        let kind = match fault {
            Fault::Reply(reply) if reply.starts_with('4') => "fault: not now",
            Fault::Reply(_) => "fault: refused",
            Fault::CutBefore => "fault: cut before the letter was taken",
            Fault::CutAfter => "fault: cut after the letter was taken",
        };
        self.state().tally.count(kind);
    }
}

impl Dial for Relay {
    fn dial(&self) -> Dialled {
        let relay = self.clone();
        Box::pin(async move {
            if relay.state().is_away {
                relay.state().tally.count("fault: relay away");
                return Err(io::Error::from(io::ErrorKind::ConnectionRefused));
            }
            let fault = relay.draw_fault();
            Ok(Box::new(Conversation::new(relay, fault)) as Box<dyn Talk>)
        })
    }
}
