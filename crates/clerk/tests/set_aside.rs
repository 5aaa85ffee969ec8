//! A measurement that cannot be right is set aside and named, the rest of its inspection counts, and a person settles it.

use chrono::TimeDelta;
use clerk::ActError;
use clerk::components::{NewComponent, NewFitting};
use clerk::horizons::{self, Outlook, View};
use clerk::inspections::{
    Entry, EntryOutcome, EntryResult, HeldPart, HeldReason, MeasurementEntered, Observed,
};
use clerk::set_asides::{Choice, SetAsideSettled, settle_set_aside};
use model::{Clock, Grade, Place, SetAside, SetAsideId, SetAsideReason, Settled, VehicleId};
use quantity::{Entered, Unit};
use testkit::world::{World, code, day, instant, km, measured};

fn seen(point: &str, place: &str, word: &str) -> MeasurementEntered {
    let observed = Observed::Seen(word.to_owned());
    MeasurementEntered { point: point.to_owned(), place: place.to_owned(), zone: None, observed }
}

fn sound() -> MeasurementEntered {
    measured("tread-depth", "rear_left", "lowest", 5.0, "mm")
}

fn parts(result: &EntryResult) -> &[HeldPart] {
    match &result.outcome {
        EntryOutcome::Held { parts, .. } => parts,
        other => panic!("not held: {other:?}"),
    }
}

/// What was set aside of an entry of which nothing else waits.
fn aside(result: &EntryResult) -> Vec<&SetAside> {
    let parts = parts(result).iter();
    parts
        .map(|part| match &part.reason {
            HeldReason::SetAside(one) => one,
            other => panic!("another reason: {other:?}"),
        })
        .collect()
}

async fn post(world: &World, entry: Entry) -> EntryResult {
    world.post(&[entry]).await.remove(0)
}

/// Posts one entry of the van with these measurements.
async fn measure(world: &World, measurements: Vec<MeasurementEntered>) -> EntryResult {
    let mut entry = world.entry("Van 1");
    entry.measurements = measurements;
    post(world, entry).await
}

async fn outlook(world: &World, van: VehicleId, view: View) -> Outlook {
    horizons::at(&world.clerk, world.fleet, van, view).await.expect("read").expect("the van")
}

async fn settle(
    world: &World,
    id: SetAsideId,
    choice: Choice,
    why: &str,
) -> Result<SetAsideSettled, ActError> {
    let mut act = world.act().await;
    let settled = settle_set_aside(&mut act, id, choice, why.to_owned()).await?;
    act.commit().await?;
    Ok(settled)
}

/// A tyre of 8 mm when new at the front left since January.
async fn with_tyre(world: &World, van: VehicleId, depth_new: Option<f64>) {
    let mut act = world.act().await;
    let depth_new = depth_new.map(|depth| Entered::new(depth, Unit::Millimetre));
    let new = NewComponent {
        kind: code("tyre"),
        product: "Grip 9".to_owned(),
        depth_new,
        came_used: false,
        cost: None,
    };
    let component = clerk::components::create(&mut act, new).await.expect("a tyre").id;
    let (place, from) = (Place::FrontLeft, day("2027-01-10"));
    let new = NewFitting { component, place, from, odometer: km(1_000.0) };
    clerk::components::fit(&mut act, van, new).await.expect("fitted");
    act.commit().await.expect("committed");
}

fn faults(refused: Result<SetAsideSettled, ActError>) -> Vec<(String, String)> {
    match refused {
        Err(ActError::Faults(faults)) => faults.into_iter().map(|f| (f.pointer, f.code)).collect(),
        other => panic!("not refused for faults: {other:?}"),
    }
}

