//! Signed links: what is signed is read back, and whatever was changed is refused.

use crate::world::*;
use base64::Engine as _;
use base64::engine::general_purpose::URL_SAFE_NO_PAD;
use chrono::{DateTime, TimeDelta, Utc};
use letters::About;
use letters::links::{ItemLinks, LinkError, LinkFacts, LinkKey, Purpose, button, is_button, sign, verify};
use model::horizon::{Cycle, ItemKey};
use model::{FleetId, OptionalLetter, PersonId, VehicleId};
use proptest::prelude::*;
use uuid::Uuid;

fn facts() -> impl Strategy<Value = LinkFacts> {
    let about = (any::<u128>(), ".{0,60}", ".{0,60}").prop_map(|(vehicle, item, cycle)| About {
        vehicle: VehicleId(Uuid::from_u128(vehicle)),
        item: ItemKey(item),
        cycle: Cycle(cycle),
    });
    let purpose = (0..5, about).prop_map(|(purpose, about)| match purpose {
        0 => Purpose::Acknowledge(about),
        1 => Purpose::Postpone(about),
        2 => Purpose::See(about),
        3 => Purpose::Unsubscribe(OptionalLetter::WeekAhead),
        _ => Purpose::SignIn,
    });
    let seconds = 1..4_000_000_000_i64;
    (purpose, any::<u128>(), any::<u128>(), seconds).prop_map(|(purpose, fleet, person, seconds)| LinkFacts {
        purpose,
        fleet: FleetId(Uuid::from_u128(fleet)),
        person: PersonId(Uuid::from_u128(person)),
        expires_at: DateTime::from_timestamp(seconds, 0).expect("an instant"),
    })
}

fn before(facts: &LinkFacts) -> DateTime<Utc> {
    facts.expires_at - TimeDelta::seconds(1)
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(2000) })]

    #[test]
    fn what_was_signed_is_read_back(facts in facts()) {
        let token = sign(&facts, &key()).expect("a token");
        prop_assert!(token.bytes().all(|byte| byte.is_ascii_alphanumeric() || b"-_".contains(&byte)));
        prop_assert_eq!(verify(&token, &key(), before(&facts)), Ok(facts.clone()));
        prop_assert_eq!(verify(&token, &key(), facts.expires_at), Err(LinkError::Expired(facts.expires_at)));
        let other = LinkKey::new([8; 32]);
        prop_assert_eq!(verify(&token, &other, before(&facts)), Err(LinkError::Forged));
    }

    #[test]
    fn any_changed_text_is_refused(facts in facts(), place: prop::sample::Index, put in "[A-Za-z0-9_.=/+ -]") {
        let token = sign(&facts, &key()).expect("a token");
        let place = place.index(token.len());
        let changed = format!("{}{put}{}", &token[..place], &token[place + 1..]);
        prop_assume!(changed != token);
        prop_assert!(verify(&changed, &key(), before(&facts)).is_err());
        prop_assert!(verify(&token[..place], &key(), before(&facts)).is_err());
        prop_assert!(verify(&(token + &put), &key(), before(&facts)).is_err());
    }
}

#[test]
fn any_changed_bit_is_refused() {
    let facts = LinkFacts {
        purpose: Purpose::Postpone(about(&tell(van(7), oil("2027-04-01")))),
        fleet: fleet(),
        person: ada(),
        expires_at: now(),
    };
    let octets = URL_SAFE_NO_PAD.decode(sign(&facts, &key()).expect("a token")).expect("octets");
    for bit in 0..octets.len() * 8 {
        let mut changed = octets.clone();
        changed[bit / 8] ^= 1 << (bit % 8);
        let verified = verify(&URL_SAFE_NO_PAD.encode(&changed), &key(), before(&facts));
        assert_eq!(verified, Err(LinkError::Forged), "bit {bit}");
    }
}

#[test]
fn what_is_no_link_is_refused_by_name() {
    for token in ["", "x", "not a token", &"A".repeat(22), &"A".repeat(5_000)] {
        let refused = verify(token, &key(), now()).expect_err("no link");
        assert!(matches!(refused, LinkError::Malformed | LinkError::Forged), "{token}");
    }
    let mut telling = tell(van(7), oil("2027-04-01"));
    if let letters::Told::Item(item) = &mut telling.told {
        item.key.0 = "x".repeat(256);
    }
    let links = ItemLinks::signed((fleet(), ada()), &about(&telling), now(), (BASE, &key()));
    assert_eq!(links, Err(LinkError::TooLong));
}

// Computed apart with Python's hmac and hashlib over the octets as `sign` joins them (RFC 2104).
#[test]
fn the_code_is_hmac_sha_256() {
    let facts = LinkFacts { purpose: Purpose::SignIn, fleet: fleet(), person: ada(), expires_at: now() };
    assert_eq!(
        sign(&facts, &key()).expect("a token"),
        "AQUAAAAAa4Zv-AAAAAAAAAAAAAAAAAAAAAMAAAAAAAAAAAAAAAAAAAAEMumt_trNBrnFW2KRmCz2sw"
    );
}

#[test]
fn the_button_of_a_page_is_that_of_its_link_and_key_alone() {
    let facts = LinkFacts { purpose: Purpose::SignIn, fleet: fleet(), person: ada(), expires_at: now() };
    let token = sign(&facts, &key()).expect("a token");
    let said = button(&token, &key());
    assert!(is_button(&said, &token, &key()));
    let other = sign(&LinkFacts { person: PersonId(Uuid::nil()), ..facts }, &key()).expect("a token");
    let code_of_link = &token[token.len() - 22..];
    assert!(!is_button(&said, &other, &key()) && !is_button(&said, &token, &LinkKey::new([8; 32])));
    for wrong in ["", "A", &said[..21], code_of_link, &token, &said.to_lowercase(), "not base64 at all!"] {
        assert!(!is_button(wrong, &token, &key()), "{wrong}");
    }
}

// SHA-256 of "abc" (FIPS 180-2, appendix B.1).
#[test]
fn a_key_of_text_is_its_hash() {
    let octets = [
        0xba, 0x78, 0x16, 0xbf, 0x8f, 0x01, 0xcf, 0xea, 0x41, 0x41, 0x40, 0xde, 0x5d, 0xae, 0x22, 0x23, 0xb0,
        0x03, 0x61, 0xa3, 0x96, 0x17, 0x7a, 0x9c, 0xb4, 0x10, 0xff, 0x61, 0xf2, 0x00, 0x15, 0xad,
    ];
    let facts = LinkFacts { purpose: Purpose::SignIn, fleet: fleet(), person: ada(), expires_at: now() };
    assert_eq!(sign(&facts, &LinkKey::of_text("abc")), sign(&facts, &LinkKey::new(octets)));
}

#[test]
fn a_key_is_not_shown() {
    assert_eq!(format!("{:?}", key()), "•••");
}
