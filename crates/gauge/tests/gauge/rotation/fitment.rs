//! Rotation under sizes, running direction and all-wheel drive (common practice, no source, but where one is named).

use super::{depth, of_three};
use crate::world::{advises, car, check, in32, mm};
use gauge::{
    Driveline, Fitment, Moves, RotationAdvice, RotationBar, Running, SideToSide, Sizes, TyreTread, Yardstick,
    driveline, dual_mismatch, limits, rotation_advice,
};
use model::{Code, Grade, HouseLimit, Jurisdiction, Place};
use proptest::prelude::*;
use quantity::Depth;

const RUNNINGS: [Option<Running>; 3] = [Some(Running::EitherWay), Some(Running::OneWay), None];
const SIZES: [Option<Sizes>; 3] = [Some(Sizes::Alike), Some(Sizes::Staggered), None];

#[test]
fn tyres_that_run_one_way_stay_on_their_side() {
    let moves = |running| Fitment { running, sizes: Some(Sizes::Alike) }.moves();
    assert_eq!(RUNNINGS.map(moves), [Moves::MakersPattern, Moves::SameSide, Moves::LookUp]);
}

#[test]
fn staggered_tyres_never_change_axles_and_sides_only_if_they_run_either_way() {
    let expected = [SideToSide::Allowed, SideToSide::Forbidden, SideToSide::LookUp];
    for (running, across) in RUNNINGS.into_iter().zip(expected) {
        let fitment = Fitment { running, sizes: Some(Sizes::Staggered) };
        assert_eq!(fitment.moves(), Moves::NotBetweenAxles { across });
        let advice = rotation_advice(
            &Yardstick::shipped(&car(Jurisdiction::Us)),
            [Some(of_three(7.0)); 2],
            [Some(of_three(8.5)); 2],
            fitment,
        );
        let bar = RotationBar::SizesDiffer { across };
        assert!(
            matches!(advice, RotationAdvice::NeverBecause { bar: found, .. } if found == bar),
            "{advice:?}"
        );
    }
}

#[test]
fn what_nobody_looked_at_is_to_be_looked_up() {
    for running in RUNNINGS {
        assert_eq!(Fitment { running, sizes: None }.moves(), Moves::LookUp);
    }
}

fn four(depths: [f64; 4]) -> [Option<TyreTread>; 4] {
    depths.map(|value| Some(of_three(value)))
}

#[test]
fn an_all_wheel_drive_is_held_to_its_maker_s_limit_alone() {
    let tyres = four([8.0, 8.0, 6.0, 7.0]);
    let difference = depth(2.0);
    let rows = [
        (Some(2.0), Driveline::Within { difference }),
        (Some(1.9), Driveline::TooMuch { difference, allowed: depth(1.9) }),
        (None, Driveline::LookUp { difference }),
    ];
    for (allowed, expected) in rows {
        assert_eq!(driveline(tyres, allowed.map(depth)), expected);
    }
}

#[test]
fn two_tyres_can_show_that_they_differ_too_much_but_never_that_all_four_do_not() {
    let two = |other| [Some(of_three(8.0)), Some(of_three(other)), None, None];
    let allowed = Some(depth(2.0));
    assert_eq!(driveline(two(7.0), allowed), Driveline::NotEnoughMeasured);
    assert!(matches!(driveline(two(5.0), allowed), Driveline::TooMuch { .. }));
    assert_eq!(driveline([None; 4], allowed), Driveline::NotEnoughMeasured);
}

#[test]
fn duals_may_differ_by_half_an_inch_in_diameter() {
    // Maryland COMAR 11.14.05.05 (verified first-hand): within 1/2 in of each other, 12.7 mm exactly.
    let diameter = |value| Depth::parse(mm(value)).expect("a depth");
    assert_eq!(
        dual_mismatch(&Yardstick::shipped(&car(Jurisdiction::Us)), diameter(800.0), diameter(812.7)),
        None
    );
    for (one, other) in [(800.0, 812.701), (812.701, 800.0)] {
        let (grade, limit) =
            dual_mismatch(&Yardstick::shipped(&car(Jurisdiction::Us)), diameter(one), diameter(other))
                .expect("a mismatch");
        assert_eq!((grade, limit.source), (Grade::Attend, "Maryland COMAR 11.14.05.05"));
    }
}

