//! Clocks that jump: what is held, and what was put off under a wrong one.

use crate::post::{courier, letters, overdue};
use crate::relay::{Act, Relay, Script};
use chrono::TimeDelta;
use courier::Ticked;
use model::LetterState;

testkit::on_both_engines! {
    async fn r07_no_letter_is_made_or_goes_by_a_clock_more_than_a_day_ahead(store: Store) {
        let world = overdue(store).await;
        let relay = Relay::start(vec![Script::default()]).await;
        let courier = courier(&world, &relay);

        world.clock.jump(TimeDelta::days(1) + TimeDelta::minutes(2));
        let held = courier.tick().await.expect("a tick");
        assert_eq!((held, letters(&world).await, relay.arrived().len()), (Ticked::default(), vec![], 0));

        world.clock.jump(-TimeDelta::days(1) - TimeDelta::minutes(2));
        let sent = courier.tick().await.expect("a tick");
        assert_eq!(sent, Ticked { gathered: 1, sent: 1, ..Ticked::default() });
    }

    async fn r07_a_letter_that_is_made_is_held_as_well_and_goes_once(store: Store) {
        let world = overdue(store).await;
        let not_now = Script { mail: Act::Say("451 4.3.0 later"), ..Script::default() };
        let relay = Relay::start(vec![not_now, Script::default()]).await;
        let courier = courier(&world, &relay);
        assert_eq!(courier.tick().await.expect("a tick").retried, 1);

        world.clock.jump(TimeDelta::days(730));
        assert_eq!(courier.tick().await.expect("a tick"), Ticked::default());
        world.clock.jump(TimeDelta::days(-730));
        world.clock.pass(TimeDelta::minutes(5));

        assert_eq!(courier.tick().await.expect("a tick").sent, 1);
        assert_eq!((relay.arrived().len(), courier.tick().await.expect("a tick")), (1, Ticked::default()));
    }

    async fn r07_a_letter_put_off_under_a_clock_a_day_ahead_is_planned_anew(store: Store) {
        let world = overdue(store).await;
        let not_now = Script { mail: Act::Say("451 4.3.0 later"), ..Script::default() };
        let relay = Relay::start(vec![not_now, Script::default()]).await;
        let courier = courier(&world, &relay);
        world.clock.jump(TimeDelta::days(1));
        assert_eq!(courier.tick().await.expect("a tick").retried, 1);

        world.clock.jump(TimeDelta::days(-1));
        let mended = clerk::mending::mend(&world.clerk).await.expect("mended");
        let again = clerk::mending::mend(&world.clerk).await.expect("mended");
        world.clock.pass(TimeDelta::minutes(16));
        let sent = courier.tick().await.expect("a tick");

        assert_eq!((mended.letters, again.letters, sent.sent), (1, 0, 1));
        assert_eq!(letters(&world).await.last().map(|letter| letter.state), Some(LetterState::Sent));
    }
}
