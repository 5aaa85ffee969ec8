//! What the depth of one tyre comes to, and what to do about it.

use super::uneven::three_places;
use super::{ATTEND, LIFT_WHEEL, WATCH, WATCH_ABOVE_FLOOR, floor_at, season};
use crate::assessment::{Assessment, Opinion};
use crate::grading::Bench;
use crate::ladder::{Rung, stand_on};
use crate::measured::MeasuredSet;
use crate::shown::{published, shown};
use crate::yardstick::Held;
use model::{Grade, Place, Zone};

pub(super) fn depth_opinion(bench: &Bench<'_>, set: &MeasuredSet<'_>) -> Opinion {
    let yardstick = &bench.yardstick;
    let winter = season::is_winter(bench, set.place).then(|| yardstick.held(&season::WINTER));
    let floor = floor_at(yardstick, set.place);
    let (lowest, law) = (set.lowest.exact, floor.exact());
    let first = [Rung::on_scale(floor, lowest), Rung::above(law, yardstick.held(&ATTEND), lowest)];
    let winter = winter.map(|held| Rung::on_scale(held, lowest));
    // Of the two marks for watching the higher one decides.
    let watch = [
        Rung::on_scale(yardstick.held(&WATCH), lowest),
        Rung::above(law, yardstick.held(&WATCH_ABOVE_FLOOR), lowest),
    ];
    let rungs: Vec<Rung<'_>> = first.into_iter().chain(winter).chain(watch).collect();
    let (grade, rung) = stand_on(&rungs);
    let unit = set.lowest.entered.unit;
    let found = format!("Tread of {} {}", set.lowest.entered, where_across(set.lowest.zone));
    let legal = floor.bound.value().map(|value| published(value, law, unit)).unwrap_or_default();
    let floor_word = if floor.is_own() { "fleet's own floor" } else { "legal floor" };
    let at = shown(rung.at, unit);
    let reason = match grade {
        Grade::DoNotDrive => format!("{found} is below the {floor_word} of {legal}."),
        Grade::Attend if rung.held.limit == &season::WINTER => {
            format!("{found} is below {at}, too little for a winter tyre.")
        }
        Grade::Attend => format!("{found} is below {at}, too near the {floor_word} of {legal}."),
        Grade::Watch => format!("{found} is below {at}, where watching begins; the {floor_word} is {legal}."),
        Grade::Good if rung.held.limit == &season::WINTER => {
            format!("{found} is not below {at}, where a winter tyre is to be replaced.")
        }
        Grade::Good => format!("{found} is not below {at}, where watching begins."),
    };
    Opinion::on_rung(grade, &rung, reason).resting_on(&floor)
}

pub(super) fn on_the_road(opinion: Opinion, place: Place) -> Opinion {
    if place == Place::Spare {
        return opinion.at_most(Grade::Attend, "it is the spare, which is not on the road");
    }
    opinion
}

const fn where_across(zone: Zone) -> &'static str {
    match zone {
        Zone::Inner => "on the inner side",
        Zone::Centre => "at the centre",
        Zone::Outer => "on the outer side",
        Zone::Lowest | Zone::Whole => "at the lowest place found",
    }
}

pub(super) fn advise_on_depth(
    assessment: &mut Assessment,
    depth: Grade,
    set: &MeasuredSet<'_>,
    three: &Held<'_>,
) {
    match depth {
        Grade::DoNotDrive => assessment.advise(
            "Fit another tyre before the vehicle goes out; two new tyres go to the rear axle.",
            LIFT_WHEEL,
        ),
        Grade::Attend if set.place == Place::Spare => {
            assessment.advise("Replace the spare before it is needed.", LIFT_WHEEL);
        }
        Grade::Attend => assessment.advise(
            "Replace the tyre before it wears down to the legal floor; two new tyres go to the rear axle.",
            LIFT_WHEEL,
        ),
        Grade::Watch => assessment.advise("Measure it again at every check.", &[]),
        Grade::Good => {}
    }
    if three.is_met(set.lowest.exact) && three_places(set).is_none() {
        assessment.advise(
            "Measure inner, centre and outer in the main grooves, at several places round the tyre: one value never \
             proves a tyre legal all round.",
            &[],
        );
    }
}
