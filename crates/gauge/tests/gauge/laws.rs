//! What must hold for all measurements.

use crate::world::{
    WHEELS, car, check, grade_all, id, kpa, mm, pads_of, pressure_of, psi, tread_of, weighing, with_placard,
};
use gauge::{CheckPoint, Standing, answers, limits, points, set_point};
use model::horizon::Graded;
use model::{Code, Grade, Inspection, Jurisdiction, Measurement, Place, Vehicle, Zone};
use proptest::prelude::*;
use quantity::{Entered, Pressure, Temperature, Unit};

fn vehicles() -> impl Strategy<Value = Vehicle> {
    let law = prop::sample::select(Jurisdiction::ALL.to_vec());
    let mass = prop::option::of(prop::sample::select(vec![1800_u32, 3500, 3501, 4536, 4537, 9000]));
    (law, mass, 150.0..600.0_f64).prop_map(|(law, mass, placard)| {
        with_placard(Some(kpa(placard)), Some(psi(36.0)), weighing(mass, car(law)))
    })
}

/// Point, place, zone and exact integer.
type Value = (String, Place, Zone, i64);

/// Any measurement or answer that a check point would take.
fn measurements() -> impl Strategy<Value = Value> {
    let where_to = (any::<prop::sample::Index>(), any::<prop::sample::Index>(), any::<prop::sample::Index>());
    let value = (any::<prop::sample::Index>(), 0.0..1.0_f64);
    (where_to, value).prop_map(|((point, place, zone), (answer, share))| {
        let all: Vec<&CheckPoint> = points().collect();
        let point = all[point.index(all.len())];
        let exact = if point.answers.is_empty() {
            between(point, share)
        } else {
            i64::try_from(answer.index(point.answers.len())).expect("few") + 1
        };
        let (places, zones) = (point.places, point.zones);
        (point.code.to_owned(), places[place.index(places.len())], zones[zone.index(zones.len())], exact)
    })
}

/// More often near the low end of the range, where the limits lie.
fn between(point: &CheckPoint, share: f64) -> i64 {
    let entered = |value: f64| Entered::new(value, point.least.unit).exact().expect("a quantity");
    let most = Entered::from_exact(point.most.exact().expect("a quantity"), point.least.unit).value;
    entered(point.least.value + (most - point.least.value) * share * share)
}

fn inspections() -> impl Strategy<Value = Vec<Inspection>> {
    let sets = prop::collection::vec((1..4_u32, prop::collection::vec(measurements(), 0..30)), 0..5);
    sets.prop_map(|sets| {
        let inspection = |(index, (day, values)): (usize, (u32, Vec<Value>))| {
            let mut inspection = check(index + 1, &format!("2027-03-0{day}")).done();
            inspection.measurements = values
                .into_iter()
                .enumerate()
                .map(|(number, (point, place, zone, exact))| {
                    measurement((index + 1) * 1000 + number, &point, place, zone, exact)
                })
                .collect();
            inspection
        };
        sets.into_iter().enumerate().map(inspection).collect()
    })
}

fn measurement(number: usize, point: &str, place: Place, zone: Zone, exact: i64) -> Measurement {
    let unit = gauge::point(point).expect("a point").units[0];
    let entered = Entered::from_exact(exact, unit);
    Measurement { id: id(number), point: Code::new(point).expect("a code"), place, zone, entered, exact }
}

fn tread_with(zones: [f64; 3], vehicle: &Vehicle) -> Grade {
    check(1, "2027-03-01").tread(Place::FrontLeft, zones.map(mm)).graded_at(Place::FrontLeft, vehicle).grade
}

fn lowest_number_in(sentence: &str, before: &str) -> Option<f64> {
    let (_, rest) = sentence.split_once(before)?;
    rest.split(' ').next()?.parse().ok()
}

fn is_from_the_table(graded: &Graded) -> bool {
    let stands = |source: &str, standing: Standing| {
        graded.source.starts_with(source) && graded.standing == standing.word()
    };
    limits().any(|limit| stands(limit.source, limit.standing))
        || answers().any(|answer| stands(answer.source, answer.standing))
}

