//! From sealed letters to their recipients: claim, begin, deliver, settle.

use crate::breaker::{Breaker, Way};
use crate::carrier::Carrier;
use crate::courier::{Courier, CourierError, Ticked};
use crate::outcome::Outcome;
use crate::retry;
use crate::smtp::FinalDot;
use clerk::beats::Worker;
use clerk::post::{self, ClaimedLetter, Delivery};
use std::time::Duration;
use tokio::time::timeout;

/// Letters sent in one tick; the next tick follows at once.
const MOST: usize = 500;

/// A claim may come back empty because what it found was no longer true; so often it is tried again.
const MOST_EMPTY: usize = 20;

/// One delivery takes at most so long: a minute less than the claim on the letter holds.
const LONGEST_DELIVERY: Duration = Duration::from_mins(14);

/// The letter being delivered, so that it can be settled when the delivery is cut short.
#[derive(Debug, Clone)]
pub(crate) struct InHand {
    letter: ClaimedLetter,
    dot: FinalDot,
}

impl Courier {
    /// Delivers letters whose time has come, one at a time, each claimed just before it goes.
    pub(crate) async fn send(&self, breaker: &mut Breaker, ticked: &mut Ticked) -> Result<(), CourierError> {
        let mut carrier = self.carriage.carrier();
        if !self.is_anything_due().await? || !self.is_way_open(breaker, &mut carrier).await {
            return Ok(());
        }
        let mut empty = 0;
        let may_go_on = || !self.is_stopping() && !self.is_held();
        while ticked.attempts() < MOST && may_go_on() && breaker.way(self.clerk.now()) == Way::Open {
            self.clerk.note_turn(Worker::Courier);
            match post::claim_letters(&self.clerk, 1).await?.into_iter().next() {
                Some(letter) => self.send_one(&mut carrier, letter, breaker, ticked).await?,
                None if empty < MOST_EMPTY && self.is_anything_due().await? => empty += 1,
                None => break,
            }
        }
        carrier.close().await;
        Ok(())
    }

    /// A look before a claim: reading holds nobody up.
    async fn is_anything_due(&self) -> Result<bool, CourierError> {
        let next = post::next_letter_time(&self.clerk).await?;
        Ok(next.is_some_and(|at| at <= self.clerk.now()))
    }

    async fn is_way_open(&self, breaker: &mut Breaker, carrier: &mut Carrier) -> bool {
        match breaker.way(self.clerk.now()) {
            Way::Open => true,
            Way::Held => false,
            Way::Probe => match carrier.ready().await {
                Ok(()) => {
                    breaker.note_open();
                    true
                }
                Err(outcome) => {
                    tracing::warn!(reply = outcome.reply(), "the way is still barred");
                    breaker.note(&outcome, self.clerk.now());
                    false
                }
            },
        }
    }

    async fn send_one(
        &self,
        carrier: &mut Carrier,
        letter: ClaimedLetter,
        breaker: &mut Breaker,
        ticked: &mut Ticked,
    ) -> Result<(), CourierError> {
        if !post::start_sending(&self.clerk, &letter).await? {
            ticked.lost += 1;
            return Ok(());
        }
        let dot = FinalDot::default();
        self.take_in_hand(Some(InHand { letter: letter.clone(), dot: dot.clone() }));
        let delivering = carrier.deliver(letter.id, &letter.address, &letter.bytes, &dot);
        let outcome = match timeout(LONGEST_DELIVERY, delivering).await {
            Ok(outcome) => outcome,
            Err(_) => cut_short(&dot, "the delivery took too long"),
        };
        breaker.note(&outcome, self.clerk.now());
        self.settle(&letter, outcome, ticked).await?;
        self.take_in_hand(None);
        Ok(())
    }

    /// Settles the letter whose delivery was cut short, if there is one.
    pub(crate) async fn settle_what_is_in_hand(&self) -> Result<(), CourierError> {
        let Some(InHand { letter, dot }) = self.take_in_hand(None) else { return Ok(()) };
        let outcome = cut_short(&dot, "the courier was stopped");
        self.settle(&letter, outcome, &mut Ticked::default()).await
    }

    async fn settle(
        &self,
        letter: &ClaimedLetter,
        outcome: Outcome,
        ticked: &mut Ticked,
    ) -> Result<(), CourierError> {
        let reply = outcome.reply().to_owned();
        let delivery = self.delivery(letter, outcome);
        log(letter, &delivery, &reply);
        ticked.count(&delivery);
        if !post::settle(&self.clerk, letter, delivery).await? {
            tracing::warn!(letter = %letter.id, letter.attempt, "the claim on the letter was lost before it was settled");
            ticked.lost += 1;
        }
        Ok(())
    }

    fn delivery(&self, letter: &ClaimedLetter, outcome: Outcome) -> Delivery {
        match outcome {
            Outcome::Sent { reply } => Delivery::Sent { reply },
            Outcome::NotNow { reply } | Outcome::Barred { reply } => {
                match retry::next_attempt(letter.attempt, self.clerk.now(), self.clerk.chance()) {
                    Some(at) => Delivery::Retry { reply, at },
                    None => Delivery::Undeliverable { reply },
                }
            }
            Outcome::AddressRefused { reply } => Delivery::Undeliverable { reply },
            Outcome::LetterRefused { reply } => Delivery::Parked { reply },
            Outcome::Unknown { reply } => Delivery::Uncertain { reply },
        }
    }
}

fn log(letter: &ClaimedLetter, delivery: &Delivery, reply: &str) {
    let (id, attempt) = (letter.id, letter.attempt);
    match delivery {
        Delivery::Sent { .. } => tracing::info!(letter = %id, attempt, reply, "letter sent"),
        Delivery::Retry { at, .. } => {
            tracing::warn!(letter = %id, attempt, reply, next = %at, "letter not taken");
        }
        Delivery::Uncertain { .. } => {
            tracing::error!(letter = %id, attempt, reply, "letter may have been taken");
        }
        Delivery::Undeliverable { .. } => {
            tracing::error!(letter = %id, attempt, reply, "letter undeliverable");
        }
        Delivery::Parked { .. } => tracing::error!(letter = %id, attempt, reply, "letter set aside"),
    }
}

/// What is known of a delivery that was cut short: before the final dot nothing was taken.
fn cut_short(dot: &FinalDot, why: &str) -> Outcome {
    let reply = why.to_owned();
    if dot.is_out() { Outcome::Unknown { reply } } else { Outcome::NotNow { reply } }
}
