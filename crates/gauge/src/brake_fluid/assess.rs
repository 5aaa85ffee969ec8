//! Grades what was measured of the brake fluid.

use super::{COPPER, FluidClass, NEAR_WET, NO_CLASS, WET, WETTISH, advice_for_age, wet_minimum};
use crate::assessment::{Assessment, Opinion};
use crate::caution::Hazard;
use crate::grading::Bench;
use crate::ladder::{Rung, stand_on, stand_under};
use crate::measured::MeasuredSet;
use crate::shown::{published, shown};
use model::{Grade, Place};

const BRAKES: &[Hazard] = &[Hazard::Lifting, Hazard::Wheel, Hazard::Brakes];
const REPLACE: &str = "Have the brake fluid replaced with fresh fluid of the class on the tank's cap.";

fn class_of(bench: &Bench<'_>) -> Option<FluidClass> {
    bench
        .noted("brake-fluid-class", Place::Vehicle)
        .and_then(MeasuredSet::word)
        .and_then(FluidClass::from_word)
}

/// What the months since the last change say besides; nothing of silicone fluid, which takes up no water.
fn advise_on_age(assessment: &mut Assessment, bench: &Bench<'_>, set: &MeasuredSet<'_>) {
    let months = bench.background.brake_fluid_months(bench.day_of(set.inspection));
    let Some((months, advice)) =
        months.and_then(|months| Some((months, advice_for_age(&bench.yardstick, months)?)))
    else {
        return;
    };
    if !class_of(bench).is_some_and(FluidClass::is_silicone) {
        assessment.advise(format!("The fluid was {months} months old then. {advice}"), &[]);
    }
}

/// A fluid of unknown class is held to the lowest wet minimum there is, and watched above it because that may be too low.
pub(super) fn boiling<'a>(bench: &Bench<'a>, set: &MeasuredSet<'a>) -> Assessment {
    let class = class_of(bench);
    let (measured, unit) = (set.lowest.exact, set.lowest.entered.unit);
    let wet = bench.yardstick.held(wet_minimum(class.unwrap_or(FluidClass::LOWEST)));
    let near = bench.yardstick.held(&NEAR_WET);
    let zero = wet.exact();
    // Thousandths of a kelvin, held to a limit in millionths.
    let above = Rung {
        held: near,
        tested: (measured - zero).saturating_mul(1000),
        at: zero + near.exact() / 1000,
        is_inverse: false,
    };
    let (grade, rung) = stand_on(&[Rung::on_scale(wet, measured), above]);
    let found = format!("Brake fluid that boils at {}", set.lowest.entered);
    let least = wet.bound.value().map(|value| published(value, zero, unit)).unwrap_or_default();
    let of = class.unwrap_or(FluidClass::LOWEST).answer().title;
    let reason = match grade {
        Grade::Good => format!("{found} is well above the {least} that wet {of} must stand."),
        Grade::Watch => format!("{found} is little above the {least} that wet {of} must stand."),
        Grade::Attend | Grade::DoNotDrive => {
            format!("{found} is below the {least} that even wet {of} must stand.")
        }
    };
    let mut assessment = Assessment::starting_with(Opinion::on_rung(grade, &rung, reason));
    if class.is_none() {
        let reason =
            format!("The class of the brake fluid is not known, so it was held to the lowest, {of}.");
        assessment.hear(Opinion::on_comparison(&bench.yardstick.held(&NO_CLASS), reason));
        assessment.advise("Read the class off the tank's cap and record it.", &[]);
    }
    match grade {
        Grade::Attend | Grade::DoNotDrive => assessment.advise(REPLACE, BRAKES),
        Grade::Watch => {
            let enough = shown(above.at, unit);
            assessment.advise(
                format!("Measure it again before a season of hills or loads; from {enough} it is good."),
                &[],
            );
        }
        Grade::Good => {}
    }
    assessment
}

/// Silicone fluid takes up no water to speak of, and what testers show in it means nothing (from memory): it is never
/// asked to be replaced for its water.
pub(super) fn water<'a>(bench: &Bench<'a>, set: &MeasuredSet<'a>) -> Assessment {
    if class_of(bench).is_some_and(FluidClass::is_silicone) {
        let reason = "Silicone fluid takes up no water to speak of, so a tester's number says nothing of it.";
        let opinion = Opinion::for_advice(&bench.yardstick.held(&WETTISH), reason.to_owned());
        let mut assessment = Assessment::starting_with(opinion);
        assessment.advise("Have its boiling point measured instead.", &[]);
        return assessment;
    }
    let rungs = [&WET, &WETTISH].map(|limit| Rung::on_scale(bench.yardstick.held(limit), set.lowest.exact));
    let (grade, rung) = stand_under(&rungs);
    let (found, bound) = (set.lowest.entered, rung.held.bound);
    let reason = match grade {
        Grade::Good => format!("Water of {found} in the brake fluid is not {bound}."),
        Grade::Watch => format!("Water of {found} in the brake fluid is {bound}, where watching begins."),
        Grade::Attend | Grade::DoNotDrive => {
            format!("Water of {found} in the brake fluid is {bound}, where it is replaced.")
        }
    };
    let mut assessment = Assessment::starting_with(Opinion::on_rung(grade, &rung, reason));
    match grade {
        Grade::Attend | Grade::DoNotDrive => assessment.advise(REPLACE, BRAKES),
        Grade::Watch => {
            assessment.advise("Have the boiling point measured: it says more than water does.", &[]);
        }
        Grade::Good => advise_on_age(&mut assessment, bench, set),
    }
    assessment
}

/// Copper tells how long the fluid has been in, and nothing sure of what it can still do: advice only.
pub(super) fn copper<'a>(bench: &Bench<'a>, set: &MeasuredSet<'a>) -> Assessment {
    let held = bench.yardstick.held(&COPPER);
    let (found, bound) = (set.lowest.entered, held.bound);
    let is_met = held.is_met(set.lowest.exact);
    let reason = if is_met {
        format!("Copper of {found} is {bound}, which some hold for a sign of old fluid and others do not.")
    } else {
        format!("Copper of {found} is not {bound}.")
    };
    let mut assessment = Assessment::starting_with(Opinion::for_advice(&held, reason));
    if is_met {
        assessment
            .advise("Have the boiling point measured before the fluid is replaced for its copper.", &[]);
    } else {
        advise_on_age(&mut assessment, bench, set);
    }
    assessment
}
