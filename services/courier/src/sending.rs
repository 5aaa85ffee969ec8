//! From sealed letters to their recipients: claim, begin, deliver, settle.

use crate::breaker::{Breaker, PROBE_EVERY, Way};
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

/// What the store was not there for: done first once it is back, long before the claim runs out.
#[derive(Debug, Clone)]
pub(crate) enum Unfinished {
    /// A claim whose letter was not begun.
    Claim(ClaimedLetter),
    /// An attempt that ended so.
    Attempt(ClaimedLetter, Delivery),
}

impl Courier {
    /// Does what the store was not there for.
    pub(crate) async fn finish(&self) -> Result<(), CourierError> {
        let Some(unfinished) = self.put_aside(None) else { return Ok(()) };
        let done = match &unfinished {
            Unfinished::Claim(letter) => post::let_go(&self.clerk, letter).await,
            Unfinished::Attempt(letter, delivery) => {
                post::settle(&self.clerk, letter, delivery.clone()).await.map(|_| ())
            }
        };
        if done.is_err() {
            self.put_aside(Some(unfinished));
        }
        Ok(done?)
    }

    /// Delivers letters whose time has come, one at a time, each claimed just before it goes.
    pub(crate) async fn send(&self, breaker: &mut Breaker, ticked: &mut Ticked) -> Result<(), CourierError> {
        let mut carrier = self.carriage.carrier();
        if !self.is_anything_due().await? {
            return Ok(());
        }
        let Some(way) = self.open_way(breaker, &mut carrier).await else { return Ok(()) };
        let (mut empty, mut is_trial) = (0, way == Way::Probe);
        let may_go_on = || !self.is_stopping() && !self.is_held();
        while ticked.attempts() < MOST
            && may_go_on()
            && (is_trial || breaker.way(self.clerk.now()) == Way::Open)
        {
            is_trial = false;
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

    /// The way, if letters may go; probed once in a while where it was found barred. After a probe one letter may go.
    async fn open_way(&self, breaker: &mut Breaker, carrier: &mut Carrier) -> Option<Way> {
        let way = breaker.way(self.clerk.now());
        match way {
            Way::Open => return Some(way),
            Way::Held => return None,
            Way::Probe => {}
        }
        match carrier.ready().await {
            Ok(()) => {
                breaker.note_ready(self.clerk.now());
                Some(way)
            }
            Err(outcome) => {
                tracing::debug!(reply = outcome.reply(), "the way is still barred");
                breaker.note(None, &outcome, self.clerk.now());
                None
            }
        }
    }

    async fn send_one(
        &self,
        carrier: &mut Carrier,
        letter: ClaimedLetter,
        breaker: &mut Breaker,
        ticked: &mut Ticked,
    ) -> Result<(), CourierError> {
        match post::start_sending(&self.clerk, &letter).await {
            Ok(true) => {}
            Ok(false) => {
                ticked.lost += 1;
                return Ok(());
            }
            Err(error) => {
                self.put_aside(Some(Unfinished::Claim(letter)));
                return Err(error.into());
            }
        }
        let dot = FinalDot::default();
        self.take_in_hand(Some(InHand { letter: letter.clone(), dot: dot.clone() }));
        let delivering = carrier.deliver(letter.id, &letter.address, &letter.bytes, &dot);
        let outcome = match timeout(LONGEST_DELIVERY, delivering).await {
            Ok(outcome) => outcome,
            Err(_) => cut_short(&dot, "the delivery took too long"),
        };
        let counts = breaker.note(Some(letter.id), &outcome, self.clerk.now());
        let delivery = self.delivery(&letter, outcome, counts);
        self.take_in_hand(None);
        self.settle(&letter, delivery, ticked).await
    }

    /// Settles the letter whose delivery was cut short, if there is one.
    pub(crate) async fn settle_what_is_in_hand(&self) -> Result<(), CourierError> {
        self.finish().await?;
        let Some(InHand { letter, dot }) = self.take_in_hand(None) else { return Ok(()) };
        let outcome = cut_short(&dot, "the courier was stopped");
        let delivery = self.delivery(&letter, outcome, true);
        self.settle(&letter, delivery, &mut Ticked::default()).await
    }

    async fn settle(
        &self,
        letter: &ClaimedLetter,
        delivery: Delivery,
        ticked: &mut Ticked,
    ) -> Result<(), CourierError> {
        log(letter, &delivery);
        ticked.count(&delivery);
        let settled = post::settle(&self.clerk, letter, delivery.clone()).await;
        if settled.is_err() {
            self.put_aside(Some(Unfinished::Attempt(letter.clone(), delivery)));
        }
        if !settled? {
            tracing::warn!(letter = %letter.id, letter.attempt, "the claim on the letter was lost before it was settled");
            ticked.lost += 1;
        }
        Ok(())
    }

    /// What becomes of a letter whose attempt came to `outcome`, and `counts` or does not.
    fn delivery(&self, letter: &ClaimedLetter, outcome: Outcome, counts: bool) -> Delivery {
        let now = self.clerk.now();
        match outcome {
            Outcome::Sent { reply } => Delivery::Sent { reply },
            Outcome::Barred { reply } | Outcome::SenderRefused { reply } if !counts => {
                Delivery::Held { reply, at: now + PROBE_EVERY }
            }
            Outcome::NotNow { reply } | Outcome::Barred { reply } | Outcome::SenderRefused { reply } => {
                let (tried, again) = (letter.counted, letter.told_again_at);
                match retry::next_attempt(tried, again, now, self.clerk.chance()) {
                    Some(at) => Delivery::Retry { reply, at },
                    None => Delivery::Undeliverable { reply },
                }
            }
            Outcome::TooLarge { reply } => match lighter(letter) {
                Some(bytes) => Delivery::Lightened { reply, bytes },
                None => Delivery::Undeliverable { reply },
            },
            Outcome::AddressRefused { reply } => Delivery::AddressRefused { reply },
            Outcome::LetterRefused { reply } => Delivery::Undeliverable { reply },
            Outcome::Unknown { reply } => Delivery::Uncertain { reply },
        }
    }
}

/// The letter without what is attached, if it was not tried without yet. One that may have arrived stays as it is: two
/// copies of a letter are the same bytes.
fn lighter(letter: &ClaimedLetter) -> Option<Vec<u8>> {
    let may_change = !letter.without_attachment && !letter.was_uncertain;
    may_change.then(|| letters::without_attachments(&letter.bytes)).flatten()
}

fn log(letter: &ClaimedLetter, delivery: &Delivery) {
    let (id, attempt, reply) = (letter.id, letter.attempt, delivery.reply());
    match delivery {
        Delivery::Sent { .. } => tracing::info!(letter = %id, attempt, reply, "letter sent"),
        Delivery::Retry { at, .. } => {
            tracing::warn!(letter = %id, attempt, reply, next = %at, "letter not taken");
        }
        // That letters are held back is said once.
        Delivery::Held { .. } => tracing::debug!(letter = %id, attempt, reply, "letter held back"),
        Delivery::Lightened { .. } => {
            tracing::warn!(letter = %id, attempt, reply, "letter too large: it goes without its attachment");
        }
        Delivery::Uncertain { .. } => {
            tracing::error!(letter = %id, attempt, reply, "letter may have been taken");
        }
        Delivery::Undeliverable { .. } => {
            tracing::error!(letter = %id, attempt, reply, "letter undeliverable");
        }
        Delivery::AddressRefused { .. } => {
            tracing::error!(letter = %id, attempt, reply, "letter undeliverable: no letter goes to its address any more");
        }
    }
}

/// What is known of a delivery that was cut short: before the final dot nothing was taken.
fn cut_short(dot: &FinalDot, why: &str) -> Outcome {
    let reply = why.to_owned();
    if dot.is_out() { Outcome::Unknown { reply } } else { Outcome::NotNow { reply } }
}