#[test]
fn of_two_unlike_tyres_on_an_axle_the_shallower_is_watched() {
    let vehicle = car(Jurisdiction::Us);
    let axle = |left, right| {
        let round = check(1, "2027-03-01")
            .tread(Place::RearLeft, [in32(left); 3])
            .tread(Place::RearRight, [in32(right); 3]);
        [Place::RearLeft, Place::RearRight].map(|place| round.clone().graded_at(place, &vehicle))
    };
    let [left, right] = axle(7.0, 9.1);
    assert_eq!((left.grade, right.grade), (Grade::Watch, Grade::Good));
    assert!(left.reason.contains("rear tyres differ by 2.1/32 in"), "{}", left.reason);
    assert!(advises(&left, "Pair tyres"));
    assert_eq!(axle(7.0, 9.0).map(|graded| graded.grade), [Grade::Good, Grade::Good]);
}

/// Where each tyre stands after a rotation, front left first.
fn after(
    moves: Moves,
    [front_left, front_right, rear_left, rear_right]: [TyreTread; 4],
) -> Vec<[TyreTread; 4]> {
    let straight = [rear_left, rear_right, front_left, front_right];
    let forward_cross = [rear_right, rear_left, front_left, front_right];
    let rearward_cross = [rear_left, rear_right, front_right, front_left];
    let both_cross = [rear_right, rear_left, front_right, front_left];
    match moves {
        Moves::SameSide => vec![straight],
        Moves::MakersPattern | Moves::LookUp => vec![straight, forward_cross, rearward_cross, both_cross],
        Moves::NotBetweenAxles { .. } => vec![],
    }
}

fn tyres() -> impl Strategy<Value = [TyreTread; 4]> {
    let whole = prop::collection::vec([1.0..13.0_f64, 1.0..13.0, 1.0..13.0], 4);
    (whole, 0.0..1.0_f64, any::<[bool; 4]>()).prop_map(|(depths, evenness, of_three)| {
        let middle = depths.iter().flatten().sum::<f64>() / 12.0;
        let tyre = |index: usize| {
            let places = depths[index].map(|value| depth(middle + (value - middle) * evenness));
            if of_three[index] { TyreTread::of_three(places) } else { TyreTread::of_single(places[0]) }
        };
        [tyre(0), tyre(1), tyre(2), tyre(3)]
    })
}

/// What a fleet may have set in place of the shipped numbers, stricter or laxer.
fn house() -> impl Strategy<Value = Vec<HouseLimit>> {
    let keys: Vec<&str> = limits().map(|limit| limit.key).filter(|key| key.starts_with("rotation")).collect();
    let own = (prop::sample::select(keys), 0.0..9.0_f64).prop_map(|(key, value)| HouseLimit {
        limit: Code::new(key).expect("a code"),
        value: in32(value),
        reason: "Hill depots".to_owned(),
    });
    prop::collection::vec(own, 0..4)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(2000))]
    #[test]
    fn no_rotation_puts_the_worse_tyres_on_the_rear(
        tyres in tyres(),
        running in prop::sample::select(RUNNINGS.to_vec()),
        sizes in prop::sample::select(SIZES.to_vec()),
        house in house(),
    ) {
        let [front_left, front_right, rear_left, rear_right] = tyres.map(Some);
        let vehicle = car(Jurisdiction::Us);
        let advice =
            rotation_advice(&Yardstick { vehicle: &vehicle, house: &house }, [front_left, front_right], [rear_left, rear_right], Fitment { running, sizes });
        if let RotationAdvice::Due { moves, .. } = advice {
            let arrangements = after(moves, tyres);
            prop_assert!(!arrangements.is_empty() && sizes != Some(Sizes::Staggered));
            prop_assert!(running != Some(Running::OneWay) || sizes.is_none() || arrangements.len() == 1);
            for [front_left, front_right, rear_left, rear_right] in arrangements {
                let front = (front_left.average() + front_right.average()).nm() / 2;
                for rear in [rear_left, rear_right] {
                    // Averages are told to the nanometre below.
                    prop_assert!(front - rear.average().nm() <= 2 * 793_750 + 2, "{advice:?}");
                    prop_assert!(rear.lowest().nm() >= 4 * 793_750, "{advice:?}");
                }
            }
        }
    }

    #[test]
    fn more_difference_between_the_tyres_of_an_all_wheel_drive_is_never_better(
        tyres in tyres(),
        allowed in 0.0..4.0_f64,
    ) {
        let worn = (0..4).min_by_key(|index| tyres[*index].average()).expect("four tyres");
        let mut after = tyres;
        after[worn] = TyreTread::of_single(Depth::from_nm(tyres[worn].average().nm() / 2));
        let is_too_much = |tyres: [TyreTread; 4]| {
            matches!(driveline(tyres.map(Some), Some(depth(allowed))), Driveline::TooMuch { .. })
        };
        prop_assert!(is_too_much(after) || !is_too_much(tyres));
    }
}
