//! Marks, notices and letters: told once, withdrawn when no longer true, told again when true again.

use chrono::TimeDelta;
use clerk::organisation::NewWorkshop;
use clerk::post::{self, Delivery};
use model::{
    CoverageTerms, DistanceFrom, LastDay, LetterState, MarkOutcome, NoticeState, Transfer, WindowKind,
    WorkshopKind,
};
use store::Reach;
use store::notices::NoticeRow;
use testkit::post::{gather_each, notices};
use testkit::world::{World, day, km};

fn about<'a>(notices: &'a [NoticeRow], item: &str) -> Vec<&'a NoticeRow> {
    notices.iter().filter(|row| row.notice.key.item_key == item).collect()
}

/// Gathers every waiting notice into letters of plain bytes, in the slot of those it is for; says how many letters were
/// made.
async fn gather(world: &World) -> usize {
    world.pass_to_next_letter().await;
    gather_each(world, |_| (model::LetterKind::Notices, ())).await.len()
}

/// A warranty of the whole vehicle from that day on.
fn warranty(from: &str, months: u32) -> CoverageTerms {
    CoverageTerms {
        kind: WindowKind::Warranty,
        title: "Warranty".to_owned(),
        scope: Vec::new(),
        starts_on: Some(day(from)),
        start_odometer: None,
        opened_by: None,
        months: Some(months),
        distance: None,
        distance_from: DistanceFrom::Zero,
        last_day: LastDay::DayBefore,
        capacity_floor_percent: None,
        reduced_if: Vec::new(),
        pro_rata: Vec::new(),
        transfer: Transfer::Automatic,
        transfer_within_days: None,
        transferred_on: None,
        excess: None,
        voided_by: None,
    }
}

