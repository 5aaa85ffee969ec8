//! R59, R17: what becomes of the letter in hand when the courier is told to stop.

use crate::conversation::plain;
use crate::post::{letters, overdue};
use crate::relay::{Act, Relay, Script};
use courier::{Courier, Mail, Settings, SmtpSettings};
use model::LetterState;
use std::time::Duration;
use testkit::world::World;
use tokio::sync::oneshot;

/// A relay that hangs for longer than the courier is given to stop.
async fn stopped_while_hanging(world: &World, script: Script, heard: impl Fn(&Relay) -> bool) {
    let relay = Relay::start(vec![script]).await;
    let patient = Duration::from_mins(1);
    let smtp = SmtpSettings { timeout: patient, final_answer: patient, ..plain(&relay) };
    let settings = Settings {
        grace: Duration::from_millis(50),
        ..Settings::new(Mail::Smtp(smtp), "Ostler <ostler@fleet.example>")
    };
    let courier = Courier::new(world.clerk.clone(), settings).expect("good settings");
    let (stop, stopped) = oneshot::channel::<()>();
    let shutdown = async { stopped.await.expect("told to stop") };
    let telling = async {
        while !heard(&relay) {
            tokio::time::sleep(Duration::from_millis(1)).await;
        }
        stop.send(()).expect("the courier runs");
    };
    tokio::join!(courier.run(shutdown), telling);
}

testkit::on_both_engines! {
    async fn r17_a_letter_that_awaits_the_answer_to_its_dot_becomes_uncertain(store: Store) {
        let world = overdue(store).await;
        let script = Script { end: Act::Hang, ..Script::default() };

        stopped_while_hanging(&world, script, |relay| !relay.arrived().is_empty()).await;

        assert_eq!(letters(&world).await[0].state, LetterState::Uncertain);
    }

    async fn r17_a_letter_before_its_dot_is_tried_again(store: Store) {
        let world = overdue(store).await;
        let script = Script { rcpt: Act::Hang, ..Script::default() };
        let at_recipient = |relay: &Relay| relay.commands().iter().any(|command| command.starts_with("RCPT"));

        stopped_while_hanging(&world, script, at_recipient).await;

        assert_eq!(letters(&world).await[0].state, LetterState::Retry);
    }

    async fn a_courier_with_nothing_to_do_wakes_for_a_letter_and_stops_when_told(store: Store) {
        let world = World::in_store(store).await;
        let relay = Relay::start(vec![Script::default()]).await;
        let settings = Settings::new(Mail::Smtp(plain(&relay)), "Ostler <ostler@fleet.example>");
        let courier = Courier::new(world.clerk.clone(), settings).expect("good settings");
        let (stop, stopped) = oneshot::channel::<()>();
        let telling = async {
            let van = world.van("Van 1").await;
            world.reading(van, "2027-02-25T08:00:00Z", 27_000.0).await;
            world.tick().await;
            world.pass_to_next_letter().await;
            world.clerk.wake();
            while letters(&world).await.first().is_none_or(|letter| letter.state != LetterState::Sent) {
                tokio::time::sleep(Duration::from_millis(5)).await;
            }
            stop.send(()).expect("the courier runs");
        };

        tokio::join!(courier.run(async { stopped.await.expect("told to stop") }), telling);

        assert_eq!(relay.arrived().len(), 1);
    }
}
