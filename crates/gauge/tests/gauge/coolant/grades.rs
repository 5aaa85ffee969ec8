//! Coolant: what a tester's reading, and a look at the tank, come to.

use crate::world::{advises, car, check};
use gauge::coolant::{CoolantLevel, Scale, Tester, TractionCoolantLevel};
use gauge::{Background, Subject, Yardstick, point};
use model::Grade::{self, Attend, DoNotDrive, Good, Watch};
use model::horizon::Graded;
use model::{Code, HouseLimit, Jurisdiction, Place, Vehicle, Zone};
use proptest::prelude::*;
use quantity::{Entered, Temperature, Unit};

const fn percent(value: f64) -> Entered {
    Entered::new(value, Unit::Percent)
}

const fn celsius(value: f64) -> Entered {
    Entered::new(value, Unit::Celsius)
}

fn word(code: &str, word: &str) -> Entered {
    point(code).expect("a point").answered(word).expect("an answer")
}

fn standing_at(low: Entered) -> Vehicle {
    Vehicle { design_low: Temperature::parse(low).ok(), ..car(Jurisdiction::Uk) }
}

/// A reading on a scale, of a vehicle and a fleet that may have set limits of its own.
fn read(value: f64, scale: Option<Scale>, tester: Option<Tester>, yardstick: Yardstick<'_>) -> Graded {
    let measured = |check: crate::world::Check, code: &str, entered| {
        check.measured(code, Place::Vehicle, Zone::Whole, entered)
    };
    let mut inspection = measured(check(1, "2027-03-01"), "coolant-concentration", percent(value));
    if let Some(scale) = scale {
        inspection = measured(inspection, "coolant-scale", word("coolant-scale", scale.word()));
    }
    if let Some(tester) = tester {
        inspection = measured(inspection, "coolant-tester", word("coolant-tester", tester.word()));
    }
    let inspections = [inspection.done()];
    let mut graded = gauge::grade_all(&Subject {
        yardstick,
        inspections: &inspections,
        parts: &[],
        background: Background::default(),
    });
    graded.retain(|graded| graded.point == "coolant-concentration");
    graded.remove(0)
}

/// At a depot that becomes as cold as this.
fn read_at(low: Entered, value: f64, scale: Scale, tester: Option<Tester>) -> Graded {
    read(value, Some(scale), tester, Yardstick::shipped(&standing_at(low)))
}

/// Ethylene glycol by volume in a refractometer, at a depot that becomes as cold as this.
fn at(low: f64, value: f64) -> Graded {
    read_at(celsius(low), value, Scale::EthyleneVolume, Some(Tester::Refractometer))
}

#[test]
fn a_mixture_is_held_to_the_design_low() {
    // 50 % by volume: CoolProp -37.11 C (computed), 2 K allowed: -35.11 C. Five kelvins in hand are a house setting.
    let steps = [-30.0, -30.2, -35.1, -35.2].map(|low| at(low, 50.0).grade);
    assert_eq!(steps, [Good, Watch, Watch, Attend]);
    let graded = at(-35.2, 50.0);
    assert_eq!(
        graded.reason,
        "50 % ethylene glycol by volume freezes at -35 °C or below by the table, 2 K allowed for doubt: not cold enough \
         for the design low of -35.2 °C."
    );
    assert!(
        graded.changes_when.starts_with("At or above 50.")
            && graded.changes_when.ends_with("it would be better.")
    );
    assert!(advises(
        &graded,
        "let out 0.08 L and fill in concentrate instead: that makes 54 % ethylene glycol by volume"
    ));
    assert!(
        graded
            .caution
            .is_some_and(|caution| caution.contains("hot cooling system") && caution.contains("poison"))
    );
}

#[test]
fn too_thin_and_too_rich_are_told_whatever_the_cold() {
    // ASTM D3306 scope 1.1: concentrate is used at 40 to 70 % by volume (verified); 60 % is a house setting.
    let steps = [39.9, 40.0, 60.0, 60.1, 70.0, 70.1].map(|value| at(-1.0, value).grade);
    assert_eq!(steps, [Watch, Good, Good, Watch, Watch, Attend]);
    assert_eq!([at(-1.0, 39.9), at(-1.0, 70.1)].map(|graded| graded.source), ["ASTM D3306, scope 1.1"; 2]);
    assert_eq!(at(-1.0, 60.1).standing, "common practice");
    assert!(advises(&at(-1.0, 75.0), "let out 0.34 L and fill in demineralised water instead"));
    assert_eq!(at(-1.0, 0.0).grade, Attend, "water freezes");
}

#[test]
fn above_sixty_percent_no_freeze_point_is_told() {
    for value in [60.1, 65.0, 80.0, 100.0] {
        let graded = at(-50.0, value);
        let told = graded.advice.iter().chain([&graded.reason, &graded.changes_when]);
        assert!(told.into_iter().all(|sentence| !sentence.contains('°')), "{graded:?}");
        assert_eq!(graded.limit.map(|limit| limit.unit), Some(Unit::Percent));
    }
}

#[test]
fn the_band_is_by_volume_whatever_the_tester_tells() {
    // 40 % of ethylene glycol by volume is 42.64 % by mass (computed from densities at 20 C).
    let grade = |value| read_at(celsius(-1.0), value, Scale::EthyleneMass, Some(Tester::Refractometer));
    assert_eq!([42.6, 42.7].map(|value| grade(value).grade), [Watch, Good]);
    assert!(grade(42.6).reason.starts_with("42.6 % ethylene glycol by mass is below 40 % by volume"));
}

#[test]
fn a_concentration_of_nobody_knows_what_is_not_judged() {
    let graded = read(50.0, None, Some(Tester::Refractometer), Yardstick::shipped(&car(Jurisdiction::Uk)));
    assert_eq!(graded.grade, Watch);
    assert!(
        graded.reason.contains("of which glycol") && advises(&graded, "by volume or by mass"),
        "{graded:?}"
    );
}

