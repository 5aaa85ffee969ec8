//! Winter tyres, and what worn tread costs on a wet road.

use super::{ATTEND, tread_limits};
use crate::answer::{Answer, answered};
use crate::grading::Bench;
use crate::ladder::DepthLimits;
use crate::limit::{Bound, Class, Discipline, Limit, Standing, Wheels};
use crate::points::{CheckPoint, NOTED};
use crate::yardstick::Yardstick;
use model::Place;
use quantity::{Depth, Entered, Unit};

answered! {
    /// The season a tyre is made for.
    TyreKind, Tread, "season the tyre is made for";

    /// Summer.
    Summer = "summer", Answer::good("summer", "It is a summer tyre.");

    /// All seasons.
    AllSeason = "all_season", Answer::good("all-season", "It is an all-season tyre.");

    /// Winter.
    Winter = "winter", Answer::good("winter", "It is a winter tyre.");
}

pub(super) const KIND: CheckPoint = CheckPoint {
    code: "tyre-kind",
    title: "Season the tyre is made for",
    answers: TyreKind::ANSWERS,
    ..NOTED
};

/// Whether the tyre at this place was noted as a winter tyre since it was fitted.
pub(super) fn is_winter(bench: &Bench<'_>, place: Place) -> bool {
    let noted = bench.noted_of("tyre", KIND.code, place);
    let answer = noted.and_then(|set| set.point.answer_kept(set.lowest.exact));
    answer.is_some_and(|answer| answer.word == TyreKind::Winter.word())
}

/// The depth below which a winter tyre no longer does in snow what it is there for.
pub(super) static WINTER: Limit = Limit {
    key: "tread-winter",
    name: "depth of a winter tyre",
    bound: Bound::Below(Entered::new(4.0, Unit::Millimetre)),
    ..ATTEND
};

static WET: Limit = Limit {
    key: "tread-wet-grip",
    discipline: Discipline::Tread,
    name: "depth at which the longer way to stop on a wet road is told",
    jurisdiction: None,
    class: Class::ANY,
    wheels: Wheels::Any,
    grade: None,
    bound: Bound::AtOrBelow(Entered::new(4.0, Unit::ThirtySecondInch)),
    source: "AAA with the Automobile Club of Southern California, 2018",
    edition: "news releases of 2018, read second-hand",
    standing: Standing::Verified,
};

pub(crate) fn limits() -> impl Iterator<Item = &'static Limit> {
    [&WINTER, &WET].into_iter()
}

/// The depths at which the grade of a winter tyre changes: those of any tyre, but attended to below 4 mm already.
pub fn winter_tread_limits(yardstick: &Yardstick<'_>, place: Place) -> DepthLimits {
    let limits = tread_limits(yardstick, place);
    let attend = limits.attend.max(Depth::from_nm(yardstick.held(&WINTER).exact()));
    DepthLimits { attend, watch: limits.watch.max(attend), ..limits }
}

/// What the publisher measured, for tyres no deeper than those measured: the figures are quoted, not computed with.
pub fn wet_grip_caution(yardstick: &Yardstick<'_>, lowest: Depth) -> Option<&'static str> {
    yardstick.held(&WET).is_met(lowest.nm()).then_some(
        "On a wet road allow much more way to stop: AAA (2018) measured all-season tyres worn to 4/32 in, braking from \
         60 mph, and found on average 87 ft more than with new ones for cars (43 %) and 86 ft more for light trucks.",
    )
}
