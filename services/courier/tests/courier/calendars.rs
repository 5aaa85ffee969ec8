//! What people's calendars are told (R27): put in, moved, taken out, and told again where a letter did not arrive.

use crate::conversation::plain;
use crate::relay::{Act, Arrived, Relay, Script};
use chrono::{NaiveDate, TimeDelta};
use courier::{Courier, Mail, Settings};
use mail_parser::{MessageParser, MimeHeaders, PartType};
use model::{CalendarMethod, PersonId, Role, VehicleId};
use store::{Reach, Store};
use testkit::world::{World, day, measured};

/// An event as a calendar reads it.
#[derive(Debug, Clone, PartialEq, Eq)]
struct Event {
    method: CalendarMethod,
    uid: String,
    sequence: u32,
    day: NaiveDate,
    summary: String,
}

/// The events that letters to this address carry, letter by letter.
fn events(arrived: &[Arrived], to: &str) -> Vec<Vec<Event>> {
    arrived.iter().filter(|letter| letter.to == to).map(|letter| events_of(&letter.bytes)).collect()
}

/// The events in the parts of a letter, whose method is the one their part names (RFC 6047, 2.4).
fn events_of(bytes: &[u8]) -> Vec<Event> {
    let message = MessageParser::new().parse(bytes).expect("a message");
    let calendars = message.parts.iter().filter(|part| part.is_content_type("text", "calendar"));
    let mut events = Vec::new();
    for part in calendars {
        let PartType::Text(text) = &part.body else { panic!("a calendar is text") };
        let text = text.replace("\r\n ", "").replace("\n ", "");
        let method = value(&text, "METHOD");
        assert_eq!(part.content_type().and_then(|of| of.attribute("method")), Some(method.as_str()));
        let method = CalendarMethod::from_word(&method).expect("a method");
        events.extend(text.split("BEGIN:VEVENT").skip(1).map(|event| Event {
            method,
            uid: value(event, "UID"),
            sequence: value(event, "SEQUENCE").parse().expect("a number"),
            day: NaiveDate::parse_from_str(&value(event, "DTSTART;VALUE=DATE"), "%Y%m%d").expect("a day"),
            summary: value(event, "SUMMARY"),
        }));
    }
    events
}

fn value(text: &str, name: &str) -> String {
    let found = text.lines().find_map(|line| line.strip_prefix(&format!("{name}:")));
    found.unwrap_or_else(|| panic!("{name} in {text}")).trim_end().to_owned()
}

const MANAGER: &str = "manager@example.com";

struct Story {
    world: World,
    relay: Relay,
    courier: Courier,
    van: VehicleId,
    stopped: u32,
}

impl Story {
    /// A van whose oil is due on 12 March or at 21,000 km, which comes later; the manager is told by the first letter.
    async fn of(store: Store, scripts: Vec<Script>) -> Self {
        let world = World::in_store(store).await;
        let van = world.van("Van 1").await;
        world.service(van, "2026-03-12", 1_000.0, "engine-oil").await;
        world.reading(van, "2027-02-20T08:00:00Z", 20_300.0).await;
        world.reading(van, "2027-02-28T08:00:00Z", 20_320.0).await;
        let relay = Relay::start(scripts).await;
        let settings = Settings::new(Mail::Smtp(plain(&relay)), "Ostler <ostler@fleet.example>");
        let courier = Courier::new(world.clerk.clone(), settings).expect("good settings");
        let mut told = Self { world, relay, courier, van, stopped: 0 };
        told.world.tick().await;
        told.world.pass_to_next_letter().await;
        told.tick().await;
        told
    }

    async fn tick(&mut self) {
        self.courier.tick().await.expect("a tick");
    }

    /// Lets a letter go to the manager, and to the technician, for a reason of its own: another van must not be driven.
    async fn another_letter(&mut self) {
        self.stopped += 1;
        let label = format!("Stopped {}", self.stopped);
        self.world.van(&label).await;
        let mut entry = self.world.entry(&label);
        entry.measurements = vec![measured("tread-depth", "front_left", "outer", 0.9, "mm")];
        self.world.post(&[entry]).await;
        self.world.tick().await;
        self.tick().await;
    }

    /// What letters to the manager told of the oil, letter by letter.
    fn oil(&self) -> Vec<Vec<Event>> {
        self.oil_told_to(MANAGER)
    }

