//! Lamps, lights, leaks, joints and wheel fasteners (common practice, no source, but where one is named).

mod graded;

use crate::world::{in32, mm};
use gauge::{
    Answer, Bound, Joint, Leak, Lights, ParkingBrake, WarningLamp, WheelFasteners, Wipers, linkage_play_limit,
};
use model::Grade;
use quantity::Depth;

#[test]
fn a_red_or_a_flashing_engine_lamp_stops_the_vehicle_and_an_amber_one_asks_for_work() {
    for lamp in WarningLamp::ALL {
        let Answer { title, grade, .. } = lamp.answer();
        let expected = match lamp {
            WarningLamp::None => Grade::Good,
            WarningLamp::EngineFlashing => Grade::DoNotDrive,
            _ if title.contains("red") => Grade::DoNotDrive,
            _ => Grade::Attend,
        };
        assert_eq!(*grade, expected, "{title}");
    }
}

fn hazard(answer: &Answer) -> String {
    answer.caution().unwrap_or_default()
}

#[test]
fn what_can_hurt_is_said_with_the_lamp() {
    let rows = [
        (WarningLamp::HighVoltage, "orange cable"),
        (WarningLamp::CoolantTemperature, "never open the cap"),
        (WarningLamp::AirbagRed, "Airbags and belt tensioners"),
        (WarningLamp::BrakeRed, "brake dust"),
    ];
    for (lamp, words) in rows {
        assert!(hazard(lamp.answer()).contains(words), "{lamp:?}: {}", hazard(lamp.answer()));
    }
}

#[test]
fn fuel_and_brake_fluid_stop_the_vehicle_and_oil_and_coolant_ask_for_work() {
    let grades = [Leak::Fuel, Leak::BrakeFluid, Leak::Oil, Leak::Coolant].map(|leak| leak.answer().grade);
    assert_eq!(grades, [Grade::DoNotDrive, Grade::DoNotDrive, Grade::Attend, Grade::Attend]);
    assert!(hazard(Leak::Fuel.answer()).contains("no flame"));
    assert!(Leak::BatteryCoolant.answer().advice.contains("specialist"));
}

#[test]
fn loose_and_missing_wheel_fasteners_stop_the_vehicle() {
    // 49 CFR 570.10(c) and 570.63 (from memory).
    for fasteners in [WheelFasteners::Missing, WheelFasteners::Loose] {
        assert_eq!(fasteners.answer().grade, Grade::DoNotDrive);
        assert!(hazard(fasteners.answer()).contains("50 to 100 mi"));
    }
}

#[test]
fn play_noise_and_torn_boots_ask_for_work_and_a_loose_joint_stops_the_vehicle() {
    let grades = [Joint::Play, Joint::Noise, Joint::BootTorn, Joint::Loose].map(|joint| joint.answer().grade);
    assert_eq!(grades, [Grade::Attend, Grade::Attend, Grade::Attend, Grade::DoNotDrive]);
}

#[test]
fn without_any_light_of_a_kind_the_vehicle_stays_and_without_one_it_is_seen_to() {
    let grades = [Lights::NoBrakeLight, Lights::NoHeadlight, Lights::BrakeLight, Lights::Headlight];
    let expected = [Grade::DoNotDrive, Grade::DoNotDrive, Grade::Attend, Grade::Attend];
    assert_eq!(grades.map(|lights| lights.answer().grade), expected);
    assert!(Wipers::Dead.answer().advice.contains("rain"));
}

#[test]
fn a_parking_brake_that_does_not_hold_or_release_stops_the_vehicle() {
    let grades =
        [ParkingBrake::DoesNotHold, ParkingBrake::DoesNotRelease, ParkingBrake::Weak, ParkingBrake::Holds];
    let expected = [Grade::DoNotDrive, Grade::DoNotDrive, Grade::Attend, Grade::Good];
    assert_eq!(grades.map(|brake| brake.answer().grade), expected);
    assert!(hazard(ParkingBrake::Weak.answer()).contains("service mode"));
}

#[test]
fn a_larger_rim_may_have_more_play_in_its_linkage() {
    // 49 CFR 570.60, table 3 (verified first-hand): 1/4 in to 16 in, 3/8 in from 16.01 to 18 in, 1/2 in from 18.01 in.
    let inch = |value: f64| Depth::parse(mm(value * 25.4)).expect("a diameter");
    let rows = [(15.0, 8.0), (16.0, 8.0), (16.01, 12.0), (18.0, 12.0), (18.01, 16.0), (22.5, 16.0)];
    for (bead, thirty_seconds) in rows {
        let limit = linkage_play_limit(inch(bead));
        assert_eq!(limit.bound, Bound::Above(in32(thirty_seconds)), "{bead} in");
        assert_eq!(limit.grade, Some(Grade::DoNotDrive));
    }
}

#[test]
fn a_word_leads_back_to_its_answer() {
    assert_eq!(WarningLamp::from_word("engine_flashing"), Some(WarningLamp::EngineFlashing));
    assert_eq!(Leak::from_word("brake_fluid"), Some(Leak::BrakeFluid));
    assert_eq!(Joint::from_word("brake_fluid"), None);
}
