//! Damage and irregular wear: words, and patterns round a tyre (common practice, no source).

use crate::world::{car, in32, mm};
use gauge::{Around, TyreDamage, Yardstick};
use model::{Grade, Jurisdiction};
use proptest::prelude::*;
use quantity::Depth;

fn depths(millimetres: &[f64]) -> Vec<Depth> {
    millimetres.iter().map(|value| Depth::parse(mm(*value)).expect("a depth")).collect()
}

fn pattern(depths: &[Depth]) -> Around {
    gauge::around(&Yardstick::shipped(&car(Jurisdiction::Us)), depths)
}

#[test]
fn cord_bulge_and_a_cut_to_the_cord_stop_the_vehicle() {
    // 49 CFR 570.9(c) and (d), 570.62(c) and (d) (from memory).
    for damage in [TyreDamage::CordExposed, TyreDamage::Bulge, TyreDamage::CutToCord, TyreDamage::TreadLoose]
    {
        let answer = damage.answer();
        assert_eq!(answer.grade, Grade::DoNotDrive, "{damage:?}");
        assert!(answer.source.starts_with("49 CFR 570.9"), "{damage:?}");
        assert!(answer.advice.contains("whatever depth"), "{damage:?}");
    }
}

#[test]
fn irregular_wear_is_watched_and_named_by_its_likely_cause() {
    let rows = [
        (TyreDamage::FeatheredRibs, "toe"),
        (TyreDamage::Cupped, "worn dampers or imbalance"),
        (TyreDamage::FlatSpot, "a locked wheel"),
    ];
    for (damage, cause) in rows {
        let answer = damage.answer();
        assert_eq!(answer.grade, Grade::Watch, "{damage:?}");
        assert!(answer.reason.contains(cause), "{damage:?}");
    }
}

#[test]
fn a_word_leads_back_to_its_answer() {
    for damage in TyreDamage::ALL {
        assert_eq!(TyreDamage::from_word(damage.word()), Some(*damage));
    }
    assert_eq!(TyreDamage::from_word("rust"), None);
}

#[test]
fn depths_round_the_tyre_tell_cupping_from_a_flat_spot() {
    let swing = Depth::parse(mm(1.0)).expect("a depth");
    let rows: [(&[f64], Around); 7] = [
        (&[6.0, 5.0, 6.0, 5.0, 6.0, 5.0], Around::Alternating { swing }),
        (&[5.0, 6.0, 5.0, 6.0], Around::Alternating { swing }),
        (&[6.0, 6.0, 5.0, 5.0, 6.0, 6.0], Around::OneLow { swing }),
        (&[5.0, 6.0, 6.0, 6.0], Around::OneLow { swing }),
        // A step that is less than noticeable on its way down or up makes no second hollow.
        (&[6.0, 5.2, 5.5, 5.0, 5.7, 6.0], Around::OneLow { swing }),
        (&[6.0, 5.01, 6.0, 5.01], Around::Even),
        (&[6.0, 5.0, 6.0], Around::TooFew),
    ];
    for (places, expected) in rows {
        assert_eq!(pattern(&depths(places)), expected, "{places:?}");
    }
}

#[test]
fn a_pattern_round_the_tyre_has_the_same_words_as_one_that_was_seen() {
    let found = |places: &[f64]| pattern(&depths(places)).damage();
    assert_eq!(found(&[6.0, 5.0, 6.0, 5.0]), Some(TyreDamage::Cupped));
    assert_eq!(found(&[6.0, 5.0, 6.0, 6.0]), Some(TyreDamage::FlatSpot));
    assert_eq!(found(&[6.0, 6.0, 6.0, 6.0]), None);
}

proptest! {
    #[test]
    fn where_the_round_begins_and_which_way_it_goes_changes_nothing(
        tenths in prop::collection::vec(40..80_u8, 4..12),
        start in 0..12_usize,
    ) {
        let mut places = depths(&tenths.iter().map(|tenth| f64::from(*tenth) / 10.0).collect::<Vec<_>>());
        let found = pattern(&places);
        let count = places.len();
        places.rotate_left(start % count);
        prop_assert_eq!(pattern(&places), found);
        places.reverse();
        prop_assert_eq!(pattern(&places), found);
    }

    #[test]
    fn the_unit_of_the_gauge_changes_no_pattern(thirty_seconds in prop::collection::vec(4..12_u8, 4..10)) {
        let in_inches: Vec<Depth> = thirty_seconds
            .iter()
            .map(|value| Depth::parse(in32(f64::from(*value))).expect("a depth"))
            .collect();
        let in_millimetres = depths(&thirty_seconds.iter().map(|value| f64::from(*value) * 0.79375).collect::<Vec<_>>());
        prop_assert_eq!(pattern(&in_inches), pattern(&in_millimetres));
    }
}