testkit::on_both_engines! {
    async fn each_kind_of_fault_is_set_aside_by_name_and_the_rest_counts(store: Store) {
        let world = World::in_store(store).await;
        let van = world.van("Van 1").await;
        let tread = |place: &str, zone: &str, value: f64, unit: &str| measured("tread-depth", place, zone, value, unit);
        let mut entry = world.entry("Van 1");
        entry.odometer = Some(km(9_000.0));
        entry.measurements = vec![
            sound(),
            measured("shoe-size", "front_left", "whole", 42.0, "mm"),
            tread("front_left", "lowest", 6.0, "kPa"),
            tread("front_left", "lowest", 6.0, "furlong"),
            tread("roof", "lowest", 6.0, "mm"),
            tread("vehicle", "lowest", 6.0, "mm"),
            tread("front_left", "whole", 6.0, "mm"),
            tread("front_left", "lowest", 60.0, "mm"),
            tread("front_left", "lowest", -1.0, "mm"),
            tread("front_left", "lowest", 1e300, "mm"),
            seen("tyre-damage", "front_left", "haunted"),
            seen("tread-depth", "front_left", "good"),
            tread("rear_left", "lowest", 5.1, "mm"),
        ];
        entry.note = Some("Windy.".to_owned());

        let result = post(&world, entry).await;

        let told: Vec<_> = aside(&result).iter().map(|one| (one.pointer.clone(), one.reason)).collect();
        let expected = [
            ("/measurements/1/point", SetAsideReason::PointUnknown),
            ("/measurements/2/unit", SetAsideReason::Unit),
            ("/measurements/3/unit", SetAsideReason::Unit),
            ("/measurements/4/place", SetAsideReason::Place),
            ("/measurements/5/place", SetAsideReason::Place),
            ("/measurements/6/zone", SetAsideReason::Zone),
            ("/measurements/7/value", SetAsideReason::Implausible),
            ("/measurements/8/value", SetAsideReason::Implausible),
            ("/measurements/9/value", SetAsideReason::Implausible),
            ("/measurements/10/seen", SetAsideReason::Answer),
            ("/measurements/11/seen", SetAsideReason::Answer),
            ("/measurements/12", SetAsideReason::Twice),
        ];
        assert_eq!(told, expected.map(|(pointer, reason)| (pointer.to_owned(), reason)));
        let known = outlook(&world, van, View::default()).await;
        let inspection = &known.facts.inspections[0];
        assert_eq!((inspection.measurements.len(), inspection.note.as_deref()), (1, Some("Windy.")));
        assert_eq!((known.facts.readings.len(), known.horizon.grades.len()), (1, 1));
        assert_eq!(known.set_aside.len(), expected.len());
    }

    async fn what_is_set_aside_is_kept_as_written_with_the_value_and_what_is_allowed(store: Store) {
        let world = World::in_store(store).await;
        world.van("Van 1").await;
        let result = measure(&world, vec![measured("tread-depth", "roof", "lowest", 6.0, "kPa")]).await;
        let one = aside(&result)[0];
        let written: serde_json::Value = serde_json::from_str(&one.written).expect("JSON");
        assert_eq!((&written["place"], &written["value"]), (&"roof".into(), &6.0.into()));
        for said in ["\"roof\" is none of front_left", "spare"] {
            assert!(one.detail.contains(said), "{said:?} in {:?}", one.detail);
        }
        let result = measure(&world, vec![measured("tread-depth", "front_left", "lowest", 60.0, "mm")]).await;
        let detail = &aside(&result)[0].detail;
        assert!(detail.contains("60 mm") && detail.contains("25 mm"), "{detail:?}");
    }

    async fn a_sheet_version_nobody_knows_keeps_the_inspection_under_the_newest(store: Store) {
        let world = World::in_store(store).await;
        let van = world.van("Van 1").await;
        let mut entry = world.entry("Van 1");
        entry.check_sheet.version = Some(9);
        entry.measurements = vec![sound()];

        let result = post(&world, entry).await;

        let [part] = parts(&result) else { panic!("{result:?}") };
        assert_eq!(part.pointer, "/check_sheet/version");
        let HeldReason::SheetVersion(unknown) = &part.reason else { panic!("{part:?}") };
        assert_eq!((unknown.said, unknown.newest), (9, 1));
        let known = outlook(&world, van, View::default()).await;
        assert_eq!((known.facts.inspections[0].sheet_version, known.horizon.grades.len()), (1, 1));
        assert_eq!(known.set_aside, [], "nobody needs to decide about it");
    }

    /// House setting: the gauge of tread errs by 0.8 mm at most, no source.
    async fn tread_deeper_than_the_tyre_when_new_is_set_aside_but_for_the_gauges_error(store: Store) {
        let world = World::in_store(store).await;
        let van = world.van("Van 1").await;
        with_tyre(&world, van, Some(8.0)).await;
        for (place, depth, is_held) in [
            ("front_left", 8.8, false),
            ("front_left", 8.9, true),
            ("front_right", 8.9, false),
        ] {
            let result = measure(&world, vec![measured("tread-depth", place, "lowest", depth, "mm")]).await;
            match &result.outcome {
                EntryOutcome::Accepted(_) => assert!(!is_held, "{place} {depth}"),
                _ => assert_eq!((aside(&result)[0].reason, is_held), (SetAsideReason::DeeperThanNew, true)),
            }
        }
        let mut earlier = world.entry("Van 1");
        earlier.performed_at = instant("2027-01-05T09:00:00Z");
        earlier.measurements = vec![measured("tread-depth", "front_left", "lowest", 9.5, "mm")];
        let result = post(&world, earlier).await;
        assert!(matches!(result.outcome, EntryOutcome::Accepted(_)), "before the tyre was there: {result:?}");
    }

    async fn nothing_is_too_deep_for_a_tyre_of_unknown_depth(store: Store) {
        let world = World::in_store(store).await;
        let van = world.van("Van 1").await;
        with_tyre(&world, van, None).await;
        let result = measure(&world, vec![measured("tread-depth", "front_left", "lowest", 12.0, "mm")]).await;
        assert!(matches!(result.outcome, EntryOutcome::Accepted(_)), "{result:?}");
    }

    async fn what_is_taken_counts_from_now_on_and_was_not_known_before(store: Store) {
        let world = World::in_store(store).await;
        let van = world.van("Van 1").await;
        let wrong = measured("tread-depth", "front_left", "lowest", 1.0, "kPa");
        let result = measure(&world, vec![sound(), wrong]).await;
        let id = aside(&result)[0].id;
        world.clock.pass(TimeDelta::hours(5));

        let right = measured("tread-depth", "front_left", "lowest", 1.0, "mm");
        let settled = settle(&world, id, Choice::Take(right), "Millimetres.").await.expect("taken");

        let measurement = settled.measurement.expect("a measurement");
        let outcome = settled.set_aside.settlement.as_ref().map(|settlement| settlement.outcome);
        assert_eq!(outcome, Some(Settled::Taken { measurement: measurement.id }));
        let now = outlook(&world, van, View::default()).await;
        let worst = now.horizon.grades.iter().map(|graded| graded.grade).max();
        assert_eq!((worst, now.set_aside.len()), (Some(Grade::DoNotDrive), 0));
        let just_before = world.clock.now() - TimeDelta::microseconds(1);
        let view = View { known_at: Some(just_before), as_of: None };
        let before = outlook(&world, van, view).await;
        assert_eq!(before.facts.inspections[0].measurements.len(), 1);
        assert_eq!(before.set_aside.iter().map(|one| one.id).collect::<Vec<_>>(), [id]);
        assert!(before.horizon.grades.iter().all(|graded| graded.grade == Grade::Good));
    }

    async fn what_is_dismissed_is_left_out_and_stays_on_record(store: Store) {
        let world = World::in_store(store).await;
        let van = world.van("Van 1").await;
        let result = measure(&world, vec![sound(), measured("shoe-size", "front_left", "whole", 42.0, "mm")]).await;
        let id = aside(&result)[0].id;
        let before = outlook(&world, van, View::default()).await;

        settle(&world, id, Choice::Dismiss, "No such thing.").await.expect("dismissed");

        let after = outlook(&world, van, View::default()).await;
        assert_eq!((after.horizon, after.set_aside), (before.horizon, Vec::new()));
        let mut act = world.act().await;
        let kept = store::set_asides::find(&mut act.conn(), world.fleet, id).await.expect("read");
        let settlement = kept.expect("on record").1.settlement.expect("settled");
        assert_eq!((settlement.outcome, settlement.reason.as_str()), (Settled::Dismissed, "No such thing."));
    }

    async fn a_settlement_that_cannot_be_is_refused_and_changes_nothing(store: Store) {
        let world = World::in_store(store).await;
        let van = world.van("Van 1").await;
        let result = measure(&world, vec![sound(), measured("tread-depth", "front_left", "lowest", 6.0, "kPa")]).await;
        let id = aside(&result)[0].id;
        let before = outlook(&world, van, View::default()).await;
        let take = |place: &str, unit: &str| Choice::Take(measured("tread-depth", place, "lowest", 6.0, unit));
        let pair = |pointer: &str, code: &str| (pointer.to_owned(), code.to_owned());
        for (choice, why, refused) in [
            (take("front_left", "kPa"), "Sure.", pair("/unit", "unit")),
            (take("rear_left", "mm"), "Sure.", pair("/place", "twice")),
            (take("front_left", "mm"), " ", pair("/reason", "empty")),
            (Choice::Dismiss, "", pair("/reason", "empty")),
        ] {
            assert_eq!(faults(settle(&world, id, choice, why).await), [refused]);
        }
        let after = outlook(&world, van, View::default()).await;
        assert_eq!((after.facts, after.set_aside), (before.facts, before.set_aside));
        let unknown = settle(&world, SetAsideId(world.clerk.new_id()), Choice::Dismiss, "Sure.").await;
        assert!(matches!(unknown, Err(ActError::NotFound { .. })), "{unknown:?}");
    }

    async fn one_is_settled_once(store: Store) {
        let world = World::in_store(store).await;
        world.van("Van 1").await;
        let result = measure(&world, vec![measured("shoe-size", "front_left", "whole", 42.0, "mm")]).await;
        let id = aside(&result)[0].id;
        settle(&world, id, Choice::Dismiss, "No such thing.").await.expect("dismissed");
        let again = settle(&world, id, Choice::Take(sound()), "It was tread.").await;
        assert!(matches!(again, Err(ActError::Conflict { code: "already-settled", .. })), "{again:?}");
    }

    /// A person who looked knows better than the record of what is fitted.
    async fn what_is_deeper_than_new_is_taken_on_a_persons_word(store: Store) {
        let world = World::in_store(store).await;
        let van = world.van("Van 1").await;
        with_tyre(&world, van, Some(8.0)).await;
        let deep = || measured("tread-depth", "front_left", "lowest", 10.0, "mm");
        let result = measure(&world, vec![deep()]).await;
        let id = aside(&result)[0].id;
        settle(&world, id, Choice::Take(deep()), "Winter tyre, nobody entered it.").await.expect("taken");
        assert_eq!(outlook(&world, van, View::default()).await.horizon.grades.len(), 1);
    }

    async fn a_correction_takes_what_the_old_entry_set_aside_along(store: Store) {
        let world = World::in_store(store).await;
        let van = world.van("Van 1").await;
        let mut act = world.clerk.begin(world.fleet, &technician(&world), "story", None).await.expect("an act");
        let mut entry = world.entry("Van 1");
        entry.measurements = vec![measured("tread-depth", "front_left", "lowest", 6.0, "kPa")];
        let batch = world.batch(world.clerk.new_id(), std::slice::from_ref(&entry));
        let results = clerk::inspections::take_in(&mut act, batch).await.expect("a batch");
        act.commit().await.expect("committed");
        let id = aside(&results[0])[0].id;
        let mut mended = world.entry("Van 1");
        mended.corrects = Some(entry.entry_id);
        mended.measurements = vec![measured("tread-depth", "front_left", "lowest", 6.0, "mm")];

        let mut act = world.clerk.begin(world.fleet, &technician(&world), "story", None).await.expect("an act");
        let batch = world.batch(world.clerk.new_id(), &[mended]);
        let results = clerk::inspections::take_in(&mut act, batch).await.expect("a batch");
        act.commit().await.expect("committed");

        assert!(matches!(results[0].outcome, EntryOutcome::Accepted(_)), "{results:?}");
        let known = outlook(&world, van, View::default()).await;
        assert_eq!((known.facts.inspections.len(), known.set_aside), (1, Vec::new()));
        let gone = settle(&world, id, Choice::Dismiss, "Mended.").await;
        assert!(matches!(gone, Err(ActError::NotFound { .. })), "{gone:?}");
    }
}

fn technician(world: &World) -> model::Actor {
    model::Actor { person: Some(world.technician), ..testkit::world::operator() }
}