testkit::on_both_engines! {
    async fn an_overdue_service_is_told_once_however_often_the_scheduler_looks(store: Store) {
        let world = World::in_store(store).await;
        let van = world.van("Van 1").await;
        world.reading(van, "2027-02-25T08:00:00Z", 27_000.0).await;

        world.tick().await;
        world.tick().await;
        world.reading(van, "2027-02-28T08:00:00Z", 27_300.0).await;
        world.tick().await;

        let all = notices(&world).await;
        let oil = about(&all, "rule:engine-oil");
        assert_eq!(oil.len(), 1, "{oil:?}");
        assert_eq!((oil[0].notice.key.mark.as_str(), oil[0].person), ("overdue", world.manager));
    }

    async fn of_several_marks_past_at_once_the_highest_is_told_and_the_rest_are_overtaken(store: Store) {
        let world = World::in_store(store).await;
        let van = world.van("Van 1").await;
        world.reading(van, "2027-02-25T08:00:00Z", 27_000.0).await;
        world.tick().await;

        let mut tx = world.clerk.store().reader(Reach::Fleet(world.fleet)).await.expect("a reader");
        let marks = store::marks::of_vehicle(&mut tx.conn(), world.fleet, van).await.expect("marks");
        let of = |mark: &str| marks.iter().find(|row| row.key.item_key == "rule:engine-oil" && row.key.mark == mark);
        assert_eq!(of("overdue").map(|row| row.outcome), Some(MarkOutcome::Told));
        assert_eq!(of("due").map(|row| row.outcome), Some(MarkOutcome::Overtaken));
        assert_eq!(of("approaching").map(|row| row.outcome), Some(MarkOutcome::Overtaken));
        assert!(of("due").is_some_and(|row| row.reason.is_some()));
    }

    /// A reading a nought too long made the oil overdue; corrected before the letter went, it is due in months. The
    /// vehicle must wake for that, though nothing else changes until then.
    async fn a_mark_taken_back_from_a_letter_wakes_its_vehicle_when_it_comes_again(store: Store) {
        let world = World::in_store(store).await;
        let van = world.van("Van 1").await;
        world.service(van, "2026-12-01", 1_000.0, "engine-oil").await;
        let reading = world.reading(van, "2027-02-25T08:00:00Z", 22_000.0).await;
        world.tick().await;
        gather(&world).await;
        let mut act = world.act().await;
        let right = model::Decision::Correct { value: km(2_200.0) };
        let why = "A nought too many.".to_owned();
        clerk::readings::decide(&mut act, van, reading.id, right, why).await.expect("corrected");
        act.commit().await.expect("committed");

        post::claim_letters(&world.clerk, 10).await.expect("claims");
        world.tick().await;

        let mut tx = world.clerk.store().reader(Reach::Fleet(world.fleet)).await.expect("a reader");
        let marks = store::marks::of_vehicle(&mut tx.conn(), world.fleet, van).await.expect("marks");
        let waiting = marks.iter().filter(|mark| mark.outcome == MarkOutcome::Waiting);
        let oil = waiting.clone().filter(|mark| mark.key.item_key == "rule:engine-oil").count();
        let state = store::states::page(&mut tx.conn(), world.fleet, None, 9).await.expect("states").remove(0);
        assert!(oil > 0, "{marks:?}");
        assert_eq!(state.wakes_at, waiting.map(|mark| mark.fires_at).min());
    }

    async fn work_done_before_the_letter_goes_takes_the_notice_back(store: Store) {
        let world = World::in_store(store).await;
        let van = world.van("Van 1").await;
        world.reading(van, "2027-02-25T08:00:00Z", 27_000.0).await;
        world.tick().await;

        world.service(van, "2027-02-28", 27_200.0, "engine-oil").await;

        let all = notices(&world).await;
        assert_eq!(about(&all, "rule:engine-oil")[0].state, NoticeState::Withdrawn);
    }

    async fn a_notice_taken_back_is_told_under_the_same_id_when_it_is_true_again(store: Store) {
        let world = World::in_store(store).await;
        let van = world.van("Van 1").await;
        world.reading(van, "2027-02-25T08:00:00Z", 27_000.0).await;
        world.tick().await;
        world.service(van, "2027-02-28", 27_200.0, "engine-oil").await;
        let mut tx = world.clerk.store().reader(Reach::Fleet(world.fleet)).await.expect("a reader");
        let services = store::services::page(&mut tx.conn(), world.fleet, van, None, 10).await.expect("a page");
        drop(tx);

        let mut act = world.act().await;
        clerk::services::withdraw(&mut act, van, services[0].id).await.expect("withdrawn");
        act.commit().await.expect("committed");
        world.tick().await;

        let all = notices(&world).await;
        let oil = about(&all, "rule:engine-oil");
        assert_eq!((oil.len(), oil[0].state), (1, NoticeState::Waiting));
    }

    async fn a_persons_notices_go_in_one_letter_and_are_told_when_the_relay_took_it(store: Store) {
        let world = World::in_store(store).await;
        for label in ["Van 1", "Van 2"] {
            let van = world.van(label).await;
            world.reading(van, "2027-02-25T08:00:00Z", 27_000.0).await;
        }
        world.tick().await;

        assert_eq!(gather(&world).await, 1);
        let claimed = post::claim_letters(&world.clerk, 10).await.expect("letters");
        assert!(post::start_sending(&world.clerk, &claimed[0]).await.expect("started"));
        let sent = Delivery::Sent { reply: "250 taken".to_owned() };
        assert!(post::settle(&world.clerk, &claimed[0], sent).await.expect("settled"));

        let all = notices(&world).await;
        assert!(about(&all, "rule:engine-oil").iter().all(|row| row.state == NoticeState::Told));
        assert_eq!(gather(&world).await, 0, "nothing is left to tell");
        assert!(post::claim_letters(&world.clerk, 10).await.expect("letters").is_empty());
    }

    async fn a_letter_whose_courier_died_while_sending_is_uncertain_and_sent_once_more(store: Store) {
        let world = World::in_store(store).await;
        let van = world.van("Van 1").await;
        world.reading(van, "2027-02-25T08:00:00Z", 27_000.0).await;
        world.tick().await;
        gather(&world).await;
        let claimed = post::claim_letters(&world.clerk, 10).await.expect("letters");
        post::start_sending(&world.clerk, &claimed[0]).await.expect("started");

        world.clock.pass(TimeDelta::minutes(16));
        assert!(post::claim_letters(&world.clerk, 10).await.expect("letters").is_empty());
        world.clock.pass(TimeDelta::minutes(16));
        let again = post::claim_letters(&world.clerk, 10).await.expect("letters");

        assert_eq!((again.len(), again[0].was_uncertain, again[0].attempt), (1, true, 2));
        assert_eq!(again[0].bytes, claimed[0].bytes);
        post::start_sending(&world.clerk, &again[0]).await.expect("started");
        let cut = Delivery::Uncertain { reply: "cut again".to_owned() };
        assert!(post::settle(&world.clerk, &again[0], cut).await.expect("settled"));
        world.clock.pass(TimeDelta::days(3));
        assert!(post::claim_letters(&world.clerk, 10).await.expect("letters").is_empty(), "it is parked");
    }

    async fn a_letter_that_says_something_untrue_is_withdrawn_and_the_rest_goes_in_another(store: Store) {
        let world = World::in_store(store).await;
        let mut vans = Vec::new();
        for label in ["Van 1", "Van 2"] {
            let van = world.van(label).await;
            world.reading(van, "2027-02-25T08:00:00Z", 27_000.0).await;
            vans.push(van);
        }
        world.tick().await;
        gather(&world).await;
        world.service(vans[0], "2027-02-28", 27_200.0, "engine-oil").await;

        assert!(post::claim_letters(&world.clerk, 10).await.expect("letters").is_empty());

        let of = |all: &[NoticeRow], van| {
            let oil = |row: &&NoticeRow| row.notice.key.item_key == "rule:engine-oil" && row.notice.vehicle == van;
            all.iter().find(oil).map(|row| (row.state, row.letter))
        };
        let all = notices(&world).await;
        assert_eq!(of(&all, vans[0]), Some((NoticeState::Withdrawn, None)));
        assert_eq!(of(&all, vans[1]), Some((NoticeState::Waiting, None)));
        assert_eq!(gather(&world).await, 1);
        assert_eq!(post::claim_letters(&world.clerk, 10).await.expect("letters").len(), 1);
    }

    async fn what_a_withdrawn_letter_said_is_told_when_it_is_true_again(store: Store) {
        let world = World::in_store(store).await;
        let van = world.van("Van 1").await;
        world.reading(van, "2027-02-25T08:00:00Z", 27_000.0).await;
        world.tick().await;
        gather(&world).await;
        world.service(van, "2027-02-28", 27_200.0, "engine-oil").await;
        post::claim_letters(&world.clerk, 10).await.expect("letters");
        let mut tx = world.clerk.store().reader(Reach::Fleet(world.fleet)).await.expect("a reader");
        let services = store::services::page(&mut tx.conn(), world.fleet, van, None, 10).await.expect("a page");
        drop(tx);

        let mut act = world.act().await;
        clerk::services::withdraw(&mut act, van, services[0].id).await.expect("withdrawn");
        act.commit().await.expect("committed");
        world.tick().await;

        let all = notices(&world).await;
        assert_eq!(about(&all, "rule:engine-oil")[0].state, NoticeState::Waiting);
    }

    /// A finding that comes to light after the end makes a last call for claims that are too late.
    async fn a_last_call_after_the_end_was_told_is_overtaken(store: Store) {
        let world = World::in_store(store).await;
        let van = world.van("Van 1").await;
        let mut act = world.act().await;
        let dealer = NewWorkshop {
            name: "Dealer".to_owned(),
            kind: WorkshopKind::Dealer,
            lead_days: 2,
            warranty_work: None,
            working_weekdays: None,
        };
        clerk::organisation::create_workshop(&mut act, dealer).await.expect("a workshop");
        let window = clerk::coverage::open(&mut act, van, warranty("2027-01-01", 3)).await.expect("a window");
        act.commit().await.expect("committed");
        world.clock.set(testkit::world::instant("2027-04-02T08:00:00Z"));
        world.tick().await;

        let mut late = world.entry("Van 1");
        late.performed_at = testkit::world::instant("2027-03-20T08:00:00Z");
        late.findings = vec![clerk::inspections::FindingEntered {
            code: testkit::world::code("oil-leak"),
            component: None,
            place: None,
            weight: model::FindingWeight::Attend,
            note: "Oil under the engine".to_owned(),
        }];
        world.post(&[late]).await;
        world.tick().await;

        let mut tx = world.clerk.store().reader(Reach::Fleet(world.fleet)).await.expect("a reader");
        let marks = store::marks::of_vehicle(&mut tx.conn(), world.fleet, van).await.expect("marks");
        let of = |mark: &str| {
            let key = format!("window:{}", window.id);
            marks.iter().find(|row| row.key.item_key == key && row.key.mark == mark).map(|row| row.outcome)
        };
        assert_eq!((of("ended"), of("act_by")), (Some(MarkOutcome::Told), Some(MarkOutcome::Overtaken)), "{marks:?}");
    }

    /// Found by the simulation (seed 5 on PostgreSQL): the newcomer was judged by the old rules until something else
    /// renewed it.
    async fn a_vehicle_that_comes_while_its_rulebook_is_edited_is_judged_by_the_new_rules(store: Store) {
        let world = World::in_store(store).await;
        let mut coming = world.act().await;
        let van = clerk::vehicles::register(&mut coming, world.new_van("Van 1")).await.expect("a vehicle").id;
        coming.renew().await.expect("judged by the rules of now");
        let mut rules = testkit::world::rules();
        rules.truncate(1);

        let editing = async {
            let mut act = world.act().await;
            let title = "Vans".to_owned();
            clerk::rulebooks::revise(&mut act, world.rulebook, 1, title, rules).await.expect("revised");
            act.commit().await.expect("committed");
        };
        let arriving = async { coming.commit().await.expect("committed") };
        tokio::join!(editing, arriving);
        world.tick().await;

        let mut tx = world.clerk.store().reader(Reach::Fleet(world.fleet)).await.expect("a reader");
        let marks = store::marks::of_vehicle(&mut tx.conn(), world.fleet, van).await.expect("marks");
        assert!(marks.iter().all(|mark| mark.key.item_key != "rule:brake-fluid"), "{marks:?}");
    }

    /// Found by the simulation (seed 209): a letter went between an edit and the renewal that follows it.
    async fn r12_a_letter_is_checked_against_edited_rules_before_they_are_worked_off(store: Store) {
        let world = World::in_store(store).await;
        let vans = [world.van("Van 1").await, world.van("Van 2").await];
        for van in vans {
            world.reading(van, "2027-02-25T08:00:00Z", 27_000.0).await;
        }
        world.tick().await;
        gather(&world).await;
        let mut rules = testkit::world::rules();
        rules.remove(0);
        let mut act = world.act().await;
        clerk::rulebooks::revise(&mut act, world.rulebook, 1, "Vans".to_owned(), rules).await.expect("revised");
        act.commit().await.expect("committed");

        let claimed = post::claim_letters(&world.clerk, 10).await.expect("letters");

        assert!(claimed.is_empty(), "{claimed:?}");
        let all = notices(&world).await;
        assert!(about(&all, "rule:engine-oil").iter().all(|row| row.state == NoticeState::Withdrawn), "{all:?}");
    }

    /// Found by the simulation: while the clock ran ahead a lease was taken, and its row waited until the clock got there.
    async fn r07_a_lease_taken_under_a_clock_that_ran_ahead_holds_nothing_once_it_is_right(store: Store) {
        let world = World::in_store(store).await;
        let van = world.van("Van 1").await;
        world.reading(van, "2027-02-25T08:00:00Z", 27_000.0).await;
        world.tick().await;
        gather(&world).await;
        let late_van = world.van("Van 2").await;
        world.reading(late_van, "2027-02-25T08:00:00Z", 27_000.0).await;
        world.clock.jump(TimeDelta::days(1));
        let vehicles = clerk::watch::claim_vehicles(&world.clerk, 64).await.expect("claims");
        let letters = post::claim_letters(&world.clerk, 10).await.expect("claims");
        assert!(post::start_sending(&world.clerk, &letters[0]).await.expect("started"));

        world.clock.jump(TimeDelta::days(-1));
        world.clock.pass(TimeDelta::minutes(16));
        let next = post::next_letter_time(&world.clerk).await.expect("a time");
        let again = clerk::watch::claim_vehicles(&world.clerk, 64).await.expect("claims");
        post::claim_letters(&world.clerk, 10).await.expect("claims");

        assert!(!vehicles.is_empty() && again.iter().any(|one| one.vehicle == late_van), "{again:?}");
        assert!(next.is_some_and(|at| at <= world.clerk.now()), "{next:?}");
        let mut tx = world.clerk.store().reader(Reach::Fleet(world.fleet)).await.expect("a reader");
        let letter = store::letters::find(&mut tx.conn(), world.fleet, letters[0].id).await.expect("read");
        assert_eq!(letter.map(|letter| letter.state), Some(LetterState::Uncertain));
    }

    async fn a_lost_claim_changes_nothing(store: Store) {
        let world = World::in_store(store).await;
        let van = world.van("Van 1").await;
        world.reading(van, "2027-02-25T08:00:00Z", 27_000.0).await;
        let first = clerk::watch::claim_vehicles(&world.clerk, 64).await.expect("claims");
        world.clock.pass(TimeDelta::seconds(16));
        let second = clerk::watch::claim_vehicles(&world.clerk, 64).await.expect("claims");

        let late = clerk::watch::work_off(&world.clerk, &first).await.expect("worked off");

        assert_eq!((first.len(), second.len(), late.lost, late.fired), (1, 1, 1, 0));
        assert!(notices(&world).await.is_empty());
        assert!(clerk::watch::work_off(&world.clerk, &second).await.expect("worked off").fired > 0);
    }

    async fn an_unchanged_fleet_looked_at_again_changes_no_row(store: Store) {
        let world = World::in_store(store).await;
        let van = world.van("Van 1").await;
        world.reading(van, "2027-02-25T08:00:00Z", 12_000.0).await;
        world.tick().await;
        let outlook = clerk::horizons::of(&world.clerk, world.fleet, van).await.expect("read").expect("a vehicle");

        let mut tx = world.clerk.store().writer(Reach::Fleet(world.fleet)).await.expect("a writer");
        let touched = store::derived::replace(&mut tx.conn(), world.fleet, world.depot, &outlook.horizon).await;

        assert_eq!(touched.expect("replaced"), 0);
    }

    async fn a_new_version_of_the_rulebook_renews_its_vehicles_and_moves_what_was_not_told(store: Store) {
        let world = World::in_store(store).await;
        let van = world.van("Van 1").await;
        let mut rules = testkit::world::rules();
        let model::Trigger::Every(every) = &mut rules[1].trigger else { panic!("brake fluid recurs") };
        every.months = Some(12);
        let mut act = world.act().await;
        clerk::rulebooks::revise(&mut act, world.rulebook, 1, "Vans".to_owned(), rules).await.expect("revised");
        act.commit().await.expect("committed");

        let done = world.tick().await;

        assert_eq!(done.renewed, 1);
        let horizon = clerk::horizons::of(&world.clerk, world.fleet, van).await.expect("read").expect("a vehicle").horizon;
        let brakes = horizon.items.iter().find(|item| item.key.0 == "rule:brake-fluid").expect("an item");
        assert_eq!(brakes.date_limit, Some(day("2027-01-01")));
        assert!(about(&notices(&world).await, "rule:brake-fluid").iter().any(|row| row.notice.key.mark == "overdue"));
    }
}
