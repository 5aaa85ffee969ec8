//! Grades what a battery at rest shows.

use super::charge::{Band, Charge, Chemistry, by_gravity, by_voltage, gravity_correction};
use super::{ACID, SETTING};
use crate::assessment::{Assessment, Opinion};
use crate::grading::Bench;
use crate::ladder::{Rung, stand_on, stand_under};
use crate::limit::{Bound, Limit};
use crate::measured::MeasuredSet;
use model::Grade;
use quantity::{Entered, Temperature, Unit};

static UNRESTED: Limit = Limit {
    key: "battery-rest",
    name: "time at rest",
    bound: Bound::Below(Entered::new(4.0, Unit::Hour)),
    ..SETTING
};
/// Where the voltage table may be used without a note.
const AWAY: Limit = Limit {
    key: "battery-table-cold",
    name: "temperature of the battery at which the voltage table is used with a note",
    grade: None,
    bound: Bound::Below(Entered::new(10.0, Unit::Celsius)),
    ..SETTING
};
static COLD: Limit = AWAY;
static WARM: Limit =
    Limit { key: "battery-table-warm", bound: Bound::Above(Entered::new(40.0, Unit::Celsius)), ..AWAY };
static HOT: Limit = Limit {
    key: "battery-hot",
    name: "temperature of the battery",
    bound: Bound::Above(Entered::new(50.0, Unit::Celsius)),
    ..SETTING
};

const TABLE_NOTE: &str = "The voltage table is for 26.7 °C and is not corrected: colder or warmer, a rested battery is off it \
     by a few hundredths of a volt, less than most meters err (from memory). What the cold takes from its power, no \
     voltage tells.";

pub(super) fn limits() -> impl Iterator<Item = &'static Limit> {
    [&UNRESTED, &COLD, &WARM, &HOT].into_iter()
}

/// Graded in the band of the voltage; told with the bands it may stand for if the meter is 1 % wrong.
pub(super) fn voltage<'a>(bench: &Bench<'a>, set: &MeasuredSet<'a>) -> Assessment {
    let yardstick = &bench.yardstick;
    let chemistry = bench.known_word("battery-kind").and_then(Chemistry::from_word);
    let measured = set.lowest.exact;
    let charge = by_voltage(yardstick, chemistry, measured);
    let error = measured.abs() / 100;
    let [least, most] =
        [measured - error, measured + error].map(|end| by_voltage(yardstick, chemistry, end).band);
    let rest = bench.beside(set, "battery-rest").map(|rest| rest.exact);
    let unrested = yardstick.held(&UNRESTED);
    let is_rested = rest.map(|rest| !unrested.is_met(rest));
    let adjective = if is_rested == Some(true) { "rested " } else { "" };
    let found = format!("A {adjective}voltage of {}", set.lowest.entered);
    let reason = voltage_reason(&found, charge.band, [least, most]);
    let mut assessment = if is_rested == Some(false) {
        let reason = format!("{reason} It had not rested, so this says little.");
        Assessment::starting_with(Opinion::on_comparison(&unrested, reason))
    } else {
        Assessment::starting_with(opinion(&charge, reason))
    };
    advise_on_charge(&mut assessment, &charge);
    if is_rested != Some(true) {
        assessment.advise(
            "Measure it after some hours in which it was neither charged nor loaded, and say how many.",
            &[],
        );
    }
    if chemistry.is_none() {
        assessment.advise("Say whether it is flooded or AGM; until then the lower of the two counts.", &[]);
    }
    let away = |battery: i64| [&COLD, &WARM].iter().any(|limit| yardstick.held(limit).is_met(battery));
    if bench.beside(set, "battery-temperature").is_some_and(|battery| away(battery.exact)) {
        assessment.advise(TABLE_NOTE, &[]);
    }
    assessment
}

fn voltage_reason(found: &str, band: Band, [least, most]: [Band; 2]) -> String {
    let found = format!("{found} tells of a battery that is {}", band.word());
    let others: Vec<&str> =
        [least, most].iter().filter(|other| **other != band).map(|other| other.word()).collect();
    if others.is_empty() {
        return format!("{found}.");
    }
    format!("{found}; with a meter 1 % wrong it may be {}.", others.join(" or "))
}

fn opinion(charge: &Charge<'_>, reason: String) -> Opinion {
    Opinion::on_rung(charge.grade, &charge.rung, reason)
}

fn advise_on_charge(assessment: &mut Assessment, charge: &Charge<'_>) {
    match charge.grade {
        Grade::Attend | Grade::DoNotDrive => assessment.advise(
            "Charge it, let it rest and measure again; if it falls back, test its cranking and look for what drains it.",
            ACID,
        ),
        Grade::Watch => assessment.advise("Charge it, or give it a longer run, and measure again.", ACID),
        Grade::Good => {}
    }
    if charge.band == Band::Flat {
        assessment
            .advise("A flat battery freezes in a frost: warm it before charging if it may be frozen.", ACID);
    }
}

/// Graded in the band of the acid's specific gravity, corrected for its temperature where that was measured.
pub(super) fn gravity<'a>(bench: &Bench<'a>, set: &MeasuredSet<'a>) -> Assessment {
    let acid = bench.beside(set, "battery-temperature").map(|acid| Temperature::from_mk(acid.exact));
    let correction = acid.map_or(0.0, gravity_correction);
    let exact = Entered::new(correction, Unit::Count).exact().unwrap_or_default();
    let charge = by_gravity(&bench.yardstick, set.lowest.exact, exact);
    let corrected = Entered::from_exact(set.lowest.exact + exact, Unit::Count);
    let reason = format!(
        "Acid of {}, {corrected} at 26.7 °C, tells of a battery that is {}.",
        set.lowest.entered,
        charge.band.word()
    );
    let mut assessment = Assessment::starting_with(opinion(&charge, reason));
    advise_on_charge(&mut assessment, &charge);
    if acid.is_none() {
        assessment
            .advise("Measure the acid's temperature too: 0.004 is added for every 10 °F above 80 °F.", ACID);
    }
    assessment
}

pub(super) fn rest<'a>(bench: &Bench<'a>, set: &MeasuredSet<'a>) -> Assessment {
    let (grade, rung) = stand_on(&[Rung::on_scale(bench.yardstick.held(&UNRESTED), set.lowest.exact)]);
    let is_enough = if grade == Grade::Good { "long enough" } else { "too short" };
    let reason =
        format!("{} at rest are {is_enough} for the voltage to tell of the charge.", set.lowest.entered);
    let mut assessment = Assessment::starting_with(Opinion::on_rung(grade, &rung, reason));
    if grade != Grade::Good {
        assessment.advise("Let it stand longer, neither charged nor loaded, and measure again.", &[]);
    }
    assessment
}

pub(super) fn temperature<'a>(bench: &Bench<'a>, set: &MeasuredSet<'a>) -> Assessment {
    let (grade, rung) = stand_under(&[Rung::on_scale(bench.yardstick.held(&HOT), set.lowest.exact)]);
    let found = set.lowest.entered;
    let reason = if grade == Grade::Good {
        format!("A battery of {found} is not too hot.")
    } else {
        format!("A battery of {found} is hot, as by overcharging, a weak cell or the engine beside it.")
    };
    let mut assessment = Assessment::starting_with(Opinion::on_rung(grade, &rung, reason));
    if grade != Grade::Good {
        assessment.advise("Let it cool before it is charged, and have the charging voltage looked at.", ACID);
    }
    assessment
}
