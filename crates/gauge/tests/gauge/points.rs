//! What the catalogue of check points takes and refuses.

use crate::world::{car, check, in32, kpa, mm, psi};
use gauge::{PointError, point, points};
use model::{Code, Jurisdiction, Place, Zone};
use quantity::{Entered, QuantityError, Unit};

#[test]
fn every_point_has_a_code_a_title_and_units_of_its_dimension() {
    let codes: Vec<&str> = points().map(|point| point.code).collect();
    assert!(
        codes.is_sorted() && codes.contains(&"tread-depth") && codes.contains(&"tyre-damage"),
        "{codes:?}"
    );
    for point in points() {
        assert!(Code::new(point.code).is_ok() && !point.title.is_empty());
        assert!(point.units.iter().all(|unit| unit.dimension() == point.dimension), "{}", point.code);
        let ends = [point.least, point.most].map(|end| point.plausible(end));
        if !point.answers.is_empty() {
            assert!(point.answers.iter().all(|answer| point.answered(answer.word).is_ok()), "{}", point.code);
            continue;
        }
        assert!(matches!(ends, [Ok(least), Ok(most)] if least < most), "{}: {ends:?}", point.code);
    }
    assert!(point("horn-loudness").is_none());
}

#[test]
fn a_refusal_names_what_would_do() {
    let tread = point("tread-depth").expect("a point");
    let pads = point("pad-thickness").expect("a point");
    let pressure = point("cold-pressure").expect("a point");
    let rows = [
        (
            pads.accepts(Place::Spare, Zone::Inner, Unit::Millimetre),
            "pad-thickness is not taken at spare; the place must be one of front_left, front_right, rear_left, rear_right",
        ),
        (
            tread.accepts(Place::Spare, Zone::Whole, Unit::Millimetre),
            "tread-depth has no zone whole; the zone must be one of inner, centre, outer, lowest",
        ),
        (
            pressure.accepts(Place::Spare, Zone::Whole, Unit::Millimetre),
            "cold-pressure is not measured in mm; the unit must be one of kPa, bar, psi",
        ),
    ];
    for (refused, sentence) in rows {
        assert_eq!(refused.map_err(|error| error.to_string()), Err(sentence.to_owned()));
    }
    assert_eq!(tread.accepts(Place::Spare, Zone::Lowest, Unit::ThirtySecondInch), Ok(()));
}

#[test]
fn what_no_tyre_or_pad_can_have_is_refused_with_the_range_in_the_unit_entered() {
    let rows = [
        ("tread-depth", mm(25.0), mm(25.001)),
        ("tread-depth", mm(0.0), mm(-0.001)),
        ("tread-depth", in32(31.0), in32(32.0)),
        ("pad-thickness", mm(25.0), mm(25.1)),
        ("cold-pressure", kpa(1000.0), kpa(1000.1)),
        ("cold-pressure", psi(145.0), psi(145.1)),
    ];
    for (code, plausible, nonsense) in rows {
        let point = point(code).expect("a point");
        assert_eq!(point.plausible(plausible), Ok(plausible.exact().expect("a quantity")));
        let refused = point.plausible(nonsense);
        assert!(
            matches!(refused, Err(PointError::Implausible { entered, most, .. })
                if entered == nonsense && most.unit == nonsense.unit),
            "{nonsense}: {refused:?}"
        );
    }
}

#[test]
fn what_is_no_number_or_no_such_unit_is_refused() {
    let tread = point("tread-depth").expect("a point");
    assert!(matches!(
        tread.plausible(mm(f64::NAN)),
        Err(PointError::Quantity(QuantityError::OutOfRange { .. }))
    ));
    assert!(matches!(tread.plausible(psi(3.0)), Err(PointError::Unit { unit: Unit::Psi, .. })));
}

#[test]
fn what_no_point_would_have_taken_is_not_graded() {
    let grades = check(1, "2027-03-01")
        .measured("tread-depth", Place::FrontLeft, Zone::Whole, mm(1.0))
        .measured("tread-depth", Place::FrontRight, Zone::Lowest, mm(40.0))
        .measured("tread-depth", Place::RearLeft, Zone::Lowest, Entered::new(1.0, Unit::Percent))
        .measured("pad-thickness", Place::Vehicle, Zone::Inner, mm(1.0))
        .measured("horn-loudness", Place::Vehicle, Zone::Whole, mm(1.0))
        .graded(&car(Jurisdiction::Uk));
    assert_eq!(grades, []);
}

/// An answer is kept as its place in the list: a word that moves would change what was answered years ago.
#[test]
fn an_answer_is_kept_as_its_place_for_ever() {
    let rows = [("tyre-damage", ["none", "cord_exposed", "bulge"])];
    for (code, words) in rows {
        let point = point(code).expect("a point");
        for (place, word) in words.into_iter().enumerate() {
            let kept = point.answered(word).expect("an answer");
            let number = i64::try_from(place + 1).expect("a few");
            assert_eq!(point.plausible(kept), Ok(number), "{code} {word}");
            assert_eq!(point.answer_kept(number).map(|answer| answer.word), Some(word));
        }
        assert_eq!(point.answer_kept(0), None);
        assert_eq!(point.answer_kept(i64::MIN), None);
    }
}

#[test]
fn what_is_no_answer_is_refused_with_the_answers_there_are() {
    let damage = point("tyre-damage").expect("a point");
    let refused = damage.answered("fine").expect_err("no answer");
    assert!(
        refused
            .to_string()
            .starts_with("\"fine\" is no answer to tyre-damage; the answer must be one of none, ")
    );
    let beyond = damage.plausible(Entered::new(200.0, Unit::Answer)).expect_err("no answer");
    assert!(matches!(beyond, PointError::Answer { point: "tyre-damage", .. }), "{beyond}");
    let tread = point("tread-depth").expect("a point");
    assert!(matches!(tread.answered("none"), Err(PointError::Measured { point: "tread-depth", .. })));
}

#[test]
fn an_answer_is_graded_with_its_own_reason_and_caution() {
    let damage = point("tyre-damage").expect("a point");
    let bulge = damage.answered("bulge").expect("an answer");
    let graded = check(1, "2027-03-01")
        .measured("tyre-damage", Place::RearLeft, Zone::Whole, bulge)
        .graded_at(Place::RearLeft, &car(Jurisdiction::Uk));
    assert_eq!(graded.grade, model::Grade::DoNotDrive);
    assert!(graded.seen.is_some() && graded.caution.is_some() && graded.limit.is_none());
}