    fn oil_told_to(&self, address: &str) -> Vec<Vec<Event>> {
        let is_oil = |event: &Event| event.summary.starts_with("Van 1: Engine oil");
        let letters = events(&self.relay.arrived(), address);
        letters.into_iter().map(|events| events.into_iter().filter(is_oil).collect()).collect()
    }

    /// The oil is done; gives nothing that says so away.
    async fn done(&mut self) {
        self.world.service(self.van, "2027-02-28", 20_320.0, "engine-oil").await;
    }

    /// What was done last was not.
    async fn undone(&mut self) {
        let world = &self.world;
        let mut act = world.act().await;
        let services =
            store::services::page(&mut act.conn(), world.fleet, self.van, None, 10).await.expect("a page");
        let last =
            services.iter().find(|service| service.done_on == day("2027-02-28")).expect("a service").id;
        clerk::services::withdraw(&mut act, self.van, last).await.expect("withdrawn");
        act.commit().await.expect("committed");
    }
}

/// Method and sequence of each event, letter by letter.
fn steps(letters: &[Vec<Event>]) -> Vec<Vec<(CalendarMethod, u32)>> {
    letters.iter().map(|events| events.iter().map(|event| (event.method, event.sequence)).collect()).collect()
}

const PUT_IN: CalendarMethod = CalendarMethod::Publish;
const OUT: CalendarMethod = CalendarMethod::Cancel;

fn refusing(rcpt: &'static str) -> Script {
    Script { rcpt: Act::Say(rcpt), ..Script::default() }
}