proptest! {
    #[test]
    fn less_tread_never_grades_better(vehicle in vehicles(), a in 0.0..12.0_f64, b in 0.0..12.0_f64) {
        let (less, more) = (a.min(b), a.max(b));
        prop_assert!(tread_of(mm(less), &vehicle).grade >= tread_of(mm(more), &vehicle).grade);
    }

    #[test]
    fn wear_across_the_whole_tread_or_at_its_lowest_place_never_grades_better(
        vehicle in vehicles(),
        zones in [2.0..12.0_f64, 2.0..12.0, 2.0..12.0],
        wear in 0.0..2.0_f64,
    ) {
        let before = tread_with(zones, &vehicle);
        prop_assert!(tread_with(zones.map(|depth| depth - wear), &vehicle) >= before);
        let mut worn = zones;
        let lowest = worn.iter_mut().min_by(|a, b| a.total_cmp(b)).expect("three zones");
        *lowest -= wear;
        prop_assert!(tread_with(worn, &vehicle) >= before);
    }

    #[test]
    fn wear_of_one_tyre_of_four_never_makes_its_grade_better(
        vehicle in vehicles(),
        depths in [2.0..12.0_f64, 2.0..12.0, 2.0..12.0, 2.0..12.0],
        worn in 0..4_usize,
        wear in 0.0..2.0_f64,
    ) {
        let grade = |depths: [f64; 4]| {
            let round = WHEELS.into_iter().zip(depths).fold(check(1, "2027-03-01"), |round, (place, depth)| {
                round.tread(place, [mm(depth); 3])
            });
            round.graded_at(WHEELS[worn], &vehicle).grade
        };
        let mut after = depths;
        after[worn] -= wear;
        prop_assert!(grade(after) >= grade(depths));
    }

    #[test]
    fn thinner_pads_and_softer_tyres_never_grade_better(vehicle in vehicles(), a in 0.0..1.0_f64, b in 0.0..1.0_f64) {
        let (less, more) = (a.min(b), a.max(b));
        prop_assert!(pads_of(mm(less * 12.0), &vehicle).grade >= pads_of(mm(more * 12.0), &vehicle).grade);
        let placard = vehicle.placard.front.expect("a placard").value;
        let soft = |share: f64| pressure_of(kpa(share * placard), &vehicle).grade;
        prop_assert!(soft(less) >= soft(more));
    }

    #[test]
    fn the_unit_of_entry_never_changes_a_grade(vehicle in vehicles(), depth in 0.0..12.0_f64, pressure in 0.0..700.0_f64) {
        let as_unit = |entered: Entered, unit| Entered::from_exact(entered.exact().expect("a quantity"), unit);
        let inches = as_unit(mm(depth), Unit::ThirtySecondInch);
        prop_assert_eq!(tread_of(mm(depth), &vehicle).grade, tread_of(inches, &vehicle).grade);
        prop_assert_eq!(pads_of(mm(depth), &vehicle).grade, pads_of(inches, &vehicle).grade);
        for unit in [Unit::Bar, Unit::Psi] {
            let other = as_unit(kpa(pressure), unit);
            prop_assert_eq!(pressure_of(kpa(pressure), &vehicle).grade, pressure_of(other, &vehicle).grade);
        }
    }

    #[test]
    fn a_share_of_the_placard_grades_alike_in_every_unit_even_at_the_boundary(tenths in 150..800_u32, unit in 0..3_usize) {
        // 90 and 75 percent of a placard in tenths, written in its own unit and as a person would compute them.
        let unit = [Unit::Kilopascal, Unit::Bar, Unit::Psi][unit];
        let placard = f64::from(tenths) / if unit == Unit::Bar { 100.0 } else { 10.0 };
        let vehicle = with_placard(Some(Entered::new(placard, unit)), None, car(Jurisdiction::Us));
        let graded = |share: f64| pressure_of(Entered::new(placard * share / 100.0, unit), &vehicle);
        prop_assert_eq!([graded(95.0).grade, graded(90.0).grade], [Grade::Good, Grade::Watch]);
        prop_assert_eq!(graded(75.0).source, "49 CFR 571.138 S4.2(a)");
        prop_assert_eq!([graded(50.0).grade, graded(49.9).grade], [Grade::Attend, Grade::DoNotDrive]);
    }

    #[test]
    fn the_set_point_is_never_below_the_placard_nor_above_the_marked_maximum(
        placard in 0..900_000_000_i64,
        stands_at in 200_000..330_000_i64,
        tyre_now in 200_000..330_000_i64,
        head_room in prop::option::of(0..200_000_000_i64),
    ) {
        let marked = head_room.map(|room| Pressure::from_mpa(placard + room));
        let (stands_at, tyre_now) = (Temperature::from_mk(stands_at), Temperature::from_mk(tyre_now));
        let set = set_point(Pressure::from_mpa(placard), stands_at, tyre_now, marked).expect("a pressure");
        prop_assert!(set.mpa() >= placard);
        prop_assert!(marked.is_none_or(|marked| set <= marked));
        prop_assert!(tyre_now > stands_at || set.mpa() == placard);
    }

    #[test]
    fn no_advice_names_less_than_the_placard(
        placard in 10.0..90.0_f64,
        unit in prop::sample::select(vec![Unit::Kilopascal, Unit::Bar, Unit::Psi]),
        share in 0.0..1.5_f64,
    ) {
        let vehicle = with_placard(Some(psi(placard)), None, car(Jurisdiction::Us));
        let measured = Entered::from_exact(psi(placard * share).exact().expect("a quantity"), unit);
        let graded = pressure_of(measured, &vehicle);
        for told in graded.advice.iter().filter_map(|s| {
            lowest_number_in(s, "Inflate to ").or_else(|| lowest_number_in(s, "below the placard: to "))
        }) {
            let told = Entered::new(told, unit).exact().expect("a quantity");
            let least = psi(placard).exact().expect("a quantity");
            // One millionth of a tenth of a psi is what the rounding may give away.
            prop_assert!(told + 1 >= least, "{told} mPa told, placard {least} mPa");
        }
    }

    #[test]
    fn the_order_in_which_inspections_arrive_changes_nothing(
        vehicle in vehicles(),
        (ordered, shuffled) in inspections().prop_flat_map(|all| (Just(all.clone()), Just(all).prop_shuffle())),
    ) {
        prop_assert_eq!(grade_all(&vehicle, &ordered), grade_all(&vehicle, &shuffled));
    }

    #[test]
    fn every_grade_explains_itself_and_every_do_not_drive_warns(vehicle in vehicles(), inspections in inspections()) {
        for graded in grade_all(&vehicle, &inspections) {
            prop_assert!(is_from_the_table(&graded), "{:?}", graded);
            prop_assert!(graded.reason.ends_with('.') && graded.advice.iter().all(|s| s.ends_with('.')));
            prop_assert!(graded.grade == Grade::Good || !graded.advice.is_empty(), "{:?}", graded);
            // A letter cuts a caution at a thousand characters, and its last words are the ones that defer to others.
            prop_assert!(graded.caution.as_deref().is_none_or(|caution| caution.chars().count() <= 1000), "{:?}", graded);
            prop_assert!(graded.changes_when.ends_with('.'), "{:?}", graded);
            prop_assert_eq!(graded.seen.is_some(), graded.measured.unit == Unit::Answer);
            if graded.grade == Grade::DoNotDrive {
                let caution = graded.caution.as_deref().unwrap_or_default();
                prop_assert!(caution.contains("jack stands") && caution.contains("Local codes"));
                prop_assert!(graded.advice[0].starts_with("Do not drive: take the key, tag the wheel"));
            }
            if let (Some(limit), Some(margin)) = (graded.limit, graded.margin) {
                prop_assert!((graded.measured.value - limit.value - margin.value).abs() < 1e-6);
            }
        }
    }

    #[test]
    fn the_spare_never_stops_a_vehicle(vehicle in vehicles(), depth in 0.0..12.0_f64, pressure in 0.0..700.0_f64) {
        let spare = check(1, "2027-03-01").lowest_tread(Place::Spare, mm(depth)).pressure(Place::Spare, kpa(pressure));
        let worst = spare.graded(&vehicle).into_iter().map(|graded| (graded.point, graded.grade));
        for (point, grade) in worst {
            let worst_allowed = if point == "tread-depth" { Grade::Attend } else { Grade::Watch };
            prop_assert!(grade <= worst_allowed, "{point} {grade}");
        }
    }
}