#[test]
fn a_scale_once_said_holds_until_another_is() {
    let vehicle = car(Jurisdiction::Uk);
    let whole = |number, day, code, entered| {
        check(number, day).measured(code, Place::Vehicle, Zone::Whole, entered).done()
    };
    let inspections = [
        whole(1, "2027-03-01", "coolant-scale", word("coolant-scale", "propylene_volume")),
        whole(2, "2027-04-01", "coolant-concentration", percent(45.0)),
    ];
    let graded = crate::world::grade_all(&vehicle, &inspections).remove(0);
    assert!(graded.reason.starts_with("45 % propylene glycol by volume"), "{graded:?}");
    assert!(advises(&graded, "Say what it was tested with"), "the tester is that of the day");
}

#[test]
fn a_strip_leads_to_a_better_measurement_and_no_further() {
    let strip = |value| read_at(celsius(-25.0), value, Scale::EthyleneVolume, Some(Tester::Strip));
    let thin = at(-25.0, 30.0);
    assert!(advises(&thin, "is below 40 % by volume, thinner than"), "both are told: {thin:?}");
    assert_eq!([20.0, 50.0].map(|value| strip(value).grade), [Watch, Good]);
    assert!([20.0, 50.0].iter().all(|value| advises(&strip(*value), "measure with a refractometer before")));
}

#[test]
fn where_no_mixture_will_do_none_is_advised() {
    let graded = at(-55.0, 58.0);
    assert_eq!((graded.grade, graded.limit), (Attend, None));
    assert!(advises(&graded, "ask the coolant's maker") && !advises(&graded, "let out"), "{graded:?}");
}

#[test]
fn where_the_depot_has_not_said_its_cold_the_fleets_own_number_stands_in() {
    let vehicle = car(Jurisdiction::Us);
    let house = [HouseLimit {
        limit: Code::new("coolant-design-low").expect("a code"),
        value: Entered::new(-30.0, Unit::Fahrenheit),
        reason: "Plains.".to_owned(),
    }];
    let scale = Some(Scale::EthyleneVolume);
    let own = read(50.0, scale, None, Yardstick { vehicle: &vehicle, house: &house });
    assert_eq!(own.grade, Watch);
    assert!(own.reason.contains("freezes at -31 °F or below") && own.reason.contains("of -30 °F"), "{own:?}");
    assert!(advises(&own, "Record how cold it gets at the depot; until then -30 °F is used"));
    let shipped = read(50.0, scale, None, Yardstick::shipped(&vehicle));
    assert!(shipped.grade == Good && advises(&shipped, "until then -20 °C is used"), "{shipped:?}");
    let depots = Vehicle { design_low: Temperature::parse(celsius(-34.0)).ok(), ..vehicle };
    let depots = read(50.0, scale, None, Yardstick { vehicle: &depots, house: &house });
    assert!(
        depots.reason.contains("the design low of -34 °C") && !advises(&depots, "Record how cold"),
        "{depots:?}"
    );
}

#[test]
fn levels_say_what_a_closed_circuit_means() {
    let steps: Vec<Grade> = CoolantLevel::ALL.iter().map(|level| level.answer().grade).collect();
    assert_eq!(steps, [Good, Watch, Attend, DoNotDrive]);
    for level in [TractionCoolantLevel::Low, TractionCoolantLevel::None] {
        let caution = level.answer().caution().expect("a caution");
        assert!(caution.contains("qualified persons"), "{caution}");
    }
    assert!(TractionCoolantLevel::Low.answer().advice.contains("Do not top it up"));
}

proptest! {
    #[test]
    fn more_glycol_to_sixty_percent_never_grades_worse(
        scale in prop::sample::select(vec![Scale::EthyleneVolume, Scale::PropyleneVolume]),
        value in 0.0..60.0_f64, more in 0.0..60.0_f64, low in -50.0..5.0_f64,
    ) {
        let grade = |value| read_at(celsius(low), value, scale, None).grade;
        prop_assert!(grade((value + more).min(60.0)) <= grade(value));
    }

    #[test]
    fn a_colder_place_never_grades_better(value in 0.0..100.0_f64, low in -50.0..5.0_f64, colder in 0.0..30.0_f64) {
        prop_assert!(at(low - colder, value).grade >= at(low, value).grade);
    }

    #[test]
    fn a_design_low_grades_alike_in_either_unit(value in 10.0..60.0_f64, fahrenheit in -60..40_i32) {
        let fahrenheit = f64::from(fahrenheit);
        let grade = |low| read_at(low, value, Scale::EthyleneVolume, None).grade;
        prop_assert_eq!(
            grade(Entered::new(fahrenheit, Unit::Fahrenheit)),
            grade(celsius((fahrenheit - 32.0) / 1.8))
        );
    }

    #[test]
    fn the_limit_told_is_where_the_grade_changes(
        scale in prop::sample::select(Scale::ALL.to_vec()), value in 0.0..100.0_f64, low in -40.0..5.0_f64,
        tester in prop::option::of(prop::sample::select(Tester::ALL.to_vec())),
    ) {
        // Any colder, and a mixture too rich would be too thin as well.
        let graded = |value| read_at(celsius(low), value, scale, tester);
        let before = graded(value);
        let Some(limit) = before.limit else { return Ok(()) };
        // A millionth of a percent to either side; the conversion to mass may take that much itself.
        let around = [-2e-6, 2e-6].map(|step| graded((limit.value + step).clamp(0.0, 100.0)).grade);
        prop_assert!(around[0] != around[1], "{} {around:?}", before.reason);
    }
}