testkit::on_both_engines! {
    async fn r27_a_day_is_put_in_moved_and_taken_out_under_one_uid(store: Store) {
        let mut story = Story::of(store, vec![Script::default()]).await;
        story.another_letter().await;
        // So much is driven that the distance comes first.
        story.world.reading(story.van, "2027-03-02T06:00:00Z", 20_990.0).await;
        story.another_letter().await;
        story.world.service(story.van, "2027-03-02", 20_995.0, "engine-oil").await;
        story.another_letter().await;
        story.another_letter().await;

        let oil = story.oil();
        assert_eq!(steps(&oil), [vec![(PUT_IN, 0)], vec![], vec![(PUT_IN, 1)], vec![(OUT, 2)], vec![]], "{oil:?}");
        let told: Vec<&Event> = oil.iter().flatten().collect();
        assert!(told.iter().all(|event| event.uid == told[0].uid), "{told:?}");
        assert_eq!(told[0].day, day("2027-03-12"));
        assert!(told[1].day < told[0].day, "{told:?}");
        assert_eq!((told[2].day, &told[2].summary), (told[1].day, &told[1].summary));
    }

    async fn r27_done_undone_and_due_again_is_put_in_again_with_a_higher_sequence(store: Store) {
        let mut story = Story::of(store, vec![Script::default()]).await;
        story.done().await;
        story.another_letter().await;
        story.undone().await;
        story.another_letter().await;
        story.another_letter().await;

        let oil = story.oil();
        assert_eq!(steps(&oil), [vec![(PUT_IN, 0)], vec![(OUT, 1)], vec![(PUT_IN, 2)], vec![]], "{oil:?}");
        assert_eq!((&oil[2][0].uid, oil[2][0].day), (&oil[0][0].uid, oil[0][0].day));
    }

    async fn nothing_is_sent_only_to_take_a_day_out(store: Store) {
        let mut story = Story::of(store, vec![Script::default()]).await;
        let before = story.relay.arrived().len();
        story.done().await;
        story.world.tick().await;
        for _ in 0..3 {
            story.world.clock.pass(TimeDelta::days(1));
            story.tick().await;
        }
        assert_eq!(story.relay.arrived().len(), before);
    }

    async fn r27_a_letter_taken_back_told_nothing_and_its_sequence_is_not_used_again(store: Store) {
        let mut story = Story::of(store, vec![refusing("450 4.7.1 greylisted"), Script::default()]).await;
        assert_eq!(story.relay.arrived().len(), 0);
        story.another_letter().await;
        story.done().await;
        story.another_letter().await;

        let oil = story.oil();
        assert_eq!(steps(&oil), [vec![(PUT_IN, 1)], vec![(OUT, 2)]], "{oil:?}");
    }

    async fn r27_what_never_arrived_is_not_taken_out(store: Store) {
        let mut story = Story::of(store, vec![refusing("450 4.7.1 greylisted"), Script::default()]).await;
        story.done().await;
        story.another_letter().await;

        assert_eq!(steps(&story.oil()), [vec![]]);
    }

    async fn r27_a_day_of_a_letter_that_was_refused_goes_with_the_next(store: Store) {
        let mut story = Story::of(store, vec![refusing("554 5.6.0 malformed"), Script::default()]).await;
        assert_eq!(story.relay.arrived().len(), 0);
        story.another_letter().await;
        story.another_letter().await;

        let oil = story.oil();
        assert_eq!(steps(&oil), [vec![(PUT_IN, 1)], vec![]], "{oil:?}");
    }

    /// It may stand in the calendar: it is told again, and taken out.
    async fn r27_a_letter_without_an_answer_may_have_told(store: Store) {
        let cut = Script { end: Act::Cut, ..Script::default() };
        let mut story = Story::of(store, vec![cut, Script::default()]).await;
        story.another_letter().await;
        story.world.clock.pass(TimeDelta::minutes(16));
        story.tick().await;
        story.done().await;
        story.another_letter().await;

        let oil = story.oil();
        let again = vec![(PUT_IN, 0)];
        assert_eq!(steps(&oil), [again.clone(), vec![(PUT_IN, 1)], again, vec![(OUT, 2)]], "{oil:?}");
        assert_eq!(oil[0], oil[2], "the same bytes");
    }

    async fn r27_the_day_of_a_vehicle_that_left_is_taken_out(store: Store) {
        let mut story = Story::of(store, vec![Script::default()]).await;
        let mut act = story.world.act().await;
        clerk::vehicles::retire(&mut act, story.van, 1, day("2027-03-01")).await.expect("retired");
        act.commit().await.expect("committed");
        story.world.tick().await;
        story.another_letter().await;

        assert_eq!(steps(&story.oil()), [vec![(PUT_IN, 0)], vec![(OUT, 1)]]);
    }

    async fn r27_what_concerns_somebody_no_longer_is_taken_out(store: Store) {
        let mut story = Story::of(store, vec![Script::default()]).await;
        let mut act = story.world.act().await;
        let role = Some(Role::Technician);
        let change = clerk::organisation::PersonChange { role, ..Default::default() };
        clerk::organisation::change_person(&mut act, story.world.manager, 1, change).await.expect("changed");
        act.commit().await.expect("committed");
        story.another_letter().await;

        assert_eq!(steps(&story.oil()), [vec![(PUT_IN, 0)], vec![(OUT, 1)]]);
    }

    async fn r27_two_people_are_told_each_in_their_own_order(store: Store) {
        let mut story = Story::of(store, vec![Script::default()]).await;
        another_manager(&story.world).await;
        story.world.clock.set("2027-03-12T00:00:00Z".parse().expect("an instant"));
        story.world.tick().await;
        story.world.clock.pass(TimeDelta::hours(8));
        story.tick().await;

        let (one, other) = (story.oil(), story.oil_told_to("other@example.com"));
        let (one, other) = (one.last().expect("a letter"), other.last().expect("a letter"));
        assert_eq!((one[0].sequence, other[0].sequence), (1, 0), "{one:?} {other:?}");
        assert_eq!((&one[0].uid, one[0].day), (&other[0].uid, other[0].day));
        assert_eq!(story.oil_told_to("technician@example.com").concat(), [], "it does not concern him");
    }

    async fn r56_an_erased_person_has_no_calendar(store: Store) {
        let story = Story::of(store, vec![Script::default()]).await;
        let world = &story.world;
        assert!(told_to(world, world.manager).await > 0);
        let mut act = world.act().await;
        clerk::organisation::erase_person(&mut act, world.manager, 1).await.expect("erased");
        act.commit().await.expect("committed");
        assert_eq!(told_to(world, world.manager).await, 0);
    }
}

async fn told_to(world: &World, person: PersonId) -> usize {
    let mut tx = world.clerk.store().reader(Reach::Fleet(world.fleet)).await.expect("a reader");
    let from = day("2027-01-01");
    store::calendar_days::told(&mut tx.conn(), world.fleet, person, from, &[]).await.expect("rows").len()
}

async fn another_manager(world: &World) {
    let mut act = world.act().await;
    let new = clerk::organisation::NewPerson {
        role: Role::Manager,
        depots: Vec::new(),
        name: "Other".to_owned(),
        email: Some("other@example.com".to_owned()),
        language: "en-GB".to_owned(),
        zone: chrono_tz::Europe::Dublin,
        quiet_hours: None,
        letter_days: None,
        letter_time: None,
        declined_letters: Vec::new(),
    };
    clerk::organisation::create_person(&mut act, new).await.expect("a person");
    act.commit().await.expect("committed");
}
