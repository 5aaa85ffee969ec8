//! Tyres still hot from the road: graded only for being low, and never let down.

use super::{
    LOOK_INSIDE, MONITOR, OVER, SETTING, placard_at, rungs_under, share_under, shown_share, without_placard,
};
use crate::assessment::{Assessment, Opinion};
use crate::caution::Hazard;
use crate::grading::Bench;
use crate::ladder::stand_on;
use crate::limit::{Bound, Limit};
use crate::measured::MeasuredSet;
use crate::shown::published;
use crate::yardstick::Yardstick;
use chrono::TimeDelta;
use model::{Grade, Place};
use quantity::{Entered, Pressure, Unit};

pub(super) static HOT: Limit = Limit {
    key: "pressure-hot",
    name: "time since it was driven, below which a tyre is hot: graded only for being low",
    grade: None,
    bound: Bound::Below(Entered::new(3.0, Unit::Hour)),
    ..SETTING
};

/// Whether a tyre has the temperature of the air around it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Warmth {
    /// It has stood long enough.
    Cold,
    /// It was driven not long ago and shows more than it will.
    Hot,
}

impl Warmth {
    /// Of a tyre that has stood for this long: hot until three hours have passed (common practice, no source). What was
    /// driven in the future is hot.
    pub fn after_standing(yardstick: &Yardstick<'_>, stood: TimeDelta) -> Self {
        if yardstick.held(&HOT).is_met(stood.num_seconds()) { Self::Hot } else { Self::Cold }
    }
}

/// The grade of a pressure against a placard above zero, and the limit that decides: for a good one the next below it.
///
/// A hot tyre shows more than it will when cold, so a low one is at least as low as it shows; being high says nothing.
pub fn pressure_grade(
    yardstick: &Yardstick<'_>,
    placard: Pressure,
    measured: Pressure,
    warmth: Warmth,
) -> Option<(Grade, &'static Limit)> {
    if placard <= Pressure::ZERO {
        return None;
    }
    let under = share_under(measured.mpa(), placard.mpa());
    if warmth == Warmth::Cold && yardstick.held(&OVER).is_met(-under) {
        return Some((Grade::Watch, &OVER));
    }
    let (grade, rung) = stand_on(&rungs_under(yardstick, placard.mpa(), under));
    Some((grade, rung.held.limit))
}

/// Grades one tyre that is hot: low if it is, else not at all. A cold measurement taken later counts instead.
pub(super) fn assess<'a>(bench: &Bench<'a>, set: &MeasuredSet<'a>) -> Assessment {
    let yardstick = &bench.yardstick;
    let Some((entered, placard)) = placard_at(yardstick.vehicle, set.place) else {
        return without_placard(set, yardstick);
    };
    if let Some(day) = measured_cold_since(bench, set) {
        let reason = format!(
            "It was measured cold on {day}, which counts instead of {} when hot.",
            set.lowest.entered
        );
        return Assessment::starting_with(Opinion::on_comparison(&yardstick.held(&HOT), reason));
    }
    let under = share_under(set.lowest.exact, placard);
    let mut assessment = Assessment::starting_with(low_opinion(set, yardstick, entered, placard));
    if yardstick.held(&LOOK_INSIDE).is_met(under) && set.place != Place::Spare {
        assessment.advise(
            "It was probably driven like this: take the tyre off and look inside before inflating.",
            &[Hazard::Lifting, Hazard::Wheel, Hazard::SoftTyre],
        );
    }
    if yardstick.held(&MONITOR).is_met(under) && set.place != Place::Spare {
        assessment.advise("This is a serious loss: find the leak before the vehicle goes out.", &[]);
    }
    assessment.advise("Never let air out of a hot tyre; let it stand three hours and measure it cold.", &[]);
    assessment
}

fn measured_cold_since(bench: &Bench<'_>, set: &MeasuredSet<'_>) -> Option<chrono::NaiveDate> {
    let cold = bench.noted("cold-pressure", set.place)?;
    let is_later = cold.inspection.performed_at > set.inspection.performed_at;
    is_later.then(|| bench.day_of(cold.inspection))
}

fn low_opinion(set: &MeasuredSet<'_>, yardstick: &Yardstick<'_>, entered: Entered, placard: i64) -> Opinion {
    let under = share_under(set.lowest.exact, placard);
    let (grade, rung) = stand_on(&rungs_under(yardstick, placard, under));
    let told = published(entered, placard, set.lowest.entered.unit);
    let reason = match grade {
        Grade::Good => format!(
            "Hot, at {}, it is not low against the placard's {told}; whether it is right only a cold tyre tells.",
            set.lowest.entered
        ),
        _ => format!(
            "Even hot, at {}, it is {} under the placard's {told}; cold it will show less still.",
            set.lowest.entered,
            shown_share(under),
        ),
    };
    let opinion = Opinion::on_rung(grade, &rung, reason);
    if set.place == Place::Spare {
        return opinion.at_most(Grade::Watch, "it is the spare, which is not on the road");
    }
    opinion
}
