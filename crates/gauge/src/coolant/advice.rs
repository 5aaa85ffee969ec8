//! What to do about a concentration, with the litres to exchange.

use super::concentration::{Basis, Concentration};
use super::exchange::{Exchange, Refill, strengthen, thin};
use super::freeze_point::least_share_for;
use super::limits::Marks;
use super::{Glycol, Tester};
use crate::assessment::Assessment;
use crate::caution::Hazard;
use model::Grade;
use quantity::{Entered, Unit};

const COOLANT: &[Hazard] = &[Hazard::HotCoolant, Hazard::PoisonousCoolant];

/// The mixture that is usually aimed at, percent by volume (common practice, no source).
const USUAL: f64 = 50.0;
/// The richest to aim at, percent by volume: where the freeze tables end.
const RICHEST: f64 = 60.0;

pub(super) fn advise(
    assessment: &mut Assessment,
    concentration: Concentration,
    tester: Option<Tester>,
    marks: &Marks<'_>,
) {
    if assessment.grade() != Grade::Good && tester != Some(Tester::Strip) {
        advise_on_exchange(assessment, concentration, marks);
    }
    if !marks.is_depots_own {
        let low = marks.design_low_told();
        assessment.advise(format!("Record how cold it gets at the depot; until then {low} is used."), &[]);
    }
    match tester {
        Some(Tester::Strip) => assessment.advise(
            "A strip is advisory: measure with a refractometer before anything is changed or relied on.",
            &[],
        ),
        Some(Tester::Hydrometer) => assessment
            .advise("A hydrometer is right for one glycol and one temperature: see that it is yours.", &[]),
        Some(Tester::Refractometer) => {}
        None => assessment.advise("Say what it was tested with: a strip would be advisory only.", &[]),
    }
}

fn advise_on_exchange(assessment: &mut Assessment, concentration: Concentration, marks: &Marks<'_>) {
    let now = concentration.on(Basis::Volume);
    let Some(target) = target(concentration.glycol(), marks) else {
        let low = marks.design_low_told();
        assessment.advise(
            format!(
                "No mixture to 60 % is promised down to the design low of {low}: ask the coolant's maker."
            ),
            &[],
        );
        return;
    };
    let exchange = strengthen(1.0, now, target).or_else(|_| thin(1.0, now, target));
    if let Ok(exchange) = exchange {
        assessment.advise(in_words(exchange, target), COOLANT);
    }
    if let Some(ready_mixed) = marks.ready_mixed.bound.value() {
        assessment.advise(
            format!("Coolant bought ready to use holds {ready_mixed} or more by volume; use the kind the maker names."),
            &[],
        );
    }
}

/// The usual mixture, or as much more as keeps enough in hand below the design low, in whole percent by volume; `None` where
/// no mixture of the table is promised that far down.
fn target(glycol: Glycol, marks: &Marks<'_>) -> Option<Concentration> {
    let least = |cold| least_share_for(glycol, Basis::Volume, cold);
    let needed = least(marks.in_hand()).or_else(|| least(marks.design_low()))?;
    let needed = Entered::from_exact(needed, Unit::Percent).value.ceil();
    let percent = Entered::new(needed.clamp(USUAL, RICHEST), Unit::Percent);
    Concentration::parse(percent, glycol, Basis::Volume).ok()
}

fn in_words(exchange: Exchange, target: Concentration) -> String {
    let refill = match exchange.refill {
        Refill::Concentrate => "concentrate",
        Refill::Water => "demineralised water",
    };
    // Hundredths of a litre are as fine as a jug shows.
    let litres = (exchange.litres * 100.0 - 1e-9).ceil() / 100.0;
    format!(
        "For each litre that the system holds let out {litres:.2} L and fill in {refill} instead: that makes {target}."
    )
}
